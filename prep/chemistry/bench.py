"""From a route and a volume to what is done at the bench: vessel, figures, steps, and how exact it comes out."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import sqrt

from prep.chemistry import quantities
from prep.chemistry.making import Making
from prep.chemistry.measuring import Measured, Measuring, sizes
from prep.chemistry.model import (
    Instrument,
    InstrumentKind,
    Line,
    Measure,
    Solution,
    Strength,
    StrengthKind,
    Substance,
)
from prep.chemistry.routes import Option, Route, RouteKind

_SHARE = 0.5
"""The part of a solution's tolerance that one measured amount may use up: common practice, no source."""
_RECIPE_PART = 0.2
"""How far one small part of a recipe may be off before an intermediate is asked for: common practice, no source."""
_ASSAY_PCT = 0.5
"""Half-width of an assay as printed on a bottle, % of it, where none is on file: common practice, no source."""
_CONCENTRATE_PCT = 1.0
"""Half-width of a concentrate's strength as bought, % of it: common practice, no source."""
_FALLBACK = Instrument("any", "graduated vessel", InstrumentKind.BEAKER, Decimal(1000), Decimal(50), Decimal(50))


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a make draws of one item from one place; `place` names it for the person."""

    item: str
    amount: int
    place: str


@dataclass(frozen=True, slots=True)
class Step:
    """One instruction. `instrument` is the code of what measures it."""

    text: str
    instrument: str = ""


@dataclass(frozen=True, slots=True)
class WriteUp:
    """The words and figures of one make. `uncertainty_pct` is k = 2; None where there is no one strength."""

    vessel: str
    steps: tuple[Step, ...]
    working: tuple[Line, ...]
    uncertainty_pct: Decimal | None


@dataclass(frozen=True, slots=True)
class _Gap:
    """A step whose text names where its item is drawn from, between `before` and `after`.

    `found` is how the item is measured, where the reading follows what is really taken. `solvent` is what the
    solution is made up with.
    """

    item: str
    before: str
    after: str
    instrument: str = ""
    found: Measured | None = None
    solvent: bool = False


@dataclass(frozen=True, slots=True)
class _Draft:
    """A write-up before it is known which bottles serve: the same for every make of its kind and size."""

    vessel: str
    steps: tuple[Step | _Gap, ...]
    working: tuple[Line, ...]
    uncertainty_pct: Decimal | None


class Bench:
    """A room's catalogue and instruments, asked what can be made, in what, and how."""

    def __init__(
        self,
        substances: Mapping[str, Substance],
        solutions: Mapping[str, Solution],
        instruments: Sequence[Instrument],
    ) -> None:
        self._substances = substances
        self._solutions = solutions
        self.making = Making(substances, solutions)
        self._measuring = Measuring(instruments)
        self._made: dict[str, float] = {}
        self._drafts: dict[tuple[str, RouteKind, tuple[str, ...], int], _Draft] = {}
        self._sizes = lru_cache(maxsize=None)(lambda tolerance: sizes(tuple(instruments), tolerance))

    def routes(self, code: str) -> tuple[Route, ...]:
        """Every way to make a solution, best first (`Making.routes`)."""
        return self.making.routes(code)

    def sizes(self, code: str) -> tuple[int, ...]:
        """The volumes (nL) in which the room can make a solution, ascending; never empty."""
        found = tuple(base for base, _ in self._vessels(code))
        return found or tuple(n * 50_000_000 for n in range(1, 21))

    def vessel(self, code: str, amount: int) -> Instrument:
        """The vessel for one of `sizes`."""
        return next((v for base, v in self._vessels(code) if base == amount), _FALLBACK)

    def measured(self, item: str, amount: int, solution: Solution) -> tuple[int, int]:
        """(ug or nL that leave the bottle, of which reach the product) for an exact amount of an item.

        The two differ only where an intermediate dilution is made and not all of it used.
        """
        found = self._measure(item, amount, solution)
        if found is None:
            return amount, amount
        step = found.intermediate
        if step is None:
            return found.taken, found.taken
        used = Fraction(step.source.amount) * Fraction(step.then.amount) / Fraction(step.made_ml)
        return found.taken, round(used * quantities.BASE_PER_UNIT)

    def strength_ratio(self, item: str, found: Strength) -> tuple[Fraction, bool]:
        """Found strength over nominal, and whether within tolerance; 1 for a substance."""
        solution = self._solutions.get(item)
        return self.making.found_over_nominal(solution, found) if solution else (Fraction(1), True)

    def write_up(
        self,
        solution: Solution,
        route: Route,
        options: Sequence[Option],
        amount: int,
        drawn: Iterable[Drawn],
    ) -> WriteUp:
        """Steps, working and uncertainty for `amount` nL of a solution by a route."""
        key = (solution.code, route.kind, tuple(option.item for option in options), amount)
        draft = self._drafts.get(key)
        if draft is None:
            draft = self._drafts[key] = self._draft(solution, route, options, amount)
        drawn = list(drawn)
        steps = tuple(step if isinstance(step, Step) else self._filled(step, drawn, solution) for step in draft.steps)
        return WriteUp(draft.vessel, steps, draft.working, draft.uncertainty_pct)

    def _draft(self, solution: Solution, route: Route, options: Sequence[Option], amount: int) -> "_Draft":
        vessel = self.vessel(solution.code, amount)
        writer = _Writer(self, solution, route, amount, vessel)
        steps = writer.steps(options)
        uncertainty = writer.uncertainty_pct()
        working = [line for option in options for line in option.working]
        made = quantities.show(amount, Measure.VOLUME)
        for option in options:
            if option.item != "water":
                need = option.per_nl * amount
                working.append(
                    Line(
                        f"for {made}: {quantities.show(round(need), self.measure_of(option.item))} of "
                        f"{self.named(option.item)}"
                    )
                )
        if uncertainty is not None and solution.strength is not None:
            working.append(Line(f"gives {with_uncertainty(solution.strength, uncertainty)}", _UNCERTAINTY_SOURCE))
        return _Draft(vessel.name, tuple(steps), tuple(working), uncertainty)

    def _filled(self, gap: "_Gap", drawn: list[Drawn], solution: Solution) -> Step:
        """The step with the places that its item is drawn from."""
        places = [d for d in drawn if d.item == gap.item]
        if not places:
            return Step(gap.before + gap.after, gap.instrument)
        if gap.solvent:
            return Step(f"{gap.before} ({places[0].place}){gap.after}", gap.instrument)
        before, found = gap.before, gap.found
        if found is not None:  # a bottle off its nominal strength gives more or less
            taken = sum(d.amount for d in places)
            again = self._measure(gap.item, taken, solution) if taken != found.taken else None
            if again:
                before = before.replace(str(found.reading), str(again.reading), 1)
        if len(places) == 1:
            return Step(f"{before}, {places[0].place}{gap.after}", gap.instrument)
        measure = self.measure_of(gap.item)
        parts = [f"{quantities.show(d.amount, measure, 4)} from {d.place}" for d in places]
        return Step(f"{before} ({'; '.join(parts)}){gap.after}", gap.instrument)

    def measure_of(self, item: str) -> Measure:
        """How an item is counted."""
        substance = self._substances.get(item)
        return substance.measure if substance else Measure.VOLUME

    def named(self, item: str) -> str:
        """The item's name."""
        known = self._substances.get(item) or self._solutions.get(item)
        return known.name if known else item

    def half_width_pct(self, item: str) -> tuple[float, str]:
        """How far the strength of what goes in may be off, % of it, and the reason."""
        substance = self._substances.get(item)
        if substance is None:
            return self._expected(item) * sqrt(3) / 2, "the stock as the room makes it"
        if substance.measure is Measure.VOLUME:
            return _CONCENTRATE_PCT, "a concentrate's strength as bought, common practice, no source"
        return _ASSAY_PCT, "the assay, common practice, no source"

    def _expected(self, code: str) -> float:
        """Expanded (k = 2) uncertainty of a stock made by its first route at a middling size, in per cent.

        Half the tolerance of a stock whose strength is not one figure, or whose recipe is its own.
        """
        known = self._made.get(code)
        if known is not None:
            return known
        solution = self._solutions[code]
        self._made[code] = float(solution.tolerance_pct) / 2  # also what a loop would meet
        routes = self.routes(code)
        if routes and not solution.recipe:
            volumes = self.sizes(code)
            amount = volumes[len(volumes) // 2]
            options = [part.options[0] for part in routes[0].parts]
            found = self.write_up(solution, routes[0], options, amount, ()).uncertainty_pct
            if found is not None:
                self._made[code] = min(self._made[code], float(found))
        return self._made[code]

    def _measure(self, item: str, amount: int, solution: Solution) -> Measured | None:
        tolerance = float(solution.tolerance_pct) / 100 * _SHARE
        measure = self.measure_of(item)
        found = self._measuring.measure(amount, measure, tolerance)
        if solution.recipe and found is not None and found.intermediate is not None:
            # A recipe's small parts are weighed as they are: no one of them is its strength.
            return self._measuring.measure(amount, measure, _RECIPE_PART)
        return found

    def _vessels(self, code: str) -> tuple[tuple[int, Instrument], ...]:
        found: tuple[tuple[int, Instrument], ...] = self._sizes(self._solutions[code].tolerance_pct)
        return found


_UNCERTAINTY_SOURCE = "EURACHEM/CITAC Guide CG4, 3rd ed. (2012): relative standard uncertainties in quadrature"


def with_uncertainty(strength: Strength, uncertainty_pct: Decimal) -> str:
    """`0.1000 +- 0.0006 mol/L (k = 2)`: the uncertainty to one figure (two if it begins with 1)."""
    if strength.kind is StrengthKind.SATURATED:
        return "saturated"
    half = strength.value * uncertainty_pct / 100
    if not half:
        return f"{strength} (k = 2)"
    figures = 2 if str(half.scaleb(-half.adjusted()))[0] == "1" else 1
    place = half.adjusted() - figures + 1
    step = Decimal(1).scaleb(place)
    shown = [
        f"{v.quantize(step):f}" if place < 0 else f"{v.quantize(step).to_integral():f}" for v in (strength.value, half)
    ]
    return f"{shown[0]} +- {shown[1]} {strength.kind.value} (k = 2)"


class _Writer:
    def __init__(
        self,
        bench: Bench,
        solution: Solution,
        route: Route,
        amount: int,
        vessel: Instrument,
    ) -> None:
        self.bench, self.solution, self.route = bench, solution, route
        self.amount, self.vessel = amount, vessel
        self.relative: list[float] = []

    def steps(self, options: Sequence[Option]) -> list[Step | _Gap]:
        """The instructions in order."""
        kind = self.route.kind
        volume = quantities.show(self.amount, Measure.VOLUME)
        solvent = self.solution.make_up_with
        liquid = "distilled water" if solvent == "water" else self.bench.named(solvent)
        out: list[Step | _Gap] = []
        if kind in (RouteKind.DILUTE, RouteKind.CONCENTRATE):
            first = self._about(Fraction(1, 2))
            out.append(Step(f"Put about {first} of {liquid} in the {self.vessel.name}."))
            out += self._measure(options[0], "add it slowly to the water, swirling")
            if kind is RouteKind.CONCENTRATE:
                out.append(Step("Let it come back to room temperature."))
        elif kind is RouteKind.DISSOLVE:
            out += self._measure(options[0], "")
            out.append(Step(f"Dissolve it in about {self._about(Fraction(7, 10))} of {liquid} in a beaker, stirring."))
            out.append(Step(f"Pour it into the {self.vessel.name}; rinse the beaker into it twice."))
        else:
            out.append(Step(f"Start with about {self._about(self._free(options))} of {liquid} in a beaker."))
            for part, option in zip(self.route.parts, options, strict=True):
                if part.note == "make up":
                    continue
                out += self._measure(option, part.note or "add it, stirring until it is dissolved or mixed")
        if self.solution.method and (self.solution.recipe or self.route == self.bench.routes(self.solution.code)[0]):
            out.insert(0, Step(f"Mind: {self.solution.method}"))  # the card speaks of its own first source
        out.append(self._mark(volume, liquid))
        keep = f" Keep: {', '.join(self.solution.keeping)}." if self.solution.keeping else ""
        out.append(Step(f"Label it before it leaves the bench.{keep}"))
        return out

    def uncertainty_pct(self) -> Decimal | None:
        """Expanded (k = 2) relative uncertainty of the strength, in per cent, to two figures."""
        if self.solution.strength is None or self.solution.recipe:
            return None
        if self.solution.strength.kind is StrengthKind.SATURATED:
            return None
        vessel = float(self.vessel.tolerance / (Decimal(self.amount) / quantities.BASE_PER_UNIT)) / sqrt(6)
        total = sqrt(sum(u * u for u in (*self.relative, vessel)))
        return Decimal(f"{200 * total:.2g}")

    def _measure(self, option: Option, then: str) -> list[Step | _Gap]:
        tail = f"; {then}" if then else ""
        if option.item == "water":
            volume = quantities.show(round(option.per_nl * self.amount), Measure.VOLUME)
            return [Step(f"Measure {volume} of distilled water{tail}.")]
        name = self.bench.named(option.item)
        need = option.per_nl * self.amount
        found = self.bench._measure(option.item, -(-need.numerator // need.denominator), self.solution)
        half, _ = self.bench.half_width_pct(option.item)
        self.relative.append(half / 100 / sqrt(3))
        measure = self.bench.measure_of(option.item)
        verb = "Weigh" if measure is Measure.MASS else "Measure"
        item, end = option.item, f"{tail}."
        if found is None:
            return [_Gap(item, f"{verb} {quantities.show(round(need), measure)} of {name}", end)]
        self.relative.append(found.standard_uncertainty)
        if found.intermediate is None:
            warn = "" if found.adequate else " (as exactly as the room can)"
            said = f"{verb} {found.reading}{warn}: {name}"
            return [_Gap(item, said, end, found.reading.instrument.code, found)]
        step = found.intermediate
        return [
            _Gap(
                item,
                f"First an intermediate: {verb.lower()} {step.source}: {name}",
                f"; make it up to the mark in the {step.flask.name} with distilled water and mix.",
                step.source.instrument.code,
            ),
            Step(f"Measure {step.then} of the intermediate{end}", step.then.instrument.code),
        ]

    def _mark(self, volume: str, liquid: str) -> Step | _Gap:
        into = "it" if self.route.kind is not RouteKind.RECIPE else f"all of it in the {self.vessel.name}"
        said, end = f"Make {into} up to {volume} with {liquid}", "; stopper and mix well."
        solvent = self.solution.make_up_with
        if solvent == "water":
            return Step(said + end, self.vessel.code)
        return _Gap(solvent, said, end, self.vessel.code, solvent=True)

    def _free(self, options: Sequence[Option]) -> Fraction:
        """Half of what the liquids leave, so that there is room for all of them."""
        taken = sum(
            (o.per_nl for o in options if o.item == "water" or self.bench.measure_of(o.item) is Measure.VOLUME),
            Fraction(0),
        )
        return max(Fraction(1, 10), (1 - taken) / 2)

    def _about(self, share: Fraction) -> str:
        """A rough volume: one figure is enough to begin with."""
        rough = Decimal(int(self.amount * share))
        step = Decimal(1).scaleb(max(rough.adjusted(), 0))
        return quantities.show(int((rough / step).to_integral_value() * step) or 1, Measure.VOLUME)
