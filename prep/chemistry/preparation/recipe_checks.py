"""Whether a recipe says two things at once: a strength that its amounts do not give, or more than it makes."""

from decimal import Decimal
from fractions import Fraction

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.formula.formulas import molar_mass, same_solute, units_in
from prep.chemistry.model import Form, Measure, Solution, StrengthKind
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.quantities import figures, plain, show
from prep.chemistry.strength.strengths import in_bottle
from prep.errors import PrepError

_OVER = Fraction(101, 100)
"""Volumes do not quite add; more than a hundredth over is no contraction: common practice, no source."""


def check_recipe(solution: Solution, catalogue: Catalogue) -> None:
    """Raise PrepError, with the figures, if a recipe contradicts its own entry.

    Its liquids must fit the volume it makes; where it has a strength with a molar solute, its ingredients must
    give that within its tolerance. What cannot be reckoned (no formula, no density) is not judged.
    """
    if not solution.recipe:
        return
    liquids = sum(
        line.amount
        for line in solution.recipe
        if line.item not in catalogue.substances or catalogue.substances[line.item].measure is Measure.VOLUME
    )
    if liquids > solution.recipe_nl * _OVER:
        raise PrepError(
            f"The recipe of {solution.name} pours {show(liquids, Measure.VOLUME)} together, and makes only "
            f"{show(solution.recipe_nl, Measure.VOLUME)}."
        )
    given = _mol_per_l(solution, catalogue)
    if given is None:
        return
    made, said = given
    tolerance = max(solution.tolerance_pct, Decimal(2))
    if said and abs(made - said) * 100 > tolerance * said:
        raise PrepError(
            f"The recipe of {solution.name} gives {figures(made, 4)} mol/L, and its entry says {figures(said, 4)} "
            f"mol/L; they may differ by {plain(tolerance)} %."
        )


def _mol_per_l(solution: Solution, catalogue: Catalogue) -> tuple[Decimal, Decimal] | None:
    """What the ingredients give and what the entry says [mol/L]; None where either cannot be reckoned."""
    if solution.strength is None or solution.strength.kind is StrengthKind.SATURATED or not solution.solute:
        return None
    making = Making(catalogue)
    try:
        formula = making.formula_of(solution)
        said = _counted(solution, making)
    except PrepError:
        return None
    if not formula or said is None:
        return None
    moles = Decimal(0)
    for line in solution.recipe:
        share = _moles(line.item, line.amount, formula, solution, catalogue, making)
        if share is None:
            return None
        moles += share
    return moles * 10**9 / Decimal(solution.recipe_nl), said


def _counted(solution: Solution, making: Making) -> Decimal | None:
    """mol/L of an entry; as written where it is in mol/L, for other things may bring more into solution."""
    if solution.strength is not None and solution.strength.kind is StrengthKind.MOL_PER_L:
        return solution.strength.value
    return making.mol_per_l(solution)


def _moles(
    item: str,
    amount: int,
    formula: str,
    solution: Solution,
    catalogue: Catalogue,
    making: Making,
) -> Decimal | None:
    """Moles of the solute in an ingredient; 0 where it is another, None where it cannot be reckoned."""
    if item in catalogue.substances:
        one = catalogue.substances[item]
        if one.solute != solution.solute:
            return Decimal(0)
        if not one.formula or not same_solute(one.formula, formula):
            return None
        if one.form is Form.SOLID:
            return Decimal(amount) / 10**6 / molar_mass(one.formula) * units_in(one.formula, formula)
        try:
            return Decimal(amount) / 10**9 * in_bottle(one, StrengthKind.MOL_PER_L).strength.value
        except PrepError:
            return None
    inside = catalogue.solutions.get(item)
    if inside is None or inside.solute != solution.solute:
        return Decimal(0)
    try:
        strength = _counted(inside, making)
    except PrepError:
        return None
    return None if strength is None else Decimal(amount) / 10**9 * strength
