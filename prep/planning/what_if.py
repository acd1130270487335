"""What a change would do to a plan: the snapshot with the change, and the two plans side by side."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import count
from typing import TypeVar

from prep.books import BookingStatus
from prep.errors import NotOnFile, PrepError
from prep.findings import Finding
from prep.planning.model import Batch, Booking, OrderLine, Plan, Requirement, Snapshot
from prep.wording import AtTerminal

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class MakeChange:
    """A make that is there in one plan only, or differs; `before` or `after` None = not in that plan."""

    before: Batch | None
    after: Batch | None


@dataclass(frozen=True, slots=True)
class OrderChange:
    """An order line that is there in one plan only, or differs."""

    before: OrderLine | None
    after: OrderLine | None


@dataclass(frozen=True, slots=True)
class Difference:
    """What changes from one plan to another.

    `short` are requirements that run short, or shorter, only in the second; `served` those that no longer do.
    `at_risk` are the bookings of `short`. A finding that only says otherwise is new, and not gone.
    """

    makes: tuple[MakeChange, ...]
    orders: tuple[OrderChange, ...]
    short: tuple[Requirement, ...]
    served: tuple[Requirement, ...]
    at_risk: tuple[str, ...]
    new_findings: tuple[Finding, ...]
    gone_findings: tuple[Finding, ...]

    def __bool__(self) -> bool:
        return bool(self.makes or self.orders or self.short or self.served or self.new_findings or self.gone_findings)


def without_bottle(snapshot: Snapshot, code: str) -> Snapshot:
    """Take a bottle out of the snapshot. Raises PrepError where there is none of that code."""
    if all(bottle.code != code for bottle in snapshot.bottles):
        raise NotOnFile(f'There is no bottle "{code[:40]}"', AtTerminal("; see: prep stock list", "."))
    return replace(snapshot, bottles=tuple(b for b in snapshot.bottles if b.code != code))


def with_booking(snapshot: Snapshot, demo: str, on: date, showings: int) -> Snapshot:
    """Add a booking to the snapshot. Raises PrepError where there is no such demo."""
    if demo not in snapshot.demos:
        raise PrepError(f'"{demo[:40]}" is no booking and no demo', AtTerminal("; see: prep demo list", "."))
    taken = {b.code for b in snapshot.bookings}
    free = next(code for n in count(1) if (code := f"new-{n}") not in taken)
    added = Booking(free, on, "", "", "", demo, showings)
    return replace(snapshot, bookings=(*snapshot.bookings, added))


def moved_booking(snapshot: Snapshot, code: str, on: date) -> Snapshot:
    """Move a booking of the snapshot to another day. Raises PrepError."""
    return _booking(snapshot, code, on=on)


def without_booking(snapshot: Snapshot, code: str) -> Snapshot:
    """Cancel a booking of the snapshot. Raises PrepError."""
    return _booking(snapshot, code, status=BookingStatus.CANCELLED)


def _booking(snapshot: Snapshot, code: str, **changed: object) -> Snapshot:
    if all(b.code != code or not b.stands for b in snapshot.bookings):
        raise NotOnFile(f'There is no open booking "{code[:40]}"', AtTerminal("; see: prep book list", "."))
    bookings = tuple(replace(b, **changed) if b.code == code else b for b in snapshot.bookings)  # type: ignore[arg-type]
    return replace(snapshot, bookings=bookings)


def late_order(snapshot: Snapshot, code: str, days: int) -> Snapshot:
    """Delay an open order by so many days. Raises PrepError where there is none of that code."""
    if all(order.code != code for order in snapshot.orders):
        raise NotOnFile(f'There is no open order "{code[:40]}"', AtTerminal("; see: prep order list", "."))
    late = timedelta(days=days)
    orders = tuple(replace(o, due=o.due + late) if o.code == code else o for o in snapshot.orders)
    return replace(snapshot, orders=orders)


def compare(before: Plan, after: Plan) -> Difference:
    """List what differs in `after` from `before`, in date order. Deterministic."""
    makes = tuple(
        MakeChange(one, other)
        for one, other in _pairs(
            {b.id: b for b in before.batches},
            {b.id: b for b in after.batches},
        )
        if one is None or other is None or _make(one) != _make(other)
    )
    orders = tuple(
        OrderChange(one, other)
        for one, other in _pairs({x.id: x for x in before.orders}, {x.id: x for x in after.orders})
        if one is None
        or other is None
        or (one.packs, one.pack, one.order_by, one.late) != (other.packs, other.pack, other.order_by, other.late)
    )
    was = {n.id: n.short for n in before.requirements}
    short = tuple(n for n in after.requirements if n.short > was.get(n.id, 0))
    now = {n.id: n.short for n in after.requirements}
    served = tuple(n for n in before.requirements if n.short and now.get(n.id, n.short) == 0)
    known, still = set(before.findings), {(f.code, f.about) for f in after.findings}
    return Difference(
        makes=tuple(sorted(makes, key=lambda c: _when(c.after or c.before))),
        orders=orders,
        short=short,
        served=served,
        at_risk=tuple(dict.fromkeys(n.booking for n in short)),
        new_findings=tuple(f for f in after.findings if f not in known),
        gone_findings=tuple(f for f in before.findings if (f.code, f.about) not in still),
    )


def _pairs(one: dict[str, _T], other: dict[str, _T]) -> list[tuple[_T | None, _T | None]]:
    return [(one.get(key), other.get(key)) for key in dict.fromkeys([*one, *other])]


def _make(batch: Batch) -> tuple[object, ...]:
    return batch.amount, batch.takes, batch.serves


def _when(batch: Batch | None) -> tuple[date, str]:
    assert batch is not None
    return batch.make_on, batch.id
