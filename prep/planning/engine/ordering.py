"""From shortfalls and minimum stocks to packs, order-by dates and what still comes too late."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from prep.planning.draws import LinkKind, Share, Source
from prep.planning.engine.exclusions import Shortage, UnservedReason
from prep.planning.engine.netting import Draw, Supply
from prep.planning.engine.requirements import DemandPart
from prep.planning.model import OrderLine, Policy, StockRule
from prep.planning.workdays import Workdays
from prep.plurals import plural
from prep.records import record

if TYPE_CHECKING:
    from prep.planning.engine.context import PrepRoom


@record(frozen=True, slots=True)
class ItemOrder:
    """What to buy of one item, what the order serves, and what it comes too late for."""

    lines: tuple[OrderLine, ...]
    draws: tuple[Draw, ...]
    short: tuple[DemandPart, ...]
    arrives: date | None


@record(frozen=True, slots=True)
class PackCount:
    """How many packs of one size are ordered."""

    pack: int
    packs: int


def fewest_packs(amount: int, packs: Sequence[int]) -> list[PackCount]:
    """Choose packs that cover `amount`: fewest packs, then least left over.

    >>> fewest_packs(1200, [500, 1000])
    [PackCount(pack=1000, packs=1), PackCount(pack=500, packs=1)]
    """
    largest, *smaller = sorted(set(packs), reverse=True)
    count = -(-amount // largest)
    # The largest pack alone gives the fewest packs; some are then swapped for smaller ones, to leave less over.
    _, swaps = _swaps(count * largest - amount, count, [(size, largest - size) for size in smaller])
    kept = count - sum(swaps.values())
    return [PackCount(size, n) for size, n in [(largest, kept), *swaps.items()] if n]


def _swaps(slack: int, most: int, sizes: Sequence[tuple[int, int]]) -> tuple[int, dict[int, int]]:
    """Find how much of `slack` swaps for smaller packs save, at most `most` of them, and the packs of each size."""
    if not sizes:
        return 0, {}
    (size, gain), *rest = sizes
    best: tuple[int, dict[int, int]] = (0, {})
    for n in range(min(most, slack // gain) + 1):
        saved, swaps = _swaps(slack - n * gain, most - n, rest)
        if saved + n * gain > best[0]:
            best = (saved + n * gain, {size: n, **swaps})
    return best


@record(frozen=True, slots=True)
class LowestBalance:
    """The lowest balance that is projected, and the first day of those that stay below the minimum; None for never."""

    amount: int
    below_on: date | None = None


def lowest_balance(
    supplies: Sequence[Supply], draws: Sequence[Draw], today: date, end: date, minimum: int
) -> LowestBalance:
    """Find the lowest projected balance through `end`, and when it falls below `minimum` for good.

    A bottle counts while it is in date; an order counts from the day it
    is due. Days below the minimum that an open order ends do not count: it was ordered for them.
    """
    events: dict[date, int] = defaultdict(int)
    for supply in supplies:
        if supply.use_by < today:
            continue
        events[max(supply.available, today)] += supply.amount
        if supply.use_by < end and supply.left:
            events[supply.use_by + timedelta(days=1)] -= supply.left
    for draw in draws:
        events[draw.demand.needed_on] -= draw.amount
    balance = events[today]
    lowest: int | None = None
    low, below = balance, today if balance < minimum else None
    for day in sorted(events):
        if not today < day <= end:
            continue
        balance += events[day]
        if balance < minimum:
            low = balance if below is None else min(low, balance)
            below = below or day
        else:
            lowest = balance if lowest is None else min(lowest, balance)
            below = None
    if below is not None and balance + sum(s.amount for s in supplies if s.available > end) < minimum:
        return LowestBalance(low, below)
    return LowestBalance(minimum if lowest is None else lowest)


def order(
    item: str,
    name: str,
    rule: StockRule | None,
    policy: Policy,
    uncovered: Sequence[DemandPart],
    lowest: LowestBalance,
    today: date,
    days: Workdays,
    on_way: Sequence[Supply] = (),
) -> ItemOrder:
    """Work out what to buy so that `uncovered` is served where an order comes in time, and the minimum held.

    What comes too late either way is not asked for again where an order `on_way` has it left and comes no later
    than a new one. `lowest` is from `lowest_balance`. The order is due the policy's margin before the first day of
    need; an order-by date that is past means ordering today, and what is needed before it arrives stays short. Only
    then is it late: nobody waits for a minimum.
    """
    lead = rule.lead_days if rule else policy.default_lead_days
    minimum = rule.minimum if rule else 0
    below = lowest.below_on if rule else None
    if not uncovered and below is None:
        return ItemOrder((), (), (), None)
    missing = sum(part.amount for part in uncovered)
    top_up = max(0, minimum - lowest.amount)
    needed = min((part.demand.ready_by for part in uncovered), default=below)
    assert needed is not None
    at_once = any(part.demand.same_day and part.demand.ready_by == needed for part in uncovered)
    margin = max(policy.order_margin_days, int(at_once)) if uncovered else 0
    first = due = _due(needed, lead, margin, today, days)
    if below is not None:
        due = min(due, below)
    order_by, need_by = (days.last_to(day - timedelta(days=lead)) or day - timedelta(days=lead) for day in (due, first))
    placed = max(order_by, today)
    arrives = days.next_from(placed + timedelta(days=lead)) or placed + timedelta(days=lead)
    if order_by >= today:
        arrives = min(arrives, due)
    draws, short = [], []
    source = Source(LinkKind.ORDER, f"order:{item}", item)
    for demand, amount in uncovered:
        if demand.ready_by >= arrives:
            draws.append(Draw(demand, source, amount, amount))
        else:
            short.append(DemandPart(demand, amount))
    coming = sum(supply.left for supply in on_way if supply.kind is LinkKind.ORDER and supply.available <= arrives)
    missing -= min(coming, sum(part.amount for part in short))
    quantity = missing + top_up
    if not quantity:
        return ItemOrder((), tuple(draws), tuple(short), arrives)
    packs = rule.packs if rule and rule.packs else (_sold(quantity),)
    reasons = []
    if missing:
        reasons.append(f"{plural(len(uncovered), 'need')} not covered by stock")
    if below is not None:
        reasons.append(f"falls below its minimum stock on {below}")
    if short:
        reasons.append(f"comes on {arrives}, too late for what is needed before")
    if not (rule and rule.packs):
        reasons.append("no pack size on file")
    shares = tuple(Share(d.demand.user, d.covers) for d in draws)
    chosen = fewest_packs(quantity, packs)
    lines = tuple(
        OrderLine(
            id=source.ref if number == 0 else f"{source.ref}+{number + 1}",
            order=source.ref,
            item=item,
            packs=size.packs,
            pack=size.pack,
            order_by=order_by,
            needed_on=needed,
            arrives=arrives,
            for_=shares if number == 0 else (),
            late=bool(short),
            why=f"{name}: " + "; ".join(reasons),
            below_minimum_on=below,
            for_minimum=below is not None and (not missing or need_by > placed),
        )
        for number, size in enumerate(chosen)
    )
    return ItemOrder(lines, tuple(draws), tuple(short), arrives)


def _due(needed: date, lead: int, margin: int, today: date, days: Workdays) -> date:
    """Find the day `margin` working days before that of need; fewer where an order from today on comes later."""
    due = needed
    for _ in range(margin):
        before = days.last_to(due - timedelta(days=1))
        placed = before and days.last_to(before - timedelta(days=lead))
        if not before or not placed or placed < today:
            break
        due = before
    return due


@record(frozen=True, slots=True)
class BoughtItem:
    """What is ordered of an item, and what that comes too late for."""

    ordered: ItemOrder
    short: tuple[Shortage, ...]


def buy(
    room: "PrepRoom", item: str, uncovered: Sequence[DemandPart], supplies: Sequence[Supply], draws: Sequence[Draw]
) -> BoughtItem:
    """Order what is missing of an item, and what its minimum lacks; and say what comes too late, and why."""
    today, rule = room.snapshot.today, room.snapshot.rules.get(item)
    lowest = lowest_balance(supplies, draws, today, room.horizon.end, rule.minimum if rule else 0)
    bought = order(item, room.name(item), rule, room.policy, uncovered, lowest, today, room.days, supplies)
    placed = [o.due for o in room.snapshot.orders if o.item == item]
    short = []
    for demand, missing in bought.short:
        coming = min((due for due in placed if due > demand.ready_by), default=None)
        if coming is not None and bought.arrives is not None and coming <= bought.arrives:
            then = f"the order on its way comes on {coming}"
            there: date | None = coming
            cure = "Hasten the order, or have some from another school."
        else:
            then = f"ordered today it comes on {bought.arrives}"
            cure, there = "Have some from another school.", bought.arrives
        reason = f"{room.name(item)} runs out by {demand.needed_on}; {then}."
        lacks = (DemandPart(demand, missing),) if demand.batch else ()
        short.append(Shortage(demand, missing, UnservedReason("runs-out", reason, cure, demand.ready_by, there, lacks)))
    return BoughtItem(bought, tuple(short))


_SOLD = (1, 5, 10, 25, 50, 100, 250, 500, 1000)
"""Packs [g, mL] that laboratory chemicals are sold in: common practice, no source."""


def _sold(quantity: int) -> int:
    """Find the smallest usual pack (ug, nL) that holds a quantity.

    Whole kilograms or litres above the largest. >>> [_sold(grams * 10**6) // 10**6 for grams in (1, 3, 260, 1200)]
    [1, 5, 500, 2000]
    """
    packs = [size * 10**6 for size in _SOLD]
    return next((pack for pack in packs if pack >= quantity), -(-quantity // packs[-1]) * packs[-1])
