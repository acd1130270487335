"""Weighing solids: published worked examples, hydrates, assay, solubility."""

import csv
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.dissolving import (
    SATURATED_EXCESS,
    dissolve,
    dissolve_substance,
    strength_made,
    volume_made,
)
from prep.chemistry.formulas import composition, molar_mass
from prep.chemistry.model import Form, Strength, StrengthKind, Substance
from prep.chemistry.quantities import strength
from prep.chemistry.solutes import About, Solubility
from prep.chemistry.strengths import convert
from prep.errors import PrepError

with (Path(__file__).parent / "data" / "dilutions.csv").open(encoding="utf-8") as file:
    ROWS = list(csv.DictReader(file))


def examples(*kinds: str) -> pytest.MarkDecorator:
    """The published examples of these kinds, each with its source in the row."""
    rows = [r for r in ROWS if r["kind"] in kinds]
    return pytest.mark.parametrize("row", rows, ids=lambda r: r["id"])


def given_in(row: dict[str, str]) -> dict[str, str]:
    return dict(part.split("=", 1) for part in row["given"].split(";"))


def check(row: dict[str, str], found: Decimal) -> None:
    assert float(found) == pytest.approx(float(row["expected"]), rel=float(row["tolerance_rel"])), row["source"]


@examples("solid to weigh", "mass in volume", "buffer powders to weigh", "buffer powders to weigh, hydrate")
def test_masses_to_weigh(row: dict[str, str]) -> None:
    g = given_in(row)
    wanted = Strength(Decimal(g["C_mol_L"]), StrengthKind.MOL_PER_L)
    check(row, dissolve(g["formula"], wanted, volume_ml=Decimal(g["V_mL"])).mass_g)


@examples("molarity from mass")
def test_strengths_made(row: dict[str, str]) -> None:
    g = given_in(row)
    check(row, strength_made(g["formula"], Decimal(g["m_g"]), Decimal(g["V_mL"])).value)


@examples("molarity")
def test_moles_in_a_volume(row: dict[str, str]) -> None:
    g = given_in(row)  # any solid: its mass is its moles
    grams = Decimal(g["n_mol"]) * molar_mass("C12H22O11")
    check(row, strength_made("C12H22O11", grams, Decimal(g["V_mL"])).value)


@examples("volume for mass")
def test_volumes_made(row: dict[str, str]) -> None:
    g = given_in(row)
    wanted = Strength(Decimal(g["C_mol_L"]), StrengthKind.MOL_PER_L)
    check(row, volume_made(g["formula"], Decimal(g["m_g"]), wanted) / 1000)


@examples("% w/v solid to weigh, hydrate")
def test_a_hydrate_for_a_strength_counted_anhydrous(row: dict[str, str]) -> None:
    g = given_in(row)
    wanted = Strength(Decimal(g["target_w_v_pct_as_anhydrous"]), StrengthKind.PCT_W_V)
    found = dissolve(g["formula"], wanted, volume_ml=Decimal(g["V_mL"]), about=About(g["anhydrous"]))
    check(row, found.mass_g)
    # Counted as the pentahydrate itself, 10 % w/v is 25 g.
    assert dissolve(g["formula"], wanted, volume_ml=Decimal(g["V_mL"])).mass_g == 25


@examples("ppm standard, serial")
def test_a_trace_standard(row: dict[str, str]) -> None:
    g = given_in(row)
    share = composition(g["formula"])[g["element"]] * molar_mass(g["element"]) / molar_mass(g["formula"])
    stock = strength_made(g["formula"], Decimal(g["m_g"]), Decimal(g["V1_mL"]), StrengthKind.G_PER_L)
    check(row, 1000 * share * stock.value / Decimal(g["then_dilution_factor"]))


