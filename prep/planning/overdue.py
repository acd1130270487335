"""Orders on their way: which bookings wait for each, and which are overdue."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Protocol

from prep.chemistry.catalogue import Catalogue
from prep.findings import Finding, Severity
from prep.planning.draws import LinkKind
from prep.planning.model import Batch, OpenOrder, Requirement


def waiting(requirements: Iterable[Requirement], batches: Iterable[Batch]) -> dict[str, tuple[str, ...]]:
    """Order -> the bookings that it serves, itself or through what is made from it."""
    made = {batch.id: batch for batch in batches}
    booked = {need.id: need.booking for need in requirements}
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for need in requirements:
        for share in need.served:
            if share.kind is LinkKind.ORDER:
                found[share.ref][need.booking] = None
    for batch in made.values():
        orders = [take.ref for take in batch.takes if take.kind is LinkKind.ORDER]
        if orders:
            users = _users(batch, made, booked)
            for order in orders:
                found[order].update(dict.fromkeys(users))
    return {order: tuple(bookings) for order, bookings in found.items()}


def _users(batch: Batch, made: Mapping[str, Batch], booked: Mapping[str, str]) -> list[str]:
    """The bookings that a batch serves, itself or through another batch."""
    out, left, seen = [], [batch], {batch.id}
    while left:
        for share in left.pop().serves:
            if share.ref in booked:
                out.append(booked[share.ref])
            elif share.ref in made and share.ref not in seen:
                seen.add(share.ref)
                left.append(made[share.ref])
    return list(dict.fromkeys(out))


class Due(Protocol):
    """What is to come on a day."""

    @property
    def due(self) -> date:
        """The day."""


def days_late(order: Due, today: date) -> int:
    """By how many days an order that is on its way is overdue; 0 where it is not."""
    return max(0, (today - order.due).days)


def overdue(
    orders: Sequence[OpenOrder], today: date, catalogue: Catalogue, waits: Mapping[str, Sequence[str]]
) -> Iterable[Finding]:
    """A finding for each order that should have come."""
    for order in orders:
        if late := days_late(order, today):
            by = f"{late} day{'' if late == 1 else 's'}"
            bookings = waits.get(order.code, ())
            few = ", ".join(bookings[:6]) + (f" and {len(bookings) - 6} more" if len(bookings) > 6 else "")
            wait = f"{few} wait{'s' if len(bookings) == 1 else ''} for it" if bookings else "no booking waits for it"
            yield Finding(
                Severity.ACT,
                "order-overdue",
                order.code,
                f"Order {order.code} ({catalogue.name(order.item)}) was due on {order.due}, {by} ago; {wait}. The "
                "plan counts on it today.",
                f"Ask where it is; when it comes: prep order arrived {order.code}; if it will not: prep order cancel "
                f"{order.code}",
            )
