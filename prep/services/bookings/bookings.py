"""Bookings: asked for, changed, cancelled, set out; each as a job, with the plan's answer."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.books import BookingStatus, JobKind
from prep.errors import NotOnFile, PrepError, Refused
from prep.planning.age_groups import group_named
from prep.planning.booking_answer import BookingAnswer
from prep.planning.model import Booking, Calendar, Demo
from prep.planning.workdays import in_order_of_the_day
from prep.services.bookings import answers
from prep.services.bookings.bookable import names_of
from prep.services.bookings.requests import (
    MOST_SHOWINGS,
    BookingChange,
    BookingRequest,
    Repeat,
    WantedBooking,
    coded,
    find_demo_in,
    same,
)
from prep.services.input.act import Act
from prep.services.input.checks import printable, within
from prep.services.input.progress import More, each
from prep.services.inventory import session
from prep.store import change_log, ledger, queries, seeding, table_rows
from prep.store.school import bookings
from prep.wording import AtTerminal, Flag, any_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

RULES = "prep.services.safety.school_rules"
"""What checks a booking against the school's rules; it classifies, so that only what books imports it."""


@dataclass(frozen=True, slots=True)
class BookingFilter:
    """Which bookings a list shows; done and cancelled ones only with `everything`."""

    start: date | None = None
    end: date | None = None
    teacher: str = ""
    group: str = ""
    everything: bool = False

    def takes(self, b: Booking) -> bool:
        """Tell whether the list shows a booking."""
        return (
            (self.everything or b.stands)
            and (self.start is None or b.on >= self.start)
            and (self.end is None or b.on <= self.end)
            and (not self.teacher or self.teacher.casefold() in b.teacher.casefold())
            and (not self.group or self.group == b.group)
        )


class BookedAlready(Refused):
    """The same is booked already; `says` says which it is."""

    def __init__(self, says: str) -> None:
        super().__init__(f"{says} To book it twice", AtTerminal(": ", ", tick "), Flag("--again"))
        self.says = says


def list_bookings(db: Path | None, which: BookingFilter | None = None) -> list[Booking]:
    """List bookings by date and period. Raises PrepError for an age group that is none."""
    which = which or BookingFilter()
    with session.reading(db) as connection:
        if which.group:
            which = replace(which, group=group_named(which.group, bookings.age_groups(connection)))
        found = [b for b in bookings.every(connection) if which.takes(b)]
    return sorted(found, key=lambda b: (b.on, *in_order_of_the_day(b)))


def add(db: Path | None, asked: BookingRequest, act: Act) -> BookingAnswer:
    """Book one demo, or portions of an item, and say at once what the plan says. Raises as `add_all`."""
    return add_all(db, [asked], act)[0]


def add_all(db: Path | None, asked: Sequence[BookingRequest], act: Act) -> tuple[BookingAnswer, ...]:
    """Book all that is asked for, as one job, or nothing; with the plan's answers.

    Raises PrepError; Refused if one breaks a rule of the school, or the same is booked and `again` was not said.
    """

    def work(connection: "Connection") -> tuple[WantedBooking, ...]:
        new = _new(connection, asked)
        check(connection, new, act.on, _even_closed(asked))
        return new

    def post(connection: "Connection", new: tuple[WantedBooking, ...]) -> tuple[WantedBooking, ...]:
        put(connection, new, act)
        return new

    new = session.worked_out(db, work, post, RULES)
    return answers.of(db, [one.booking.code for one in new], act.on)


def ask(db: Path | None, asked: Sequence[BookingRequest], today: date) -> tuple[BookingAnswer, ...]:
    """Answer what bookings would get; nothing is booked. Raises as `add_all`, for what it would not book either."""
    with session.reading(db) as connection:
        new = _new(connection, asked)
        check(connection, new, today, _even_closed(asked))
    return answers.of(db, (), today, [one.booking for one in new])


def _new(connection: "Connection", asked: Sequence[BookingRequest]) -> tuple[WantedBooking, ...]:
    """Make the bookings that are asked for. Raises PrepError; BookedAlready where the same is booked."""
    names, there = names_of(connection), every(connection)
    wanted = [WantedBooking(names.booking(one)) for one in asked]
    twice = {same(b): b for b in there if b.stands}
    for one, request in zip(wanted, asked, strict=True):
        found = twice.get(same(one.booking))
        if found and not request.again:
            at = f", {found.period}" if found.period else ""
            raise BookedAlready(f"{found.code} books the same already: {found.what} on {found.on}{at}.")
    return coded(wanted, {b.code for b in there})


def _even_closed(asked: Sequence[BookingRequest]) -> bool:
    return all(one.even_closed for one in asked)


@dataclass(frozen=True, slots=True)
class RepeatedBooking:
    """The same booking on each of its days, and the days that were left out because the room is closed."""

    bookings: list[BookingRequest]
    closed: list[date]


