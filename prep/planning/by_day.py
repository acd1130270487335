"""A plan by its days: what each has to make, to set out and to order, and what is wrong with it."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from prep.planning.model import Batch, Booking, Finding, OrderLine, Plan, Requirement, Snapshot

_K = TypeVar("_K")
_V = TypeVar("_V")


@dataclass(frozen=True, slots=True)
class Day:
    """One day of a plan. `minutes` of making, of the `limit` that the calendar gives the day.

    `needs` are the requirements of its bookings. What was to be ordered earlier is to be ordered on the day the
    plan was drawn up. That day has the findings to act on, all of them; another only those about what it has.
    """

    on: date
    batches: tuple[Batch, ...]
    minutes: int
    limit: int
    bookings: tuple[Booking, ...]
    needs: tuple[Requirement, ...]
    orders: tuple[OrderLine, ...]
    findings: tuple[Finding, ...]

    @property
    def empty(self) -> bool:
        """Whether there is nothing to do and nothing wrong."""
        return not (self.batches or self.bookings or self.orders or self.findings)


class Days:
    """Asked for one day of the plan after the other."""

    def __init__(self, plan: Plan, snapshot: Snapshot) -> None:
        self.plan, self.snapshot = plan, snapshot
        self._batches = _by((batch.make_on, batch) for batch in plan.batches)
        self._orders = _by((max(line.order_by, plan.today), line) for line in plan.orders)
        self._needs = _by((need.booking, need) for need in plan.requirements)
        self._bookings = _by((b.on, b) for b in snapshot.bookings if b.status == "booked")

    def of(self, on: date) -> Day:
        """What the day has."""
        batches, orders = self._batches.get(on, []), self._orders.get(on, [])
        bookings = sorted(self._bookings.get(on, []), key=lambda b: (b.period, b.room, b.code))
        needs = [need for booking in bookings for need in self._needs.get(booking.code, [])]
        about = {on.isoformat(), *(b.id for b in batches), *(b.code for b in bookings), *(n.id for n in needs)}
        today = on == self.plan.today
        found = [f for f in self.plan.findings if f.about in about or (today and f.severity in ("stop", "act"))]
        return Day(
            on,
            tuple(batches),
            sum(batch.minutes for batch in batches),
            self.snapshot.calendar.minutes(on),
            tuple(bookings),
            tuple(needs),
            tuple(orders),
            tuple(found),
        )

    def busy(self) -> list[date]:
        """The days from today on that have something to make, to set out or to order."""
        last = max(self.plan.horizon.end, self.plan.today)
        days = {*self._batches, *self._orders, *self._bookings}
        return sorted(day for day in days if self.plan.today <= day <= last)


def _by(pairs: Iterable[tuple[_K, _V]]) -> dict[_K, list[_V]]:
    out: dict[_K, list[_V]] = defaultdict(list)
    for key, value in pairs:
        out[key].append(value)
    return out
