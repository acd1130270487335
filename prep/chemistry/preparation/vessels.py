"""What the room makes a solution in, and with what it measures each part of it: the choice, without words."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.measurement.instruments import Measured, Measuring, sizes
from prep.chemistry.measurement.readings import MOST_FILLINGS, base_of
from prep.chemistry.model import Form, Instrument, InstrumentKind, Measure, Solution, Strength
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.preparation.routes import Route, RouteOption, drawn_on
from prep.chemistry.preparation.steps import CommonIntermediate
from prep.chemistry.strength.bottled import FoundRatio, over_nominal
from prep.records import record

_SHARE = 0.5
"""The part of a solution's tolerance that one measured amount may use up: common practice, no source."""
_IN_ONE_STEP = 0.9
"""The part that it may use up where that spares an intermediate: common practice, no source."""
_NO_BETTER = 1.5
"""How many times its tolerance a concentrate may be off where its own strength is known no better: common practice, no
source."""
_RECIPE_PART = 0.2
"""How far one small part of a recipe may be off before an intermediate is asked for: common practice, no source."""
_WORSE = 3
"""How many times its tolerance a recipe's part may be off and still be weighed as it is: common practice, no source."""
_ASIDE = 0.05
"""How far that may be off in a recipe which is not what its strength counts, such as the acid that keeps a salt clear:
common practice, no source."""
_TO_BE_FOUND = 0.05
"""How far a solid may be off that is no primary standard, as its solution's strength is found afterwards: common
practice, no source."""
_DILUTIONS = 2
"""The most intermediate dilutions that a person is asked to make: common practice, no source."""
_LOOSE_PCT, _LEAST_LOOSE_NL = Decimal(10), 50_000_000
"""How exactly, and from what on, that is made up whose strength is found afterwards: common practice, no source."""
_FULL = Fraction(99, 100)
"""Liquids that fill so much of the volume need no water up to a mark: common practice, no source."""
_POURED = (InstrumentKind.CYLINDER,)
_NO_BURETTE = (InstrumentKind.CYLINDER, InstrumentKind.GRADUATED_PIPETTE, InstrumentKind.PIPETTE)
_FALLBACK = Instrument("any", "graduated vessel", InstrumentKind.BEAKER, Decimal(1000), Decimal(50), Decimal(50))


@record(frozen=True, slots=True)
class MeasuredPortion:
    """One option that goes in, and how it is measured; None for water, and where nothing measures it.

    `note` is the recipe's. `common` is the intermediate it shares with other makes, which is then `found`. `first`
    is the item that its part is known by, where another plays it.
    """

    option: RouteOption
    note: str
    found: Measured | None
    common: CommonIntermediate | None = None
    first: str = ""

    @property
    def written(self) -> str:
        """The item by which the method names it."""
        return self.first or self.item

    @property
    def item(self) -> str:
        """The code of the item that is taken."""
        return self.option.item


@record(frozen=True, slots=True)
class VesselWork:
    """One make as the room does it: the vessel, and the portions in order.

    `free` is the part of the volume that the liquids leave; what the solution is made up with is no portion.
    """

    solution: Solution
    route: Route
    amount: int
    vessel: Instrument
    portions: tuple[MeasuredPortion, ...]
    free: Fraction

    @property
    def to_the_mark(self) -> bool:
        """Whether it is made up in the vessel; else its liquids are the volume."""
        return self.solution.make_up_with != "water" or self.free >= 1 - _FULL


def _first_adequate(with_: Measuring, amount: int, measure: Measure, tolerances: Sequence[float]) -> Measured | None:
    """Find the first adequate reading: one filling before two, then the closer tolerance before the wider."""
    for fillings in range(1, MOST_FILLINGS + 1):
        for most_off in tolerances:
            found = with_.measure(amount, measure, most_off, 0, fillings)
            if found is not None and found.adequate:
                return found
    return None


@record(frozen=True, slots=True)
class MeasuredOut:
    """What leaves a bottle, and what of it reaches the product [ug or nL]."""

    taken: int
    reaches: int


