"""Whether a recipe says two things at once: a strength that its amounts do not give, or more than it makes."""

from decimal import Decimal
from fractions import Fraction

from prep.chemistry.catalogue import WATER, Catalogue
from prep.chemistry.contents import ContentsReader
from prep.chemistry.formula.formulas import same_solute, units_in
from prep.chemistry.model import Measure, Solution, StrengthKind
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.quantities import BASE_PER_UNIT, decimal_of, figures, plain, show
from prep.chemistry.strength.into_water import WaterVerdict, obstacle
from prep.errors import PrepError

_OVER = Fraction(101, 100)
"""How much more a recipe's parts may come to than it makes, as volumes contract: common practice, no source."""


def check_recipe(solution: Solution, catalogue: Catalogue) -> None:
    """Raise PrepError, with the figures, if a recipe contradicts its own entry.

    Nothing may meet water that reacts with it dangerously. Its liquids must fit the volume it makes; where it has a
    strength with a molar solute, its ingredients must give that within its tolerance. What cannot be reckoned (no
    formula, no density) is not judged.
    """
    _check_water(solution, catalogue)
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


def _check_water(solution: Solution, catalogue: Catalogue) -> None:
    """Raise PrepError if water would meet what reacts with it.

    By the recipe, or as all that its solute is held in.
    """
    if WATER not in (solution.make_up_with, *(line.item for line in solution.recipe)):
        return
    substances = catalogue.substances.values()
    if solution.recipe:
        named = [catalogue.substances[line.item] for line in solution.recipe if line.item in catalogue.substances]
    else:
        named = [one for one in substances if one.solute and one.solute == solution.solute]
    met = [(one, obstacle(one.formula, one, substances)) for one in named]
    reacting = [(one, found) for one, found in met if found is not None and found.verdict is WaterVerdict.REACTS]
    if reacting and (solution.recipe or len(reacting) == len(named)):
        one, found = reacting[0]
        raise PrepError(found.sentence(one.name))


def _mol_per_l(solution: Solution, catalogue: Catalogue) -> tuple[Decimal, Decimal] | None:
    """Work out what the ingredients give, beside what the entry says [mol/L].

    None where either cannot be reckoned.
    """
    if solution.strength is None or solution.strength.kind is StrengthKind.SATURATED or not solution.solute:
        return None
    making = Making(catalogue)
    inside = ContentsReader(catalogue, making)
    moles = Fraction(0)
    try:
        formula = making.formula_of(solution)
        said = inside.mol_per_l(solution)
        if not formula or said is None:
            return None
        for line in solution.recipe:
            known = catalogue.substances.get(line.item) or catalogue.solutions.get(line.item)
            if known is not None and known.solute == solution.solute:
                portions = inside.of(line.item).portions
                moles += line.amount * sum(
                    one.moles * Fraction(units_in(one.formula, formula))
                    for one in portions
                    if same_solute(one.formula, formula)
                )
    except PrepError:
        return None
    return decimal_of(moles * 1000 * BASE_PER_UNIT / solution.recipe_nl), said
