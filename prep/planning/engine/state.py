"""The state of a plan while it grows: makes, draws, orders and what is short."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from prep.chemistry.model import Solution
from prep.chemistry.preparation.steps import CommonIntermediate
from prep.planning.draws import LinkKind, Take
from prep.planning.engine.exclusions import Constraints, LowLevelOrder, Shortage, SourceDependencies
from prep.planning.engine.lots import Lot, Lots
from prep.planning.engine.netting import Draw, NettingResult, Supplies, Supply, net
from prep.planning.engine.ordering import BoughtItem, ItemOrder
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.engine.sourcing import NOTHING, ChosenRoute, Promised, SupplyEstimate
from prep.records import record

if TYPE_CHECKING:
    from prep.planning.engine.context import PrepRoom


@dataclass(slots=True)
class Make:
    """A make task while the plan grows: the lot, its source, and what it wants one level down.

    Runs have it in common: one that lets it share an intermediate puts another in its place.
    """

    id: str
    solution: Solution
    lot: Lot
    chosen: ChosenRoute
    wants: tuple[Demand, ...]
    used: dict[str, Fraction]  # item -> share that reaches the product, where not all does
    draws: tuple[Draw, ...] = ()  # by what it serves
    # By item, the intermediate that it shares with other makes.
    common: dict[str, CommonIntermediate] = field(default_factory=dict)
    empties: frozenset[str] = frozenset()  # bottles of which it takes all that is then left

    def made_of(self, lot: Lot, chosen: ChosenRoute) -> bool:
        """Tell whether it is of such a lot by such a choice."""
        return self.chosen is chosen and (self.lot is lot or self.lot == lot)

    def take(self, item: str, draw: Draw) -> Take:
        """Record what the make draws of an item from one place, and how much of that reaches the product."""
        share = self.used.get(item)
        reaches = draw.amount if share is None else round(draw.amount * share)
        return Take(item, draw.source, draw.amount, reaches)


@record(frozen=True, slots=True)
class ItemLots:
    """What was asked of an item to be made, the lots that came of it, and the makes with all that chose their source.

    `avoid` and `reach` are as they were when the sources were chosen.
    """

    asked: list[DemandPart]
    lots: Lots
    dependencies: SourceDependencies
    avoid: tuple[object, ...]
    made: list[Make]

    @property
    def repeatable(self) -> bool:
        """Whether the makes stand in another run too: none draws on what others leave."""
        return not any(make.chosen.spare for make in self.made)


@dataclass(slots=True)
class RunState:
    """What one run found, per item or per demand id."""

    supplies: Supplies
    levels: LowLevelOrder
    demands: dict[str, list[Demand]] = field(default_factory=lambda: defaultdict(list))
    draws: dict[str, list[Draw]] = field(default_factory=dict)
    makes: dict[str, Make] = field(default_factory=dict)
    orders: dict[str, ItemOrder] = field(default_factory=dict)
    short: dict[str, Shortage] = field(default_factory=dict)
    late: list[tuple[Supply, int]] = field(default_factory=list)  # what was drawn of what nobody else takes
    diluting: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))  # item -> makes diluting it
    # By make, what it draws: listed when first asked for, as it is only when the run is over.
    _drawn: dict[str, list[tuple[str, Draw]]] = field(default_factory=lambda: defaultdict(list))
    # Kept for the next run, which takes an item's answers over where the same is asked of it again.
    asked: dict[str, list[Demand]] = field(default_factory=dict)
    netted: dict[str, NettingResult] = field(default_factory=dict)
    bought: dict[str, BoughtItem] = field(default_factory=dict)
    item_lots: dict[str, ItemLots] = field(default_factory=dict)
    renetted: set[str] = field(default_factory=set)  # items netted anew on this run
    strayed: dict[str, Promised] = field(default_factory=dict)  # item -> promises beyond the earlier run's, so far
    promised: dict[str, dict[str, Promised]] = field(default_factory=dict)  # by whose turn it was

    @property
    def order(self) -> tuple[str, ...]:
        """The items, each before everything it may be made from."""
        return self.levels.order

    def read(self, room: "PrepRoom", demand: Demand, amount: int) -> int:
        """Find the figure that is read for a make's want.

        Of an intermediate in common each make takes its part, whatever it reads.
        """
        return amount if demand.item in self.makes[demand.batch].common else room.read(demand, amount)

    def place(self, room: "PrepRoom", make: Make, shelf: SupplyEstimate) -> None:
        """Add a make, what it wants and what it serves."""
        for want in make.wants:
            if want.item in make.chosen.spare:
                self._draw_spare(room, want)
            else:
                shelf.promise(want.item, want.amount, want.needed_on)
        self._add(make)

    def place_again(self, item: str, made: Iterable[Make], shelf: SupplyEstimate, earlier: "RunState") -> None:
        """Add an item's makes as they were in an earlier run, with all that they promised there."""
        for make in made:
            self._add(make)
        shelf.promise_again(earlier.promised.get(item, {}))

    def _add(self, make: Make) -> None:
        self.makes[make.id] = make
        for want in make.wants:
            self.demands[want.item].append(want)
        for stock in make.used:
            self.diluting[stock].append(make.id)
        self.draws[make.solution.code] += make.draws

    def _draw_spare(self, room: "PrepRoom", want: Demand) -> None:
        """Draw on what is left of an item whose own demands are met already."""
        supplies = self.supplies[want.item]
        before = [supply.left for supply in supplies]
        netted = net([want], supplies, room.read)
        assert not netted.uncovered
        self.late += [(s, had - s.left) for s, had in zip(supplies, before, strict=True) if s.left != had]
        self.draws.setdefault(want.item, []).extend(netted.draws)

    def chooses_again(
        self, earlier: "RunState", known: ItemLots, dependencies: SourceDependencies, avoid: tuple[object, ...]
    ) -> bool:
        """Tell whether lots that are the same again get the same sources, as nothing that these depend on changed.

        Where the items came in another order, what was promised before each cannot be compared.
        """
        return (
            known.dependencies is dependencies
            and known.avoid == avoid
            and (earlier.levels is self.levels or earlier.levels == self.levels)
            and self.strayed.keys().isdisjoint(dependencies.items)
            and (not self.late and not earlier.late and self.renetted.isdisjoint(dependencies.weaker))
            and known.repeatable
        )

    def promised_by(self, turn: str, promised: dict[str, Promised], earlier: "RunState | None") -> None:
        """Note what was promised in an item's turn, and where that strays from the earlier run."""
        if promised:
            self.promised[turn] = promised
        before = earlier.promised.get(turn) if earlier else None
        if earlier is None or promised is before or not (promised or before):
            return
        before = before or {}
        for item in promised.keys() | before.keys():
            all_, late = self.strayed.pop(item, NOTHING)
            (now, now_late), (was, was_late) = promised.get(item, NOTHING), before.get(item, NOTHING)
            strays = all_ + now - was, late + now_late - was_late
            if strays != NOTHING:
                self.strayed[item] = strays

    def takers(self) -> dict[str, list[Make]]:
        """List the makes that want each item."""
        found: dict[str, list[Make]] = defaultdict(list)
        for make in self.makes.values():
            for want in make.wants:
                found[want.item].append(make)
        return found

    def taken_from_bookings(self, learned: Constraints) -> dict[str, dict[str, Make]]:
        """Find the makes, by id, that draw on what a later booking is short of itself, per item."""
        found: dict[str, dict[str, Make]] = {}
        until: dict[str, date] = {}
        for one in self.short.values():
            wanted = one.demand
            last = until.get(wanted.item)
            denied = wanted.id in learned.denied.get(wanted.item, ())
            if wanted.batch or denied or (last is not None and wanted.needed_on <= last):
                continue
            until[wanted.item] = wanted.needed_on
            for draw in self.draws[wanted.item]:
                taker = draw.demand
                if taker.batch and taker.needed_on <= wanted.needed_on:
                    found.setdefault(wanted.item, {})[taker.batch] = self.makes[taker.batch]
        return found

    def given_back(self, make: Make) -> dict[str, int]:
        """Add up what the make, and the makes of its stocks, draw from bottles and orders, per item."""
        drawn = self._drawn
        if not drawn:
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
