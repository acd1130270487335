"""What an item holds, in moles and by mass, with what was taken for granted."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.contents import ContentsReader, by_mass
from prep.chemistry.model import Form, RecipeLine, Solution, Strength, StrengthKind, Substance
from prep.chemistry.strength.solutes import about_substance
from prep.errors import PrepError
from prep.resources import seed_data
from prep.services.catalogue.seed import read_catalogue

SHIPPED = read_catalogue(seed_data())
SALT = Substance("salt", "Salt", "NaCl", "salt", Form.SOLID)
LITRE = 1_000_000_000


def with_recipe(*lines: RecipeLine) -> Catalogue:
    mixed = Solution("mixed", "Mixed", "", None, 30, recipe=lines, recipe_nl=LITRE)
    return Catalogue(SHIPPED.substances, {**SHIPPED.solutions, "mixed": mixed})


def test_a_recipe_holds_what_its_ingredients_hold() -> None:
    inside = ContentsReader(with_recipe(RecipeLine("hcl-1", 100_000_000), RecipeLine("naoh-1", 50_000_000)))
    portions = {one.formula: one.moles * LITRE for one in inside.of("mixed").portions}
    assert portions == {"HCl": Fraction(1, 10), "NaOH": Fraction(1, 20)}


def test_what_was_taken_for_granted_is_said() -> None:
    inside = ContentsReader(Catalogue({"salt": SALT}))
    assert inside.of("salt").portions[0].moles == pytest.approx(1e-6 / 58.44, rel=1e-4)  # molar mass: CRC Handbook
    assert "counted as 100 %" in inside.of("salt").assumed[0].text


@pytest.mark.parametrize(
    ("item", "reason"),
    [
        ("nothing", "neither a substance nor a solution"),
        ("mixed", "made from itself"),
        ("starch-1", "composition of Starch is not known"),
        ("gas", "is a gas"),
    ],
)
def test_what_is_not_known_is_refused_with_the_reason(item: str, reason: str) -> None:
    known = with_recipe(RecipeLine("mixed", 1))
    known = Catalogue({**known.substances, "gas": replace(SALT, code="gas", form=Form.GAS)}, known.solutions)
    if item == "starch-1":
        known = Catalogue({}, {"starch-1": Solution("starch-1", "Starch", "starch", None, 1)})
    with pytest.raises(PrepError, match=reason):
        ContentsReader(known).of(item)


def test_what_a_recipe_is_made_up_with_brings_what_it_holds() -> None:
    # 2 g of a salt and 20 mL of alkali, made up to 100 mL with 0.1 mol/L acid: 80 mL of that go in.
    mixed = Solution("mixed", "Mixed", "", None, 30, recipe_nl=LITRE // 10, make_up_with="hcl-0.1")
    mixed = replace(mixed, recipe=(RecipeLine("salt", 2_000_000), RecipeLine("naoh-1", 20_000_000)))
    known = Catalogue({**SHIPPED.substances, "salt": SALT}, {**SHIPPED.solutions, "mixed": mixed})
    contents = ContentsReader(known).of("mixed")
    moles = {one.solute: one.moles * (LITRE // 10) for one in contents.portions}
    assert moles["hydrochloric-acid"] == Fraction(8, 1000)  # n = c V
    assert moles["sodium-hydroxide"] == Fraction(2, 100)
    assert "what solids take up of its volume is not counted" in contents.assumed[-1].text


def test_an_ingredient_that_cannot_be_counted_leaves_the_others_theirs_where_asked_for() -> None:
    known = with_recipe(RecipeLine("hcl-1", 100_000_000), RecipeLine("nothing", 1))
    with pytest.raises(PrepError, match="neither a substance nor a solution"):
        ContentsReader(known).of("mixed")
    contents = ContentsReader(known, unknown_as_water=True).of("mixed")
    assert [one.moles * LITRE for one in contents.portions] == [Fraction(1, 10)]
    assert "it counts as water" in contents.assumed[0].text


def test_an_unknown_density_is_bounded_not_guessed() -> None:
    # No solution is lighter than water and what is in it, so the percentage is never understated.
    solid = replace(SALT, formula="C4H5O6Rb", solubility_g_per_100g=None)
    two = Strength(Decimal(2), StrengthKind.MOL_PER_L)
    found = by_mass(two, about_substance(solid), solid)
    assert found.density_g_ml == Decimal("0.99821")  # water at 20 degC: Tanaka et al., Metrologia 38 (2001) 301
    assert "overstated" in found.working[0].text
    light = replace(solid, form=Form.LIQUID, density_g_ml=Decimal("0.7"))
    assert by_mass(two, about_substance(light), light).density_g_ml == Decimal("0.7")
    with pytest.raises(PrepError, match="density"):
        by_mass(two, about_substance(light), replace(light, density_g_ml=None))