class Bench:
    """A room's catalogue and instruments: what can be made with them, in what, and how it is measured."""

    def __init__(self, catalogue: Catalogue, instruments: Sequence[Instrument]) -> None:
        self.substances = catalogue.substances
        self.solutions = catalogue.solutions
        self.making = Making(catalogue)
        self._measuring = Measuring(instruments)
        self._takers = {kinds: Measuring(instruments, kinds) for kinds in (_POURED, _NO_BURETTE)}
        # No dropping pipette for what burns the skin or fumes.
        self._pouring = Measuring([one for one in instruments if one.kind is not InstrumentKind.DROPPER], _POURED)
        self._drawn_on: dict[str, tuple[str, ...]] = {}
        self._possible: dict[str, tuple[int, ...]] = {}
        self._hows: dict[str, tuple[Solution, dict[tuple[str, int, int], Measured | None]]] = {}
        self._ratios: dict[tuple[str, Strength], FoundRatio] = {}
        self._one_step: dict[tuple[str, Decimal], float] = {}
        self._taker = lru_cache(maxsize=None)(self._find_taker)
        self._loose_sizes = lru_cache(maxsize=None)(self._with_loose)
        self._found_afterwards = {s.solute for s in catalogue.substances.values() if s.solute and s.unfit}
        self._found_afterwards -= {s.solute for s in catalogue.substances.values() if not s.unfit}
        no_flasks = tuple(one for one in instruments if one.kind is not InstrumentKind.FLASK)
        self._rooms = {False: tuple(instruments), True: no_flasks}
        self._sizes = lru_cache(maxsize=None)(
            lambda tolerance, no_flask: {one.base: one.vessel for one in sizes(self._rooms[no_flask], tolerance)}
        )

    def routes(self, code: str) -> tuple[Route, ...]:
        """List every way to make a solution, best first (`Making.routes`)."""
        return self.making.routes(code)

    def drawn_on(self, code: str) -> tuple[str, ...]:
        """List what may go into a solution by any of its routes, but for water."""
        known = self._drawn_on.get(code)
        if known is None:
            known = self._drawn_on[code] = drawn_on(self.routes(code))
        return known

    def sizes(self, code: str) -> tuple[int, ...]:
        """List the volumes (nL) in which the room can make a solution, ascending; never empty.

        Left out are those at which nothing of the room measures what gives the solution its strength.
        """
        known = self._possible.get(code)
        if known is None:
            least = self._least(code)
            known = tuple(size for size in self._vessels(code) if size >= least)
            known = self._possible[code] = known or tuple(n * 50_000_000 for n in range(1, 21))
        return known

    def vessel(self, code: str, amount: int) -> Instrument:
        """Find the vessel for one of `sizes`; else the smallest measuring cylinder that holds the volume."""
        return self._vessels(code).get(amount) or self.smallest(InstrumentKind.CYLINDER, amount)

    def smallest(self, kind: InstrumentKind, amount: int) -> Instrument:
        """Find the smallest vessel of a kind that holds a volume (nL); a graduated one where the room has none."""
        large = [i for i in self._measuring.instruments if i.kind is kind and base_of(i.capacity) >= amount]
        return min(large, key=lambda i: (i.capacity, i.tolerance, i.code), default=_FALLBACK)

    def work(
        self,
        solution: Solution,
        route: Route,
        options: Sequence[RouteOption],
        amount: int,
        common: Mapping[str, CommonIntermediate] = MappingProxyType({}),
    ) -> VesselWork:
        """Choose vessel and measurements for `amount` nL of a solution by a route.

        `common`: per item, the intermediate it shares with other makes.
        """
        portions = tuple(
            replace(
                self._portion(option, part.note, solution, amount, common.get(option.item)),
                first=part.options[0].item,
            )
            for part, option in zip(route.parts, options, strict=True)
            if part.note != "make up"
        )
        # What fills the vessel up to the mark is left out: `free` is the room that it gets.
        liquids = (
            option.per_nl
            for part, option in zip(route.parts, options, strict=True)
            if part.note != "make up" and (option.item == "water" or self.measure_of(option.item) is Measure.VOLUME)
        )
        free = max(Fraction(0), 1 - sum(liquids, Fraction(0)))
        return VesselWork(solution, route, amount, self.vessel(solution.code, amount), portions, free)

    def measured(self, item: str, amount: int, solution: Solution, made: int) -> MeasuredOut:
        """Measure an exact amount of an item as the room can.

        `made` is the volume (nL) of the product. The two differ only where an intermediate dilution is made
        and not all of it used.
        """
        found = self.how(item, amount, solution, made)
        return MeasuredOut(found.taken, found.reaches) if found else MeasuredOut(amount, amount)

    def how(self, item: str, amount: int, solution: Solution, made: int) -> Measured | None:
        """Find how an amount of an item is measured for `made` nL of a solution; None where nothing does it."""
        known, answers = self._hows.get(solution.code, (None, {}))
        if known is not solution:
            answers = {}
            self._hows[solution.code] = solution, answers
        asked = item, amount, made
        if asked not in answers:
            answers[asked] = self._how(item, amount, solution, made)
        return answers[asked]

    def _how(self, item: str, amount: int, solution: Solution, made: int) -> Measured | None:
        whole = float(solution.tolerance_pct) / 100
        solid = self.substances.get(item)
        if solid is not None and solid.unfit and solid.solute == solution.solute and solid.measure is Measure.MASS:
            whole = max(whole, _TO_BE_FOUND)
        tolerance = whole * _SHARE
        measure = self.measure_of(item)
        with_, most = self._taker(item), _DILUTIONS
        if self._poured(item):
            most = 0  # no intermediate: it would pour water upon the concentrate
        if solution.recipe:
            # Only a buffer's recipe needs its parts in close proportion; other recipes keep to the whole tolerance.
            aside = max(whole, _ASIDE) if self._goes_in_beside(item, solution) else whole
            close = (tolerance, whole) if solution.purpose == "buffer" else (aside,)
            found = _first_adequate(with_, amount, measure, close) or _first_adequate(
                with_, amount, measure, (_WORSE * whole,)
            )
            # A recipe's small parts may be measured roughly: no one of them is its strength.
            return found or with_.measure(amount, measure, _RECIPE_PART, 0)
        found = _first_adequate(with_, amount, measure, (tolerance, self._in_one_step(item, solution)))
        if found is not None:
            return found
        # Where no way is good enough, the least bad one is taken; it is marked as not adequate.
        for worse in (1, 2, 10):
            for dilutions in dict.fromkeys((most, 0)):
                found = with_.measure(amount, measure, tolerance * worse, dilutions)
                if found is not None and self._fits(found, solution, made):
                    return found
        return None

    def _goes_in_beside(self, item: str, solution: Solution) -> bool:
        """Tell whether a recipe's item holds none of what the solution's strength counts."""
        known = self.substances.get(item) or self.solutions.get(item)
        return bool(solution.solute) and known is not None and known.solute != solution.solute

    def poured(self, amount: int) -> Measured | None:
        """Find how water is measured: with the smallest cylinder that holds it."""
        return self._takers[_POURED].measure(amount, Measure.VOLUME, _RECIPE_PART, 0)

    def directly(self, item: str, amount: int, solution: Solution) -> Measured | None:
        """Find how an amount of an item is measured as it is, without an intermediate."""
        tolerance = self._in_one_step(item, solution)
        return self._taker(item).measure(amount, self.measure_of(item), tolerance, 0)

    def together(self, found: Sequence[Measured], measure: Measure) -> tuple[Measured, ...] | None:
        """Put several measurements on one intermediate (`Measuring.together`)."""
        return self._measuring.together(found, measure)

    def direct(self, option: RouteOption, solution: Solution, made: int) -> bool:
        """Tell whether an option is measured well enough for `made` nL without an intermediate."""
        if option.item == "water" or solution.recipe:
            return True
        found = self.how(option.item, option.needed(made), solution, made)
        most = self._in_one_step(option.item, solution)
        return found is not None and not found.dilutions and found.expanded * float(option.share) <= most

    def measurable(self, option: RouteOption, solution: Solution, made: int) -> bool:
        """Tell whether the figure that is read of an option for `made` nL lies within the tolerance.

        Its uncertainty may be a little over it (at most `_WORSE` times the tolerance).
        """
        if option.item == "water" or solution.recipe:
            return True
        needed = option.needed(made)
        found = self.how(option.item, needed, solution, made)
        if found is None or abs(found.reaches - needed) * 100 > needed * solution.tolerance_pct:
            return False
        return found.expanded * 100 * float(option.share) <= _WORSE * float(solution.tolerance_pct)

    def strength_ratio(self, item: str, found: Strength) -> FoundRatio:
        """Compare a bottle of that strength with one on file, and tell whether it serves as it is."""
        known = self._ratios.get((item, found))
        if known is None:
            if (substance := self.substances.get(item)) is not None:
                known = over_nominal(substance, found)
            else:
                solution = self.solutions.get(item)
                known = self.making.found_over_nominal(solution, found) if solution else FoundRatio()
            self._ratios[item, found] = known
        return known

    def measure_of(self, item: str) -> Measure:
        """Tell how an item is counted, by mass or by volume."""
        substance = self.substances.get(item)
        return substance.measure if substance else Measure.VOLUME

    def named(self, item: str) -> str:
        """Find the item's name; its code where it is not on file."""
        known = self.substances.get(item) or self.solutions.get(item)
        return known.name if known else item

    def _portion(
        self, option: RouteOption, note: str, solution: Solution, made: int, common: CommonIntermediate | None
    ) -> MeasuredPortion:
        if option.item == "water":
            return MeasuredPortion(option, note, None)
        found = common.found if common else self.how(option.item, option.needed(made), solution, made)
        return MeasuredPortion(option, note, found, common)

    def _in_one_step(self, item: str, solution: Solution) -> float:
        """Work out how far a reading may be off, relative, where that spares an intermediate.

        A concentrate is measured no better than its own strength is known.
        """
        known = self._one_step.get((item, solution.tolerance_pct))
        if known is None:
            whole = float(solution.tolerance_pct) / 100
            known = whole * _IN_ONE_STEP
            substance = self.substances.get(item)
            if substance is not None and self._poured(item) and substance.assay_half_width_pct is not None:
                known = max(known, min(float(substance.assay_half_width_pct) / 100, whole * _NO_BETTER))
            self._one_step[item, solution.tolerance_pct] = known
        return known

    def _least(self, code: str) -> int:
        """Find the least volume (nL) in which what gives the strength can be measured in one step.

        0 where nothing says so: what is saturated, or what no size of the room reaches. Of a recipe it is what
        burns the skin or fumes, which no dropping pipette takes.
        """
        solution = self.solutions[code]
        if solution.recipe:
            parts = [part.options[0] for route in self.routes(code) for part in route.parts]
            poured = [option for option in parts if self._taker(option.item) is self._pouring]
            fits = (s for s in self._vessels(code) if all(self.how(o.item, o.needed(s), solution, s) for o in poured))
            return next(fits, 0) if poured else 0
        if solution.strength is None or solution.strength.value <= 0:
            return 0
        options = [part.options[0] for route in self.routes(code) for part in route.parts[:1]]
        for size in self._vessels(code):
            if any(self.direct(option, solution, size) for option in options):
                return size
        return 0

    def loose_vessel(self, amount: int) -> Instrument | None:
        """Find a vessel that is no volumetric flask, for a strength that is found afterwards; else None."""
        found: Instrument | None = self._sizes(_LOOSE_PCT, True).get(amount)
        return found

    def _find_taker(self, item: str) -> Measuring:
        """Choose what takes an item out of its bottle: no burette for alkali, no pipette for a concentrate."""
        solution = self.solutions.get(item)
        if self._poured(item) and not self._thick(item):
            return self._pouring
        if self._poured(item) or (solution is not None and solution.no_flask):
            return self._takers[_POURED]
        return self._takers[_NO_BURETTE] if self._no_burette(item) else self._measuring

    def _poured(self, item: str) -> bool:
        """Tell whether an item is only ever poured: a concentrate, what burns the skin, or a thick mixture."""
        substance = self.substances.get(item)
        if substance is None or substance.measure is not Measure.VOLUME:
            return False
        return self._thick(item) or substance.form is Form.AQUEOUS or "Skin Corr." in substance.classification

    def _thick(self, item: str) -> bool:
        """Tell whether an item is a liquid like oil or washing-up liquid."""
        substance = self.substances.get(item)
        return substance is not None and substance.form is Form.LIQUID and not substance.formula

    def _no_burette(self, item: str) -> bool:
        """Tell whether an item is no liquid for a burette: as bought, or alkali, which seizes the tap."""
        solution = self.solutions.get(item)
        if solution is None:
            return True
        inside = {line.item for line in solution.recipe}
        made_of = [s for s in self.substances.values() if s.solute == solution.solute or s.code in inside]
        return any(s.storage_group == "base_caustic" for s in made_of)

    def _fits(self, found: Measured, solution: Solution, made: int) -> bool:
        """Tell whether an intermediate leaves room for the rest: made with water, stronger than the product."""
        then = base_of(found.dilutions[-1].then.amount) if found.dilutions else 0
        return not then or (solution.make_up_with == "water" and then * 2 <= made)

    def _vessels(self, code: str) -> dict[int, Instrument]:
        solution = self.solutions[code]
        loose = solution.solute in self._found_afterwards and not solution.recipe
        asked: Callable[..., dict[int, Instrument]] = self._loose_sizes if loose else self._sizes
        return asked(solution.tolerance_pct, solution.no_flask)

    def _with_loose(self, tolerance_pct: Decimal, no_flask: bool) -> dict[int, Instrument]:
        loose = {size: one for size, one in self._sizes(_LOOSE_PCT, no_flask).items() if size >= _LEAST_LOOSE_NL}
        return dict(sorted((loose | self._sizes(tolerance_pct, no_flask)).items()))
