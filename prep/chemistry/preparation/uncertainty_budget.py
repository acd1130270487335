"""How exact what the room makes comes out: the uncertainty budget of a make, from its readings and its sources."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from threading import RLock
from types import MappingProxyType

from prep.chemistry import quantities
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.measurement.instruments import Measured
from prep.chemistry.measurement.readings import flask_uncertainty
from prep.chemistry.measurement.uncertainty import (
    COVERAGE,
    ROOM_SPAN_C,
    Contribution,
    Uncertain,
    assay,
    combined,
    molar_mass_of,
    vessel_volume,
)
from prep.chemistry.model import Measure, Strength, Substance
from prep.chemistry.preparation.routes import RouteKind
from prep.chemistry.preparation.steps import DrawnItem
from prep.chemistry.preparation.vessels import Bench, MeasuredPortion, VesselWork

_ASSAY_PCT = 0.5
"""Half-width of an assay as printed on a bottle, % of it, where none is on file: common practice, no source."""
_CONCENTRATE_PCT = 1.0
"""Half-width of a concentrate's strength as bought, % of it, where none is on file: common practice, no source."""
_TOLD = Fraction(1, 1000)
"""How far a set figure may be from the one wanted and leave the stated strength: common practice, no source."""
_FIGURES, _ABOUT_FIGURES = 4, 3
"""The figures of a strength that a deviation moved, and of one that is known no better than about: common practice, no
source."""


