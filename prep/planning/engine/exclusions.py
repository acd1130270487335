"""What earlier walks taught, so that the next one does otherwise."""

from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date

from prep.chemistry.preparation.routes import Route, RouteKind
from prep.chemistry.preparation.vessels import Bench
from prep.planning.engine.requirements import Demand


@dataclass(frozen=True, slots=True)
class Why:
    """Why a demand is not served: the finding's code, the sentence, and a cure."""

    code: str
    message: str
    cure: str = ""


@dataclass(slots=True)
class Verdicts:
    """What earlier walks taught: sources to avoid from a day on, what must wait, what cannot be made."""

    avoid: dict[str, dict[tuple[str, ...], date]] = field(default_factory=lambda: defaultdict(dict))
    denied: dict[str, Why] = field(default_factory=dict)
    after: dict[str, date] = field(default_factory=dict)  # demand id -> day its source is there
    before: dict[str, date] = field(default_factory=dict)  # demand id -> day its make was levelled to
    wider: dict[str, tuple[Route, ...]] = field(default_factory=dict)  # buffers to be made from other pairs too
    lean: set[str] = field(default_factory=set)  # solutions of which no more is made than is needed
    dry: set[str] = field(default_factory=set)  # stocks that are not made, where the solid may go in instead
    sparing: set[str] = field(default_factory=set)  # solutions made in several small makes rather than one too large
    hastened: dict[str, date] = field(default_factory=dict)  # demand id -> day up to which its source is in date
    touched: set[str] = field(default_factory=set)  # items about which something was learnt since the last walk

    _dry_routes: dict[str, tuple[Route, ...]] = field(default_factory=dict)

    def copy(self) -> "Verdicts":
        """The same verdicts, to try more on."""
        avoid: dict[str, dict[tuple[str, ...], date]] = defaultdict(dict)
        avoid.update((code, dict(known)) for code, known in self.avoid.items())
        return replace(
            self,
            avoid=avoid,
            denied=dict(self.denied),
            after=dict(self.after),
            before=dict(self.before),
            hastened=dict(self.hastened),
            wider=dict(self.wider),
            lean=set(self.lean),
            dry=set(self.dry),
            sparing=set(self.sparing),
            touched=set(self.touched),
            _dry_routes={},
        )

    def routes(self, bench: Bench, code: str) -> tuple[Route, ...]:
        """Every way to make a solution that is to be considered."""
        found = bench.routes(code) + self.wider.get(code, ())
        if not self.dry:
            return found
        known = self._dry_routes.get(code)
        if known is None:
            takes = {p.options[0].item for route in found if route.kind is RouteKind.RECIPE for p in route.parts}
            known = found if self.dry.isdisjoint(takes) else self._with_solids(bench, found)
            self._dry_routes[code] = known
        return known

    def _with_solids(self, bench: Bench, routes: tuple[Route, ...]) -> tuple[Route, ...]:
        return tuple(
            bench.making.with_solids(route, self.dry) if route.kind is RouteKind.RECIPE else route for route in routes
        )

    def hold(self, demand: Demand, make_on: date, why: Why, arrives: date | None, expires: date | None) -> bool:
        """Make a requirement wait for what is ordered if that is in time, for each later arrival once; else deny it.

        Before that it is made sooner, while what `expires` is in date.
        """
        waited = self.after.get(demand.id, date.min)
        if demand.id not in self.hastened and arrives and max(make_on, waited) < arrives <= demand.ready_by:
            self.after[demand.id] = arrives
            self.touched.add(demand.item)
            return True
        if demand.id in self.denied:
            return False
        if expires and not demand.fresh and expires < min(make_on, self.hastened.get(demand.id, make_on)):
            self.hastened[demand.id] = self.before[demand.id] = expires
            self.after.pop(demand.id, None)
            self.touched.add(demand.item)
            return True
        self.denied[demand.id] = why
        return True
