"""Density tables: the published rows, smoothness between them, the inverse, the limits."""

import csv
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.strength import densities
from prep.errors import PrepError
from prep.resources import seed_data

with (Path(__file__).parents[1] / "data" / "crc_solutions.csv").open(encoding="utf-8") as file:
    CRC = list(csv.DictReader(file))
SOLUTES = ["HCl", "NaOH", "H2SO4", "HNO3", "NH3", "CH3COOH", "H3PO4", "NaCl", "C2H5OH"]


@pytest.mark.parametrize("formula", SOLUTES)
def test_against_the_crc_handbook(formula: str) -> None:
    # CRC Handbook, 102nd ed. (2021), Concentrative Properties of Aqueous Solutions, 20 degC.
    rows = [r for r in CRC if r["formula"] == formula]
    assert len(rows) >= 13
    for row in rows:
        found = densities.density(formula, Decimal(row["pct_w_w"]))
        assert float(found.g_ml) == pytest.approx(float(row["density_g_ml"]), rel=1e-3)
        mol_per_l = 10 * Decimal(row["pct_w_w"]) * found.g_ml / molar_mass(formula)
        # The table prints three decimals of mol/L.
        assert float(mol_per_l) == pytest.approx(float(row["mol_per_l"]), rel=2e-3, abs=6e-4)


@pytest.mark.parametrize("formula", SOLUTES[:-1])
def test_each_row_is_met_where_its_neighbours_alone_are_known(formula: str) -> None:
    """With every second row of the CRC range left out, the spline still meets it within 0.1 %."""
    with (seed_data() / "tables" / "densities.csv").open(encoding="utf-8") as table:
        rows = [
            (float(r["pct_w_w"]), float(r["density_g_ml"]), float(r["error_g_ml"]), r["source"])
            for r in csv.DictReader(table)
            if r["formula"] == formula
        ]
    for i in range(1, len(rows) - 1):
        fewer = densities._table(rows[:i] + rows[i + 1 :])
        assert fewer.at(rows[i][0]) == pytest.approx(rows[i][1], rel=1e-3)


@pytest.mark.parametrize("formula", SOLUTES)
def test_every_density_has_a_small_error_and_a_source(formula: str) -> None:
    top = int(densities.largest_pct_w_w(formula))
    for pct in range(top + 1):
        found = densities.density(formula, Decimal(pct))
        assert found.source
        assert 0 < found.error_g_ml < Decimal("0.006")
        if pct <= 30:
            assert found.error_g_ml <= Decimal("0.0011")


@given(st.sampled_from(SOLUTES), st.floats(0.001, 0.999))
def test_mass_per_volume_there_and_back(formula: str, share: float) -> None:
    pct = Decimal(str(share)) * densities.largest_pct_w_w(formula)
    g_per_l = 10 * pct * densities.density(formula, pct).g_ml
    assert float(densities.pct_w_w_at(formula, g_per_l)) == pytest.approx(float(pct), rel=2e-5, abs=2e-5)


@pytest.mark.parametrize("formula", SOLUTES)
def test_mass_per_volume_rises_throughout(formula: str) -> None:
    top = float(densities.largest_pct_w_w(formula))
    steps = [Decimal(str(round(top * i / 400, 4))) for i in range(401)]
    masses = [p * densities.density(formula, p).g_ml for p in steps]
    assert all(a < b for a, b in pairwise(masses))


def test_formulas_that_mean_the_same_solute() -> None:
    assert densities.density("C2H4O2", Decimal(50)) == densities.density("CH3COOH", Decimal(50))
    # 28 % NH3 is 57.6 % when counted as NH4OH (concentrated reagent tables print 56.6-57.6).
    counted = Decimal(28) * molar_mass("NH4OH") / molar_mass("NH3")
    assert densities.density("NH4OH", counted).g_ml == densities.density("NH3", Decimal(28)).g_ml
    assert densities.table_formula("CuSO4.5H2O") == "CuSO4"
    assert densities.table_formula("CH3COONa.3H2O") == "CH3COONa"
    assert densities.table_formula("KClO3") is None
    assert densities.table_formula("CH3OCH3") is None


def test_beyond_the_tables() -> None:
    with pytest.raises(PrepError, match=r"known up to 26 % w/w"):
        densities.density("NaCl", Decimal(60))
    with pytest.raises(PrepError, match="beyond the densities on file"):
        densities.pct_w_w_at("HCl", Decimal(900))
    with pytest.raises(PrepError, match="No density of KClO3 in water is on file"):
        densities.density("KClO3", Decimal(5))
    # Saturated brine, 26.4 % w/w, lies just past the last row: 1.200 g/mL (from memory: CRC Handbook).
    found = densities.density("NaCl", Decimal("26.4"))
    assert float(found.g_ml) == pytest.approx(1.2005, abs=0.001)
    assert found.source.startswith("extrapolated")


# From memory: Perry's Chemical Engineers' Handbook, densities of aqueous methanol at 20 degC (International Critical
# Tables), where the table on file is of the CRC Handbook.
@pytest.mark.parametrize(("pct", "g_ml"), [(10, 0.9815), (30, 0.9515), (50, 0.9156), (80, 0.8469), (90, 0.8202)])
def test_methanol_agrees_with_another_handbook(pct: int, g_ml: float) -> None:
    assert float(densities.density("CH3OH", Decimal(pct)).g_ml) == pytest.approx(g_ml, abs=3e-4)