def repeated(asked: BookingRequest, how: Repeat, calendar: Calendar) -> RepeatedBooking:
    """Lay out the same booking on each of its days, except those on which the room is closed.

    The first stands as it is asked for. Raises PrepError.
    """
    days = how.days(asked.on)
    closed = [day for day in days[1:] if not asked.even_closed and not calendar.works(day)]
    return RepeatedBooking([replace(asked, on=day) for day in days if day not in closed], closed)


def change(db: Path | None, code: str, changed: BookingChange, act: Act) -> BookingAnswer:
    """Change a booking, as a job. Raises PrepError; Refused if it then breaks a school's rule."""
    given = {
        name: getattr(changed, name)
        for name in ("period", "room", "teacher", "group", "note", "showings", "trials")
        if getattr(changed, name) is not None
    }
    if changed.to is not None:
        given["on"] = changed.to
    if not given:
        raise PrepError(
            "Say what changes: ",
            Flag("--to"),
            " DATE, ",
            any_of("--period", "--room", "--showings", "--teacher", "--group", "--note"),
            ".",
        )
    if changed.showings is not None:
        within(changed.showings, 1, MOST_SHOWINGS, Flag("--showings"))
    if changed.trials is not None:
        within(changed.trials, 0, 100, Flag("--trials"))

    def work(connection: "Connection") -> tuple[Booking, dict[str, Any]]:
        old = open_booking(connection, code)
        said = dict(given)
        if "group" in said:
            said["group"] = names_of(connection).group(said["group"])
        new = replace(old, **said)
        if new.on != old.on and old.set_out:
            new, said["set_out"] = replace(new, set_out=""), ""  # it must be set out again for the new day
        # Days are checked only of a booking that moves: one on a past or closed day may still change its room.
        check(connection, [WantedBooking(new)], act.on, changed.even_closed, days=new.on != old.on)
        return old, said

    def post(connection: "Connection", worked: tuple[Booking, dict[str, Any]]) -> Booking:
        old, said = worked
        new = replace(old, **said)
        what = [f"{name} {value}" for name, value in said.items() if value and getattr(old, name) != value]
        note = (
            f"{old.code}: to {new.on} {new.period} {new.room}".rstrip()
            if changed.to is not None or not what
            else f"{old.code}: {', '.join(what)}"
        )
        _change(connection, JobKind.REBOOK, note, old.code, act, **said)
        return new

    done = session.worked_out(db, work, post, RULES)
    if given.keys() & {"on", "showings", "trials"}:
        return answers.of(db, [done.code], act.on)[0]
    return answers.shown(db, done.code, act.on)


def cancel(db: Path | None, code: str, act: Act) -> Booking:
    """Cancel a booking, as a job; it stays on file. Raises PrepError."""
    with session.writing(db) as connection:
        booking = open_booking(connection, code)
        _change(
            connection, JobKind.CANCEL, f"{booking.code}: cancelled", booking.code, act, status=BookingStatus.CANCELLED
        )
    return replace(booking, status=BookingStatus.CANCELLED)


def set_out(db: Path | None, code: str, place: str, act: Act) -> BookingAnswer:
    """Say that a booking stands ready, and where, as a job. Raises PrepError."""
    where = printable(place.strip(), 80, "the place")

    def work(connection: "Connection") -> tuple[Booking, str]:
        booking = open_booking(connection, code)
        if (asks := _asks_leave(connection, booking)) and not booking.allowed_by:
            raise Refused(
                f"{booking.code} must be allowed before it is set out: {asks}",
                AtTerminal(f" Then: prep book allow {booking.code} --who NAME"),
            )
        stands = where or booking.room
        if not stands:
            raise PrepError("Say where it stands: ", Flag("--at"), " PLACE.")
        return booking, stands

    def post(connection: "Connection", worked: tuple[Booking, str]) -> Booking:
        booking, stands = worked
        _change(connection, JobKind.SET_OUT, f"{booking.code}: at {stands}", booking.code, act, set_out=stands)
        return booking

    return answers.shown(db, session.worked_out(db, work, post).code, act.on)


def allow(db: Path | None, code: str, who: str, act: Act) -> BookingAnswer:
    """Say who allowed a booking whose demo asks for leave, and when, as a job. Raises PrepError."""
    name = printable(" ".join(who.split()), 80, "who allowed it")
    if not name:
        raise PrepError("Say who allowed it: ", Flag("--who"), " NAME.")

    def work(connection: "Connection") -> Booking:
        booking = open_booking(connection, code)
        if not _asks_leave(connection, booking):
            raise Refused(f"{booking.what} asks for nobody's leave; there is nothing to allow.")
        return booking

    def post(connection: "Connection", booking: Booking) -> Booking:
        note = f"{booking.code}: {booking.what} on {booking.on} allowed by {name}"
        _change(connection, JobKind.ALLOW, note, booking.code, act, allowed_by=name, allowed_on=act.on)
        return booking

    return answers.shown(db, session.worked_out(db, work, post).code, act.today)