def test_assay_raises_the_mass() -> None:
    pure = dissolve("CuSO4.5H2O", strength("0.5 mol/L"), volume_ml=Decimal(250))
    found = dissolve("CuSO4.5H2O", strength("0.5 mol/L"), volume_ml=Decimal(250), assay_pct=Decimal(99))
    assert float(pure.mass_g) == pytest.approx(31.2106, rel=1e-5)
    assert float(found.mass_g) == pytest.approx(31.2106 / 0.99, rel=1e-5)
    assert found.pure_g == pure.mass_g
    assert found.moles == Decimal("0.125")
    assert any("assay" in line.text for line in found.working)


def test_any_hydrate_gives_the_same_moles() -> None:
    wanted, volume = strength("0.5 mol/L"), Decimal(500)
    for solid, grams in (("Na2CO3", 26.497), ("Na2CO3.H2O", 31.001), ("Na2CO3.10H2O", 71.535)):
        found = dissolve(solid, wanted, volume_ml=volume, about=About("Na2CO3"))
        assert float(found.mass_g) == pytest.approx(grams, rel=1e-4)
        assert found.moles == Decimal("0.25")
    plaster = dissolve("2CaSO4.H2O", strength("0.01 mol/L"), volume_ml=Decimal(1000), about=About("CaSO4"))
    assert float(plaster.mass_g) == pytest.approx(1.45148, rel=1e-4)


def test_by_mass_of_solution() -> None:
    found = dissolve("CuSO4.5H2O", strength("10 % w/w"), solution_g=Decimal(250), about=About("CuSO4"))
    assert float(found.mass_g) == pytest.approx(39.109, rel=1e-5)
    assert found.solvent_g is not None
    assert found.mass_g + found.solvent_g == 250


def test_by_mass_in_a_volume_needs_a_density() -> None:
    with pytest.raises(PrepError, match="give the density"):
        dissolve("CuSO4", strength("10 % w/w"), volume_ml=Decimal(250))
    known = About("CuSO4", density_g_ml=Decimal("1.107"))
    found = dissolve("CuSO4", strength("10 % w/w"), volume_ml=Decimal(250), about=known)
    assert float(found.mass_g) == pytest.approx(27.675, rel=1e-6)
    table = dissolve("NaCl", strength("10 % w/w"), volume_ml=Decimal(1000))
    assert float(table.mass_g) == pytest.approx(107.07, rel=1e-4)  # CRC Handbook, 102nd ed.: 1.0707 g/mL


SALT = About("KNO3", "potassium nitrate", solubility=Solubility(Decimal("31.6"), Decimal(20), "CRC Handbook"))


def test_more_than_dissolves() -> None:
    with pytest.raises(PrepError, match=r"31\.6 g of it in 100 g of water at 20 degC \(CRC Handbook\)"):
        dissolve("KNO3", strength("4 mol/L"), volume_ml=Decimal(100), about=SALT)
    near = dissolve("KNO3", strength("2.8 mol/L"), volume_ml=Decimal(100), about=SALT)
    assert near.near_limit
    assert "close to what dissolves" in near.working[-1].text
    assert not dissolve("KNO3", strength("1 mol/L"), volume_ml=Decimal(100), about=SALT).near_limit


def test_saturated() -> None:
    lime = About("Ca(OH)2", "limewater", solubility=Solubility(Decimal("0.173"), Decimal(20), "CRC Handbook"))
    found = dissolve("Ca(OH)2", strength("saturated"), volume_ml=Decimal(1000), about=lime)
    assert found.mass_g / SATURATED_EXCESS == pytest.approx(Decimal("1.7269"), abs=Decimal("0.0001"))
    with pytest.raises(PrepError, match="solubility of KCl is not recorded"):
        dissolve("KCl", strength("saturated"), volume_ml=Decimal(100))


