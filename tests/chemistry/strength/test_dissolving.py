"""Weighing solids: published worked examples, hydrates, assay, solubility; by `calc` and by the planner's routes."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.formula.formulas import composition, molar_mass
from prep.chemistry.model import Line, RecipeLine, Solution, Strength, StrengthKind
from prep.chemistry.preparation.routes import RouteKind
from prep.chemistry.quantities import BASE_PER_UNIT, strength
from prep.chemistry.strength.dissolving import SATURATED_EXCESS, dissolve
from prep.chemistry.strength.solutes import Solubility, SoluteFacts, about_substance
from prep.chemistry.strength.solution_density import beyond_known
from prep.chemistry.strength.strengths import convert, least_g_per_100g, more_than_dissolves
from prep.errors import PrepError
from prep.services.calc.named_substance import substance_named
from tests.published import agree, card, check, examples, given_in, making, option, planned_mass, solid


def weighed(formula: str, wanted: Strength, volume_ml: str) -> tuple[float, float]:
    """Grams to weigh, as `calc dissolve` says and as the planner does."""
    volume = Decimal(volume_ml)
    return float(dissolve(formula, wanted, volume).mass_g), planned_mass(formula, wanted, volume)


def molar(value: str | Decimal) -> Strength:
    return Strength(Decimal(value), StrengthKind.MOL_PER_L)


@examples("solid to weigh", "mass in volume", "buffer powders to weigh", "buffer powders to weigh, hydrate")
def test_masses_to_weigh(row: dict[str, str]) -> None:
    g = given_in(row)
    check(row, *weighed(g["formula"], molar(g["C_mol_L"]), g["V_mL"]))


@examples("molarity from mass")
def test_the_mass_for_a_published_strength_is_reproduced(row: dict[str, str]) -> None:
    g = given_in(row)
    agree(row, g["m_g"], *weighed(g["formula"], molar(row["expected"]), g["V_mL"]))


@examples("molarity")
def test_moles_in_a_volume(row: dict[str, str]) -> None:
    g = given_in(row)  # any solid: its mass is its moles
    grams = weighed("C12H22O11", molar(row["expected"]), g["V_mL"])
    agree(row, g["n_mol"], *(mass / float(molar_mass("C12H22O11")) for mass in grams))


@examples("volume for mass")
def test_the_volume_that_a_mass_makes_is_reproduced(row: dict[str, str]) -> None:
    g = given_in(row)
    per_litre = weighed(g["formula"], molar(g["C_mol_L"]), "1000")
    check(row, *(float(g["m_g"]) / mass for mass in per_litre))


@examples("% w/v solid to weigh, hydrate")
def test_a_hydrate_for_a_strength_counted_anhydrous(row: dict[str, str]) -> None:
    g = given_in(row)
    wanted, volume = Strength(Decimal(g["target_w_v_pct_as_anhydrous"]), StrengthKind.PCT_W_V), Decimal(g["V_mL"])
    found = dissolve(g["formula"], wanted, volume, about=SoluteFacts(g["anhydrous"]))
    check(row, found.mass_g, planned_mass(g["formula"], wanted, volume, counted=g["anhydrous"]))
    # Counted as the pentahydrate itself, 10 % w/v is 25 g.
    assert dissolve(g["formula"], wanted, volume).mass_g == 25
    assert planned_mass(g["formula"], wanted, volume, counted=g["formula"]) == 25


@examples("ppm standard, serial")
def test_a_trace_standard(row: dict[str, str]) -> None:
    g = given_in(row)
    share = composition(g["formula"])[g["element"]] * molar_mass(g["element"]) / molar_mass(g["formula"])
    stock = Decimal(row["expected"]) / 1000 * Decimal(g["then_dilution_factor"]) / share
    agree(row, g["m_g"], *weighed(g["formula"], Strength(stock, StrengthKind.G_PER_L), g["V1_mL"]))


def test_assay_raises_the_mass() -> None:
    wanted, volume = strength("0.5 mol/L"), Decimal(250)
    pure = dissolve("CuSO4.5H2O", wanted, volume)
    found = dissolve("CuSO4.5H2O", wanted, volume, assay_pct=Decimal(99))
    assert float(pure.mass_g) == pytest.approx(31.2106, rel=1e-5)
    assert float(found.mass_g) == pytest.approx(31.2106 / 0.99, rel=1e-5)
    assert found.pure_g == pure.mass_g
    assert found.moles == Decimal("0.125")
    assert any("assay" in line.text for line in found.working)
    assert planned_mass("CuSO4.5H2O", wanted, volume, assay="99") == pytest.approx(31.2106 / 0.99, rel=1e-5)
    # An assay that is not recorded counts as 100 %.
    assert planned_mass("CuSO4.5H2O", wanted, volume, assay=None) == pytest.approx(31.2106, rel=1e-5)


@pytest.mark.parametrize(
    ("formula", "counted", "wanted", "volume", "grams"),
    [
        ("Na2CO3", "Na2CO3", "0.5 mol/L", "500", 26.497),
        ("Na2CO3.H2O", "Na2CO3", "0.5 mol/L", "500", 31.001),
        ("Na2CO3.10H2O", "Na2CO3", "0.5 mol/L", "500", 71.535),
        ("2CaSO4.H2O", "CaSO4", "0.01 mol/L", "1000", 1.45148),
    ],
)
def test_any_hydrate_gives_the_same_moles(formula: str, counted: str, wanted: str, volume: str, grams: float) -> None:
    found = dissolve(formula, strength(wanted), Decimal(volume), about=SoluteFacts(counted))
    assert float(found.mass_g) == pytest.approx(grams, rel=1e-4)
    assert found.moles == strength(wanted).value * Decimal(volume) / 1000
    assert planned_mass(formula, strength(wanted), Decimal(volume), counted=counted) == pytest.approx(grams, rel=1e-4)


def test_another_hydrate_stands_in_for_an_ingredient_by_moles_and_assay() -> None:
    """10 g of CuSO4.5H2O of 99 % hold 6.328 g of CuSO4 (M 159.61 and 249.68 g/mol): 6.661 g of 95 %."""
    dry = replace(solid("CuSO4", "95"), code="dry")
    mix = Solution(
        *("made", "the mixture", "", None, 30),
        recipe=(RecipeLine("solid", 10 * BASE_PER_UNIT),),
        recipe_nl=100 * BASE_PER_UNIT,
    )
    (route,) = making(solid("CuSO4.5H2O", "99"), dry, mix).routes("made")
    written, other = route.parts[0].options
    assert (written.item, float(written.per_nl) * 100) == ("solid", 10)
    assert (other.item, float(other.per_nl) * 100) == ("dry", pytest.approx(6.661, rel=1e-3))


def test_by_mass_in_a_volume_needs_a_density() -> None:
    with pytest.raises(PrepError, match="give the density"):
        dissolve("KClO3", strength("5 % w/w"), Decimal(250))
    known = SoluteFacts("CuSO4", density_g_ml=Decimal("1.107"))
    found = dissolve("CuSO4", strength("10 % w/w"), Decimal(250), about=known)
    assert float(found.mass_g) == pytest.approx(27.675, rel=1e-6)
    # CRC Handbook, 102nd ed.: 1.0707 g/mL
    assert weighed("NaCl", strength("10 % w/w"), "1000") == pytest.approx((107.07, 107.07), rel=1e-4)


SALT = SoluteFacts("KNO3", "potassium nitrate", solubility=Solubility(Decimal("31.6"), Decimal(20), "CRC Handbook"))


def test_more_than_dissolves() -> None:
    with pytest.raises(PrepError, match=r"31\.6 g of it in 100 g of water at 20 degC \(CRC Handbook\)"):
        dissolve("KNO3", strength("4 mol/L"), Decimal(100), about=SALT)
    near = dissolve("KNO3", strength("2.7 mol/L"), Decimal(100), about=SALT)
    assert "close to what dissolves" in near.working[-1].text
    far = dissolve("KNO3", strength("1 mol/L"), Decimal(100), about=SALT)
    assert "close to what dissolves" not in far.working[-1].text


def test_a_planned_strength_that_does_not_dissolve_is_no_route_and_says_why() -> None:
    salt = replace(
        solid("CuSO4.5H2O", "99"),
        solubility_g_per_100g=Decimal(32),
        solubility_c=Decimal(20),
        sources={"solubility": "CRC Handbook"},
    )
    assert option(making(salt, card("made", strength("0.5 mol/L"), "CuSO4")), RouteKind.DISSOLVE).per_nl > 0
    beyond = making(salt, card("made", strength("2 mol/L"), "CuSO4"))
    assert beyond.routes("made") == ()
    assert "more than dissolves" in beyond.problems["made"][0]


def test_a_saturated_solution_takes_more_than_dissolves() -> None:
    lime = SoluteFacts("Ca(OH)2", "limewater", solubility=Solubility(Decimal("0.173"), Decimal(20), "CRC Handbook"))
    found = dissolve("Ca(OH)2", strength("saturated"), Decimal(1000), about=lime)
    assert found.mass_g / SATURATED_EXCESS == pytest.approx(Decimal("1.7239"), abs=Decimal("0.0001"))
    with pytest.raises(PrepError, match="solubility of KCl is not recorded"):
        dissolve("KCl", strength("saturated"), Decimal(100))
    # 0.173 g / 100.173 g of a solution of water's density.
    slaked = replace(solid("Ca(OH)2", "95"), solubility_g_per_100g=Decimal("0.173"), solubility_c=Decimal(20))
    excess = option(making(slaked, card("made", strength("saturated"))), RouteKind.DISSOLVE)
    assert float(excess.per_nl) * 1000 == pytest.approx(2 * 998.21 * 0.173 / 100.173 / 0.95, rel=1e-4)


def test_what_has_no_molar_mass_is_weighed_by_mass_only() -> None:
    starch = dissolve("(C6H10O5)n", strength("1 % w/v"), Decimal(100))
    assert (starch.mass_g, starch.moles) == (1, None)
    with pytest.raises(PrepError, match="cannot be read with certainty"):
        dissolve("(C6H10O5)n", strength("1 mol/L"), Decimal(100))
    assert planned_mass("", strength("1 % w/v"), Decimal(500)) == 5
    nameless = making(solid("", name="soluble starch"), card("made", strength("1 mol/L")))
    assert nameless.routes("made") == ()
    assert "has no formula, so its moles weigh nothing certain" in nameless.problems["made"][0]


@pytest.mark.parametrize("assay", ["0", "-1", "100.5"])
def test_an_assay_that_cannot_be_is_refused(assay: str) -> None:
    with pytest.raises(PrepError, match="assay"):
        dissolve("NaCl", strength("1 mol/L"), Decimal(100), assay_pct=Decimal(assay))


def test_amounts_that_are_none() -> None:
    with pytest.raises(PrepError, match="more than nothing"):
        dissolve("NaCl", strength("1 mol/L"), Decimal(0))
    with pytest.raises(PrepError, match="water of crystallisation"):
        dissolve("CuSO4.5H2O", strength("1 mol/L"), Decimal(100), about=SoluteFacts("CuCl2"))


PER_LITRE = {StrengthKind.G_PER_L: 1, StrengthKind.PCT_W_V: 10}


@given(
    st.sampled_from(["CuSO4.5H2O", "NaCl", "Na2CO3.10H2O", "KMnO4"]),
    st.decimals("0.001", "1", places=3),
    st.decimals("1", "5000", places=1),
    st.decimals("80", "100", places=1),
    st.sampled_from([StrengthKind.MOL_PER_L, *PER_LITRE]),
)
def test_weighed_and_made_up_it_has_the_strength_asked(
    formula: str, value: Decimal, volume: Decimal, assay: Decimal, kind: StrengthKind
) -> None:
    wanted = Strength(value, kind)
    unit = PER_LITRE.get(kind) or float(molar_mass(formula))
    for mass in (
        float(dissolve(formula, wanted, volume, assay_pct=assay).mass_g),
        planned_mass(formula, wanted, volume, counted=formula, assay=str(assay)),
    ):
        pure_g_per_l = mass * float(assay) / 100 / float(volume) * 1000
        assert pure_g_per_l / unit == pytest.approx(float(value), rel=1e-9)


def test_a_planned_mass_is_as_exact_as_its_card() -> None:
    """Nothing is added by a conversion there and back: what is just enough is enough."""
    routes = making(solid("C6H12O6"), card("made", strength("5 % w/v")))
    assert option(routes, RouteKind.DISSOLVE).per_nl * 1000 == 50


@examples("% w/w + density", "% v/v", "ppb", "ppm to mol/L", "mol/kg to mol/L", "% w/w to mol/kg", "normality")
def test_other_strengths_of_the_examples(row: dict[str, str]) -> None:
    g = given_in(row)
    known = SoluteFacts(
        g.get("formula", ""),
        density_g_ml=Decimal(g["d_g_mL"]) if "d_g_mL" in g else None,
        pure_density_g_ml=Decimal(g["d_solute_g_mL"]) if "d_solute_g_mL" in g else None,
        equivalents=int(g["equivalents"]) if "equivalents" in g else None,
    )
    for name, kind in (
        ("w_pct", StrengthKind.PCT_W_W),
        ("phi_pct", StrengthKind.PCT_V_V),
        ("b_mol_kg", StrengthKind.MOL_PER_KG),
        ("rho_g_L", StrengthKind.G_PER_L),
    ):
        if name in g:
            start = Strength(Decimal(g[name]), kind)
    if "rho_mg_L" in g:
        start = Strength(Decimal(g["rho_mg_L"]) / 1000, StrengthKind.G_PER_L)
    if "w_ppb" in g:
        start = strength(f"{g['w_ppb']} ppb")
    if row["find"] == "V_solute_mL":
        check(row, start.value * Decimal(g["V_mL"]) / 100)
    elif row["find"].startswith("m_solute"):
        grams = convert(start, StrengthKind.G_PER_L, known).strength.value * Decimal(g["V_mL"]) / 1000
        check(row, grams * 1_000_000 if row["unit"] == "ug" else grams)
    else:
        kinds = {"C_mol_L": "mol/L", "b_mol_kg": "mol/kg", "N_eq_L": "eq/L"}
        check(row, convert(start, StrengthKind(kinds[row["find"]]), known).strength.value)


@pytest.mark.parametrize("name", ["sodium hydroxide", "potassium hydroxide", "sodium chloride", "calcium chloride"])
def test_what_is_stronger_than_any_known_density_needs_no_less_than_what_is_weaker(name: str) -> None:
    # The strongest that is known holds so much water in a litre; a stronger one holds no more of it.
    one = substance_named(name)
    assert one is not None
    about = about_substance(one)
    needs = [least_g_per_100g(strength(f"{tenths / 10} mol/L"), about, about.formula) for tenths in range(1, 300)]
    known = [need for need in needs if need is not None]
    assert known == sorted(known)
    assert len(known) == len(needs)


@pytest.mark.parametrize(
    ("name", "most"),
    # Saturated at 20 degC: 35.89 g of NaCl in 100 g of water, 1.2007 g/mL; 109 g of NaOH, 1.54 g/mL (CRC Handbook of
    # Chemistry and Physics, 91st ed., Aqueous Solubility of Inorganic Compounds at Various Temperatures).
    [("sodium chloride", 5.43), ("sodium hydroxide", 20.5)],
)
def test_no_solution_is_stronger_than_the_saturated_one(name: str, most: float) -> None:
    one = substance_named(name)
    assert one is not None
    about = about_substance(one)
    assert not more_than_dissolves(strength(f"{0.98 * most} mol/L"), about)
    for times in (1.04, 1.2, 1.5, 2):
        assert "more than dissolves" in more_than_dissolves(strength(f"{times * most} mol/L"), about)


# CRC Handbook, 102nd ed., Concentrative Properties of Aqueous Solutions, 20 degC: rows past the last that is on file.
@pytest.mark.parametrize(("pct", "g_ml"), [("80", 1.4117), ("84", 1.4383)])
def test_beyond_what_is_on_file_a_density_is_estimated_from_the_strongest(pct: str, g_ml: float) -> None:
    lines: list[Line] = []
    assert float(beyond_known(Decimal(pct), SoluteFacts("C12H22O11"), lines)) == pytest.approx(g_ml, rel=1e-2)
    assert "beyond what is on file" in lines[0].text


def test_a_saturated_solution_beyond_the_densities_holds_what_a_litre_of_it_holds() -> None:
    """Saturated silver nitrate is about 2.2 g/mL (from memory: Seidell and Linke, Solubilities): 100 mL are 220 g."""
    about = SoluteFacts("AgNO3", solubility=Solubility(Decimal("210.56")))
    made = dissolve("AgNO3", strength("saturated"), Decimal(100), about=about)
    assert made.dissolves_g is not None
    assert made.water_ml is not None
    assert float(made.dissolves_g + made.water_ml) == pytest.approx(220, abs=6)
