"""What is on the shelves against what is wanted: first expired, first out.

Demands are met in date order; each takes from the supply in date on its day that goes off first. On point
demands this greedy choice serves as much as any assignment can (tests/planning/test_netting.py proves it
against a maximum flow).
"""

import heapq
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from prep.planning.requirements import Demand


@dataclass(slots=True)
class Supply:
    """Something that serves: a bottle, an open order from the day it is due, or a batch.

    `factor` is found strength over nominal: a dilution from a bottle at 0.98 of its nominal strength takes
    1/0.98 of the nominal volume. `exact` says whether it may go to the bench as it is.
    """

    kind: str
    ref: str
    amount: int
    available: date
    use_by: date
    factor: Fraction = Fraction(1)
    exact: bool = True
    left: int = 0

    def __post_init__(self) -> None:
        self.left = self.amount


@dataclass(frozen=True, slots=True)
class Draw:
    """`amount` leaves the supply and covers `covers` of the demand (nominal strength)."""

    demand: Demand
    kind: str
    ref: str
    amount: int
    covers: int


def net(demands: Sequence[Demand], supplies: Iterable[Supply]) -> tuple[list[Draw], list[tuple[Demand, int]]]:
    """Draws, and what stays uncovered of each demand. `demands` in (needed_on, id) order.

    Supplies are drawn down in place. Demands marked fresh take nothing made or opened before their day.
    """
    waiting = sorted(supplies, key=lambda s: (s.available, s.ref), reverse=True)
    heap: list[tuple[date, date, str, Supply]] = []
    draws: list[Draw] = []
    open_: list[tuple[Demand, int]] = []
    for demand in demands:
        while waiting and waiting[-1].available <= demand.ready_by:
            supply = waiting.pop()
            heapq.heappush(heap, (supply.use_by, supply.available, supply.ref, supply))
        while heap and (heap[0][0] < demand.needed_on or heap[0][3].left <= 0):
            heapq.heappop(heap)
        missing = demand.amount
        if not demand.fresh:
            aside = []
            while missing > 0 and heap:
                entry = heapq.heappop(heap)
                supply = entry[3]
                if supply.left <= 0 or entry[0] < demand.needed_on:
                    continue
                if demand.kind == "requirement" and not supply.exact:
                    aside.append(entry)
                    continue
                factor = supply.factor if demand.kind == "batch" else Fraction(1)
                wanted = _ceil(missing / factor) if factor != 1 else missing
                taken = min(wanted, supply.left)
                covers = missing if taken == wanted else int(taken * factor)
                supply.left -= taken
                missing -= covers
                draws.append(Draw(demand, supply.kind, supply.ref, taken, covers))
                if supply.left > 0:
                    aside.append(entry)
            for entry in aside:
                heapq.heappush(heap, entry)
        if missing > 0:
            open_.append((demand, missing))
    return draws, open_


def _ceil(value: Fraction) -> int:
    return -(-value.numerator // value.denominator)
