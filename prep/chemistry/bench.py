"""From a route and a volume to what is done at the bench: vessel, figures, steps, and how exact it comes out."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from prep.chemistry import quantities
from prep.chemistry.formulas import molar_mass
from prep.chemistry.making import Making
from prep.chemistry.measuring import Measured, Measuring, sizes
from prep.chemistry.model import (
    Instrument,
    InstrumentKind,
    Line,
    Measure,
    Solution,
    Strength,
    Substance,
)
from prep.chemistry.readings import base_of, flask_uncertainty
from prep.chemistry.routes import Option, Route, RouteKind
from prep.chemistry.steps import LABEL, Common, Draft, Drawn, Gap, Step, WriteUp, gives, known_of
from prep.chemistry.uncertainty import (
    COVERAGE,
    ROOM_SPAN_C,
    Contribution,
    Uncertain,
    assay,
    combined,
    molar_mass_of,
    vessel_volume,
)

__all__ = ["Bench", "Drawn", "Step", "WriteUp"]

_SHARE = 0.5
"""The part of a solution's tolerance that one measured amount may use up: common practice, no source."""
_RECIPE_PART = 0.2
"""How far one small part of a recipe may be off before an intermediate is asked for: common practice, no source."""
_ASSAY_PCT = 0.5
"""Half-width of an assay as printed on a bottle, % of it, where none is on file: common practice, no source."""
_CONCENTRATE_PCT = 1.0
"""Half-width of a concentrate's strength as bought, % of it: common practice, no source."""
_DILUTIONS = 2
"""The most intermediate dilutions that a person is asked to make: common practice, no source."""
_FALLBACK = Instrument("any", "graduated vessel", InstrumentKind.BEAKER, Decimal(1000), Decimal(50), Decimal(50))


