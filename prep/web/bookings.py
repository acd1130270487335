"""Bookings: a teacher's two weeks, booking with the answer before the button, changing, cancelling, what was used."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from fastapi import Response

from prep.chemistry import quantities
from prep.chemistry.spelling import key as spelt
from prep.dates import read_day
from prep.errors import PrepError, Refused
from prep.planning.booking_answer import BookingAnswer
from prep.planning.by_day import LineKind
from prep.planning.model import Booking
from prep.plurals import plural
from prep.reports.bookings.answers import answer_lines, not_set_out, state_words
from prep.reports.formatting import in_days
from prep.services.bookings import answers, bookings, usage
from prep.services.bookings.requests import BookingChange
from prep.services.catalogue import lookup
from prep.services.people.roles import Right
from prep.services.plan import day_lines
from prep.web.booking_form import ALL_THE_SAME, classes, said_lines
from prep.web.forms import Choice, Field, WebForm, bare_unit, day_field, in_words
from prep.web.page_request import At, NextPage, PageRequest, PageState, drawn_from
from prep.web.rights import needs, router
from prep.web.today import key_of
from prep.wording import Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection


routes = router()
MOST = 200
"""Bookings that one page lists."""


def _mine(here: PageRequest, booking: Booking) -> bool:
    """Tell whether the person may change a booking: their own, or any for a technician."""
    return here.may(Right.WORK) or (here.may(Right.BOOK) and spelt(booking.teacher) == spelt(here.by))


def standing(here: PageRequest, listed: Sequence[Booking]) -> tuple[BookingAnswer, ...]:
    """Tell how far bookings are as things stand, from one plan while the books stay as they are."""
    try:
        drawn = here.plan()
    except PrepError:  # without a plan each booking says itself what is wrong
        return answers.standing(here.db, listed, here.today)
    return here.read(drawn, "standing", lambda: answers.StandingAnswers(here.db, here.today)).of(listed)


@routes.get("/showings", include_in_schema=False)
@needs(Right.BOOK)
def showings(here: At, day: str = "") -> Response:
    """Show a person's own showings: two weeks, a strip a day."""
    first = read_day(day, "the day", here.today) if day else here.today
    first -= timedelta(days=first.weekday())
    which = bookings.BookingFilter(first, first + timedelta(days=13), everything=True)
    mine = [b for b in bookings.list_bookings(here.db, which) if spelt(b.teacher) == spelt(here.by)]
    found = standing(here, mine)
    days = [first + timedelta(days=n) for n in range(14)]
    strips = [(on, [a for a in found if a.booking.on == on]) for on in days]
    return here.show(
        "showings.html",
        strips=[(on, some) for on, some in strips if some or on.weekday() < 5],
        found=[a for a in found if a.booking.stands],
        state=state_words,
        before=first - timedelta(days=14),
        after=first + timedelta(days=14),
        names=lookup.names(here.db),
    )


@routes.get("/bookings", include_in_schema=False)
@needs(Right.SEE_STOCK)
def listed(here: At, q: str = "", since: str = "") -> Response:
    """List the bookings that are to come, from a day on, with how far each is."""
    first = read_day(since[:20], "the day", here.today) if since else here.today
    to_come = bookings.list_bookings(here.db, bookings.BookingFilter(here.today, None, q[:80]))
    later = [b for b in to_come if b.on >= first]
    found = standing(here, later[:MOST])
    return here.show(
        "bookings.html",
        found=found,
        there=[_monday(a.booking.on) for a in found],
        number=len(to_come),
        weeks=sorted({_monday(b.on) for b in to_come}),
        more=later[MOST].on if len(later) > MOST else None,
        state=state_words,
        names=lookup.names(here.db),
        q=q[:80],
    )


def _monday(on: date) -> date:
    return on - timedelta(days=on.weekday())


# One booking ---------------------------------------------------------------------------------------


def state_of(b: Booking) -> str:
    """Write what a booking's page was drawn from, to see whether it has changed since."""
    told = (b.allowed_by, b.on, b.period, b.room, b.showings, b.status, b.set_out, b.demo, b.teacher, b.group, b.note)
    return drawn_from(*told)


