"""The lines of a day, numbered: `prep log 3` logs the third as it was printed, or as it really was."""

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.books import JobKind
from prep.chemistry import quantities
from prep.errors import NotWritable, PrepError, Refused
from prep.planning.by_day import LineKind, PlanDay
from prep.planning.engine.requirements import demo_of
from prep.planning.model import Batch, Booking, OrderLine, Snapshot
from prep.planning.set_out import how_often
from prep.planning.workdays import by_number
from prep.services.inventory import session
from prep.services.inventory.session import MarkedJob
from prep.services.stock import listing
from prep.services.stock.places import holds
from prep.store.day import lines as day_lines
from prep.store.day.lines import StoredLine
from prep.store.school.orders import purchases
from prep.wording import AtTerminal

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class NumberedLines:
    """The numbers of a day's lines, by their keys, and those that are logged already."""

    numbers: Mapping[str, int]
    logged: frozenset[str]


_WORK = (JobKind.MAKE, JobKind.SET_OUT, JobKind.DONE, JobKind.ORDER, JobKind.ARRIVE, JobKind.DISCARD)
"""What is done on a day of the kinds of its lines, whether it was one of them or not."""
_NEWEST = 600


@dataclass(frozen=True, slots=True)
class DoneLine:
    """What was done on a day: what a line of it said, or else what the job says; and by whom."""

    says: str
    by: str
    job: int
    number: int | None = None


def number(db: Path | None, day: PlanDay, snapshot: Snapshot) -> NumberedLines:
    """Number a day's lines; those that have one keep it from the day itself on. Raises PrepError.

    A day that is looked at ahead is numbered anew when its lines have changed: what was printed last holds. Who may
    only read has the numbers that are kept, and after them those of the order in which the lines are printed.
    """
    wanted, ahead = _stored(day, snapshot), day.on > snapshot.today
    with session.reading(db) as connection:
        known = {line.key: line for line in day_lines.of_day(connection, day.on)}
    if (ahead and list(known) != [line.key for line in wanted]) or any(
        line.key not in known or (known[line.key].job is None and dict(known[line.key].request) != line.request)
        for line in wanted
    ):
        try:
            with session.writing(db) as connection:
                day_lines.put(connection, day.on, wanted, ahead=ahead)
                known = {line.key: line for line in day_lines.of_day(connection, day.on)}
        except NotWritable:
            return _unkept(known, wanted)
    return NumberedLines(
        {key: line.number for key, line in known.items()},
        frozenset(key for key, line in known.items() if line.job is not None),
    )


def _unkept(known: "Mapping[str, StoredLine]", wanted: "Sequence[StoredLine]") -> NumberedLines:
    """Number a day's lines without keeping the new numbers."""
    numbers = {key: line.number for key, line in known.items()}
    new = count(max(numbers.values(), default=0) + 1)
    numbers |= {line.key: next(new) for line in wanted if line.key not in numbers}
    return NumberedLines(numbers, frozenset(key for key, line in known.items() if line.job is not None))


def of_sample(day: PlanDay) -> NumberedLines:
    """Number a day's lines in the order in which they are printed, where no inventory keeps them."""
    return NumberedLines({line.key: at for at, line in enumerate(day.lines(), 1)}, frozenset())


def listed(db: Path | None, on: date) -> "tuple[StoredLine, ...]":
    """List the lines of a day by their numbers. Raises PrepError."""
    with session.reading(db) as connection:
        return day_lines.of_day(connection, on)


def done(db: Path | None, on: date) -> tuple[DoneLine, ...]:
    """List what was made, set out, shown, ordered, put away and discarded on a day, as was done. Raises PrepError."""
    said = {one.job: one for one in listed(db, on) if one.job is not None}
    moves = listing.history(db, None, _NEWEST)
    undone = {move.reverses for move in moves if move.reverses}
    kept: dict[int, DoneLine] = {}
    for move in reversed(moves):
        if move.on != on or move.job in undone or move.kind not in _WORK or move.job in kept:
            continue
        line = said.get(move.job)
        text = line.says if line else f"{move.kind} {move.bottle}: {move.reason}".replace(" :", ":")
        if move.kind == JobKind.MAKE:
            if move.amount <= 0:
                continue
            text += f" ({quantities.show(move.amount, move.measure)} into {move.bottle})"
        kept[move.job] = DoneLine(text, move.by, move.job, line.number if line else None)
    return tuple(kept.values())


def line(db: Path | None, on: date, number: int) -> "StoredLine":
    """Find a line of the day that is still to be logged. Raises PrepError; Refused where it is logged already."""
    lines = listed(db, on)
    found = next((one for one in lines if one.number == number), None)
    if found is None:
        there = f"it has 1 to {len(lines)}" if lines else "it was not printed yet"
        raise PrepError(f"The day {on} has no line {number}; {there}", AtTerminal(f": prep plan --day {on}"))
    _not_logged(found)
    return found


def _not_logged(line: StoredLine) -> None:
    if line.job is not None:
        raise Refused(f"Line {line.number} ({line.says}) is logged already, as job {line.job}.")


def logging(on: date, number: int) -> AbstractContextManager[MarkedJob]:
    """Let the job that is done inside log a line of the day, in the same transaction.

    That job raises Refused where the line was logged meanwhile.
    """

    def still(connection: "Connection") -> None:
        for one in day_lines.of_day(connection, on):
            if one.number == number:
                _not_logged(one)

    return session.marking(MarkedJob(lambda connection, job: day_lines.logged(connection, on, number, job), still))


