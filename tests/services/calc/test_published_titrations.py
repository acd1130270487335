"""Titrations, direct, back and with a blank, against worked examples of textbooks and assays of pharmacopoeias."""

import csv
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.measurement.reaction_ratios import ratio_of
from prep.errors import PrepError
from prep.services.calc.arithmetic import Dilution, dilute
from prep.services.calc.gases import gas
from prep.services.calc.mixed_portions import Blend, blend
from prep.services.calc.neutralising_heat import neutralising_heat
from prep.services.calc.series import Standards, serial, standards
from prep.services.calc.titration import Titration, equivalence, titrate

PER_CENT = [
    # Harvey, Analytical Chemistry 2.0, Example 9.15 (Volhard): 17.76 % w/w of iodide
    (
        Titration("0.6712 g", "iodide", "KSCN 0.05322 M", "35.14 mL", excess="50.00 mL of AgNO3 0.05619 M"),
        17.76,
    ),
    # From memory: the same, Practice Exercise 9.23: 1.963 g of alloy in 100 mL, a quarter taken: 64.43 % of silver
    (Titration("0.49075 g", "silver", "KSCN 0.1078 M", "27.19 mL"), 64.43),
    # From memory: T. L. Brown and others, Chemistry: The Central Science, 4.6: limestone, 77.7 % of carbonate
    (Titration("1.248 g", "limestone", "NaOH 1.010 M", "11.56 mL", excess="30.00 mL of HCl 1.035 M"), 77.7),
    # From memory: Harvey 2.1, 9.2 (Kjeldahl): 23.06 % of protein, which is 6.38 times its nitrogen
    (
        Titration("0.9814 g", "NH3", "NaOH 0.1183 M", "22.84 mL", excess="50.00 mL of HCl 0.1047 M"),
        23.06 / 6.38 * float(molar_mass("NH3")) / 14.007,
    ),
    # From memory: the same, 9.3: sulfate through barium and an excess of EDTA, back with magnesium: 41.57 %
    (
        Titration("0.1557 g", "Na2SO4", "MgSO4 0.01113 M", "4.23 mL", excess="25.00 mL of EDTA 0.02011 M", ratio="1:1"),
        41.57,
    ),
    # From memory: the same, Example 9.4: iron ore, 77.86 % of Fe2O3
    (Titration("0.4891 g", "iron", "K2Cr2O7 0.02153 M", "36.92 mL"), 77.86 * 2 * 55.845 / 159.688),
]


@pytest.mark.parametrize(("asked", "share"), PER_CENT)
def test_the_share_of_a_sample(asked: Titration, share: float) -> None:
    found = titrate(asked)
    assert found.document["share_pct"] == pytest.approx(share, rel=1e-3)
    assert found.working


STRENGTHS = [
    # OpenStax, Chemistry 2e, 4.5, exercise: 75.00 mL of limewater take 36.6 mL of 0.0500 mol/L acid
    (Titration("75.00 mL", "Ca(OH)2", "HCl 0.0500 M", "36.6 mL"), 0.0122),
    # From memory: the same: 15.00 mL of brine take 20.22 mL of 0.2503 mol/L silver nitrate
    (Titration("15.00 mL", "NaCl", "AgNO3 0.2503 M", "20.22 mL"), 0.3374),
    # From memory: Harvey 2.1, Example 9.2: 50.00 mL of a drink, 0.09402 g of citric acid in 100 mL
    (Titration("50.00 mL", "C6H8O7", "NaOH 0.04166 M", "17.62 mL"), 0.09402 * 10 / 192.12),
    # From memory: the same, 9.4: juice in an excess of iodine, 2.43 mg of ascorbic acid in 5.00 mL
    (
        Titration("5.00 mL", "vitamin C", "Na2S2O3 0.07203 M", "13.82 mL", excess="50.00 mL of iodine 0.01023 M"),
        2.43 / 176.12 / 5,
    ),
    # From memory: the same, 9.3: 23.63 mL of 0.0109 mol/L EDTA for 100.0 mL of water: 258 mg/L of carbonate
    (Titration("100.0 mL", "total hardness", "EDTA 0.0109 M", "23.63 mL"), 0.258 / 100.09),
]