def _still(here: PageRequest, code: str) -> "Callable[[Connection], None]":
    """Check that a booking is still as its page said. Raises PageTooOld."""

    def now() -> PageState:
        b = bookings.booking(here.db, code)
        stands = f"set out at {b.set_out}" if b.set_out and b.stands else b.status
        parts = ", ".join(filter(None, (plural(b.showings, "showing"), b.group, stands, b.note and f"note: {b.note}")))
        where = " ".join(filter(None, (b.period, b.room)))
        return PageState(
            state_of(b),
            f"Booking {code} was changed while this page was open: it is on {in_days(str(b.on))} {where} now, {parts}.",
        )

    return here.unchanged(now)


def _change_form(here: PageRequest, b: Booking) -> WebForm:
    return WebForm(
        f"/bookings/{b.code}/change",
        (
            Field("to", "Day", "date", "--to", b.on.isoformat()),
            Field("period", "Period", option="--period", value=b.period),
            Field("room", "Room", option="--room", value=b.room),
            Field("showings", "Showings", "number", "--showings", str(b.showings)),
            Field("group", "Class", "choice", "--group", b.group, choices=classes(here)),
            Field("note", "Note to the prep room", option="--note", value=b.note),
        ),
        "Change it",
        seen=state_of(b),
    )


def _set_out(here: PageRequest, b: Booking) -> Sequence[usage.SetOutItem]:
    try:
        return usage.set_out_of(here.db, b.code)
    except PrepError:  # whoever sends the form is told why it cannot be done
        return ()


def _used_form(here: PageRequest, b: Booking) -> WebForm:
    fields: list[Field] = []
    for one in _set_out(here, b):
        out = f"{quantities.show(one.put_out, one.measure)} was set out"
        hint = f"in {bare_unit(one.measure)}, or with its unit; {out}, empty means as planned"
        fields.append(Field(f"used-{one.item}", f"Used of {one.name}", hint=hint))
        back = [Choice(one.item, "back in its bottle")]
        fields.append(Field("back", f"The rest of {one.name} went back", "ticks", choices=back))
    day = b.on.isoformat() if b.on < here.today else ""
    fields.append(day_field(label="Shown on", value=day, hint="today, if left empty"))
    return WebForm(f"/bookings/{b.code}/done", tuple(fields), "It was shown", seen=state_of(b))


def _planned(here: PageRequest, booking: Booking) -> bool:
    """Tell whether the plan asks for anything for a booking: not where a rule bars it, nor far ahead."""
    try:
        return booking.code in here.plan().plan.bookings().values()
    except PrepError:  # without a plan the page says itself what is wrong
        return False


@routes.get("/bookings/{code}", include_in_schema=False)
@needs(Right.SEE_DEMOS)
def shown(here: At, code: str) -> Response:
    """Show one booking: how far it is, what it takes, the forms to change and cancel it."""
    found = bookings.booking(here.db, code)
    (answer,) = standing(here, [found])
    mine = _mine(here, found) and found.stands
    return here.show(
        "booking.html",
        b=found,
        answer=answer,
        lines=said_lines(answer),
        planned=_planned(here, found),
        change=_change_form(here, found) if mine else None,
        used=_used_form(here, found) if mine and found.on <= here.today else None,
        names=lookup.names(here.db),
        set_out=here.may(Right.WORK) and found.stands,
        allow=_allow_form(found) if mine and answer.must_be_allowed and not found.allowed_by else None,
        seen=state_of(found),
    )


def own_booking(here: PageRequest, code: str) -> Booking:
    """Find a booking that the person may change. Raises Refused for another person's."""
    found = bookings.booking(here.db, code)
    if not _mine(here, found):
        raise Refused(f"Booking {found.code} is {found.teacher or 'nobody'}’s; only they or a technician change it.")
    return found


