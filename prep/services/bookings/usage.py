"""After the demo: what a booking really took from the shelves, what came back, and what the room learns from it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BookingStatus, BottleStatus, JobKind
from prep.chemistry import quantities
from prep.chemistry.catalogue import Item
from prep.chemistry.model import Measure
from prep.chemistry.preparation.after_opening import good_until
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.typed_strength import strength
from prep.dates import DoneOn
from prep.errors import PrepError
from prep.findings import Finding
from prep.planning.by_day import LineKind
from prep.planning.engine.requirements import demo_of, needs_of
from prep.planning.model import Booking, Demo
from prep.planning.set_out import how_often
from prep.planning.usage_factors import LearnedUsage, UsageRecord, findings, learn
from prep.services.bookings.bookings import find_demo, open_booking
from prep.services.catalogue.lookup import reckoned
from prep.services.catalogue.names import find_item
from prep.services.catalogue.on_file import OnFile
from prep.services.input.act import Act
from prep.services.inventory import session
from prep.services.stock import listing
from prep.store import change_log, ledger, queries, table_rows
from prep.store.day import lines
from prep.store.jobs import usage
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.bottles import HeldBottle
    from prep.store.ledger import MovementLine

WATER = "water"


@dataclass(frozen=True, slots=True)
class TakenItem:
    """One item of a booking: put out, used of it, and the rest; `short` is what the books could not give.

    `not_set_out` was short on the plan of the day: it is not booked, unless somebody says that it was used.
    """

    item: str
    name: str
    measure: Measure
    planned: int
    put_out: int
    used: int
    returned: int
    wasted: int
    short: int
    measured: bool
    not_set_out: int = 0


@dataclass(frozen=True, slots=True)
class ShownBooking:
    """A booking that is done, the job that booked it, and what it took."""

    booking: Booking
    job: int
    taken: tuple[TakenItem, ...]


@dataclass(frozen=True, slots=True)
class SetOutItem:
    """One item of a booking that is not done yet: its name, how it is counted, and how much of it was set out."""

    item: str
    name: str
    measure: Measure
    put_out: int


def set_out_of(db: Path | None, code: str) -> tuple[SetOutItem, ...]:
    """List what is set out for a booking, by item: what it asks for, less what its day's plan was short of.

    Raises PrepError where the booking is not open, or its demo no longer on file.
    """
    asked = _asked(db, code)
    with session.reading(db) as connection:
        short = _planned_for(connection, asked.booking).short
    return tuple(
        SetOutItem(item, thing.name, thing.measure, asked.out[item] - min(short.get(item, 0), asked.out[item]))
        for item, thing in asked.things.items()
    )


def done(db: Path | None, code: str, used: Sequence[str], back: Sequence[str], act: Act) -> ShownBooking:
    """Book what a demo took, as one job: first from the bottles that the plan of the day set out. Raises PrepError.

    `used` are `ITEM=AMOUNT`; what is not named is used as planned (per showing x showings). Put out was that
    and the spare and the dead volume: the rest is waste, or for the items in `back` returned to its bottle.
    What that plan was short of was not put out, and is not booked. What the books do not hold is said, not refused:
    the demo has been shown.
    """
    asked, by, day = _asked(db, code), act.by, act.day
    if day.on < asked.booking.on:
        raise PrepError(
            f"{asked.booking.code} is booked for {asked.booking.on}; it is done on that day or after.",
            AtTerminal(f" If it was shown earlier: prep book move {asked.booking.code} --to {day.on}"),
        )
    given = _given(used, asked)
    returned = {_item(name, asked, Flag("--return")) for name in back}
    with session.writing(db) as connection:
        booking, demo = open_booking(connection, asked.booking.code), asked.demo  # closed meanwhile, perhaps
        job = ledger.begin(connection, JobKind.DONE, by, day.on, f"{booking.code}: {demo.name} {how_often(booking)}")
        rows, taken = [], []
        day_had = _planned_for(connection, booking)
        for item, thing in sorted(asked.things.items()):
            lacked = min(day_had.short.get(item, 0), asked.out[item])
            figures = _Figures(
                asked.planned[item],
                max(asked.out[item] - lacked, given.get(item, 0)),
                given.get(item),
                item in returned,
                asked.fresh[item],
                day_had.bottles,
                _off(connection, item, asked.known),
                0 if item in given else lacked,
            )
            one, lines = _take(connection, thing, booking, figures, day)
            ledger.post(connection, job, lines)
            for bottle in {line.bottle for line in lines}:
                _open(connection, job, bottle, day.on)
            taken.append(one)
            rows.append(UsageRecord(demo.code, booking.code, item, one.planned, one.used, day.on, one.measured))
        usage.put(connection, job, rows)
        change_log.change(connection, job, "booking", booking.code, status=BookingStatus.DONE)
        return ShownBooking(replace(booking, status=BookingStatus.DONE), job, tuple(taken))


@dataclass(frozen=True, slots=True)
class UsageLearned:
    """What finished bookings used beside what was planned, and what of it is to be changed."""

    ratios: tuple[LearnedUsage, ...]
    findings: tuple[Finding, ...]


def learned(db: Path | None, demo: str | None = None) -> UsageLearned:
    """Compare the demos' figures with what finished bookings used, and find those to change. Raises PrepError."""
    with session.reading(db) as connection:
        code = find_demo(connection, demo).code if demo else None
        said = learn(record for record in usage.records(connection) if code in (None, record.demo))
    return UsageLearned(said, findings(said))


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a booking asks for, by item: what is used of it as planned, what is put out, and whether it is fresh."""

    booking: Booking
    demo: Demo
    known: OnFile
    things: dict[str, Item]
    planned: dict[str, int]
    out: dict[str, int]
    fresh: dict[str, bool]


def _asked(db: Path | None, code: str) -> _Asked:
    """Read an open booking and its demo as the plan reckons it, before anything is written. Raises PrepError."""
    with session.reading(db) as connection:
        booking = open_booking(connection, code)
        on_file = OnFile(queries.substances(connection), queries.solutions(connection), queries.demos(connection))
    found = demo_of(booking, on_file.demos, on_file)
    if found is None:
        raise PrepError(f"The demo {booking.demo} of booking {booking.code} is no longer on file.")
    demo = reckoned(found, on_file).demo
    planned: dict[str, int] = {}
    fresh: dict[str, bool] = {}
    for need in demo.needs:
        if need.item != WATER:
            planned[need.item] = planned.get(need.item, 0) + need.per_showing * booking.runs
            fresh[need.item] = fresh.get(need.item, False) or need.fresh
    out = dict.fromkeys(planned, 0)
    for needed, amount in needs_of(demo, booking.runs).items():
        if needed.item in out:
            out[needed.item] += amount
    things = {item: find_item(item, on_file) for item in planned}
    return _Asked(booking, demo, on_file, things, planned, out, fresh)


def _given(used: Sequence[str], asked: _Asked) -> dict[str, int]:
    out: dict[str, int] = {}
    for text in used:
        name, sign, amount = text.partition("=")
        if not sign or not amount.strip():
            raise PrepError(Flag("--used"), f' "{text[:60]}": write it as ITEM=AMOUNT, such as hcl-1=250 mL.')
        item = _item(name, asked, Flag("--used"))
        if item in out:
            raise PrepError(Flag("--used"), f" names {item} twice.")
        thing = asked.things[item]
        typed = amount.strip()
        out[item] = 0 if typed == "0" else _amount(typed, thing.measure, thing.name)
    return out


def _amount(text: str, measure: Measure, name: str) -> int:
    typed = quantities.amount(text, zero=True)
    if typed.base and (typed.measure is not measure or typed.drops):
        unit = "a volume such as 250 mL" if measure is Measure.VOLUME else "a mass such as 25 g"
        raise PrepError(f'"{text[:40]}": {name} is counted by {measure.value}; write {unit}.')
    return typed.base


def _item(name: str, asked: _Asked, option: str) -> str:
    if name.strip() in asked.things:
        return name.strip()
    item = find_item(name, asked.known).code
    if item not in asked.things:
        raise PrepError(
            option, f": this demo takes no {item}; it takes {', '.join(sorted(asked.things)) or 'nothing'}."
        )
    return item


@dataclass(frozen=True, slots=True)
class _Figures:
    """Of one item: planned, put out, said to be used (None: as planned), the rest back, made fresh; bottles set out.

    `off` are the bottles whose found strength is too far from the one on file to go to the bench. `lacked` was short
    on the plan of the day, and nobody says that it was used.
    """

    planned: int
    out: int
    given: int | None
    back: bool
    fresh: bool
    set_out: tuple[str, ...] = ()
    off: frozenset[str] = frozenset()
    lacked: int = 0


def _take(
    connection: "Connection", thing: Item, booking: Booking, figures: _Figures, day: DoneOn
) -> "tuple[TakenItem, list[MovementLine]]":
    """Draw what was put out from the bottles that served it."""
    planned, out, back = figures.planned, figures.out, figures.back
    used = min(planned, out) if figures.given is None else figures.given
    lines: list[MovementLine] = []
    returned = wasted = 0
    want, want_used = out, used
    for held in _serving(connection, thing.code, day, figures):
        if want <= 0:
            break
        take = min(want, held.balance)
        of_use = min(take, want_used)
        rest = take - of_use
        if of_use:
            lines.append(ledger.MovementLine(held.code, -of_use, f"shown: {booking.code}"))
        if rest and back:
            lines.append(ledger.MovementLine(held.code, -rest, f"put out: {booking.code}"))
            lines.append(ledger.MovementLine(held.code, rest, f"back from {booking.code}"))
            returned += rest
        elif rest:
            lines.append(ledger.MovementLine(held.code, -rest, f"to waste after {booking.code}"))
            wasted += rest
        want -= take
        want_used -= of_use
    one = TakenItem(
        thing.code,
        thing.name,
        thing.measure,
        planned,
        out,
        used,
        returned,
        wasted,
        max(want_used, 0),
        figures.given is not None,
        figures.lacked,
    )
    return one, lines


@dataclass(frozen=True, slots=True)
class _PlannedShowing:
    """What the plan of the day had for a booking: the bottles to set out, and what it was short of, by item."""

    bottles: tuple[str, ...] = ()
    short: Mapping[str, int] = field(default_factory=dict)


def _planned_for(connection: "Connection", booking: Booking) -> _PlannedShowing:
    """Read what the plan of the day had for a booking, as its line says; nothing where the day was not printed."""
    for line in lines.of_day(connection, booking.on):
        if line.kind == LineKind.SHOWN and line.request.get("booking") == booking.code:
            return _PlannedShowing(tuple(line.request.get("bottles", ())), line.request.get("short", {}))
    return _PlannedShowing()


def _off(connection: "Connection", item: str, known: OnFile) -> frozenset[str]:
    """Find the bottles of a solution whose own strength the plan rejects for the bench."""
    solution = known.solutions.get(item)
    own = [held for held in listing.held_of(connection, item) if held.strength] if solution else []
    if not own or solution is None:
        return frozenset()
    making = Making(known)
    return frozenset(
        held.code for held in own if not making.found_over_nominal(solution, strength(held.strength or "")).serves
    )


def _serving(connection: "Connection", item: str, day: DoneOn, figures: _Figures) -> "list[HeldBottle]":
    """List the bottles that were there, in service and in date: those set out, then as the plan takes them.

    For a fresh need those made that day come before others; a bottle whose found strength is off comes last, for the
    plan sets none of it out. Of equal days an opened bottle comes first, and a nearly empty one.
    """
    there = listing.held_of(connection, item)
    own = table_rows.settings(connection).get("days_open", {})
    good = {h.code: good_until(item, h.use_by, h.opened, own) or date.max for h in there}
    serving = [
        h
        for h in there
        if h.status == BottleStatus.IN_SERVICE
        and h.balance > 0
        and good.get(h.code, date.max) >= day.on
        and not day.before(h.received)
    ]

    def order(h: "HeldBottle") -> tuple[bool, bool, bool, date, bool, int, date, str]:
        old = figures.fresh and h.received != day.on
        off = h.code in figures.off
        came = h.received or date.max
        return h.code not in figures.set_out, off, old, good[h.code], h.opened is None, h.balance, came, h.code

    return sorted(serving, key=order)


def _open(connection: "Connection", job: int, bottle: str, on: date) -> None:
    if listing.one(connection, bottle).opened is None:
        change_log.change(connection, job, "bottle", bottle, opened=on)
