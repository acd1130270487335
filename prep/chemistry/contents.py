"""What an item holds: in moles, as pH, buffers and recipes count it, and by mass, as the hazard rules do.

What has to be taken for granted on the way stands among the assumptions; a density is never guessed.
"""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Line, Measure, Solution, Strength, StrengthKind, Substance
from prep.chemistry.quantities import BASE_PER_UNIT, figures
from prep.chemistry.strength import densities
from prep.chemistry.strength.solutes import SoluteFacts
from prep.chemistry.strength.strengths import convert, moles_in
from prep.errors import PrepError
from prep.records import record

if TYPE_CHECKING:
    from prep.chemistry.preparation.route_finding import Making

_WATER = "water"
_DEEPEST = 8


@record(frozen=True, slots=True)
class SoluteMoles:
    """Moles of one formula in a microgram or a nanolitre of an item, what it is called there, and of which solute."""

    formula: str
    name: str
    moles: Fraction
    solute: str = ""


@record(frozen=True, slots=True)
class Contents:
    """What is in one microgram or nanolitre of an item besides water, and what was taken for granted."""

    portions: tuple[SoluteMoles, ...] = ()
    assumed: tuple[Line, ...] = ()


class ContentsReader:
    """The contents of every item of a catalogue, each worked out when first asked for.

    With `indicators_as_water` a solution kept as an indicator holds nothing: a drop of it moves no pH. With
    `unknown_as_water` an ingredient of which nothing can be counted (starch, an enzyme) leaves the others their count.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        making: "Making | None" = None,
        *,
        indicators_as_water: bool = False,
        unknown_as_water: bool = False,
    ) -> None:
        self._indicators_as_water = indicators_as_water
        self._unknown_as_water = unknown_as_water
        self._substances = catalogue.substances
        self._solutions = catalogue.solutions
        if making is None:
            from prep.chemistry.preparation.route_finding import Making  # what is only weighed by needs no routes

            making = Making(catalogue)
        self._making = making
        self._known: dict[str, Contents] = {}

    def of(self, item: str) -> Contents:
        """Work out what one base unit of an item holds.

        Raises PrepError where that is not known, with the reason.
        """
        return self._of(item, 0)

    def _of(self, item: str, depth: int) -> Contents:
        known = self._known.get(item)
        if known is None:
            known = self._known[item] = self._read(item, depth)
        return known

    def _read(self, item: str, depth: int) -> Contents:
        if item == _WATER:
            return Contents()
        if substance := self._substances.get(item):
            return _of_substance(substance)
        solution = self._solutions.get(item)
        if solution is None:
            raise PrepError(f"{item} is neither a substance nor a solution.")
        if self._indicators_as_water and solution.purpose == "indicator":
            return Contents((), (Line(f"{solution.name}, an indicator, counts as water"),))
        if depth > _DEEPEST:
            raise PrepError(f"{solution.name} is made from itself.")
        if solution.recipe:
            return self._of_recipe(solution, depth)
        mol_per_l = self.mol_per_l(solution)
        if not mol_per_l:
            raise PrepError(f"the composition of {solution.name} is not known.")
        formula = self._making.formula_of(solution)
        moles = Fraction(mol_per_l) / 1000 / BASE_PER_UNIT
        return Contents((SoluteMoles(formula, solution.name, moles, solution.solute),))

    def _of_recipe(self, solution: Solution, depth: int) -> Contents:
        inside = [(line.amount, self._of_ingredient(line.item, depth + 1)) for line in solution.recipe]
        assumed: list[Line] = []
        diluent = self._solutions.get(solution.make_up_with)
        if diluent is not None:
            inside.append((self._made_up_nl(solution), self._of_ingredient(diluent.code, depth + 1)))
            text = f"{solution.name} is made up with {diluent.name}: what solids take up of its volume is not counted"
            assumed.append(Line(text))
        elif solution.make_up_with != _WATER:
            assumed.append(Line(f"{solution.make_up_with}, which {solution.name} is made up with, counts as water"))
        portions = tuple(
            replace(one, moles=one.moles * amount / solution.recipe_nl)
            for amount, contents in inside
            for one in contents.portions
        )
        assumed = [*(line for _, contents in inside for line in contents.assumed), *assumed]
        return Contents(portions, tuple(dict.fromkeys(assumed)))

    def _of_ingredient(self, item: str, depth: int) -> Contents:
        try:
            return self._of(item, depth)
        except PrepError as problem:
            if not self._unknown_as_water:
                raise
            return Contents((), (Line(f"{str(problem).removesuffix('.')}: it counts as water"),))

    def _made_up_nl(self, solution: Solution) -> int:
        """Work out what a recipe is filled up with, beside its liquids [nL]."""
        solids = {code for code, one in self._substances.items() if one.measure is Measure.MASS}
        return max(solution.recipe_nl - sum(line.amount for line in solution.recipe if line.item not in solids), 0)

    def mol_per_l(self, solution: Solution) -> Decimal | None:
        """Find the moles of solute in a litre; None where it has no formula to count by.

        Raises PrepError where its contents are not known. As written where that is in mol/L, for other things may
        bring more into solution than water does.
        """
        if solution.strength is not None and solution.strength.kind is StrengthKind.MOL_PER_L:
            return solution.strength.value if self._making.formula_of(solution) else None
        return self._making.mol_per_l(solution)


def _of_substance(substance: Substance) -> Contents:
    if substance.form is Form.GAS:
        raise PrepError(f"{substance.name} is a gas: how much of it stays in solution is not known.")
    if not substance.formula:
        raise PrepError(f"the formula of {substance.name} is not known.")
    weighed = substance.form is Form.SOLID and substance.assay_pct is None
    assumed = (Line(f"the assay of {substance.name} is not recorded: counted as 100 %"),) if weighed else ()
    return Contents((SoluteMoles(substance.formula, substance.name, moles_in(substance), substance.solute),), assumed)


@record(frozen=True, slots=True)
class ByMass:
    """One solute in water [% w/w of the formula its strength counts], the solution's density [g/mL], the working."""

    pct_w_w: Decimal
    density_g_ml: Decimal
    working: tuple[Line, ...]


def by_mass(strength: Strength, about: SoluteFacts, substance: Substance) -> ByMass:
    """Convert a strength to % w/w, with the least density that the solution can have where it is not known.

    The working says so where that density was taken. Mixing with water contracts, so no solution is lighter than
    both water and what is dissolved; the percentage is then the most that it can be. Raises PrepError as `convert`,
    and where not even that density is known.
    """
    try:
        made = convert(strength, StrengthKind.PCT_W_W, about)
    except PrepError:
        least = _least_density(strength, about, substance)
        if least is None:
            raise
        made = convert(strength, StrengthKind.PCT_W_W, replace(about, density_g_ml=least))
        text = f"density not known: {figures(least)} g/mL is the least it can have; the % w/w is overstated"
        return ByMass(made.strength.value, least, (Line(text, densities.WATER_SOURCE), *made.working))
    density = made.density.g_ml if made.density else densities.WATER_G_ML
    return ByMass(made.strength.value, density, made.working)


def _least_density(strength: Strength, about: SoluteFacts, substance: Substance) -> Decimal | None:
    counted_by_mass = (StrengthKind.SATURATED, StrengthKind.PCT_V_V, StrengthKind.PCT_W_W)
    if about.density_g_ml is not None or strength.kind in counted_by_mass:
        return None
    if substance.form is Form.SOLID:
        return densities.WATER_G_ML
    return min(densities.WATER_G_ML, substance.density_g_ml) if substance.density_g_ml is not None else None
