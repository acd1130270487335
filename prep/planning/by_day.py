"""A plan by its days: what each has to make, to set out and to order, and what is wrong with it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import field
from datetime import date
from enum import StrEnum
from typing import TypeVar

from prep.findings import Finding, Severity
from prep.planning.draws import LinkKind
from prep.planning.model import Batch, Booking, Bottle, OpenOrder, OrderLine, Plan, Requirement, Snapshot
from prep.planning.overdue import days_late, waiting
from prep.planning.set_out import minutes_of, sensible
from prep.planning.workdays import in_order_of_the_day
from prep.records import record

_K = TypeVar("_K")
_V = TypeVar("_V")


class LineKind(StrEnum):
    """What a line of the day asks for."""

    MAKE = "make"
    SET_OUT = "set out"
    SHOWN = "shown"
    ORDER = "order"
    ARRIVED = "arrived"
    DISCARD = "discard"


@record(frozen=True, slots=True)
class DayLine:
    """One line of the day to do and to tick.

    `ref` is the batch, the booking, the order line, the order or the bottle; `key` is what stays the same of it
    when the day is planned again.
    """

    kind: LineKind
    ref: str
    key: str


@record(frozen=True, slots=True)
class BottleFetch:
    """A bottle that the day's makes and bookings take from: so much in all, or all that is in it."""

    place: str
    bottle: str
    item: str
    amount: int
    all_of_it: bool = False


@record(frozen=True, slots=True)
class DueDelivery:
    """An order that is to come on the day, or was to come before it, and the bookings that wait for it."""

    order: OpenOrder
    days_late: int
    bookings: tuple[str, ...]


@record(frozen=True, slots=True)
class PlanDay:
    """One day of a plan. `minutes` of making, of the `limit` that the calendar gives the day.

    `needs` are the requirements of its bookings. What was to be ordered earlier is to be ordered on the day the
    plan was drawn up. That day has the findings to act on, all of them; another only those about what it has.
    `destroys` are its batches that must not be kept; `made_on` is the day of every batch of the plan. `unsaid` are
    the latest bookings of days before the one the plan was drawn up on, of which nobody said yet whether they were
    shown; `unsaid_more` counts those before them.
    """

    on: date
    batches: tuple[Batch, ...]
    minutes: int
    limit: int
    bookings: tuple[Booking, ...]
    needs: tuple[Requirement, ...]
    orders: tuple[OrderLine, ...]
    findings: tuple[Finding, ...]
    fetches: tuple[BottleFetch, ...] = ()
    deliveries: tuple[DueDelivery, ...] = ()
    discards: tuple[Bottle, ...] = ()
    destroys: tuple[Batch, ...] = ()
    made_on: Mapping[str, date] = field(default_factory=dict)
    unsaid: tuple[Booking, ...] = ()
    unsaid_more: int = 0

    @property
    def setting_out(self) -> int:
        """Minutes of setting out and clearing its bookings."""
        return minutes_of(self.bookings)

    @property
    def empty(self) -> bool:
        """Whether there is nothing to do and nothing wrong."""
        there = (self.batches, self.bookings, self.orders, self.findings, self.deliveries, self.unsaid)
        return not any(there)

    @property
    def wrong(self) -> tuple[Finding, ...]:
        """What is wrong and stands on no line of the day: the orders and the discards say theirs."""
        gone = {(_OUT, bottle.code) for bottle in self.discards}
        gone |= {("booking-past", booking.code) for booking in self.unsaid}
        return tuple(f for f in self.findings if f.code not in _ON_LINES and (f.code, f.about) not in gone)

    def lines(self) -> tuple[DayLine, ...]:
        """List every line of the day, in the order in which it is printed."""
        makes: dict[str, int] = defaultdict(int)
        # What comes is written down first: a make may wait for it.
        out = [DayLine(LineKind.ARRIVED, one.order.code, f"arrived {one.order.code}") for one in self.deliveries]
        for batch in self.batches:
            key = f"make {batch.solution} for {batch.first_user}"
            makes[key] += 1
            out.append(DayLine(LineKind.MAKE, batch.id, key if makes[key] == 1 else f"{key} ({makes[key]})"))
        for kind in (LineKind.SET_OUT, LineKind.SHOWN):
            out += [DayLine(kind, booking.code, f"{kind} {booking.code}") for booking in self.bookings]
        out += [DayLine(LineKind.SHOWN, one.code, f"{LineKind.SHOWN} {one.code}") for one in self.unsaid]
        out += [DayLine(LineKind.ORDER, line.id, f"order {line.item} {line.pack}") for line in self.orders]
        out += [DayLine(LineKind.DISCARD, batch.id, f"destroy {batch.id}") for batch in self.destroys]
        out += [DayLine(LineKind.DISCARD, bottle.code, f"discard {bottle.code}") for bottle in self.discards]
        return tuple(out)