def logging_key(on: date, key: str) -> AbstractContextManager[MarkedJob]:
    """Let the job that is done inside log the line of a key, where the day has one that is not logged yet."""
    return session.marking(MarkedJob(lambda connection, job: _log_key(connection, on, key, job)))


def logging_order(on: date) -> AbstractContextManager[MarkedJob]:
    """Let the order that is placed inside log its line of the day, where the day has one that is not logged yet."""

    def mark(connection: "Connection", job: int) -> None:
        placed = max(purchases(connection), key=lambda one: by_number(one.code))
        _log_key(connection, on, f"{LineKind.ORDER} {placed.item} {placed.pack}", job)

    return session.marking(MarkedJob(mark))


def _log_key(connection: "Connection", on: date, key: str, job: int) -> None:
    lines = day_lines.of_day(connection, on) if key else ()
    if (line := next((one for one in lines if one.key == key and one.job is None), None)) is not None:
        day_lines.logged(connection, on, line.number, job)


def to_discard(db: Path | None, line: StoredLine) -> list[str]:
    """Find the bottles that a line discards: one, or all of what must not be kept. Raises Refused for none."""
    if "bottle" in line.request:
        return [str(line.request["bottle"])]
    with session.reading(db) as connection:
        held = listing.held_of(connection, line.request["solution"])
    codes = [one.code for one in held if holds(one)]
    if not codes:
        raise Refused(f"Line {line.number} ({line.says}): nothing of it is left on the books.")
    return codes


@dataclass(frozen=True, slots=True)
class _LineRequest:
    """What a line of the day says, and what logging it asks for."""

    says: str
    request: dict[str, Any]


def _stored(day: PlanDay, snapshot: Snapshot) -> "list[StoredLine]":
    batches = {batch.id: batch for batch in day.batches}
    orders = {line.id: line for line in day.orders}
    out = []
    for one in day.lines():
        if one.kind is LineKind.MAKE:
            asked = _make(batches[one.ref], snapshot)
        elif one.kind is LineKind.ORDER:
            asked = _order(orders[one.ref], snapshot)
        elif one.kind in (LineKind.SET_OUT, LineKind.SHOWN):
            asked = _booking(one.kind, one.ref, day, snapshot)
        elif one.kind is LineKind.ARRIVED:
            order = next(found.order for found in day.deliveries if found.order.code == one.ref)
            says = f"arrived: order {order.code}, {snapshot.catalogue.name(order.item)}"
            asked = _LineRequest(says, {"order": order.code})
        elif one.ref in batches:
            batch = batches[one.ref]
            says = f"destroy what is left of {snapshot.catalogue.name(batch.solution)}"
            asked = _LineRequest(says, {"solution": batch.solution})
        else:
            bottle = next(found for found in day.discards if found.code == one.ref)
            says = f"discard {bottle.code}, {snapshot.catalogue.name(bottle.item)}, out of date on {bottle.use_by}"
            asked = _LineRequest(says, {"bottle": bottle.code})
        out.append(StoredLine(one.key, str(one.kind), asked.says, asked.request))
    return out


def _make(batch: Batch, snapshot: Snapshot) -> _LineRequest:
    catalogue = snapshot.catalogue
    taken: dict[tuple[str, str], int] = {}
    for take in batch.takes:
        place = take.item if take.kind == "order" else take.ref
        taken[place, take.item] = taken.get((place, take.item), 0) + take.amount
    takes = [
        f"{place}={quantities.show(amount, catalogue.measure(item), None)}" for (place, item), amount in taken.items()
    ]
    volume = quantities.show(batch.amount, catalogue.measure(batch.solution), None)
    request = {"solution": batch.solution, "volume": volume, "takes": takes}
    return _LineRequest(f"make {volume} of {catalogue.name(batch.solution)}", request)


def _order(line: OrderLine, snapshot: Snapshot) -> _LineRequest:
    catalogue = snapshot.catalogue
    pack = quantities.show(line.pack, catalogue.measure(line.item), None)
    request = {"item": line.item, "packs": line.packs, "pack": pack}
    return _LineRequest(f"order {line.packs} x {pack} of {catalogue.name(line.item)}", request)


def _booking(kind: LineKind, code: str, day: PlanDay, snapshot: Snapshot) -> _LineRequest:
    booking = next(one for one in (*day.bookings, *day.unsaid) if one.code == code)
    if booking.on != day.on:  # what it was to have stands on its own day
        name = f"{_named(kind, booking, snapshot)}, booked for {booking.on}"
        return _LineRequest(name, {"booking": code})
    short: dict[str, int] = {}
    bottles: dict[str, None] = {}
    for need in day.needs:
        if need.booking == code:
            bottles |= {share.ref: None for share in need.served if share.kind == "bottle"}
            if need.short:
                short[need.item] = short.get(need.item, 0) + need.short
    request = {"booking": code, "bottles": list(bottles), "short": short}
    return _LineRequest(_named(kind, booking, snapshot), request)


def _named(kind: LineKind, booking: Booking, snapshot: Snapshot) -> str:
    demo = demo_of(booking, snapshot.demos, snapshot.catalogue)
    return f"{kind} {booking.code}, {demo.name if demo else booking.what} {how_often(booking)}"
