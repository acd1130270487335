"""What earlier walks taught, so that the next one does otherwise."""

from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date

from prep.chemistry.preparation.routes import Route
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
    touched: set[str] = field(default_factory=set)  # items about which something was learnt since the last walk

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
            wider=dict(self.wider),
            lean=set(self.lean),
            touched=set(self.touched),
        )

    def routes(self, bench: Bench, code: str) -> tuple[Route, ...]:
        """Every way to make a solution that is to be considered."""
        return bench.routes(code) + self.wider.get(code, ())

    def hold(self, demand: Demand, make_on: date, why: Why, arrives: date | None) -> bool:
        """Make a requirement wait for what is ordered if that is in time, for each later arrival once; else deny it."""
        waited = self.after.get(demand.id, date.min)
        if arrives and max(make_on, waited) < arrives <= demand.ready_by:
            self.after[demand.id] = arrives
            self.touched.add(demand.item)
            return True
        if demand.id in self.denied:
            return False
        self.denied[demand.id] = why
        return True
