"""Densities by Laliberte's model (J. Chem. Eng. Data 54 (2009) 1725): its own oracle, and handbook values."""

from decimal import Decimal

import pytest

from prep.chemistry.quantities import strength
from prep.chemistry.strength import densities, density_model
from prep.chemistry.strength.solutes import Concentrate, SoluteFacts
from prep.chemistry.strength.solution_density import at_g_per_l, at_pct

# By the library thermo 0.6.1 (electrochem.Laliberte_density_mix) at 20 degC, 10 % w/w: the same formula, other code.
BY_THERMO = {
    "AlCl3": 1.090935,
    "NH4NO3": 1.039741,
    "CaCl2": 1.083053,
    "CuSO4": 1.107496,
    "FeCl3": 1.084777,
    "H2O2": 1.035308,
    "KHCO3": 1.065817,
    "KOH": 1.090440,
    "Na2S2O3": 1.081683,
    "C12H22O11": 1.038198,
    "ZnSO4": 1.107747,
    "CH3COONa": 1.049245,
}

# CRC Handbook, 102nd ed., Concentrative Properties of Aqueous Solutions, 20 degC; from memory: KCl, KOH and H2O2.
HANDBOOK = [
    ("Na2CO3", 10, 1.1029),
    ("CaCl2", 20, 1.1775),
    ("CaCl2", 40, 1.3957),
    ("KOH", 20, 1.1884),
    ("KOH", 50, 1.5117),
    ("(NH4)2SO4", 20, 1.1154),
    ("NH4Cl", 10, 1.0286),
    ("CuSO4", 10, 1.1070),
    ("KNO3", 10, 1.0627),
    ("KCl", 20, 1.1328),
    ("Na2SO4", 10, 1.0905),
    ("H2O2", 30, 1.1112),
    ("CH3COONa", 10, 1.0495),
    ("MgSO4", 10, 1.1034),
]


@pytest.mark.parametrize(("formula", "pct", "g_ml"), HANDBOOK)
def test_against_the_handbook(formula: str, pct: int, g_ml: float) -> None:
    found = densities.density(formula, Decimal(pct))
    assert float(found.g_ml) == pytest.approx(g_ml, abs=float(found.error_g_ml))
    assert found.source == density_model.SOURCE


@pytest.mark.parametrize("formula", BY_THERMO)
def test_the_formula_as_another_library_has_it(formula: str) -> None:
    assert density_model.density_g_ml(formula, 10) == pytest.approx(BY_THERMO[formula], abs=2e-6)


@pytest.mark.parametrize("formula", ["HCl", "NaOH", "H2SO4", "HNO3", "NH3", "H3PO4", "NaCl", "CH3COOH"])
def test_the_stated_error_is_what_the_tables_show(formula: str) -> None:
    both = min(density_model.parameters()[formula].to_pct, float(densities.largest_pct_w_w(formula)))
    for pct in range(1, min(40, int(both)) + 1):
        table = densities.density(formula, Decimal(pct))
        off = abs(density_model.density_g_ml(formula, pct) - float(table.g_ml))
        assert off <= density_model.error_g_ml(formula, pct, float(table.g_ml)) + float(table.error_g_ml)


def test_past_its_data_the_model_is_trusted_half_as_much() -> None:
    assert density_model.error_g_ml("KCl", 10, 1.0) == pytest.approx(0.0014)
    assert density_model.error_g_ml("KCl", 27, 1.0) == pytest.approx(2 * 0.00242)


def test_a_hydrate_counts_as_its_salt() -> None:
    # 10 % of CuSO4.5H2O is 6.392 % of CuSO4
    assert densities.density("CuSO4.5H2O", Decimal(10)).g_ml == densities.density("CuSO4", Decimal("6.39235")).g_ml


def test_a_saturated_solution_is_as_dense_as_it_is_warm() -> None:
    assert densities.density("KNO3", Decimal(10), 40.0).g_ml < densities.density("KNO3", Decimal(10)).g_ml


@pytest.mark.parametrize(
    ("bottle", "pct", "g_ml"), [(("36", "1.1791"), "18", 1.0878), (("30", "1.1127"), "15", 1.0538)]
)
def test_between_a_concentrate_and_water(bottle: tuple[str, str], pct: str, g_ml: float) -> None:
    """As for hypochlorite, which no table has; hydrochloric acid (CRC Handbook) and peroxide
    (Laliberte) show how far off that is."""
    about = SoluteFacts("KClO3", concentrate=Concentrate(Decimal(bottle[0]), Decimal(bottle[1])))
    found = at_pct(Decimal(pct), strength(f"{pct} % w/w"), about, [])
    assert float(found.g_ml) == pytest.approx(g_ml, abs=float(found.error_g_ml))
    again = at_g_per_l(10 * Decimal(pct) * found.g_ml, strength(f"{pct} % w/w"), about, [])
    assert float(again.pct_w_w) == pytest.approx(float(pct), rel=1e-5)
    assert again.density.g_ml == found.g_ml
