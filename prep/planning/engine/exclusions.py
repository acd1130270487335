"""What earlier runs taught, so that the next one does otherwise."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date, timedelta

from prep.chemistry import quantities
from prep.chemistry.model import Measure, Solution
from prep.chemistry.preparation.routes import Route, RouteKind, drawn_on
from prep.chemistry.preparation.vessels import Bench
from prep.planning.engine.low_level_code import planning_order
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.workdays import Workdays
from prep.records import record


@record(frozen=True, slots=True)
class UnservedReason:
    """Why a demand is not served: the finding's code, the sentence, and a cure.

    What comes too late is wanted by `wanted_by` and there from `arrives` on; `lacks` is what makes want of what is
    bought, and do not get in time.
    """

    code: str
    message: str
    cure: str = ""
    wanted_by: date | None = None
    arrives: date | None = None
    lacks: tuple[DemandPart, ...] = ()

    def served_from(self, day: date, days: Workdays) -> date | None:
        """Find the first day on which what is booked for `day` is served.

        As many working days later as what it wants comes too late. None where nothing comes, or only after all days
        that are known.
        """
        at, late = self.wanted_by, day
        while at is not None and self.arrives is not None and at < self.arrives:
            following = days.next_from(at + timedelta(days=1))
            then = days.next_from(late + timedelta(days=1))
            if following is None or then is None:
                return None
            at, late = following, then
        return late if late > day else None


@record(frozen=True, slots=True)
class Shortage:
    """How much of a demand is not served, and why."""

    demand: Demand
    amount: int
    why: UnservedReason


def no_source(solution: Solution, problems: Sequence[str]) -> UnservedReason:
    """Say that nothing makes a solution: what was found against each source, where anything was."""
    found = " ".join(dict.fromkeys(problems)) or "nothing on file to make it from."
    cure = "Correct its strength, or give it another source." if problems else "Give it a source."
    return UnservedReason("no-source", f"{solution.name} cannot be made: {found}", cure)


def least_made(solution: Solution, amount: int, source: str, why: UnservedReason) -> UnservedReason:
    """Say that what is there would do for what is wanted, but no vessel of the room makes so little.

    `amount` in nL is the least that the room makes.
    """
    least = quantities.show(amount, Measure.VOLUME)
    message = (
        f"{solution.name}: the least that the room makes and measures of it is {least}, and what is there of {source} "
        f"does for less. {why.message}"
    )
    return replace(why, code="least-vessel", message=message)


@record(frozen=True, slots=True)
class LowLevelOrder:
    """The items by their low-level code, the order in which they are planned, and those that can be made."""

    order: tuple[str, ...]
    makeable: frozenset[str]


@record(frozen=True, slots=True)
class SourceDependencies:
    """What the choice of a solution's source looks at: its routes and those of their stocks, and all their items.

    `weaker`: solutions of which only what is spare is drawn.
    """

    routes: tuple[tuple[Route, ...], ...]
    items: tuple[str, ...]
    weaker: tuple[str, ...]


@record(frozen=True, slots=True)
class EarlyPart:
    """A part (nL) of a need that is made up to a day, from what then goes out of date."""

    by: date
    amount: int


@dataclass(slots=True)
class Constraints:
    """What earlier runs taught: sources to avoid from a day on, what must wait, what cannot be made."""

    avoid: dict[str, dict[tuple[str, ...], date]] = field(default_factory=lambda: defaultdict(dict))
    denied: dict[str, dict[str, UnservedReason]] = field(default_factory=dict)  # by item, then demand id
    after: dict[str, date] = field(default_factory=dict)  # demand id -> day its source is there
    before: dict[str, date] = field(default_factory=dict)  # demand id -> day its make was levelled to
    wider: dict[str, tuple[Route, ...]] = field(default_factory=dict)  # buffers to be made from other pairs too
    lean: set[str] = field(default_factory=set)  # solutions of which no more is made than is needed
    dry: set[str] = field(default_factory=set)  # stocks that are not made, where the solid may go in instead
    sparing: set[str] = field(default_factory=set)  # solutions made in several small makes rather than one too large
    hastened: dict[str, date] = field(default_factory=dict)  # demand id -> day up to which its source is in date
    ahead: dict[str, EarlyPart] = field(default_factory=dict)  # demand id -> the part of it that is made first
    patient: bool = False  # stocks wait for what is ordered, too, at the cost of more makes
    # Where makes left items to the bookings in vain: what was short then (nL or µg by demand id), and the makes that
    # had taken from each item.
    left_in_vain: tuple[dict[str, int], dict[str, list[str]]] = ({}, {})
    touched: set[str] = field(default_factory=set)  # items about which something was learnt since the last run

    # What follows from the routes: found when first asked for.
    _dry_routes: dict[str, tuple[Route, ...]] = field(default_factory=dict)
    _reach: dict[str, SourceDependencies] = field(default_factory=dict)
    _levels: dict[frozenset[str], LowLevelOrder] = field(default_factory=dict)

    def copy(self) -> "Constraints":
        """Copy what was learnt, to try more on."""
        avoid: dict[str, dict[tuple[str, ...], date]] = defaultdict(dict)
        avoid.update((code, dict(known)) for code, known in self.avoid.items())
        return replace(
            self,
            avoid=avoid,
            denied={item: dict(known) for item, known in self.denied.items()},
            after=dict(self.after),
            before=dict(self.before),
            hastened=dict(self.hastened),
            ahead=dict(self.ahead),
            wider=dict(self.wider),
            lean=set(self.lean),
            dry=set(self.dry),
            sparing=set(self.sparing),
            touched=set(self.touched),
            _dry_routes={} if self.wider else dict(self._dry_routes),
            _reach={} if self.wider else dict(self._reach),
            _levels={} if self.wider else dict(self._levels),
        )

    def adopt(self, tried: "Constraints") -> None:
        """Take over what was learnt on a copy."""
        for one in fields(self):
            setattr(self, one.name, getattr(tried, one.name))

    def weigh_in(self, bench: Bench, stocks: set[str]) -> None:
        """Let no plan make these stocks where the solid may go in instead."""
        self.dry = stocks
        self._dry_routes.clear()
        takers = {code for code in self._reach if not stocks.isdisjoint(bench.drawn_on(code))}
        for code, known in list(self._reach.items()):
            if code in takers or not takers.isdisjoint(known.items):
                del self._reach[code]
        self._levels.clear()

    def widen(self, code: str, routes: tuple[Route, ...]) -> None:
        """Consider more routes for a solution."""
        self.wider[code] = routes
        self._dry_routes.pop(code, None)
        self._reach.clear()
        self._levels.clear()

    def routes(self, bench: Bench, code: str) -> tuple[Route, ...]:
        """List every way to make a solution that is to be considered."""
        found = bench.routes(code)
        if code in self.wider:
            found += self.wider[code]
        if not self.dry:
            return found
        known = self._dry_routes.get(code)
        if known is None:
            takes = {p.options[0].item for route in found if route.kind is RouteKind.RECIPE for p in route.parts}
            known = found if self.dry.isdisjoint(takes) else self._with_solids(bench, found)
            self._dry_routes[code] = known
        return known

    def dependencies(self, bench: Bench, code: str) -> SourceDependencies:
        """Gather the routes and items that the choice of a solution's source depends on."""
        known = self._reach.get(code)
        if known is None:
            routes = self.routes(bench, code)
            items = self.drawn_on(bench, code)
            stocks = [item for item in items if item in bench.solutions]
            below = (item for stock in stocks for item in self.drawn_on(bench, stock))
            known = self._reach[code] = SourceDependencies(
                (routes, *(self.routes(bench, stock) for stock in stocks)),
                tuple(dict.fromkeys((*items, *below))),
                tuple(option.item for option in bench.making.weaker(code)),
            )
        return known

    def drawn_on(self, bench: Bench, code: str) -> tuple[str, ...]:
        """List what may go into a solution by any of the routes to be considered, but for water."""
        if not self.dry and code not in self.wider:
            return bench.drawn_on(code)
        routes = self.routes(bench, code)
        return bench.drawn_on(code) if routes is bench.routes(code) else drawn_on(routes)

    def levels(self, bench: Bench, wanted: frozenset[str]) -> LowLevelOrder:
        """Order what is wanted, and all that it may be made from, so that each comes before what it is made from.

        Raises PrepError where recipes go round in a loop.
        """
        known = self._levels.get(wanted)
        if known is None:
            edges: dict[str, tuple[str, ...]] = {}
            todo = [item for item in wanted if item in bench.solutions]
            while todo:
                item = todo.pop()
                if item not in edges:
                    edges[item] = self.drawn_on(bench, item)
                    todo += [source for source in edges[item] if source in bench.solutions]
            order = planning_order(wanted, edges)
            known = self._levels[wanted] = LowLevelOrder(
                tuple(order), frozenset(code for code in edges if bench.routes(code))
            )
        return known

    def _with_solids(self, bench: Bench, routes: tuple[Route, ...]) -> tuple[Route, ...]:
        return tuple(
            bench.making.with_solids(route, self.dry) if route.kind is RouteKind.RECIPE else route for route in routes
        )

    def moved(self, demands: Iterable[Demand]) -> tuple[object, ...]:
        """Gather what was learnt of the day on which demands are made, to tell when it is the same again."""
        after, before, ahead = self.after, self.before, self.ahead
        if not (after or before or ahead):
            return ()
        ids = [demand.id for demand in demands]
        return tuple(
            (ref, after.get(ref), before.get(ref), ahead.get(ref))
            for ref in ids
            if ref in after or ref in before or ref in ahead
        )

    def hold(
        self, demand: Demand, make_on: date, why: UnservedReason, arrives: date | None, expires: date | None
    ) -> bool:
        """Make a requirement wait for an order that comes in time, once for each later arrival; else deny it.

        Before that it is made sooner, while what `expires` is in date.
        """
        if demand.id not in self.hastened and self.wait(demand, make_on, arrives):
            return True
        denied = self.denied.setdefault(demand.item, {})
        if demand.id in denied:
            return False
        if expires and not demand.fresh and expires < min(make_on, self.hastened.get(demand.id, make_on)):
            self.hastened[demand.id] = self.before[demand.id] = expires
            self.after.pop(demand.id, None)
            self.touched.add(demand.item)
            return True
        denied[demand.id] = why
        return True

    def wait(self, demand: Demand, make_on: date, arrives: date | None) -> bool:
        """Make what serves a demand wait for an order that comes in time, once for each later arrival."""
        waited = self.after.get(demand.id, date.min)
        if arrives is None or not max(make_on, waited) < arrives <= demand.ready_by:
            return False
        self.after[demand.id] = arrives
        self.touched.add(demand.item)
        return True