def _asks_leave(connection: "Connection", booking: Booking) -> str:
    """Tell who must allow a booking's demo, in the demo's own words; empty where nobody need."""
    demo = queries.demos(connection).get(booking.demo)
    return demo.ask_first if demo else ""


def put(connection: "Connection", wanted: Sequence[WantedBooking], act: Act) -> None:
    """Write new bookings that were checked, as one job."""
    if wanted:
        seeding.put_bookings(connection, [one.booking for one in wanted])
        first = wanted[0].booking
        said = f"{first.code}: {first.what} on {first.on}" + (f", and {len(wanted) - 1} more" if wanted[1:] else "")
        ledger.begin(connection, JobKind.BOOK, act.by, act.on, said)


def check(
    connection: "Connection",
    wanted: Sequence[WantedBooking],
    today: date,
    even_closed: bool,
    *,
    days: bool = True,
    more: More = lambda _: None,
) -> None:
    """Check what is to be booked, by the same rules whoever asks; `days` False leaves the days as they stand.

    Raises PrepError for the first that is past, closed (unless `even_closed`) or said in too many words; Refused for
    one that breaks a rule of the school.
    """
    from prep.services.safety.school_rules import refuse_bookings

    calendar = queries.calendar(connection, table_rows.settings(connection))
    for one in each(wanted, more):
        booking = one.booking
        try:
            if days:
                _bookable(booking.on, calendar, today, even_closed)
            for name in ("period", "room", "teacher", "group", "note"):
                printable(getattr(booking, name), 200 if name == "note" else 80, f"the {name}")
        except PrepError as problem:
            raise PrepError(f"{one.where}: " if one.where else "", problem.sentence) from None
    refuse_bookings(connection, [one.booking for one in wanted])


def _bookable(on: date, calendar: Calendar, today: date, even_closed: bool) -> None:
    if on < today:
        raise PrepError(f"{on} is past; a booking is for today or later.")
    if not even_closed and not calendar.works(on):
        why = calendar.closed.get(on, "not a working day")
        raise PrepError(
            f"{on} is closed: {why}. Choose another day, or ",
            AtTerminal("add", "tick"),
            " ",
            Flag("--closed"),
            " to book it all the same.",
        )


def demos(db: Path | None) -> list[Demo]:
    """List every demo, by code."""
    with session.reading(db) as connection:
        return list(queries.demos(connection).values())


def demo(db: Path | None, code: str) -> Demo:
    """Find one demo by code or name. Raises PrepError."""
    with session.reading(db) as connection:
        return find_demo(connection, code)


def calendar(db: Path | None) -> Calendar:
    """Read the days on which the room is open."""
    with session.reading(db) as connection:
        return queries.calendar(connection, table_rows.settings(connection))


def school_name(db: Path | None) -> str:
    """Read the school's name, for the head of a list."""
    with session.reading(db) as connection:
        return str(table_rows.settings(connection).get("school", ""))


def booking(db: Path | None, code: str) -> Booking:
    """Find a booking by its code, done or cancelled too, or by its demo if that is booked once. Raises PrepError."""
    with session.reading(db) as connection:
        return _one(every(connection), code)


def open_booking(connection: "Connection", code: str) -> Booking:
    """Find a booking that is neither done nor cancelled. Raises PrepError."""
    found = _one(every(connection), code)
    if not found.stands:
        raise Refused(f"Booking {found.code} is {found.status} already.")
    return found


def _one(there: Sequence[Booking], code: str) -> Booking:
    wanted = code.strip()
    by_code = {b.code: b for b in there}
    found = by_code.get(wanted) or by_code.get(wanted.upper()) or _named(there, wanted)
    if found is None:
        raise NotOnFile(f'There is no booking "{wanted[:40]}"', AtTerminal("; see: prep book list", "."))
    return found


def _named(there: Sequence[Booking], wanted: str) -> Booking | None:
    """Find the only open booking of a demo or item. Raises PrepError where there are several."""
    found = [b for b in there if b.stands and wanted and wanted.casefold() == b.what.casefold()]
    if len(found) > 1:
        codes = ", ".join(f"{b.code} on {b.on}" for b in found[:12])
        raise PrepError(f'"{wanted[:40]}" is booked {len(found)} times: {codes}; name one by its code.')
    return found[0] if found else None


def every(connection: "Connection") -> list[Booking]:
    """List every booking of an open inventory, in date order."""
    return bookings.every(connection)


def find_demo(connection: "Connection", name: str) -> Demo:
    """Find one demo of an open inventory by code or name. Raises PrepError."""
    return find_demo_in(queries.demos(connection), name)


def _change(connection: "Connection", kind: JobKind, note: str, code: str, act: Act, /, **values: Any) -> None:
    change_log.change(connection, ledger.begin(connection, kind, act.by, act.on, note), "booking", code, **values)