# CRC Handbook, 102nd ed. (2021), Concentrative Properties of Aqueous Solutions, 20 degC: rows that are not on file.
BETWEEN = {
    "CH3CH(OH)CH3": {1: 0.9960, 3: 0.9920, 7: 0.9855, 12: 0.9793, 18: 0.9725},
    "C3H8O3": {5: 1.0097, 14: 1.0311, 24: 1.0561, 32: 1.0770, 40: 1.0984, 56: 1.1419, 72: 1.1866, 88: 1.2299},
    "CH3OH": {3: 0.9930, 24: 0.9606, 46: 0.9235, 66: 0.8810, 86: 0.8312, 96: 0.8034},
    "C6H12O6": {2: 1.0058, 12: 1.0457, 24: 1.0973, 44: 1.1924, 58: 1.2676},
    "H2SO4": {8: 1.0522, 17: 1.1169, 32: 1.2353, 42: 1.3205, 52: 1.4149, 62: 1.5200, 72: 1.6338, 82: 1.7491},
    "C6H8O7": {3: 1.0105, 6: 1.0232, 14: 1.0580, 22: 1.0953, 26: 1.1147},
    "H2C2O4": {3: 1.0126, 5: 1.0220, 7: 1.0310},
    "AgNO3": {4: 1.0327, 12: 1.1079, 18: 1.1715, 28: 1.2933, 38: 1.4407},
    "Na3C6H5O7": {3: 1.0186, 7: 1.0482, 12: 1.0861, 16: 1.1173},
    "C4H11NO3": {4: 1.0078, 14: 1.0335, 28: 1.0723, 38: 1.1016},
    "CO(NH2)2": {4: 1.0085, 14: 1.0360, 28: 1.0756, 38: 1.1044, 42: 1.1171},
    "C12H22O11": {3: 1.0099, 13: 1.0507, 24: 1.0990, 38: 1.1663, 48: 1.2186},
    "CH3CH2CH2OH": {3: 0.9928, 8: 0.9855, 14: 0.9779, 24: 0.9612, 32: 0.9452},
    "K2CO3": {4: 1.0345, 12: 1.1095, 16: 1.1490, 18: 1.1692},
    "C10H14N2Na2O8": {1.5: 1.0062, 3.5: 1.0169, 5.5: 1.0277},
}


@pytest.mark.parametrize("formula", BETWEEN)
def test_between_its_rows_a_table_meets_those_that_are_left_out(formula: str) -> None:
    for pct, g_ml in BETWEEN[formula].items():
        found = densities.density(formula, Decimal(str(pct)))
        # The handbook prints four decimals, and some of its rows scatter by a few of the last.
        assert float(found.g_ml) == pytest.approx(g_ml, abs=float(found.error_g_ml) + 3e-4), pct
        assert "from memory" not in found.source


def test_what_lies_between_the_steps_of_a_handbook_is_not_ascribed_to_it() -> None:
    with (seed_data() / "tables" / "densities.csv").open(encoding="utf-8") as table:
        rows = [(r["formula"], float(r["pct_w_w"])) for r in csv.DictReader(table) if "CRC Handbook" in r["source"]]
    steps = {"CH3CH(OH)CH3": {20.0, 40.0, 60.0, 80.0, 100.0}, "C3H8O3": {float(4 * i) for i in range(5, 26)}}
    for formula, known in steps.items():
        assert {pct for one, pct in rows if one == formula and pct >= 20} <= known


def test_bleach_as_makers_state_it() -> None:
    # A maker's note on specific gravity at 20 degC: 120 g/L of available chlorine with 0.2 % of caustic left is 1.160;
    # 1.157 without any, 1.168 with 0.73 %. A mole of hypochlorite is a mole of chlorine: 120 g/L is 126 g/L of NaOCl.
    salt = Decimal(120) * molar_mass("NaOCl") / molar_mass("Cl2")
    found = densities.density("NaOCl", salt / (10 * Decimal("1.160")))
    assert float(found.g_ml) == pytest.approx(1.160, abs=0.003)


def test_glucose_by_its_apparent_molar_volume() -> None:
    # From memory: 111.9 mL/mol at infinite dilution, and about 0.5 mL/mol more for each mol/kg (Jasra and Ahluwalia,
    # J. Solution Chem. 11 (1982) 325; Fucaloro et al., J. Solution Chem. 36 (2007) 61).
    mass = float(molar_mass("C6H12O6"))
    for pct in (5, 10, 20, 30, 40, 50):
        moles = pct / mass
        volume = moles * (111.9 + 0.35 * 1000 * moles / (100 - pct)) + (100 - pct) / 0.99821
        found = densities.density("C6H12O6", Decimal(pct))
        assert float(found.g_ml) == pytest.approx(100 / volume, rel=2.5e-3), pct


def test_propan_2_ol_shrinks_with_water_as_its_excess_volume_says() -> None:
    # From memory: the excess volume of propan-2-ol and water has its least, about -1.0 mL/mol, near a mole fraction of
    # 0.3 (Benson and Kiyohara, J. Solution Chem. 9 (1980) 791, at 25 degC).
    mass = float(molar_mass("CH3CH(OH)CH3"))
    excess = {}
    for pct in (10, 20, 40, 50, 60, 70, 80, 90):
        alcohol, water = pct / mass, (100 - pct) / 18.015
        apart = pct / 0.7848 + (100 - pct) / 0.99821
        volume = 100 / float(densities.density("CH3CH(OH)CH3", Decimal(pct)).g_ml)
        excess[alcohol / (alcohol + water)] = (volume - apart) / (alcohol + water)
    least = min(excess, key=lambda share: excess[share])
    assert 0.2 < least < 0.4
    assert excess[least] == pytest.approx(-1.0, abs=0.1)
    assert all(value < 0 for value in excess.values())