class Bench:
    """A room's catalogue and instruments, asked what can be made, in what, and how."""

    def __init__(
        self,
        substances: Mapping[str, Substance],
        solutions: Mapping[str, Solution],
        instruments: Sequence[Instrument],
        found: Mapping[str, Decimal] = MappingProxyType({}),
    ) -> None:
        """`found`: per bottle, the uncertainty (k = 2, per cent) of the strength that was found in it."""
        self.found = found
        self._substances = substances
        self._solutions = solutions
        self.making = Making(substances, solutions)
        self._measuring = Measuring(instruments)
        # Nobody pours a concentrate into a burette.
        self._by_hand = Measuring([i for i in instruments if i.kind is not InstrumentKind.BURETTE])
        self._made: dict[str, float] = {}
        self._drafts: dict[tuple[object, ...], Draft] = {}
        self._sizes = lru_cache(maxsize=None)(lambda tolerance: dict(sizes(tuple(instruments), tolerance)))

    def routes(self, code: str) -> tuple[Route, ...]:
        """Every way to make a solution, best first (`Making.routes`)."""
        return self.making.routes(code)

    def sizes(self, code: str) -> tuple[int, ...]:
        """The volumes (nL) in which the room can make a solution, ascending; never empty."""
        return tuple(self._vessels(code)) or tuple(n * 50_000_000 for n in range(1, 21))

    def vessel(self, code: str, amount: int) -> Instrument:
        """The vessel for one of `sizes`."""
        return self._vessels(code).get(amount, _FALLBACK)

    def measured(self, item: str, amount: int, solution: Solution, made: int) -> tuple[int, int]:
        """(ug or nL that leave the bottle, of which reach the product) for an exact amount of an item.

        `made` is the volume (nL) of the product. The two differ only where an intermediate dilution is made
        and not all of it used.
        """
        found = self._measure(item, amount, solution, made)
        return (found.taken, found.reaches) if found else (amount, amount)

    def how(self, item: str, amount: int, solution: Solution, made: int) -> Measured | None:
        """How an exact amount of an item is measured for `made` nL of a solution; None where nothing measures it."""
        return self._measure(item, amount, solution, made)

    def together(self, found: Sequence[Measured], measure: Measure) -> tuple[Measured, ...] | None:
        """Several ways of measuring on one intermediate (`Measuring.together`)."""
        return self._measuring.together(found, measure)

    def direct(self, option: Option, solution: Solution, made: int) -> bool:
        """Whether an option is measured well enough for `made` nL as it is, without an intermediate."""
        if option.item == "water" or solution.recipe:
            return True
        exact = option.per_nl * made
        found = self._measure(option.item, -(-exact.numerator // exact.denominator), solution, made)
        return found is not None and found.adequate and not found.dilutions

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
        common: Mapping[str, Common] = MappingProxyType({}),
    ) -> WriteUp:
        """Steps, working and uncertainty for `amount` nL of a solution by a route.

        `common`: per item, the intermediate it shares with other makes; `drawn` then is what that one takes.
        """
        drawn = list(drawn)
        known = known_of(drawn)
        shares = tuple((o.item, o.share) if o.share != 1 else o.item for o in options)
        key = (solution.code, route.kind, shares, amount, *known.items(), *common.items())
        draft = self._drafts.get(key)
        if draft is None:
            draft = self._drafts[key] = self._draft(solution, route, options, amount, known, common)
        steps = tuple(step if isinstance(step, Step) else self._filled(step, drawn, solution) for step in draft.steps)
        return WriteUp(draft.vessel, steps, draft.working, draft.uncertainty_pct)

    def _draft(
        self,
        solution: Solution,
        route: Route,
        options: Sequence[Option],
        amount: int,
        known: Mapping[str, Decimal] = MappingProxyType({}),
        common: Mapping[str, Common] = MappingProxyType({}),
    ) -> Draft:
        vessel = self.vessel(solution.code, amount)
        writer = _Writer(self, solution, route, amount, vessel, known, common)
        steps = writer.steps(options)
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
        if writer.result is None:
            return Draft(vessel.name, tuple(steps), tuple(working), None)
        working += writer.result.working()
        working.append(Line(f"gives {writer.given}"))
        return Draft(vessel.name, tuple(steps), tuple(working), writer.result.expanded_pct)

    def _filled(self, gap: Gap, drawn: list[Drawn], solution: Solution) -> Step:
        """The step with the places that its item is drawn from."""
        places = [d for d in drawn if d.item == gap.item]
        if not places:
            return Step(gap.before + gap.after, gap.instrument)
        if gap.solvent:
            return Step(f"{gap.before} ({places[0].place}){gap.after}", gap.instrument)
        before, found = gap.before, gap.found
        if found is not None:  # a bottle off its nominal strength gives more or less
            taken = sum(d.amount for d in places)
            again = self._directly(gap.item, taken, solution) if taken != found.taken else None
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

    def strength_of(self, item: str, found_pct: Decimal | None = None) -> Contribution:
        """How far the strength of what goes in may be off, as a part of an uncertainty budget.

        `found_pct` (k = 2) is that of a found strength, which is then taken.
        """
        substance = self._substances.get(item)
        if substance is not None and substance.measure is Measure.VOLUME:
            return assay(1.0, _CONCENTRATE_PCT / 100, f"strength of {substance.name} as bought")
        if substance is not None:
            return assay(1.0, _ASSAY_PCT / 100, f"assay of {substance.name}")
        name = f"strength of {self.named(item)}"
        if found_pct is not None:
            return Contribution(name, 1.0, float(found_pct) / 100 / COVERAGE, how="as found, k = 2")
        return Contribution(name, 1.0, self._expected(item) / 100 / COVERAGE, how="as the room makes it, k = 2")

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
            writer = _Writer(self, solution, routes[0], amount, self.vessel(code, amount), {})
            writer.steps(options)
            if writer.result is not None:
                self._made[code] = min(self._made[code], float(writer.result.expanded_pct))
        return self._made[code]

    def _measure(self, item: str, amount: int, solution: Solution, made: int) -> Measured | None:
        tolerance = float(solution.tolerance_pct) / 100 * _SHARE
        measure = self.measure_of(item)
        with_ = self._instruments(item)
        if solution.recipe:
            found = with_.measure(amount, measure, tolerance, 0)
            if found is not None and found.adequate:
                return found
            # A recipe's small parts are weighed as they are: no one of them is its strength.
            return with_.measure(amount, measure, _RECIPE_PART, 0)
        # Where no way is good enough and nothing reads so little, the best of the worse ways: it says so.
        for worse in (1, 2, 10):
            for dilutions in (_DILUTIONS, 0):
                found = with_.measure(amount, measure, tolerance * worse, dilutions)
                if found is not None and self._fits(found, solution, made):
                    return found
        return None

    def _instruments(self, item: str) -> Measuring:
        """What measures an item: for a liquid as bought, no burette."""
        substance = self._substances.get(item)
        return self._by_hand if substance is not None and substance.measure is Measure.VOLUME else self._measuring

    def _fits(self, found: Measured, solution: Solution, made: int) -> bool:
        """Whether an intermediate leaves room for the rest: it is made with water, and stronger than the product."""
        if not found.dilutions:
            return True
        return solution.make_up_with == "water" and base_of(found.dilutions[-1].then.amount) * 2 <= made

    def _directly(self, item: str, amount: int, solution: Solution) -> Measured | None:
        tolerance = float(solution.tolerance_pct) / 100 * _SHARE
        return self._instruments(item).measure(amount, self.measure_of(item), tolerance, 0)

    def _vessels(self, code: str) -> dict[int, Instrument]:
        found: dict[int, Instrument] = self._sizes(self._solutions[code].tolerance_pct)
        return found


class _Writer:
    def __init__(
        self,
        bench: Bench,
        solution: Solution,
        route: Route,
        amount: int,
        vessel: Instrument,
        known: Mapping[str, Decimal],
        common: Mapping[str, Common] = MappingProxyType({}),
    ) -> None:
        self.bench, self.solution, self.route = bench, solution, route
        self.amount, self.vessel, self.known, self.common = amount, vessel, known, common
        self.parts: list[Contribution] = []
        self.result: Uncertain | None = None
        self.given = ""
        strength = solution.strength
        self.counted = strength is not None and strength.value > 0 and not solution.recipe

    def steps(self, options: Sequence[Option]) -> list[Step | Gap]:
        """The instructions in order. Sets `result` and `given`, where the strength is one figure."""
        kind = self.route.kind
        volume = quantities.show(self.amount, Measure.VOLUME)
        solvent = self.solution.make_up_with
        liquid = "distilled water" if solvent == "water" else self.bench.named(solvent)
        out: list[Step | Gap] = []
        if kind is RouteKind.DILUTE:
            # Only if there is room: what is taken, the rinsings and the last of the water come after it.
            first = self._about(min(Fraction(1, 2), self._free(options) / 2))
            if first:
                out.append(Step(f"Put about {first} of {liquid} in the {self.vessel.name}."))
            into = "add it slowly to the water, swirling" if first else f"let it run into the {self.vessel.name}"
            out += self._measure(options[0], into)
        elif kind is RouteKind.CONCENTRATE:
            # It may grow hot: not in a measuring vessel, and with room left to rinse.
            first = self._about(min(Fraction(1, 2), self._free(options) * Fraction(3, 4)))
            if first:
                out.append(Step(f"Put about {first} of {liquid} in a heat-proof beaker."))
            into = "add it slowly to the water, stirring" if first else "pour it into a heat-proof beaker"
            out += self._measure(options[0], into)
            out.append(Step("Let it come back to room temperature."))
            if self.vessel.kind is not InstrumentKind.BEAKER:
                out.append(Step(f"Pour it into the {self.vessel.name}; rinse the beaker into it twice."))
        elif kind is RouteKind.DISSOLVE:
            weighed = self._measure(options[0], "")
            out += weighed
            if len(weighed) == 1:
                out.append(
                    Step(f"Dissolve it in about {self._about(Fraction(7, 10))} of {liquid} in a beaker, stirring.")
                )
                out.append(Step(f"Pour it into the {self.vessel.name}; rinse the beaker into it twice."))
            else:
                out.append(Step(f"Let that run into the {self.vessel.name}."))
        else:
            free = self._free(options)
            first = self._about(free / 2) if free >= Fraction(1, 2) else ""
            if first:
                out.append(Step(f"Start with about {first} of {liquid} in a beaker."))
            for part, option in zip(self.route.parts, options, strict=True):
                if part.note == "make up":
                    continue
                out += self._measure(option, part.note or "add it, stirring until it is dissolved or mixed")
        own = self.route.declared if self.solution.recipe else self.route == self.bench.routes(self.solution.code)[0]
        if self.solution.method and own:
            out.insert(0, Step(f"Mind: {self.solution.method}"))  # the card speaks of its own first source
        if self._free(options) < Fraction(1, 100) and solvent == "water":
            out.append(Step(f"Together they make {volume}; mix well.", self.vessel.code))
        else:
            out.append(self._mark(volume, liquid))
        keep = f" Keep: {', '.join(self.solution.keeping)}." if self.solution.keeping else ""
        out.append(Step(f"{LABEL.text}{keep}"))
        return out

    def _combine(self) -> None:
        """The strength with what it depends on, when all parts are counted."""
        strength = self.solution.strength
        if not self.counted or strength is None:
            return
        # In a dilution the room's temperature stretches what is taken as it does what is made.
        span = ROOM_SPAN_C if self.route.kind is RouteKind.DISSOLVE else 0.0
        volume_ml = float(Decimal(self.amount) / quantities.BASE_PER_UNIT)
        parts = (*self.parts, vessel_volume(self.vessel, volume_ml, span))
        self.result = combined(float(strength.value), parts, strength.kind.value)
        self.given = gives(strength, self.result.expanded_pct)

    def _measure(self, option: Option, then: str) -> list[Step | Gap]:
        tail = f"; {then}" if then else ""
        if option.item == "water":
            volume = quantities.show(round(option.per_nl * self.amount), Measure.VOLUME)
            return [Step(f"Measure {volume} of distilled water{tail}.")]
        name = self.bench.named(option.item)
        need = option.per_nl * self.amount
        common = self.common.get(option.item)
        found = common.found if common else None
        if found is None:
            exact = -(-need.numerator // need.denominator)
            found = self.bench._measure(option.item, exact, self.solution, self.amount)
        measure = self.bench.measure_of(option.item)
        verb = "Weigh" if measure is Measure.MASS else "Measure"
        item, end = option.item, f"{tail}."
        if found is None:
            self.counted = False
            said = f"{verb} {quantities.show(round(need), measure)} (nothing in the room measures that) of {name}"
            return [Gap(item, said, end)]
        reading, figure = found.reading, str(found.reading)
        if self.counted:
            before = len(self.parts)
            self._count(item, name, found, figure)
            if option.share != 1:  # a part of the solute makes a part of the uncertainty
                share = float(option.share)
                self.parts[before:] = [replace(part, power=part.power * share) for part in self.parts[before:]]
        if not found.dilutions:
            warn = "" if found.adequate else " (as exactly as the room can)"
            return [Gap(item, f"{verb} {figure}{warn}: {name}", end, reading.instrument.code, found)]
        marks = [
            f"; make it up to the mark in the {step.flask.name} with distilled water, stopper and mix."
            for step in found.dilutions
        ]
        out: list[Step | Gap] = []
        if common is not None and not common.first:
            flask = found.dilutions[0].flask.name
            out.append(Step(f"Take the intermediate made for {common.makes[0]}: {name}, diluted in the {flask}."))
        else:
            others = ", ".join(common.makes[1:]) if common else ""
            shared = f", for this and for {others}" if others else ""
            said = f"First an intermediate{shared}: {verb.lower()} {figure}: {name}"
            mark = marks[0] + (f" Label it and keep what is left for {others}, the same day." if others else "")
            out.append(Gap(item, said, mark, reading.instrument.code, found))
        for step, mark in zip(found.dilutions[:-1], marks[1:], strict=True):
            said = f"Then a second intermediate: measure {step.then} of the first{mark}"
            out.append(Step(said, step.then.instrument.code))
        last = found.dilutions[-1].then
        which = "intermediate" if len(marks) == 1 else "second intermediate"
        out.append(Step(f"Measure {last} of the {which}{end}", last.instrument.code))
        return out

    def _count(self, item: str, name: str, found: Measured, figure: str) -> None:
        """What a measured amount adds to the uncertainty: its strength, its readings, the flasks on the way."""
        self.parts.append(self.bench.strength_of(item, self.known.get(item)))
        substance = self.bench._substances.get(item)
        if substance is not None and substance.formula and self.route.kind is RouteKind.DISSOLVE:
            self.parts.append(molar_mass_of(substance.formula, float(molar_mass(substance.formula))))
        amount, unit = float(found.reading.amount), "g" if substance and substance.measure is Measure.MASS else "mL"
        # Each figure makes good for the one before it: only the last one's deviation is left.
        relative = found.reading.relative if found.dilutions else found.reading.standard_uncertainty
        self.parts.append(Contribution(name, amount, amount * relative, unit, how=figure))
        for step in found.dilutions:
            made, then = float(step.flask.capacity), step.then
            amount = float(then.amount)
            relative = then.standard_uncertainty if step is found.dilutions[-1] else then.relative
            self.parts += [
                Contribution(step.flask.name, made, made * flask_uncertainty(step.flask), "mL", -1.0),
                Contribution("of the intermediate", amount, amount * relative, "mL", how=str(then)),
            ]

    def _mark(self, volume: str, liquid: str) -> Step | Gap:
        kinds = (RouteKind.RECIPE, RouteKind.BLEND)
        into = "it" if self.route.kind not in kinds else f"all of it in the {self.vessel.name}"
        said, end = f"Make {into} up to {volume} with {liquid}", f"; stopper and mix well.{self._good()}"
        solvent = self.solution.make_up_with
        if solvent == "water":
            return Step(said + end, self.vessel.code)
        return Gap(solvent, said, end, self.vessel.code, solvent=True)

    def _good(self) -> str:
        """What the make gives, and whether that is as good as its card asks for."""
        self._combine()
        if self.result is None:
            return ""
        off = self.result.expanded_pct
        if off <= self.solution.tolerance_pct:
            return f" It gives {self.given}."
        return (
            f" It gives {self.given}. Its card asks for {quantities.plain(self.solution.tolerance_pct)} %, and this "
            f"may be off by {off} %: have its strength found before it is relied on."
        )

    def _free(self, options: Sequence[Option]) -> Fraction:
        """The part of the volume that the liquids leave."""
        taken = sum(
            (o.per_nl for o in options if o.item == "water" or self.bench.measure_of(o.item) is Measure.VOLUME),
            Fraction(0),
        )
        return max(Fraction(0), 1 - taken)

    def _about(self, share: Fraction) -> str:
        """A rough volume, one figure and never more than the share; empty where that is next to nothing."""
        rough = Decimal(int(self.amount * share))
        if share < Fraction(1, 20) or rough < quantities.BASE_PER_UNIT:
            return ""
        step = Decimal(1).scaleb(max(rough.adjusted(), 0))
        return quantities.show(int(rough / step) * int(step), Measure.VOLUME)
