"""Ethanol and water against OIML R 22, pharmacopoeias and the CRC Handbook."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.model import Form, PouredPart, Strength, StrengthKind, Substance
from prep.chemistry.strength import alcohol
from prep.errors import PrepError
from tests.published import planned_take

DATA = Path(__file__).parents[1] / "data"
with (DATA / "alcohol.csv").open(encoding="utf-8") as file:
    ROWS = list(csv.DictReader(file))
with (DATA / "crc_solutions.csv").open(encoding="utf-8") as file:
    CRC = [r for r in csv.DictReader(file) if r["formula"] == "C2H5OH"]


def by_volume(pct: str | float) -> Strength:
    return Strength(Decimal(str(pct)), StrengthKind.PCT_V_V)


def planned(row: dict[str, str], volume_ml: Decimal) -> float:
    """Millilitres of the stock, as bought, that the planner takes: what is made up to the mark needs no contraction."""
    pct = Decimal(f"{alcohol.w_w_from_v_v(float(row['stock_pct_vv'])):.6f}")
    spirit = Substance("spirit", "the spirit", "C2H5OH", "solute", Form.LIQUID, assay_pct=pct)
    return planned_take(spirit, by_volume(row["target_pct_vv"]), volume_ml)


# % v/v -> kg/m3 at 20 degC: OIML R 22 (1975), table of density against strength by volume, as reprinted in
# the European Pharmacopoeia's alcoholometric tables.
OIML = {
    10: 984.71,
    20: 973.56,
    30: 962.21,
    40: 948.05,
    50: 930.14,
    60: 909.11,
    70: 885.56,
    80: 859.27,
    90: 829.18,
    95: 811.38,
    96: 807.42,
    97: 803.27,
    98: 798.90,
    99: 794.25,
    100: 789.24,
}


@pytest.mark.parametrize(("pct", "density"), OIML.items())
def test_densities_by_volume_agree_with_the_published_table(pct: int, density: float) -> None:
    assert 1000 * alcohol.density_g_ml(alcohol.w_w_from_v_v(pct)) == pytest.approx(density, abs=0.006)


def test_pure_water_and_ethanol() -> None:
    assert 1000 * alcohol.density_g_ml(0) == pytest.approx(998.20123, abs=1e-5)
    assert 1000 * alcohol.density_g_ml(100) == pytest.approx(789.24, abs=0.002)
    # Tanaka et al., Metrologia 38 (2001) 301: water at 25 degC, 997.047 kg/m3.
    assert 1000 * alcohol.density_g_ml(0, 25) == pytest.approx(997.047, abs=0.01)


@pytest.mark.parametrize("row", CRC, ids=lambda r: r["pct_w_w"])
def test_densities_by_mass_agree_with_a_handbook(row: dict[str, str]) -> None:
    assert alcohol.density_g_ml(float(row["pct_w_w"])) == pytest.approx(float(row["density_g_ml"]), rel=1e-3)


@pytest.mark.parametrize(
    ("pct_v_v", "pct_w_w"),
    [(96, 93.838), (95, 92.408), (70, 62.386), (50, 42.426), (67.744, 60), (76.951, 70), (96.794, 95)],
)
def test_by_volume_and_by_mass(pct_v_v: float, pct_w_w: float) -> None:
    # OIML R 22 (1975), evaluated; 40 % vol = 33.3 % m/m as commonly printed.
    assert alcohol.w_w_from_v_v(pct_v_v) == pytest.approx(pct_w_w, abs=0.001)
    assert alcohol.v_v_from_w_w(pct_w_w) == pytest.approx(pct_v_v, abs=0.001)


@pytest.mark.parametrize("row", [r for r in ROWS if r["kind"] == "dilute with water"], ids=lambda r: r["id"])
def test_published_dilutions_of_spirit_are_reproduced(row: dict[str, str]) -> None:
    made = alcohol.dilute(by_volume(row["stock_pct_vv"]), by_volume(row["target_pct_vv"]), Decimal(row["final_mL"]))
    assert float(made.take_ml) == pytest.approx(float(row["stock_mL"]), rel=5e-4)
    assert float(made.water_ml) == pytest.approx(float(row["water_mL"]), rel=5e-4)
    assert float(made.contraction_ml) == pytest.approx(float(row["contraction_mL"]), abs=0.02)
    assert any(line.source == alcohol.SOURCE for line in made.working)
    assert planned(row, Decimal(row["final_mL"])) == pytest.approx(float(row["stock_mL"]), rel=5e-4)


@pytest.mark.parametrize("row", [r for r in ROWS if r["kind"] == "mix two"], ids=lambda r: r["id"])
def test_published_mixtures_of_spirits_are_reproduced(row: dict[str, str]) -> None:
    made = alcohol.blend(
        [
            PouredPart(Decimal(row["stock_mL"]), by_volume(row["stock_pct_vv"])),
            PouredPart(Decimal(row["second_mL"]), by_volume(row["second_pct_vv"])),
        ]
    )
    assert float(made.volume_ml) == pytest.approx(float(row["final_mL"]), rel=5e-5)
    assert float(made.strength.value) == pytest.approx(float(row["target_pct_vv"]), abs=0.002)


@pytest.mark.parametrize(
    "row", [r for r in ROWS if r["kind"].startswith("published: mL")], ids=lambda r: r["target_pct_vv"]
)
def test_pharmacopoeial_dilute_ethanols(row: dict[str, str]) -> None:
    made = alcohol.dilute(by_volume(row["stock_pct_vv"]), by_volume(row["target_pct_vv"]), Decimal(1000))
    expected = pytest.approx(float(row["stock_mL"]), rel=float(row["tolerance_rel"]))
    assert float(made.take_ml) == expected
    assert planned(row, Decimal(1000)) == expected


@pytest.mark.parametrize(("pct", "least", "most"), [(80, 857.4, 859.6), (60, 907.6, 908.7)])
def test_pharmacopoeial_apparent_densities(pct: float, least: float, most: float) -> None:
    # Dilute ethanols, apparent density in air: rho - 1.2 (1 - rho / 8000).
    vacuum = 1000 * alcohol.density_g_ml(alcohol.w_w_from_v_v(pct))
    assert least <= vacuum - 1.2 * (1 - vacuum / 8000) <= most


def test_diluted_alcohol_of_the_us_pharmacopeia() -> None:
    # USP Diluted Alcohol: 500 mL of Alcohol and 500 mL of water measure about 970 mL at 25 degC.
    made = alcohol.blend(
        [PouredPart(Decimal(500), by_volume(95.45)), PouredPart(Decimal(500), by_volume(0))], Decimal(25)
    )
    assert float(made.volume_ml) == pytest.approx(970, abs=1)


@given(st.floats(1, 100), st.floats(0.01, 1), st.floats(10, 30))
def test_ethanol_and_mass_are_conserved(stock: float, share: float, t: float) -> None:
    target = stock * share
    made = alcohol.dilute(by_volume(stock), by_volume(target), Decimal(1000), Decimal(str(t)))
    stock_g = float(made.take_ml) * alcohol.density_g_ml(alcohol.w_w_from_v_v(stock), t)
    water_g = float(made.water_ml) * alcohol.density_g_ml(0, t)
    p_made = alcohol.w_w_from_v_v(target)
    assert stock_g + water_g == pytest.approx(1000 * alcohol.density_g_ml(p_made, t), rel=1e-6)
    assert stock_g * alcohol.w_w_from_v_v(stock) == pytest.approx((stock_g + water_g) * p_made, rel=1e-6)


@given(st.floats(0, 100))
def test_there_and_back(pct: float) -> None:
    assert alcohol.v_v_from_w_w(alcohol.w_w_from_v_v(pct)) == pytest.approx(pct, abs=1e-9)


@pytest.mark.parametrize(
    ("source", "target", "why"),
    [
        (by_volume(50), by_volume(70), "stronger"),
        (by_volume(110), by_volume(70), "from 0 to 100"),
        (Strength(Decimal(5), StrengthKind.MOL_PER_L), by_volume(1), "% v/v or % w/w"),
    ],
)
def test_a_dilution_of_spirit_that_cannot_be_is_refused(source: Strength, target: Strength, why: str) -> None:
    with pytest.raises(PrepError, match=why):
        alcohol.dilute(source, target, Decimal(100))


def test_limits_of_temperature_and_volume() -> None:
    with pytest.raises(PrepError, match="-20 to 40"):
        alcohol.dilute(by_volume(96), by_volume(70), Decimal(100), Decimal(60))
    with pytest.raises(PrepError, match="more than nothing"):
        alcohol.dilute(by_volume(96), by_volume(70), Decimal(0))
    with pytest.raises(PrepError, match="nothing to mix"):
        alcohol.blend([])