@routes.post("/bookings/{code}/change", include_in_schema=False)
@needs(Right.BOOK)
def change(here: At, code: str) -> Response:
    """Change a booking."""
    found = own_booking(here, code)

    def do() -> NextPage:
        typed = here.typed
        to = read_day(typed["to"], Flag("--to"), here.today) if typed["to"] else None
        if to is not None and to != found.on and to < here.today:
            raise PrepError(Flag("--to"), f" {in_days(str(to))} is over; choose a day from today on.")
        changed = BookingChange(
            to if to != found.on else None,
            typed["period"],
            typed["room"],
            group=typed["group"],
            note=typed["note"],
            showings=typed.number("showings", found.showings),
            even_closed=typed.ticked("closed"),
        )
        answer = bookings.change(here.db, code, changed, here.act())
        return NextPage(f"/bookings/{found.code}", f"Changed. {in_words(answer_lines(answer)[0])}")

    form = _change_form(here, found)
    try:
        to = read_day(here.typed["to"], Flag("--to"), here.today)
        closed = to != found.on and not bookings.calendar(here.db).works(to)
    except PrepError:  # the form says so itself
        closed = False
    form = replace(form, fields=(*form.fields, ALL_THE_SAME[0])) if closed else form
    return here.answer(form, f"Change {found.code}", do, _still(here, found.code))


def _allow_form(b: Booking) -> WebForm:
    who = Field("who_allowed", "Who allowed it", option="--who", required=True, hint="the employer or its adviser")
    return WebForm(f"/bookings/{b.code}/allow", (who,), "It is allowed", seen=state_of(b))


@routes.post("/bookings/{code}/allow", include_in_schema=False)
@needs(Right.BOOK)
def allow(here: At, code: str) -> Response:
    """Write down who allowed a showing that asks for leave."""
    found = own_booking(here, code)

    def do() -> NextPage:
        bookings.allow(here.db, code, here.typed["who_allowed"], here.act())
        return NextPage(f"/bookings/{found.code}", f"{here.typed['who_allowed']} allowed it; that stands on the books.")

    return here.answer(_allow_form(found), f"Leave for {found.code}", do, _still(here, found.code))


@routes.post("/bookings/{code}/cancel", include_in_schema=False)
@needs(Right.BOOK)
def cancel(here: At, code: str) -> Response:
    """Cancel a booking."""
    found = own_booking(here, code)
    form = WebForm(f"/bookings/{found.code}/cancel", (), "Cancel it", danger=True, seen=state_of(found))

    def do() -> NextPage:
        bookings.cancel(here.db, code, here.act())
        return NextPage(f"/bookings/{found.code}", "It is cancelled; it stays on file.")

    return here.answer(form, f"Cancel {found.code}", do, _still(here, found.code))


@routes.post("/bookings/{code}/set-out", include_in_schema=False)
@needs(Right.WORK)
def set_out(here: At, code: str) -> Response:
    """Record that a booking stands ready, and where."""
    found = bookings.booking(here.db, code)
    form = WebForm(
        f"/bookings/{found.code}/set-out",
        (Field("place", "Where it stands", value=found.room),),
        "It is set out",
        seen=state_of(found),
    )

    key = key_of(here, here.plan(), LineKind.SET_OUT, found.code)

    def do() -> NextPage:
        with day_lines.logging_key(here.today, key):
            answer = bookings.set_out(here.db, code, here.typed["place"], here.act())
        return NextPage(f"/bookings/{found.code}", f"It is set out at {answer.place}.")

    return here.answer(form, f"Set out {found.code}", do, _still(here, found.code))


@routes.post("/bookings/{code}/done", include_in_schema=False)
@needs(Right.BOOK)
def done(here: At, code: str) -> Response:
    """Write down what a showing used."""
    found = own_booking(here, code)
    key = key_of(here, here.plan(), LineKind.SHOWN, found.code)

    def do() -> NextPage:
        typed = here.typed
        units = {f"used-{one.item}": bare_unit(one.measure) for one in _set_out(here, found)}
        used = [
            f"{name[5:]}={said}"
            for name in typed.texts
            if name[:5] == "used-" and (said := typed.amount(name, units.get(name, "")))
        ]
        with day_lines.logging_key(here.today, key):
            done_as = usage.done(here.db, found.code, used, here.typed.all("back"), here.act())
        said = " ".join((f"It is done (job {done_as.job}).", *not_set_out(done_as)))
        return NextPage(f"/bookings/{found.code}", said)

    return here.answer(_used_form(here, found), f"What {found.code} used", do, _still(here, found.code))
