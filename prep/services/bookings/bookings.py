"""Bookings: a teacher's date, period, room, demo and showings."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.chemistry import quantities, spelling
from prep.chemistry.model import Measure
from prep.errors import PrepError, Refused
from prep.planning.model import Booking, Calendar, Demo, Finding, Horizon, Share
from prep.services.bookings.requests import Wanted, coded, free_codes, read_bookings
from prep.services.catalogue.names import find_item
from prep.services.input.checks import printable, within
from prep.services.input.progress import More, Watcher, each, nobody, steps
from prep.services.inventory import session
from prep.services.plan import snapshot as plan_snapshot

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Taken:
    """An item that a booking takes: its base amount (ug or nL), and where it comes from, in words."""

    item: str
    name: str
    amount: int
    measure: Measure
    source: str


@dataclass(frozen=True, slots=True)
class Booked:
    """A booking, what it takes, and whether the room can serve it as things stand (None: no plan could be drawn up)."""

    booking: Booking
    served: bool | None
    findings: tuple[Finding, ...]
    takes: tuple[Taken, ...] = ()


def list_bookings(db: Path | None, start: date | None, end: date | None, everything: bool) -> list[Booking]:
    """Bookings in date order; done and cancelled ones only with `everything`."""
    with session.reading(db) as connection:
        found = every(connection)
    return [
        b
        for b in found
        if (everything or b.status == "booked") and (start is None or b.on >= start) and (end is None or b.on <= end)
    ]


def add(
    db: Path | None,
    on: date,
    demo: str,
    showings: int,
    period: str,
    room: str,
    teacher: str,
    today: date,
    even_closed: bool = False,
    group: str = "",
) -> Booked:
    """Book a demo for an age group and say at once whether it can be served.

    Raises PrepError; Refused if it breaks a rule of the school.
    """
    within(showings, 1, 1000, "--showings")
    with session.writing(db) as connection:
        code = next(free_codes({b.code for b in every(connection)}))
        booking = Booking(code, on, period, room, teacher, find_demo(connection, demo).code, showings)
        put(connection, [Wanted(booking, group)], today, even_closed)
    try:
        return _prospect(db, booking, today)
    except PrepError as problem:  # the booking stands: what is wrong with the plan is no reason to book it again
        why = f"{booking.code} is booked; whether it can be served is not known: {problem}"
        return Booked(booking, None, (Finding("act", "no-plan", booking.code, why, "See: prep plan"),))


def _prospect(db: Path | None, booking: Booking, today: date) -> Booked:
    """What a booking needs and what serves it, in the plan of everything booked up to its day."""
    from prep.planning.plan import make_plan
    from prep.services.school import settings

    known = plan_snapshot.of_inventory(db, today)
    drawn = make_plan(known, Horizon(today, booking.on), settings.read(db).policy)
    mine = tuple(need for need in drawn.requirements if need.booking == booking.code)
    about = {booking.code, *(need.id for need in mine)}
    takes = []
    for need in mine:
        item = find_item(need.item, known.catalogue)
        several = len(need.served) > 1
        sources = [
            (f"{quantities.show(share.amount, item.measure, 4)} " if several else "") + _source(share)
            for share in need.served
        ]
        takes.append(Taken(item.code, item.name, need.amount, item.measure, ", ".join(sources)))
    found = tuple(f for f in drawn.findings if f.about in about)
    served = not any(need.short for need in mine) and not any(f.severity == "stop" for f in found)
    return Booked(booking, served, found, tuple(takes))


def _source(share: Share) -> str:
    """Where a share comes from, in words."""
    if share.kind == "batch":
        return f"to be made {share.ref.partition('@')[2].partition('/')[0]}"
    return "to be ordered" if share.ref.startswith("order:") else f"{share.kind} {share.ref}"


def move(
    db: Path | None,
    code: str,
    to: date | None,
    period: str | None,
    room: str | None,
    by: str,
    today: date,
    even_closed: bool = False,
) -> Booking:
    """Change a booking's day, period or room, as a job. Raises PrepError; Refused if it then breaks a school's rule."""
    if to is None and period is None and room is None:
        raise PrepError("Say what changes: --to DATE, --period or --room.")
    with session.writing(db) as connection:
        old = open_booking(connection, code)
        new = replace(
            old,
            on=to or old.on,
            period=old.period if period is None else period,
            room=old.room if room is None else room,
        )
        # A booking that stays on its day, past or closed by now, may still change its room.
        _check(connection, [Wanted(new)], today, even_closed, days=new.on != old.on)
        note = f"{old.code}: to {new.on} {new.period} {new.room}".rstrip()
        _change(connection, "rebook", note, old.code, by, today, on=new.on, period=new.period, room=new.room)
    return new


def cancel(db: Path | None, code: str, by: str, today: date) -> Booking:
    """Cancel a booking, as a job; it stays on file. Raises PrepError."""
    with session.writing(db) as connection:
        booking = open_booking(connection, code)
        _change(connection, "cancel", f"{booking.code}: cancelled", booking.code, by, today, status="cancelled")
    return replace(booking, status="cancelled")


def import_bookings(
    db: Path | None, path: Path, today: date, dry_run: bool, even_closed: bool = False, watcher: Watcher = nobody
) -> list[Booking]:
    """Add every booking of a CSV file, or, if a row is wrong, none. Raises PrepError naming the row."""
    with session.reading(db) if dry_run else session.writing(db) as connection:
        from prep.store import queries

        rows = read_bookings(path, queries.demos(connection))
        if not rows:
            raise PrepError(f"{path.name}: there is no booking in it.")
        taken = {b.code for b in every(connection)}
        for row in rows:
            if row.booking.code in taken:
                raise PrepError(f'{path.name}: the booking code "{row.booking.code}" is taken already; leave it empty.')
        wanted = coded(rows, taken)
        put(connection, wanted, today, even_closed, dry_run, steps(watcher, len(wanted)))
    return [one.booking for one in wanted]


def put(
    connection: "Connection",
    wanted: Sequence[Wanted],
    today: date,
    even_closed: bool,
    dry_run: bool = False,
    more: More = lambda _: None,
) -> None:
    """Write new bookings with their age groups: all of them or, if one may not be booked, none.

    Raises PrepError for the first that is past, closed (unless `even_closed`) or said in too many words; Refused
    for one that breaks a rule of the school. A `dry_run` only looks.
    """
    from prep.services.safety import school_rules
    from prep.store import seeding

    _check(connection, wanted, today, even_closed, more=more)
    if not dry_run:
        seeding.put_bookings(connection, [one.booking for one in wanted])
        school_rules.set_groups(connection, {one.booking.code: one.group for one in wanted})


def _check(
    connection: "Connection",
    wanted: Sequence[Wanted],
    today: date,
    even_closed: bool,
    *,
    days: bool = True,
    more: More = lambda _: None,
) -> None:
    """The one check of what is to be booked, whoever asks; `days` False leaves the days as they stand."""
    from prep.services.safety.school_rules import refuse_bookings
    from prep.store import queries

    calendar = queries.calendar(connection, queries.settings(connection))
    for one in each(wanted, more):
        booking = one.booking
        try:
            if days:
                _bookable(booking.on, calendar, today, even_closed)
            for name, text in (
                ("period", booking.period),
                ("room", booking.room),
                ("teacher", booking.teacher),
                ("group", one.group),
            ):
                printable(text, 80, f"the {name}")
        except PrepError as problem:
            raise PrepError(f"{one.where}: {problem}" if one.where else str(problem)) from None
    groups = {one.booking.code: one.group for one in wanted if one.group}
    refuse_bookings(connection, [one.booking for one in wanted], groups)


def _bookable(on: date, calendar: Calendar, today: date, even_closed: bool) -> None:
    if on < today:
        raise PrepError(f"{on} is past; a booking is for today or later.")
    if not even_closed and not calendar.works(on):
        why = calendar.closed.get(on, "not a working day")
        raise PrepError(f"{on} is closed: {why}. Choose another day, or add --closed to book it all the same.")


def demos(db: Path | None) -> list[Demo]:
    """Every demo, by code."""
    from prep.store import queries

    with session.reading(db) as connection:
        return list(queries.demos(connection).values())


def demo(db: Path | None, code: str) -> Demo:
    """One demo by code or name. Raises PrepError."""
    with session.reading(db) as connection:
        return find_demo(connection, code)


def open_booking(connection: "Connection", code: str) -> Booking:
    """A booking that is neither done nor cancelled. Raises PrepError."""
    wanted = code.strip()
    found = {b.code: b for b in every(connection)}
    booking = found.get(wanted) or found.get(wanted.upper())
    if booking is None:
        raise PrepError(f'There is no booking "{wanted[:40]}"; see: prep book list')
    if booking.status != "booked":
        raise Refused(f"Booking {booking.code} is {booking.status} already.")
    return booking


def every(connection: "Connection") -> list[Booking]:
    """Every booking of an open inventory, in date order."""
    from sqlalchemy import select

    from prep.store.queries import table
    from prep.store.tables import BookingRow

    rows = table(BookingRow)
    return [Booking(*row) for row in connection.execute(select(rows).order_by(rows.c.on, rows.c.code))]


def find_demo(connection: "Connection", name: str) -> Demo:
    """One demo of an open inventory by code or name. Raises PrepError."""
    from prep.store import queries

    known = queries.demos(connection)
    wanted = name.strip()
    if wanted in known:
        return known[wanted]
    for found in known.values():
        if spelling.key(wanted) in (spelling.key(found.name), spelling.key(found.code)):
            return found
    hint = spelling.near(wanted, {code: (found.name,) for code, found in known.items()})
    raise PrepError(f'"{wanted[:40]}" is no demo on file; see: prep demo list.{hint}')


def _change(connection: "Connection", kind: str, note: str, code: str, by: str, today: date, **values: object) -> None:
    from prep.store import changes, ledger

    changes.change(connection, ledger.begin(connection, kind, by, today, note), "booking", code, **values)
