"""The hazards of everything in the catalogue, and of stocks as sources."""

from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import RecipeLine, Solution, Strength, StrengthKind, Substance
from prep.chemistry.preparation.route_finding import Making
from prep.errors import PrepError
from prep.safety.clp.classify import classify_substance
from prep.safety.clp.composition import counted_formula
from prep.safety.solution_hazards import composition_of, hazards_of, reagents_of, solute_of

Substances = dict[str, Substance]
Solutions = dict[str, Solution]


def test_every_solution_and_substance_of_the_catalogue_is_classified(
    substances: Substances, solutions: Solutions
) -> None:
    for solution in solutions.values():
        found = hazards_of(solution, Catalogue(substances, solutions))
        total = sum(one.pct for one in composition_of(solution, Catalogue(substances, solutions)).components)
        assert 0 <= total <= Decimal("100.5"), solution.code
        assert found.reasoning, solution.code
        assert found.known or "not known" in found.in_words
    for substance in substances.values():
        found = classify_substance(substance)
        assert found.known == bool(substance.classification)


@pytest.mark.parametrize(
    ("code", "wanted"),
    [
        ("hcl-2", "not classified"),
        ("hcl-5", "Skin Irrit. 2 H315; Eye Irrit. 2 H319; STOT SE 3 H335"),
        ("naoh-2", "Skin Corr. 1A H314"),
        ("naoh-0.1", "not classified"),
        ("h2so4-1", "Skin Irrit. 2 H315; Eye Irrit. 2 H319"),
        ("hno3-2", "Skin Corr. 1B H314"),
        ("ammonia-2", "Skin Irrit. 2 H315; Eye Dam. 1 H318"),
        ("h2o2-20vol", "Eye Irrit. 2 H319"),
        ("fehling-b", "Skin Corr. 1A H314"),
        ("ethanol-70", "Flam. Liq. 2 H225; Eye Irrit. 2 H319"),
        ("borax-4", "Repr. 1B H360FD"),
    ],
)
def test_a_stock_has_the_classes_of_its_strength(
    substances: Substances, solutions: Solutions, code: str, wanted: str
) -> None:
    # worked from CLP Annex VI limits; borax, ammonia, ethanol and nitric acid rest on memory
    assert hazards_of(solutions[code], Catalogue(substances, solutions)).in_words == wanted


def test_an_ingredient_without_data_is_named(substances: Substances, solutions: Solutions) -> None:
    bare = {
        **substances,
        "copper-sulfate-5-water": replace(substances["copper-sulfate-5-water"], classification=""),
    }
    found = hazards_of(solutions["benedict"], Catalogue(bare, solutions))
    assert found.unknown == (substances["copper-sulfate-5-water"].name,)
    assert "not known" in found.in_words


def test_a_dilution_of_a_stock_counts_the_hydrate_the_stock_is_made_from(
    substances: Substances, solutions: Solutions
) -> None:
    assert solutions["cuso4-0.1"].made_from[0] == "cuso4-1"
    assert solute_of(solutions["cuso4-0.1"], Catalogue(substances, solutions)).code == "copper-sulfate-5-water"


def test_a_strength_by_mass_counts_as_it_is_weighed_out(substances: Substances, solutions: Solutions) -> None:
    making = Making(Catalogue(substances, solutions))
    for solution in solutions.values():
        if not solution.recipe:
            solute = solute_of(solution, Catalogue(substances, solutions))
            assert counted_formula(solution.strength_of, solute) == making.formula_of(solution), solution.code
    ten = replace(solutions["cuso4-1"], strength=Strength(Decimal(10), StrengthKind.PCT_W_V))
    for card in (ten, replace(ten, strength_of="CuSO4")):
        assert making.formula_of(card) == "CuSO4"
        (part,) = composition_of(card, Catalogue(substances, solutions)).components
        assert part.code == "copper-sulfate-5-water"
        # 10 x 249.68 / 159.61 = 15.64 g in 100 mL, which weigh 109.7 g (Laliberte 2009; 9.1 % of CuSO4)
        assert part.pct == pytest.approx(Decimal("14.26"), abs=Decimal("0.01"))


def test_a_recipe_is_counted_in_mass(substances: Substances, solutions: Solutions) -> None:
    made = Solution(
        "x",
        "Salty acid",
        "",
        None,
        30,
        recipe=(RecipeLine("sodium-chloride", 50_000_000), RecipeLine("hydrochloric-acid", 100_000_000)),
        recipe_nl=1_000_000_000,
    )
    parts = {one.code: one.pct for one in composition_of(made, Catalogue(substances, solutions)).components}
    # 50 g + 117.91 g of 36 % acid + (1000 - 100 - 20) mL of water at 0.99821 g/mL (Tanaka 2001) = 1046.3348 g
    assert parts["sodium-chloride"] == pytest.approx(Decimal(5000) / Decimal("1046.3348"), rel=Decimal("1e-6"))
    acid = Decimal("117.91") * 36 / Decimal("1046.3348")
    assert parts["hydrochloric-acid"] == pytest.approx(acid, rel=Decimal("1e-6"))


def test_what_cannot_be_worked_out_is_a_sentence(substances: Substances, solutions: Solutions) -> None:
    loop = Solution("a", "A", "", None, 1, recipe=(RecipeLine("a", 1),), recipe_nl=1)
    with pytest.raises(PrepError, match="made from itself"):
        composition_of(loop, Catalogue(substances, {**solutions, "a": loop}))
    lost = Solution("b", "B", "", None, 1, recipe=(RecipeLine("nowhere", 1),), recipe_nl=1)
    with pytest.raises(PrepError, match="'nowhere' is not recorded"):
        composition_of(lost, Catalogue(substances, solutions))
    vague = Solution("c", "C", "", None, 1)
    with pytest.raises(PrepError, match="neither a strength nor a recipe"):
        composition_of(vague, Catalogue(substances, solutions))
    odd = Solution("d", "D", "unobtainium", Strength(Decimal(1), StrengthKind.MOL_PER_L), 1)
    with pytest.raises(PrepError, match="unobtainium"):
        composition_of(odd, Catalogue(substances, solutions))


def test_a_stock_taken_has_the_hazards_of_its_own_strength(substances: Substances, solutions: Solutions) -> None:
    (weak,) = reagents_of(["hcl-1"], Catalogue(substances, solutions))
    assert (weak.name, weak.classification) == (solutions["hcl-1"].name, "not classified")
    (strong,) = reagents_of(["hydrochloric-acid"], Catalogue(substances, solutions))
    assert "H314" in strong.classification
