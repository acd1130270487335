"""The state of a plan while it grows: makes, draws, orders and what is short."""

from collections import defaultdict
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from prep.chemistry.model import Solution
from prep.chemistry.preparation.steps import Common
from prep.planning.draws import LinkKind, Take
from prep.planning.engine.exclusions import Levels, Shortage
from prep.planning.engine.lots import Lot, Lots
from prep.planning.engine.netting import Draw, Netted, Supplies, Supply
from prep.planning.engine.ordering import Bought, Ordered
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.engine.sourcing import ChosenRoute

if TYPE_CHECKING:
    from prep.planning.engine.context import Room


@dataclass(slots=True)
class Make:
    """A make task while the plan grows: the lot, its source, and what it wants one level down."""

    id: str
    solution: Solution
    lot: Lot
    chosen: ChosenRoute
    wants: tuple[Demand, ...]
    used: dict[str, Fraction]  # item -> share that reaches the product, where not all does
    draws: tuple[Draw, ...] = ()  # by what it serves
    common: dict[str, Common] = field(default_factory=dict)  # item -> the intermediate it shares with other makes
    empties: frozenset[str] = frozenset()  # bottles of which it takes all that is then left

    def made_of(self, lot: Lot, chosen: ChosenRoute) -> bool:
        """Tell whether it is of such a lot by such a choice."""
        return self.chosen is chosen and (self.lot is lot or self.lot == lot)

    def again(self) -> "Make":
        """Copy the make as it was before it shared an intermediate, for another walk."""
        return Make(self.id, self.solution, self.lot, self.chosen, self.wants, dict(self.used), self.draws)

    def take(self, item: str, draw: Draw) -> Take:
        """Record what the make draws of an item from one place, and how much of that reaches the product."""
        share = self.used.get(item)
        reaches = draw.amount if share is None else round(draw.amount * share)
        return Take(item, draw.source, draw.amount, reaches)


@dataclass(frozen=True, slots=True)
class Lotted:
    """What was asked of an item to be made, and the lots that came of it."""

    asked: list[DemandPart]
    lots: Lots


@dataclass(slots=True)
class State:
    """What one walk found, per item or per demand id."""

    supplies: Supplies
    levels: Levels
    demands: dict[str, list[Demand]] = field(default_factory=lambda: defaultdict(list))
    draws: dict[str, list[Draw]] = field(default_factory=dict)
    makes: dict[str, Make] = field(default_factory=dict)
    orders: dict[str, Ordered] = field(default_factory=dict)
    short: dict[str, Shortage] = field(default_factory=dict)
    late: list[tuple[Supply, int]] = field(default_factory=list)  # what was drawn of what nobody else takes
    diluting: dict[str, list[Make]] = field(default_factory=lambda: defaultdict(list))  # item -> makes diluting it
    # Kept for the next walk, which takes an item's answers over where the same is asked of it again.
    asked: dict[str, list[Demand]] = field(default_factory=dict)
    netted: dict[str, Netted] = field(default_factory=dict)
    bought: dict[str, Bought] = field(default_factory=dict)
    lotted: dict[str, Lotted] = field(default_factory=dict)

    @property
    def order(self) -> tuple[str, ...]:
        """The items, each before everything it may be made from."""
        return self.levels.order

    def read(self, room: "Room", demand: Demand, amount: int) -> int:
        """Find the figure that is read for a make's want.

        Of an intermediate in common each make takes its part, whatever it reads.
        """
        return amount if demand.item in self.makes[demand.batch].common else room.read(demand, amount)

    def given_back(self, make: Make) -> dict[str, int]:
        """Add up what the make, and the makes of its stocks, draw from bottles and orders, per item."""
        drawn: dict[str, list[tuple[str, Draw]]] = defaultdict(list)
        for item, draws in self.draws.items():
            for draw in draws:
                if draw.demand.batch:
                    drawn[draw.demand.batch].append((item, draw))
        back: dict[str, int] = defaultdict(int)
        todo, seen = [make.id], {make.id}
        while todo:
            for item, draw in drawn[todo.pop()]:
                if draw.kind is not LinkKind.BATCH:
                    back[item] += draw.covers
                elif draw.ref not in seen:
                    seen.add(draw.ref)
                    todo.append(draw.ref)
        return back