_UNSAID = 6
"""Bookings of earlier days that a day names one by one; those before them are counted."""
_OUT = "out-of-date"
_DISCARDED = (_OUT, "destroy-at-once")
_ON_LINES = ("order-today", "order-late", "below-minimum", "order-overdue", "allowed")
"""Findings that say no more than the day's orders, deliveries and bookings do."""


class PlanDays:
    """The days of a plan, each gathered when it is asked for."""

    def __init__(self, plan: Plan, snapshot: Snapshot) -> None:
        self.plan, self.snapshot = plan, snapshot
        self._made_on = made_on(plan)
        self._batches = _by((batch.make_on, batch) for batch in plan.batches)
        self._orders = _by((max(line.order_by, plan.today), line) for line in plan.orders)
        self._needs = _by((need.booking, need) for need in plan.requirements)
        self._bookings = _by((b.on, b) for b in snapshot.bookings if b.stands)
        self._unsaid = tuple(b for on in sorted(self._bookings) if on < plan.today for b in self._bookings[on])
        self._bottles = {bottle.code: bottle for bottle in snapshot.bottles}

    def of(self, on: date) -> PlanDay:
        """Gather what the day has."""
        batches, orders = self._batches.get(on, []), self._orders.get(on, [])
        bookings = sorted(self._bookings.get(on, []), key=in_order_of_the_day)
        needs = [need for booking in bookings for need in self._needs.get(booking.code, [])]
        about = {on.isoformat(), *(b.id for b in batches), *(b.code for b in bookings), *(n.id for n in needs)}
        today = on == self.plan.today
        found = [
            f for f in self.plan.findings if f.about in about or (today and f.severity in (Severity.STOP, Severity.ACT))
        ]
        return PlanDay(
            on,
            tuple(batches),
            sum(batch.minutes for batch in batches),
            self.snapshot.calendar.minutes(on),
            tuple(bookings),
            tuple(needs),
            tuple(orders),
            tuple(found),
            self._fetches(batches, needs),
            self._deliveries(on) if on >= self.plan.today else (),
            tuple(self._bottles[f.about] for f in found if today and f.code in _DISCARDED and f.about in self._bottles),
            tuple(batch for batch in batches if self.snapshot.solutions[batch.solution].unstable),
            self._made_on,
            self._unsaid[-_UNSAID:] if today else (),
            len(self._unsaid[:-_UNSAID]) if today else 0,
        )

    def _fetches(self, batches: Iterable[Batch], needs: Iterable[Requirement]) -> tuple[BottleFetch, ...]:
        """List every bottle that is taken from, by place."""
        taken: dict[str, int] = defaultdict(int)
        for batch in batches:
            for take in batch.takes:
                if take.kind is LinkKind.BOTTLE:
                    taken[take.ref] += take.amount
        for need in needs:
            for share in need.served:
                if share.kind is LinkKind.BOTTLE:  # rounded up as it is set out
                    taken[share.ref] += sensible(share.amount, self.snapshot.catalogue.measure(need.item))
        fetched = [
            BottleFetch(bottle.location, code, bottle.item, min(amount, bottle.amount), amount >= bottle.amount)
            for code, amount in taken.items()
            if (bottle := self._bottles.get(code)) is not None
        ]
        return tuple(sorted(fetched, key=lambda one: (one.place, one.item, one.bottle)))

    def _deliveries(self, on: date) -> tuple[DueDelivery, ...]:
        """List what is to come on the day; on the day that the plan was drawn up, also what is overdue."""
        today = on == self.plan.today
        due = [order for order in self.snapshot.orders if order.due == on or (today and order.due < on)]
        waits = waiting(self.plan.requirements, self.plan.batches) if due else {}
        return tuple(
            DueDelivery(order, days_late(order, on) if today else 0, waits.get(order.code, ())) for order in due
        )

    def busy(self) -> list[date]:
        """List the days from today on that have something to make, to set out or to order."""
        last = max(self.plan.horizon.end, self.plan.today)
        days = {*self._batches, *self._orders, *self._bookings, *(order.due for order in self.snapshot.orders)}
        return sorted(day for day in days if self.plan.today <= day <= last)


def made_on(plan: Plan) -> dict[str, date]:
    """Find the day on which each batch of the plan is made, by its id."""
    return {batch.id: batch.make_on for batch in plan.batches}


def _by(pairs: Iterable[tuple[_K, _V]]) -> dict[_K, list[_V]]:
    out: dict[_K, list[_V]] = defaultdict(list)
    for key, value in pairs:
        out[key].append(value)
    return out
