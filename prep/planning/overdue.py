"""Orders on their way: which bookings wait for each, which are overdue, which come on the day of use itself."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Protocol

from prep.chemistry.catalogue import Catalogue
from prep.dates import Deliveries
from prep.findings import Finding, Severity
from prep.planning.draws import LinkKind
from prep.planning.model import Batch, Booking, OpenOrder, Requirement
from prep.planning.workdays import by_number, period_number
from prep.plurals import plural
from prep.wording import AtTerminal, Sentence


def waiting(requirements: Iterable[Requirement], batches: Iterable[Batch]) -> dict[str, tuple[str, ...]]:
    """List the bookings that each order serves, itself or through what is made from it."""
    served = _served(requirements, batches)
    return {
        order: tuple(
            dict.fromkeys(one.booking for one in sorted(needs, key=lambda n: (n.needed_on, by_number(n.booking))))
        )
        for order, needs in served.items()
    }


def comes_on_the_day(
    orders: Iterable[OpenOrder], requirements: Iterable[Requirement], batches: Iterable[Batch]
) -> dict[str, tuple[str, ...]]:
    """List, for each order on its way, the bookings on its very delivery day that rest on it."""
    served = _served(requirements, batches)
    found = {
        order.code: tuple(
            dict.fromkeys(need.booking for need in served.get(order.code, ()) if need.needed_on == order.due)
        )
        for order in orders
    }
    return {code: bookings for code, bookings in found.items() if bookings}


def _served(requirements: Iterable[Requirement], batches: Iterable[Batch]) -> dict[str, list[Requirement]]:
    """List the needs that each order serves, itself or through what is made from it."""
    made = {batch.id: batch for batch in batches}
    needs = {need.id: need for need in requirements}
    found: dict[str, dict[str, Requirement]] = defaultdict(dict)
    for need in needs.values():
        for share in need.served:
            if share.source.kind is LinkKind.ORDER:
                found[share.ref][need.id] = need
    for batch in made.values():
        orders = [take.ref for take in batch.takes if take.source.kind is LinkKind.ORDER]
        if orders:
            users = {need.id: need for need in _users(batch, made, needs)}
            for order in orders:
                found[order].update(users)
    return {order: list(used.values()) for order, used in found.items()}


def _users(batch: Batch, made: Mapping[str, Batch], needs: Mapping[str, Requirement]) -> list[Requirement]:
    """List the needs that a batch serves, itself or through another batch."""
    out, left, seen = [], [batch], {batch.id}
    while left:
        for share in left.pop().serves:
            if share.ref in needs:
                out.append(needs[share.ref])
            elif share.ref in made and share.ref not in seen:
                seen.add(share.ref)
                left.append(made[share.ref])
    return out


class DueItem(Protocol):
    """What is to come on a day."""

    @property
    def due(self) -> date:
        """The day on which it is to come."""


def days_late(order: DueItem, today: date) -> int:
    """Count the days by which an order that is on its way is overdue; 0 where it is not."""
    return max(0, (today - order.due).days)


def overdue(
    orders: Sequence[OpenOrder], today: date, catalogue: Catalogue, waits: Mapping[str, Sequence[str]]
) -> Iterable[Finding]:
    """Report each order that should have come."""
    for order in orders:
        if late := days_late(order, today):
            by = plural(late, "day")
            bookings = waits.get(order.code, ())
            few = ", ".join(bookings[:6]) + (f" and {len(bookings) - 6} more" if len(bookings) > 6 else "")
            wait = f"{few} wait{'s' if len(bookings) == 1 else ''} for it" if bookings else "no booking waits for it"
            yield Finding(
                Severity.ACT,
                "order-overdue",
                order.code,
                f"Order {order.code} ({catalogue.name(order.item)}) was due on {order.due}, {by} ago; {wait}. The "
                "plan counts on it today.",
                Sentence(
                    "Ask where it is",
                    AtTerminal(
                        f"; when it comes: prep order arrived {order.code}; "
                        f"if it will not: prep order cancel {order.code}",
                        ".",
                    ),
                ),
            )


def on_the_day(
    orders: Sequence[OpenOrder],
    bookings: Sequence[Booking],
    catalogue: Catalogue,
    rests: Mapping[str, Sequence[str]],
    deliveries: Deliveries,
) -> Iterable[Finding]:
    """Report each order that comes on the day of use itself: no period before it can be served.

    `rests` is from `comes_on_the_day`. Where the school says when deliveries come, and each period is known to begin
    after that, it is no more than a note.
    """
    lessons = {booking.code: booking for booking in bookings}
    for order in orders:
        if not (codes := rests.get(order.code)):
            continue
        due = sorted(
            (lessons[code] for code in codes), key=lambda one: (period_number(one.period), by_number(one.code))
        )
        first = due[0]
        few = ", ".join(one.code + (f" ({one.period})" if one.period else "") for one in due[:6])
        few += f" and {len(due) - 6} more" if len(due) > 6 else ""
        rest = "rests" if len(due) == 1 else "rest"
        before = f"before {first.period}" if first.period else "before the first lesson"
        if deliveries.come is not None and all(deliveries.begin(one.period) for one in due):
            yield Finding(
                Severity.NOTE,
                "order-on-the-day",
                order.code,
                f"Order {order.code} ({catalogue.name(order.item)}) comes on {order.due}, the day of use itself, at "
                f"about {deliveries.come:%H:%M}; {few} {rest} on it and begin{'s' * (len(due) == 1)} after that.",
            )
            continue
        yield Finding(
            Severity.ACT,
            "order-on-the-day",
            order.code,
            f"Order {order.code} ({catalogue.name(order.item)}) comes on {order.due}, the day of use itself; {few} "
            f"{rest} on it, and the plan counts on it only if it comes {before}.",
            Sentence(
                "Have it come the day before, or move the booking",
                AtTerminal(f": prep book move {first.code} --to DATE"),
            ),
        )