@pytest.mark.parametrize(("asked", "mol_per_l"), STRENGTHS)
def test_the_strength_of_a_sample(asked: Titration, mol_per_l: float) -> None:
    found = titrate(asked)
    assert found.document["strength"]["value"] == pytest.approx(mol_per_l, rel=2.5e-3)
    assert found.working


def test_what_is_in_the_burette_may_be_the_unknown() -> None:
    # From memory: D. A. Skoog and others, Fundamentals of Analytical Chemistry, Example 20-1: 0.1210 g of KIO3 take
    # 41.64 mL of thiosulfate, which is 0.08147 mol/L
    needed = equivalence(f"100 mL of KIO3 {0.1210 / 214.00 / 0.1:.7f} M", "Na2S2O3 0.08147 M", None, None)
    assert needed.document["volume"]["value"] == pytest.approx(41.64, abs=0.01)
    # OpenStax, Chemistry 2e, 4.5, exercise: 40.00 mL of 0.0656 mol/L H3PO4, to HPO4(2-), take 34.99 mL
    acid = equivalence("40.00 mL of H3PO4 0.0656 M", "NaOH 0.1500 M", None, None)
    assert acid.document["volume"]["value"] == pytest.approx(34.99, abs=0.01)
    # The iodide of the fluorescein, not of the chromate, which iodide has no sharp change with: Vogel, from memory
    assert titrate(Titration("25 mL", "KI", "AgNO3 0.1 M", "20.00 mL")).document["indicator"] == "fluorescein"


@pytest.mark.parametrize(
    ("analyte", "titrant", "moles"),
    [
        ("HCl", "Na2CO3", "2"),
        ("H2SO4", "Na2CO3.10H2O", "1"),
        ("HCl", "Na2B4O7.10H2O", "2"),
        ("C4H11NO3", "HCl", "1"),
        ("C3H6O3", "NaOH", "1"),
        ("Al(OH)3", "HCl", "1/3"),
        ("Na2HPO4.12H2O", "HCl", "1"),
        ("KMnO4", "Na2C2O4", "2/5"),
        ("Na2S2O3.5H2O", "K2Cr2O7", "6"),
        ("CaCl2.2H2O", "AgNO3", "1/2"),
        ("FeCl3.6H2O", "AgNO3", "1/3"),
        ("AgNO3", "NaCl", "1"),
        ("KAl(SO4)2.12H2O", "C10H14N2Na2O8.2H2O", "1"),
        ("C10H14N2Na2O8.2H2O", "ZnSO4.7H2O", "1"),
        ("Pb(NO3)2", "C10H14N2Na2O8.2H2O", "1"),
    ],
)
def test_the_ratio_is_that_of_the_ions(analyte: str, titrant: str, moles: str) -> None:
    """Stoichiometry: what neutralises, precipitates or binds, whichever of the two is in the burette."""
    assert ratio_of(analyte, titrant).moles == Fraction(moles)
    assert ratio_of(titrant, analyte).moles == 1 / Fraction(moles)


@pytest.mark.parametrize(
    ("analyte", "titrant"),
    [
        ("H3BO3", "NaOH"),  # pKa 9.2: no end point in water
        ("NH4Cl", "NaOH"),
        ("CH3COOH", "NH3"),  # weak with weak
        ("CH3COONa", "HCl"),
        ("KMnO4", "C10H14N2Na2O8"),
        ("NaOCl", "HCl"),  # chlorine
        ("KCN", "HCl"),  # hydrogen cyanide
        ("CHCl3", "AgNO3"),
        ("NaCl", "NaOH"),
    ],
)
def test_what_has_no_end_point_is_not_balanced(analyte: str, titrant: str) -> None:
    with pytest.raises(PrepError, match="is not on file; give it with --ratio"):
        ratio_of(analyte, titrant)


