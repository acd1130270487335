"""The table of flash points of solutions in water, against a prediction from vapour pressures.

A solution flashes where the vapour above it is as strong as above the pure liquid at its own flash point. The
figures were computed so with the activity coefficients of modified UNIFAC (Dortmund) and the vapour pressures of the
library thermo 0.6.1 (chemicals 1.5.2). Such predictions come within 5 K of what is measured: G. R. Astbury et al.,
Flash Points of Aqueous Solutions of Flammable Solvents, IChemE Symposium Series 150 (2004), abstract.
"""

import csv

import pytest

from prep.resources import seed_data, seed_table

PREDICTED = {
    "ethanol in water": "3.99 60.5, 8.01 47.8, 16.21 37.0, 24.61 31.7, 33.3 28.3, 42.43 26.0, 52.09 24.1, 93.84 15.3",
    "methanol in water": "10 55.3, 20 41.9, 30 34.9, 40 30.1, 50 26.4, 60 23.1, 80 17.1",
    "propanone in water": "0.8 64.5, 1 58.1, 2 40.3, 3 31.1, 5 20.7, 10 8.3, 20 -2.0, 40 -10.1, 60 -13.8, 80 -16.4",
    "propan-2-ol in water": "2 57.3, 5 41.4, 10 31.7, 20 24.4, 30 21.6, 40 20.4, 50 19.8, 70 18.9, 88 16.3",
    "propan-1-ol in water": "2 56.2, 5 41.3, 10 32.1, 20 25.4, 30 23.0, 50 21.8, 70 21.5, 90 18.6",
}
"""Of each, % w/w and flash point [degC]."""
WITHIN_K = {"propan-2-ol in water": 9, "propan-1-ol in water": 9}
"""Both are less sure: the method makes dilute propanols more volatile than their vapour pressures are."""


@pytest.mark.parametrize("name", PREDICTED)
def test_a_flash_point_is_near_what_vapour_pressures_predict(name: str) -> None:
    table = {row["pct_w_w"]: float(row["flash_point_c"]) for row in seed_table("flash_points") if row["name"] == name}
    for pair in PREDICTED[name].split(", "):
        share, predicted = pair.split()
        assert table[share] == pytest.approx(float(predicted), abs=WITHIN_K.get(name, 5)), share


@pytest.mark.parametrize("name", sorted({row["name"] for row in seed_table("flash_points")}))
def test_a_flash_point_falls_as_the_solution_is_stronger(name: str) -> None:
    rows = [row for row in seed_table("flash_points") if row["name"] == name]
    shares = [float(row["pct_w_w"]) for row in rows]
    points = [float(row["flash_point_c"]) for row in rows]
    assert shares == sorted(shares)
    assert points == sorted(points, reverse=True)


# Read in the tables of the library chemicals 1.5.2, in kelvin: NFPA 497 (2008); IEC 60079-20-1 (2010); DIPPR, evaluated
# values after Serat et al. (2017).
IN_TABLES = {
    "butan-2-ol": 296.95,
    "methylpropan-2-ol": 283.15,
    "ethanoic-anhydride": 322.15,
    "cyclohexanol": 341.15,
    "hex-1-ene": 247.15,
    "bromobutane": 286.15,
    "chlorobutane": 261.15,
    "benzaldehyde": 337.15,
    "pentan-1-ol": 315.15,
    "propanal": 247.15,
    "propanoic-acid": 326.15,
    "iodobutane": 304.15,
    "limonene": 321,
}


@pytest.mark.parametrize("code", IN_TABLES)
def test_a_flash_point_is_that_of_the_table_which_is_named_as_its_source(code: str) -> None:
    with (seed_data() / "substances.csv").open(encoding="utf-8", newline="") as file:
        (row,) = (row for row in csv.DictReader(file) if row["code"] == code)
    assert float(row["flash_point_c"]) == pytest.approx(IN_TABLES[code] - 273.15, abs=0.5)
    assert "flash point: " in row["hazard_source"] + row["source"]
    assert "flash point: from memory" not in row["hazard_source"] + row["source"]