def test_what_has_no_molar_mass_is_weighed_by_mass_only() -> None:
    starch = dissolve("(C6H10O5)n", strength("1 % w/v"), volume_ml=Decimal(100))
    assert (starch.mass_g, starch.moles) == (1, None)
    with pytest.raises(PrepError, match="cannot be read with certainty"):
        dissolve("(C6H10O5)n", strength("1 mol/L"), volume_ml=Decimal(100))
    nameless = Substance("soluble-starch", "soluble starch", "", "starch", Form.SOLID)
    weighed = dissolve_substance(nameless, strength("1 % w/v"), Decimal(500))
    assert weighed.mass_g == 5
    assert "5 g of soluble starch" in weighed.working[0].text
    with pytest.raises(PrepError, match="formula is needed"):
        dissolve_substance(nameless, strength("1 mol/L"), Decimal(500))


SOLID = Substance(
    *("copper-sulfate-5-water", "copper(II) sulfate 5-water", "CuSO4.5H2O", "copper-sulfate", Form.SOLID),
    assay_pct=Decimal(99),
    solubility_g_per_100g=Decimal(32),
    solubility_c=Decimal(20),
    sources={"solubility": "CRC Handbook"},
)


def test_from_a_bottle() -> None:
    found = dissolve_substance(SOLID, strength("0.5 mol/L"), Decimal(250), strength_of="CuSO4")
    assert float(found.mass_g) == pytest.approx(31.5259, rel=1e-5)
    unknown = dissolve_substance(replace(SOLID, assay_pct=None), strength("0.5 mol/L"), Decimal(250))
    assert unknown.mass_g == found.pure_g
    assert unknown.working[-1].text == "assay not recorded, taken as 100 %"
    with pytest.raises(PrepError, match="more than dissolves"):
        dissolve_substance(SOLID, strength("2 mol/L"), Decimal(250), strength_of="CuSO4")
    with pytest.raises(PrepError, match="not a solid"):
        dissolve_substance(replace(SOLID, form=Form.LIQUID), strength("0.5 mol/L"), Decimal(250))


@pytest.mark.parametrize("assay", ["0", "-1", "100.5"])
def test_impossible_assays(assay: str) -> None:
    with pytest.raises(PrepError, match="assay"):
        dissolve("NaCl", strength("1 mol/L"), volume_ml=Decimal(100), assay_pct=Decimal(assay))


def test_amounts_that_are_none() -> None:
    with pytest.raises(PrepError, match="more than nothing"):
        dissolve("NaCl", strength("1 mol/L"), volume_ml=Decimal(0))
    with pytest.raises(PrepError, match="either the volume or the mass"):
        dissolve("NaCl", strength("1 mol/L"))
    with pytest.raises(PrepError, match="water of crystallisation"):
        dissolve("CuSO4.5H2O", strength("1 mol/L"), volume_ml=Decimal(100), about=About("CuCl2"))


@given(
    st.sampled_from(["CuSO4.5H2O", "NaCl", "Na2CO3.10H2O", "KMnO4"]),
    st.decimals("0.001", "1", places=3),
    st.decimals("1", "5000", places=1),
    st.decimals("80", "100", places=1),
    st.sampled_from([StrengthKind.MOL_PER_L, StrengthKind.G_PER_L, StrengthKind.PCT_W_V]),
)
def test_weighed_and_made_up_it_has_the_strength_asked(
    solid: str, value: Decimal, volume: Decimal, assay: Decimal, kind: StrengthKind
) -> None:
    wanted = Strength(value, kind)
    mass = dissolve(solid, wanted, volume_ml=volume, assay_pct=assay).mass_g
    made = strength_made(solid, mass, volume, kind, assay_pct=assay)
    assert float(made.value) == pytest.approx(float(value), rel=1e-9)
    assert float(volume_made(solid, mass, wanted, assay_pct=assay)) == pytest.approx(float(volume), rel=1e-9)


@examples("% w/w + density", "% v/v", "ppb", "ppm to mol/L", "mol/kg to mol/L", "% w/w to mol/kg", "normality")
def test_other_strengths_of_the_examples(row: dict[str, str]) -> None:
    g = given_in(row)
    known = About(
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
