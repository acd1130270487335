"""Booking a showing: what is asked for, the plan's answer before the button, and what is only booked on purpose."""

import re
from dataclasses import replace
from datetime import date

from fastapi import Response

from prep.dates import read_day
from prep.errors import PrepError, Refused
from prep.planning.booking_answer import BookingAnswer
from prep.plurals import plural
from prep.reports.bookings.answers import answer_lines
from prep.reports.formatting import in_days, period_text
from prep.services.bookings import bookings, groups
from prep.services.bookings.requests import BookingRequest, Repeat
from prep.services.catalogue import lookup
from prep.services.people.roles import Right
from prep.services.school import periods
from prep.web.demos import demo_named, which_demo
from prep.web.forms import Choice, Field, WebForm, in_words
from prep.web.page_request import At, PageRequest, choices
from prep.web.rights import needs, router
from prep.wording import Flag, reworded

routes = router()
LATER = tuple(Choice(str(n), f"{plural(n, 'week')} later") for n in range(1, 7))
USUAL = tuple(f"P{n}" for n in range(1, 7))
MOST = 60
"""Bookings that one form makes."""


def _periods(here: PageRequest) -> list[str]:
    """List the school's periods, or the usual ones, and those that are booked here."""
    booked = {b.period for b in bookings.list_bookings(here.db, bookings.BookingFilter(everything=True))}
    own = periods.of_school(here.db).times
    return sorted({*(own or USUAL), *(p for p in booked if p and len(p) <= 12)})[:24]


def classes(here: PageRequest) -> list[Choice]:
    """List the school's classes to choose from."""
    return choices({g.name: g.name for g in groups.age_groups(here.db)}, "not said")


def _form(here: PageRequest, demo: str = "", on: str = "") -> WebForm:
    own = not here.may(Right.WORK)
    demos = [Choice(d.name, d.code) for d in bookings.demos(here.db)]
    fields = [
        Field("demo", "Demonstration", value=demo, suggest=demos, required=True, hint="by its name, or any word of it"),
        Field("on", "Day", "date", "--on", on, required=True),
        Field("periods", "Periods", "ticks", choices=[Choice(p, period_text(p)) for p in _periods(here)]),
        Field("period", "Another period", option="--period", hint="such as P3, or a time; P3, P4 books both"),
        Field("room", "Room", option="--room"),
        Field("showings", "Showings in a period", "number", "--showings", "1"),
        Field("group", "Class", "choice", "--group", choices=classes(here)),
        Field("later", "And again", "ticks", choices=LATER),
        Field("note", "Note to the prep room", option="--note"),
    ]
    if not own:
        fields.insert(4, Field("teacher", "Teacher", option="--teacher"))
    return WebForm("/book", tuple(fields), "See whether it can be shown")


ALL_THE_SAME = (
    Field("closed", "Book it although the room is closed", "tick", "--closed"),
    Field("again", "Book it a second time", "tick", "--again"),
)


def _all_the_same(form: WebForm, problem: PrepError) -> WebForm:
    """Ask also whether to book what is only booked when that was said, where it was not."""
    asked = [one for one in ALL_THE_SAME if one.option in problem.sentence.options]
    return replace(form, fields=(*form.fields, *(f for f in asked if f.name not in {g.name for g in form.fields})))


def _requests(here: PageRequest) -> tuple[list[BookingRequest], list[date]]:
    """Read what the form asks for: each period, each week; and the days closed then. Raises PrepError."""
    typed = here.typed
    if not typed["demo"]:
        raise PrepError("Choose a demonstration.")
    on = read_day(typed["on"], Flag("--on"), here.today)
    if on < here.today:
        raise PrepError(Flag("--on"), f" {in_days(str(on))} is over; choose a day from today on.")
    demo = demo_named(here)
    teacher = typed["teacher"] if here.may(Right.WORK) else here.by
    later = {int(text) for text in typed.all("later") if text.isdigit() and int(text) <= len(LATER)}
    out: list[BookingRequest] = []
    shut: set[date] = set()
    periods = [*typed.all("periods"), *(p.strip() for p in typed["period"].split(",") if p.strip())]
    named = list(dict.fromkeys(periods)) or [""]
    for period in named[: MOST + 1]:
        one = BookingRequest(
            demo,
            on,
            typed.number("showings", 1),
            period,
            typed["room"],
            teacher,
            typed["group"],
            typed["note"],
            even_closed=typed.ticked("closed"),
            again=typed.ticked("again"),
        )
        again = Repeat(weeks=max(later, default=0) + 1)
        repeated = bookings.repeated(one, again, bookings.calendar(here.db))
        out += [asked for asked in repeated.bookings if asked.on == on or (asked.on - on).days // 7 in later]
        shut |= {day for day in repeated.closed if (day - on).days // 7 in later}
    if len(out) > MOST or len(named) > MOST:
        raise PrepError(f"That is more than {MOST} bookings at once; book a part of them.")
    return sorted(out, key=lambda asked: asked.on), sorted(shut)


@routes.get("/book", include_in_schema=False)
@needs(Right.BOOK)
def book_page(here: At, demo: str = "", on: str = "") -> Response:
    """Show the form to book by, with the demonstration and the day filled in that led here."""
    return here.show("book.html", form=_form(here, demo[:80], on[:10]), answers=(), lines=said_lines, shut=())


@routes.post("/book", include_in_schema=False)
@needs(Right.BOOK)
def book(here: At) -> Response:
    """Show what the plan answers to a booking, and book it once that was seen."""
    ticked = tuple(one for one in ALL_THE_SAME if here.typed.ticked(one.name))
    form = _form(here)
    form = replace(form, fields=(*form.fields, *ticked)).filled(here.typed.texts)
    try:
        asked, shut = _requests(here)
        if not here.typed.ticked("book"):
            found = bookings.ask(here.db, asked, here.today)
            return here.show("book.html", form=form, answers=found, lines=said_lines, shut=shut,
                             names=lookup.names(here.db))  # fmt: skip
        with here.once():
            made = bookings.add_all(here.db, asked, here.act("booked_on"))  # "on" is the showing's day
    except PrepError as problem:
        code = 409 if isinstance(problem, Refused) else 422
        wrong = _all_the_same(form, problem).wrong(problem)
        about_demo = any(f.name == "demo" and f.error for f in wrong.fields)
        wrong = which_demo(here, wrong) if about_demo else wrong
        return here.show("book.html", code, form=wrong, answers=(), lines=said_lines, shut=())
    to = f"/bookings/{made[0].booking.code}" if len(made) == 1 else "/showings"
    short = [a for a in made if a.can_be_shown is False]
    said = f"{plural(len(made), 'showing')} booked."
    return here.go(to, said + (f" {len(short)} of them cannot be served yet." if short else ""))


def said_lines(answer: BookingAnswer) -> list[str]:
    """Write what is answered for the page of that booking, which need not name it by its code."""
    b = answer.booking
    own = re.compile(rf"Booking {re.escape(b.code)}(?: on {b.on}\b|(?= falls\b))")
    barred = re.compile(rf"Booking {re.escape(b.code)}: (\w)")

    def of_it(text: str) -> str:
        return barred.sub(lambda m: m[1].upper(), own.sub("It", text))

    return [in_words(reworded(line, of_it)) for line in answer_lines(answer)]