class Budgets:
    """The uncertainty of what a room makes, down to the stocks that it makes it from."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._made: dict[str, float] = {}
        # Two plans may ask at the same time: neither may see a figure that the other has only begun to work out.
        self._finding = RLock()

    def of(self, work: VesselWork, known: Mapping[str, Decimal] = MappingProxyType({})) -> Uncertain | None:
        """Work out the strength with its uncertainty; None where it is no one figure, or a part is not counted.

        `known`: per item, the uncertainty (k = 2, per cent) of the strength that was found in its bottles.
        """
        strength = work.solution.strength
        if strength is None or strength.value <= 0 or work.solution.recipe or not work.to_the_mark:
            return None
        if self.unfit(work, known) is not None:
            return None
        parts: list[Contribution] = []
        for portion in work.portions:
            if portion.item == "water":
                continue
            if portion.found is None:
                return None
            parts += self._portion(work, portion, portion.found, known.get(portion.item))
        # In a dilution the room's temperature stretches both volumes alike, so it drops out.
        span = ROOM_SPAN_C if work.route.kind is RouteKind.DISSOLVE else 0.0
        volume_ml = float(Decimal(work.amount) / quantities.BASE_PER_UNIT)
        parts.append(vessel_volume(work.vessel, volume_ml, span))
        return combined(float(strength.value), parts, strength.kind.value)

    def unfit(self, work: VesselWork, known: Mapping[str, Decimal] = MappingProxyType({})) -> Substance | None:
        """Find the substance in a make that makes its stated strength no more than "about"; else None.

        Such a substance is no primary standard; what is made of its solutions is known as soon as theirs is found.
        """
        strength, solute = work.solution.strength, work.solution.solute
        if strength is None or strength.value <= 0 or not solute:
            return None
        substances = self._bench.substances
        for portion in work.portions:
            taken = substances.get(portion.item)
            stock = self._bench.solutions.get(portion.item)
            if taken is not None and taken.solute == solute and taken.unfit:
                return taken
            if stock is not None and stock.solute == solute and portion.item not in known:
                weighed = self._unfit_of(solute)
                if weighed:
                    return min(weighed, key=lambda s: s.code)
        return None

    def known_of(self, drawn: Iterable[DrawnItem]) -> dict[str, Decimal]:
        """Find the worst uncertainty of the strengths in an item's places, for each item of which one is known.

        Another place of it counts as the room usually makes it; where only a titration finds that, nothing is known.
        """
        places = list(drawn)
        known: dict[str, Decimal] = {}
        for one in places:
            if one.uncertainty_pct is not None:
                known[one.item] = max(one.uncertainty_pct, known.get(one.item, one.uncertainty_pct))
        for one in places if known else ():
            if one.uncertainty_pct is None and one.item in known:
                stock = self._bench.solutions.get(one.item)
                if stock is None or self._unfit_of(stock.solute):
                    del known[one.item]
                else:
                    known[one.item] = max(known[one.item], Decimal(repr(self._expected(one.item))))
        return known

    def _unfit_of(self, solute: str) -> list[Substance]:
        return [one for one in self._bench.substances.values() if solute and one.solute == solute and one.unfit]

    def stated(
        self,
        work: VesselWork,
        taken: Mapping[str, int] = MappingProxyType({}),
        known: Mapping[str, Decimal] = MappingProxyType({}),
    ) -> Strength | None:
        """Work out the strength that the measured figures give.

        `taken`: per item, what really leaves its bottles; `known` as for `of`.
        """
        strength = work.solution.strength
        if strength is None or strength.value <= 0 or work.solution.recipe or not work.to_the_mark:
            return strength
        off = Fraction(0)
        for portion in work.portions:
            found, wanted = portion.found, portion.option.per_nl * work.amount
            if found is None or portion.item == "water":
                continue
            ratio = found.reaches / wanted
            drawn = taken.get(portion.item, found.taken)
            if drawn != found.taken and not found.dilutions:  # a bottle off its nominal strength
                again = self._bench.directly(portion.item, drawn, work.solution)
                ratio = Fraction(again.taken, drawn) if again else Fraction(1)
            off += (ratio - 1) * portion.option.share
        if abs(off) < _TOLD:
            return strength
        value = strength.value * (1 + quantities.decimal_of(off))
        figures = _FIGURES if self.unfit(work, known) is None else _ABOUT_FIGURES
        return Strength(quantities.tidy(value, figures), strength.kind)

    def strength_of(self, item: str, found_pct: Decimal | None = None) -> Contribution:
        """Estimate how far the strength of what goes in may be off, as a part of an uncertainty budget.

        `found_pct` (k = 2) is that of a found strength, or of the make that filled its bottle, which is then taken.
        """
        substance = self._bench.substances.get(item)
        if substance is not None and found_pct is None:
            liquid = substance.measure is Measure.VOLUME
            half = substance.assay_half_width_pct
            pct = (_CONCENTRATE_PCT if liquid else _ASSAY_PCT) if half is None else float(half)
            named = f"strength of {substance.name} as bought" if liquid else f"assay of {substance.name}"
            return assay(1.0, pct / 100, named)
        name = f"strength of {self._bench.named(item)}"
        if found_pct is not None:
            return Contribution(name, 1.0, float(found_pct) / 100 / COVERAGE, how="as found or made, k = 2")
        return Contribution(name, 1.0, self._expected(item) / 100 / COVERAGE, how="as the room makes it, k = 2")

    def _expected(self, code: str) -> float:
        """Estimate the expanded uncertainty (k = 2) of a stock in per cent.

        Made by its first route, at a middling size. Half the tolerance of a stock whose strength is not one figure,
        or whose recipe is its own.
        """
        with self._finding:
            known = self._made.get(code)
            return self._worked_out(code) if known is None else known

    def _worked_out(self, code: str) -> float:
        solution = self._bench.solutions[code]
        # Set before it is worked out, so that stocks made from each other do not ask for ever.
        self._made[code] = float(solution.tolerance_pct) / 2
        routes = self._bench.routes(code)
        if routes and not solution.recipe:
            volumes = self._bench.sizes(code)
            options = [part.options[0] for part in routes[0].parts]
            result = self.of(self._bench.work(solution, routes[0], options, volumes[len(volumes) // 2]))
            if result is not None:
                self._made[code] = min(self._made[code], float(result.expanded_pct))
        return self._made[code]

    def _portion(
        self, work: VesselWork, portion: MeasuredPortion, found: Measured, known_pct: Decimal | None
    ) -> Iterable[Contribution]:
        """List what a measured amount adds to the uncertainty: strength, readings, the flasks on the way."""
        item, share = portion.item, float(portion.option.share)
        parts = [self.strength_of(item, known_pct)]
        substance = self._bench.substances.get(item)
        if substance is not None and substance.formula and work.route.kind is RouteKind.DISSOLVE:
            parts.append(molar_mass_of(substance.formula, float(molar_mass(substance.formula))))
        amount, unit = float(found.reading.amount), "g" if substance and substance.measure is Measure.MASS else "mL"
        relative = found.reading.relative  # without the deviation: that moves the strength itself, see `stated`
        parts.append(Contribution(self._bench.named(item), amount, amount * relative, unit, how=str(found.reading)))
        for step in found.dilutions:
            made, then = float(step.flask.capacity), step.then
            amount = float(then.amount)
            parts += [
                Contribution(step.flask.name, made, made * flask_uncertainty(step.flask), "mL", -1.0),
                Contribution("of the intermediate", amount, amount * then.relative, "mL", how=str(then)),
            ]
        # What gives only a part of the solute adds only that part of its uncertainty.
        return parts if share == 1 else [replace(part, power=part.power * share) for part in parts]
