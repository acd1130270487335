"""Recipes that contradict themselves are said to, with the figures; those that are shipped do not."""

from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry.model import RecipeLine, Solution, Strength, StrengthKind
from prep.chemistry.preparation.recipe_checks import check_recipe
from prep.chemistry.preparation.route_finding import Making
from prep.errors import PrepError
from prep.services.catalogue.on_file import OnFile


def test_no_shipped_recipe_contradicts_itself(catalogue: OnFile) -> None:
    for solution in catalogue.solutions.values():
        check_recipe(solution, catalogue)


def test_a_strength_that_the_amounts_do_not_give(catalogue: OnFile) -> None:
    card = catalogue.solutions["iodine-0.005"]
    wrong = replace(card, strength=Strength(Decimal("0.02"), StrengthKind.MOL_PER_L))
    with pytest.raises(PrepError, match=r"gives 0\.004994 mol/L, and its entry says 0\.02 mol/L"):
        check_recipe(wrong, catalogue)


def test_a_hydrate_counts_by_its_own_molar_mass(catalogue: OnFile) -> None:
    card = replace(
        catalogue.solutions["cuso4-0.5"],
        recipe=(RecipeLine("copper-sulfate-5-water", 124_840_000),),
        recipe_nl=10**9,
    )
    check_recipe(card, catalogue)
    # 124.84 g / 159.60 g/mol (CRC Handbook) is 0.782 mol; the bottle on file is 98 % pure.
    with pytest.raises(PrepError, match=r"gives 0\.7665"):
        check_recipe(
            replace(card, recipe=(RecipeLine("copper-sulfate", 124_840_000),)),
            catalogue,
        )


def test_more_liquid_than_the_recipe_makes(catalogue: OnFile) -> None:
    card = catalogue.solutions["fehling"]
    with pytest.raises(PrepError, match="and makes only 10 mL"):
        check_recipe(replace(card, recipe_nl=10_000_000), catalogue)


def test_nothing_meets_water_that_reacts_with_it(catalogue: OnFile) -> None:
    water = Solution("na-1", "Sodium, 1 mol/L", "sodium", Strength(Decimal(1), StrengthKind.MOL_PER_L), 30)
    with pytest.raises(PrepError, match="reacts dangerously with water"):
        check_recipe(water, catalogue)
    lines = (RecipeLine("lithium", 10**6), RecipeLine("water", 100 * 10**6))
    with pytest.raises(PrepError, match="reacts dangerously with water"):
        check_recipe(replace(water, solute="", strength=None, recipe=lines, recipe_nl=100 * 10**6), catalogue)


@pytest.mark.parametrize("solute", ["sodium", "iron-filings", "copper-oxide", "calcium-oxide"])
def test_no_route_leads_into_water_that_does_not_dissolve_it(catalogue: OnFile, solute: str) -> None:
    strength = Strength(Decimal(1000), StrengthKind.PPM)
    made = Solution("made", "Made", solute, strength, 30)
    making = Making(replace(catalogue, solutions={**catalogue.solutions, "made": made}))
    assert making.routes("made") == ()
    assert "is not weighed into water" in making.problems["made"][0]
