"""Buffers: the designed recipe gives its pH, published buffers, capacity, and what a pair cannot hold."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.chemistry.acid_base.buffers import BufferIngredient, IngredientPair, design, shift
from prep.chemistry.acid_base.components import pair
from prep.chemistry.acid_base.equilibrium import ph_of
from prep.chemistry.acid_base.species import component
from prep.chemistry.formula.formulas import molar_mass
from prep.errors import PrepError

PAIRS = {
    "acetic acid/sodium acetate": 4.7,
    "acetic acid/NaOH": 5.0,
    "CH3COONa.3H2O/HCl 1 mol/L": 4.5,
    "HCl 1 mol/L/sodium acetate": 4.5,
    "KH2PO4/Na2HPO4": 7.0,
    "KH2PO4/NaOH": 7.4,
    "Na2HPO4/H2SO4 1 mol/L": 6.8,
    "TRIS/hydrochloric acid 1 mol/L": 8.0,
    "citric acid/trisodium citrate": 4.0,
    "NaHCO3/Na2CO3": 10.0,
    "NH4Cl/ammonia 2 mol/L": 9.3,
    "boric acid/borax": 8.5,
    "glycine/NaOH": 9.6,
}


@pytest.mark.parametrize(("text", "ph"), PAIRS.items())
@pytest.mark.parametrize("activities", [True, False])
def test_the_recipe_gives_the_ph(text: str, ph: float, activities: bool) -> None:
    made = design(pair(text), ph, 0.1, Decimal(250), activities=activities)
    assert made.ph == pytest.approx(ph, abs=1e-6)
    assert ph_of(made.components, activities=activities).ph == pytest.approx(ph, abs=1e-6)
    for part, inside in zip(made.parts, made.components, strict=True):
        assert part.mol == pytest.approx(inside.mol_per_kg * 0.25)
        if part.mass_g is not None:
            assert float(part.mass_g) == pytest.approx(part.mol * float(molar_mass(part.formula)))
    assert made.capacity > 0


def test_certified_phosphate_buffer_comes_out_equimolal() -> None:
    """0.025 + 0.025 mol/kg KH2PO4 + Na2HPO4: pH 6.865 (Buck et al., Pure Appl. Chem. 74 (2002) 2169)."""
    made = design(pair("KH2PO4/Na2HPO4"), 6.865, 0.05, Decimal(1000))
    assert made.components[0].mol_per_kg == pytest.approx(0.025, rel=0.02)
    # 3.388 g and 3.533 g in air make 1 litre: Lange's Handbook of Chemistry, 15th ed., Table 8.15
    assert float(made.parts[0].mass_g or 0) == pytest.approx(3.39, rel=0.03)
    assert float(made.parts[1].mass_g or 0) == pytest.approx(3.53, rel=0.03)


def test_a_little_alkali_moves_a_buffer_as_a_textbook_says() -> None:
    """OpenStax, Chemistry 2e, 14.6: 100 mL of 0.10 + 0.10 mol/L acetate, 1.0 mL of 0.10 mol/L NaOH: 4.74 to 4.75."""
    buffer = [component("acetic acid", 0.1), component("sodium acetate", 0.1)]
    moved = shift(buffer, 100, [component("NaOH", 0.1)], 1.0, activities=False)
    assert moved.change == pytest.approx(0.01, abs=0.002)
    assert shift([], 100, [component("NaOH", 0.1)], 1.0, activities=False).after.ph == pytest.approx(11.0, abs=0.01)


def test_capacity_foretells_a_small_shift() -> None:
    made = design(pair("acetic acid/sodium acetate"), 4.7, 0.2, Decimal(1000))
    moved = shift(made.components, 1000, [component("NaOH", 1)], 1.0)
    assert moved.change == pytest.approx(0.001 / made.capacity, rel=0.02)


@given(st.floats(3.6, 6.0), st.floats(0.01, 0.3), st.floats(5, 45))
@settings(max_examples=40, deadline=None)
def test_more_base_for_a_higher_ph(ph: float, total: float, temperature_c: float) -> None:
    lower = design(pair("acetic acid/sodium acetate"), ph, total, Decimal(100), temperature_c)
    higher = design(pair("acetic acid/sodium acetate"), ph + 0.05, total, Decimal(100), temperature_c)
    assert higher.components[1].mol_per_kg > lower.components[1].mol_per_kg
    assert sum(c.mol_per_kg for c in lower.components) == pytest.approx(total)


@pytest.mark.parametrize(
    ("text", "ph", "limit"),
    [
        ("acetic acid/sodium acetate", 9.0, r"accepted is pH 3\.2\d to 6\.1\d"),
        ("acetic acid/NaOH", 2.0, r"accepted is pH 3\.2"),
        ("KH2PO4/Na2HPO4", 4.0, r"accepted is pH 5\.3"),
        ("H3BO3/KOH", 3.0, r"accepted is pH 7\.\d+ to 10\.\d"),
        ("KH2PO4/NaOH", 9.3, r"accepted is pH 5\.\d+ to 8\.\d+ or 10\.\d+ to 12\.\d"),
    ],
)
def test_what_a_pair_cannot_hold(text: str, ph: float, limit: str) -> None:
    with pytest.raises(PrepError, match=limit):
        design(pair(text), ph, 0.1, Decimal(1000))


def test_the_limit_that_is_named_is_accepted() -> None:
    with pytest.raises(PrepError) as caught:
        design(pair("acetic acid/sodium acetate"), 9, 0.1, Decimal(1000))
    low, high = (float(w) for w in str(caught.value).split("accepted is pH ")[1].rstrip(".").split(" to "))
    for ph in (low + 0.01, high - 0.01):
        assert "weak" in design(pair("acetic acid/sodium acetate"), ph, 0.1, Decimal(1000)).note


def test_bad_pairs_and_amounts() -> None:
    good = pair("acetic acid/sodium acetate")
    with pytest.raises(PrepError, match="make no buffer"):
        design(pair("NaCl/NaOH"), 7, 0.1, Decimal(100))
    with pytest.raises(PrepError, match="make no buffer"):
        design(pair("acetic acid/acetic acid"), 5, 0.1, Decimal(100))
    with pytest.raises(PrepError, match="more than nothing"):
        design(good, 4.7, 0, Decimal(100))
    with pytest.raises(PrepError, match="more than nothing"):
        design(good, 4.7, 0.1, Decimal(0))
    with pytest.raises(PrepError, match="too weak"):
        design(pair("acetic acid 0.1 mol/L/sodium acetate 0.1 mol/L"), 4.7, 0.5, Decimal(100))
    with pytest.raises(PrepError, match="0 to 14"):
        design(good, 20, 0.1, Decimal(100))


def test_ingredients_as_they_are_held() -> None:
    glacial = BufferIngredient("glacial acid", "CH3COOH", Decimal("99.8"), Decimal("1.049"))
    crystals = BufferIngredient("acetate crystals", "CH3COONa.3H2O", Decimal("99"))
    made = design(IngredientPair(glacial, crystals), 4.7, 0.1, Decimal(500))
    acid, salt = made.parts
    assert float(acid.mass_g or 0) == pytest.approx(acid.mol * 60.052 / 0.998, rel=1e-4)
    assert float(acid.volume_ml or 0) == pytest.approx(float(acid.mass_g or 0) / 1.049, rel=1e-6)
    assert float(salt.mass_g or 0) == pytest.approx(salt.mol * 136.08 / 0.99, rel=1e-4)
    assert salt.volume_ml is None
    assert any("g/mol" in line.text for line in made.working)


def test_mixtures_of_two_acids_and_of_acid_and_salt_are_buffers() -> None:
    """McIlvaine, J. Biol. Chem. 49 (1921) 183: 9.7 mL of 0.1 M citric acid + 10.3 mL of 0.2 M Na2HPO4, pH 5.0."""
    total = (9.7 * 0.1 + 10.3 * 0.2) / 20
    made = design(
        IngredientPair(BufferIngredient("citric acid", "C6H8O7"), BufferIngredient("phosphate", "Na2HPO4")),
        5.0,
        total,
        Decimal(1000),
    )
    assert made.parts[0].mol / made.parts[1].mol == pytest.approx(0.97 / 2.06, rel=0.06)
    # Bower and Bates, J. Res. NBS 55 (1955) 197: 0.05 M KCl + 0.0324 M HCl, pH 1.6
    acid = design(
        IngredientPair(BufferIngredient("acid", "HCl"), BufferIngredient("salt", "KCl")), 1.6, 0.0824, Decimal(1000)
    )
    assert acid.parts[0].mol == pytest.approx(0.0324, rel=0.06)
    assert acid.band.u < 0.1


def test_a_free_acid_that_falls_out_is_no_buffer() -> None:
    """Benzoic acid dissolves to 0.29 g in 100 g of water, 0.024 mol/L (Merck Index, from memory)."""
    pair = IngredientPair(
        BufferIngredient("benzoic acid", "C6H5COOH"), BufferIngredient("sodium benzoate", "C6H5COONa")
    )
    with pytest.raises(PrepError, match="falls out"):
        design(pair, 4.0, 0.1, Decimal(1000))
    assert design(pair, 4.0, 0.02, Decimal(1000)).ph == pytest.approx(4.0, abs=0.01)
