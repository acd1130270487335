"""What is on the shelves against what is wanted: first expired, first out.

Demands are met in date order; each takes from the supply in date on its day that goes off first; of several that
go off on one day an opened bottle comes before an unopened one, and a nearly empty one before a full one. On point
demands this greedy choice serves as much as any assignment can (tests/planning/test_netting.py proves it
against a maximum flow).
"""

import heapq
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import takewhile

from prep.planning.draws import Source, WithSource
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.workdays import by_number, period_number
from prep.records import record


@dataclass(slots=True)
class Supply(WithSource):
    """Something that serves: a bottle, an open order from the day it is due, or a batch.

    `factor` is found strength over nominal: a dilution from a bottle at 0.98 of its nominal strength takes
    1/0.98 of the nominal volume. `exact` says whether it may go to the bench as it is. `since` is the day on
    which it was made or came, by which it is fresh on that day.
    """

    source: Source
    amount: int
    available: date
    use_by: date
    factor: Fraction = Fraction(1)
    exact: bool = True
    since: date = date.min
    opened: bool = False
    left: int = 0
    period: int = 0  # the period whose demands draw on it, where it does not keep to the next one

    @property
    def turn(self) -> tuple[date, bool, int, date, int, str]:
        """Its place in the order of use: what goes off first, is opened, is nearly empty, came first."""
        return self.use_by, not self.opened, self.amount, self.since, *by_number(self.ref)

    def __post_init__(self) -> None:
        self.left = self.amount

    def untouched(self) -> "Supply":
        """Copy the supply as it was before anything was drawn."""
        return Supply(
            self.source,
            self.amount,
            self.available,
            self.use_by,
            self.factor,
            self.exact,
            self.since,
            self.opened,
        )

    def refill(self) -> None:
        """Put the supply back as it was before anything was drawn."""
        self.left, self.period = self.amount, 0


@record(frozen=True, slots=True)
class SupplyLeft:
    """What a run left of a supply, and the period that then draws on it."""

    supply: Supply
    left: int
    period: int


class Supplies(dict[str, list[Supply]]):
    """The supplies of each item, as a run draws on them; untouched until an item is first asked for."""

    def __init__(self, there: Mapping[str, Sequence[Supply]]) -> None:
        super().__init__()
        self._there = there

    def __missing__(self, item: str) -> list[Supply]:
        some = self[item] = [supply.untouched() for supply in self._there.get(item, ())]
        return some

    def as_left(self) -> list[SupplyLeft]:
        """List what a run left of each supply, so that it can be put back after another run drew on them."""
        return [SupplyLeft(supply, supply.left, supply.period) for some in self.values() for supply in some]

    def put_back(self, left: Iterable[SupplyLeft]) -> None:
        """Leave of each supply what a run had left of it; what it had not asked for is untouched."""
        for some in self.values():
            for supply in some:
                supply.refill()
        for one in left:
            one.supply.left, one.supply.period = one.left, one.period


@dataclass(slots=True)
class Draw(WithSource):
    """`amount` leaves the supply and covers `covers` of the demand (nominal strength)."""

    demand: Demand
    source: Source
    amount: int
    covers: int


Read = Callable[[Demand, int], int]
"""The figure nearest to an amount that can be read where it is measured for a demand."""


@record(frozen=True, slots=True)
class NettingResult:
    """What demands draw from supplies, and what of each stays uncovered."""

    draws: list[Draw]
    uncovered: list[DemandPart]


def net(demands: Sequence[Demand], supplies: Iterable[Supply], read: Read = lambda _, amount: amount) -> NettingResult:
    """Net demands, in (needed_on, id) order, against supplies: what each draws, and what stays uncovered.

    Supplies are drawn down in place. What a bottle off its nominal strength gives is rounded to a figure that can be
    `read`. Demands marked fresh take only what was made, or came, on their own day,
    and have the first choice of it.
    """
    shelf = list(supplies)
    if not shelf:
        return NettingResult([], [DemandPart(demand, demand.amount) for demand in demands if demand.amount > 0])
    draws: list[Draw] = []
    open_: dict[str, int] = {}
    for demand in demands:
        if demand.fresh:
            today = [s for s in shelf if s.since == demand.needed_on <= s.use_by and (s.available <= demand.ready_by)]
            missing = demand.amount
            for supply in sorted(today, key=lambda s: s.turn):
                if missing > 0 and _serves(supply, demand):
                    missing -= _draw(supply, demand, missing, draws, read)
            open_[demand.id] = missing
    waiting = sorted(shelf, key=lambda s: (s.available, by_number(s.ref)), reverse=True)
    heap: list[tuple[tuple[date, bool, int, date, int, str], Supply]] = []
    for demand in demands:
        if demand.fresh:
            continue
        while waiting and waiting[-1].available <= demand.ready_by:
            supply = waiting.pop()
            heapq.heappush(heap, (supply.turn, supply))
        while heap and (heap[0][1].use_by < demand.needed_on or heap[0][1].left <= 0):
            heapq.heappop(heap)
        missing = demand.amount
        aside = []
        while missing > 0 and heap:
            entry = heapq.heappop(heap)
            supply = entry[1]
            if supply.left <= 0 or supply.use_by < demand.needed_on:
                continue
            if _serves(supply, demand):
                missing -= _draw(supply, demand, missing, draws, read)
            if supply.left > 0:
                aside.append(entry)
        for entry in aside:
            heapq.heappush(heap, entry)
        if demand.batch and 0 < missing < demand.amount:
            missing = max(1, _rest(demand, missing, draws, read))
        open_[demand.id] = missing
    return NettingResult(draws, [DemandPart(demand, open_[demand.id]) for demand in demands if open_[demand.id] > 0])


def net_in_turn(demands: Sequence[Demand], supplies: Iterable[Supply], read: Read) -> NettingResult:
    """Net all demands against the supplies, those that yield to others last."""
    supplies = tuple(supplies)
    last = [demand for demand in demands if demand.yields]
    if not last:
        return net(demands, supplies, read)
    first = net([demand for demand in demands if not demand.yields], supplies, read)
    then = net(last, supplies, read)
    return NettingResult(first.draws + then.draws, first.uncovered + then.uncovered)


def _serves(supply: Supply, demand: Demand) -> bool:
    kept = not supply.period or supply.period == period_number(demand.period)
    return supply.left > 0 and kept and (supply.exact or bool(demand.batch))


def _draw(supply: Supply, demand: Demand, missing: int, draws: list[Draw], read: Read) -> int:
    """Draw on a supply for what is missing of a demand, and count how much of it that covers."""
    nominal = not demand.batch or supply.factor == 1
    wanted = missing if nominal else _ceil(missing / supply.factor)
    if demand.batch and (not nominal or missing < demand.amount) and wanted < supply.left:
        figure = _rest(demand, wanted, draws, read)
        if 0 < figure <= supply.left:
            wanted = figure
    taken = min(wanted, supply.left)
    covers = missing if taken == wanted else taken if nominal else int(taken * supply.factor)
    supply.left -= taken
    if supply.use_by == supply.since:
        supply.period = period_number(demand.period)
    draws.append(Draw(demand, supply.source, taken, covers))
    return covers


def _rest(demand: Demand, wanted: int, draws: Sequence[Draw], read: Read) -> int:
    """Work out what is still to be drawn so that, with what other bottles gave, one figure can be read."""
    gone = sum(draw.amount for draw in takewhile(lambda draw: draw.demand is demand, reversed(draws)))
    return read(demand, gone + wanted) - gone


def _ceil(value: Fraction) -> int:
    return -(-value.numerator // value.denominator)