def test_one_in_ten_is_a_part_in_ten_parts() -> None:
    """USP, General Notices: `1 in 10` is one part made up to ten parts of solution (from memory)."""
    assert dilute(Dilution(target="1 in 10", volume="100 mL")).document["take"]["value"] == 10


def test_the_strength_to_begin_with_is_solved_for() -> None:
    # OpenStax, Chemistry 2e, Example 3.19, turned round: 0.850 L made to 1.80 L of 2.36 mol/L was 5.00 mol/L
    held = dilute(Dilution(None, "2.36 M", "1.80 L", "0.850 L")).document["from"]
    assert held["value"] == pytest.approx(5.00, abs=5e-3)


def test_two_stocks_as_in_the_textbook() -> None:
    # From memory: Ansel's Pharmaceutical Calculations, alligation: 95 % and 50 % to 70 % are 20 parts to 25
    made = blend(Blend(("95 % v/v", "50 % v/v"), target="70 % v/v", volume="450 mL")).document["portions"]
    assert [one["volume"]["value"] for one in made] == pytest.approx([200, 250])


def test_a_serial_dilution_of_a_pharmacopoeia() -> None:
    # Ph. Eur. 5.0, 4.1.2: 0.330 g of As2O3 in 250.0 mL, of which 100 times diluted is the 10 ppm standard
    stock = 0.330 / 250 * 1e6 * 2 * 74.922 / 197.84
    (made,) = serial(f"{stock:.4f} mg/L", "100", 1, "100 mL").document["steps"]
    assert made["strength"]["value"] * 1000 == pytest.approx(10, rel=2e-3)
    assert made["take"]["value"] == 1


def test_a_calibration_line_of_a_textbook() -> None:
    """From memory: Harvey 2.1, Example 5.4.1: slope 120.71, intercept 0.21; a reading of 29.33 is 0.241."""
    asked = Standards(
        "1 g/L",
        ("0 g/L", "0.1 g/L", "0.2 g/L", "0.3 g/L", "0.4 g/L", "0.5 g/L"),
        "100 mL",
        "0 12.36 24.83 35.91 48.79 60.42",
        "29.33",
    )
    found = standards(asked).document
    assert found["line"]["slope"] == pytest.approx(120.71, abs=0.01)
    assert found["line"]["intercept"] == pytest.approx(0.21, abs=0.005)
    assert found["unknown"]["value"] == pytest.approx(0.241, abs=5e-4)


def test_the_heat_of_neutralising_of_a_textbook() -> None:
    # OpenStax, Chemistry 2e, Example 5.5: 50.0 mL each of 1.00 mol/L acid and alkali: 2.9 kJ, from 22.0 to 28.9 degC
    (said,) = neutralising_heat(["HCl 1.00 mol/L"], 50, ["NaOH 1.00 mol/L"], 50)
    kj, degrees = (float(word) for word in said.replace("degC", "").split() if word[0].isdigit())
    assert kj == pytest.approx(2.9, abs=0.15)
    assert degrees == pytest.approx(28.9 - 22.0, abs=0.4)


def test_peroxide_of_six_per_cent_is_of_twenty_volumes() -> None:
    # From memory: British Pharmacopoeia, Hydrogen Peroxide Solution (6 per cent): about 20 times its volume of oxygen
    found: dict[str, Any] = gas(["25 mL of hydrogen peroxide 6 % w/v"], "0", "101.325 kPa", False).document
    assert found["volume"]["value"] / 25 == pytest.approx(20, rel=0.02)


def test_each_metal_that_edta_takes_has_an_indicator_and_a_source() -> None:
    from prep.resources import seed_data

    with (Path(seed_data()) / "tables" / "metals_with_edta.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            assert row["indicator"], row
            assert row["source"], row
