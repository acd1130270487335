"""Titrations, dilution series, standards and gas volumes against published equivalents and worked examples."""

import csv
import re
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.formula.formulas import composition
from prep.chemistry.measurement import volumetry
from prep.chemistry.model import Instrument, InstrumentKind
from prep.errors import PrepError
from prep.resources import seed_table
from prep.services.calc import own_room
from prep.services.calc.arithmetic import Dilution, convert, dilute
from prep.services.calc.gases import gas
from prep.services.calc.neutralising_heat import neutralising_heat
from prep.services.calc.series import Standards, readings_of, serial, standards, write_sheet
from prep.services.calc.titration import Titration, equivalence, titrate


# Milligrams equivalent to 1 mL: from memory: British Pharmacopoeia, assays (each monograph's factor).
@pytest.mark.parametrize(
    ("of", "titrant", "mg"),
    [
        ("Na2CO3", "HCl 0.1 mol/L", 5.30),
        ("NaOH", "HCl 0.1 mol/L", 4.00),
        ("citric acid anhydrous", "NaOH 0.1 mol/L", 6.404),
        ("oxalic acid dihydrate", "KMnO4 0.02 mol/L", 6.303),
        ("H2O2", "potassium permanganate 0.02 mol/L", 1.701),
        ("FeSO4.7H2O", "K2Cr2O7 0.016667 mol/L", 27.80),
        ("iodine", "sodium thiosulphate 0.1 M", 12.69),
        ("KIO3", "thiosulfate 0.1 M", 3.567),
        ("CuSO4.5H2O", "Na2S2O3 0.1 mol/L", 24.97),
        ("C6H8O6", "I2 0.05 mol/L", 8.806),
        ("CaCO3", "EDTA 0.01 mol/L", 1.001),
        ("MgSO4.7H2O", "EDTA 0.05 M", 12.32),
        ("NaCl", "silver nitrate 0.1 M", 5.844),
        ("CaCO3", "HCl 1 mol/L", 50.04),
    ],
)
def test_a_millilitre_of_titrant_is_worth_what_a_pharmacopoeia_prints(of: str, titrant: str, mg: float) -> None:
    titrant = titrant.replace("thiosulfate 0.1", "sodium thiosulfate 0.1") if titrant[0] == "t" else titrant
    found = titrate(Titration("10 g", of, titrant, "10.00, 10.00 mL")).document
    assert found["mass"]["value"] * 100 == pytest.approx(mg, rel=2e-3)


def test_a_rough_titre_is_set_aside_and_said() -> None:
    answer = titrate(Titration("25 mL", "NaOH", "HCl 0.1 mol/L", "25.6, 24.65, 24.70 mL"))
    # 24.675 mL x 0.1 / 25
    assert answer.document["strength"]["value"] == pytest.approx(0.0987)
    assert answer.document["set_aside"] == [25.6]
    assert "Set aside as not concordant (within 0.1 mL): 25.6 mL." in answer.says
    with pytest.raises(PrepError, match="No two of the titres"):
        titrate(Titration("25 mL", "NaOH", "HCl 0.1 mol/L", "25.6, 24.1 mL"))


def test_a_blank_and_a_back_titration() -> None:
    blank = titrate(Titration("25 mL", "NaOH", "HCl 0.1 mol/L", "24.65, 24.70 mL", blank="0.175 mL"))
    assert blank.document["strength"]["value"] == pytest.approx(0.098)
    # 50 mL x 0.7 - 20 mL x 0.5 = 25 mmol of acid used, 12.5 mmol of carbonate, 1.2511 g
    back = titrate(Titration("1.5 g", "marble chips", "NaOH 0.5 M", "20.0, 20.0 mL", excess="50 mL of HCl 0.7 M"))
    assert back.document["mass"]["value"] == pytest.approx(1.2511, abs=1e-3)
    assert back.document["share_pct"] == pytest.approx(83.4, abs=0.1)


def test_a_blank_of_a_back_titration_takes_all_of_the_excess() -> None:
    """Aspirin, boiled with alkali, takes two: 1 mL of 0.5 mol/L is 45.04 mg (from memory: British Pharmacopoeia)."""
    blank = Titration("1.0 g", "aspirin", "HCl 0.5 M", "10.0, 10.0 mL", blank="30.0 mL", excess="30 mL of NaOH 0.5 M")
    found = titrate(blank)
    assert found.document["mass"]["value"] == pytest.approx(20 * 0.04504, rel=1e-3)
    assert found.document["indicator"] == "phenolphthalein"
    without = titrate(replace(blank, blank=None))
    assert without.document["mass"]["value"] == pytest.approx(20 * 0.04504, rel=1e-3)
    # cold, in ethanol, it takes one
    assert equivalence("10 mL of aspirin 0.01 M", "NaOH 0.01 M", None, None).document["volume"]["value"] == 10


def test_a_bases_indicator_fits_it() -> None:
    """Methyl red for a weak base: from memory: D. C. Harris, Quantitative Chemical Analysis, choosing an indicator."""
    weak = equivalence("25 mL of NH3 0.1 M", "HCl 0.1 M", None, "methyl red")
    assert weak.document["indicator"] == "methyl red"
    assert weak.says[1].endswith("it fits.")
    assert equivalence("10 mL of vinegar", "NaOH 0.5 M", None, None).document["volume"]["value"] == pytest.approx(
        10 * 50 / 60.052 / 0.5, rel=1e-3
    )


def test_available_chlorine_and_hardness() -> None:
    """1 mL of 0.1 M thiosulfate is 3.545 mg of available chlorine: from memory: British Pharmacopoeia."""
    bleach = titrate(Titration("25 mL", "bleach", "sodium thiosulfate 0.1 M", "24.00, 24.00 mL")).document
    assert bleach["available_chlorine"]["value"] == pytest.approx(24 * 3.545 / 25, rel=1e-3)
    water = titrate(Titration("50 mL", "CaCO3", "EDTA 0.01 mol/L", "12.30, 12.30 mL")).document
    assert water["hardness"]["value"] == pytest.approx(12.3 * 1.0009 / 50 * 1000, rel=1e-3)


def test_equivalence_and_the_indicator() -> None:
    """OpenStax Chemistry 2e, 14.7: 25.00 mL of 0.100 M acid take 25.00 mL; phenolphthalein suits acetic acid."""
    strong = equivalence("25 mL of acetic acid 0.1 M", "NaOH 0.1 M", None, "phenolphthalein")
    assert strong.document["volume"]["value"] == pytest.approx(25)
    assert "it fits" in strong.says[1]
    assert "does not fit" in equivalence("25 mL of acetic acid 0.1 M", "NaOH 0.1 M", None, "methyl orange").says[1]
    assert equivalence("10 mL of H2SO4 1 M", "NaOH 1 M", None, None).document["volume"]["value"] == pytest.approx(20)
    with pytest.raises(PrepError, match="is not on file; give it with --ratio"):
        equivalence("10 mL of NaCl 1 M", "NaOH 1 M", None, None)


def test_a_series_and_standards(tmp_path: Path) -> None:
    made = serial("1 mol/L", "10", 3, "10 mL").document["steps"]
    assert [one["strength"]["value"] for one in made] == [0.1, 0.01, 0.001]
    assert {one["take"]["value"] for one in made} == {1.0}
    asked = Standards("1 g/L", ("0 g/L", "0.05 g/L", "0.1 g/L", "0.2 g/L"), "100 mL", "0 0.11 0.22 0.44", "0.33")
    answer = standards(asked)
    # One 5 mL pipette, filled once, twice and four times.
    assert [one["take"]["value"] for one in answer.document["standards"]] == [0, 5, 10, 20]
    assert {one["with"] for one in answer.document["standards"][1:]} == {f"{n} x 5 mL pipette" for n in (1, 2, 4)}
    assert answer.document["line"]["slope"] == pytest.approx(2.2)
    assert answer.document["unknown"]["value"] == pytest.approx(0.15)
    write_sheet(tmp_path / "sheet.csv", answer, asked.readings)
    with (tmp_path / "sheet.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert (rows[1]["strength"], rows[1]["take_ml"], rows[1]["absorbance"]) == ("0.05", "5.0", "0.11")


def test_the_volume_of_a_gas_follows_from_what_reacts() -> None:
    """24.0 L/mol at 20 degC and 101 kPa; 20 volumes give 20 times the volume at 0 degC: from memory: textbooks."""
    hydrogen = gas(["magnesium 0.243 g", "50 mL of HCl 1 mol/L"], "20", "101.325 kPa", False).document
    assert hydrogen["volume"]["value"] == pytest.approx(240.5, abs=1)
    assert hydrogen["limiting"] == "Mg"
    oxygen = gas(["25 mL of hydrogen peroxide 20 vol"], "0", "101.325 kPa", False).document
    assert oxygen["volume"]["value"] == pytest.approx(500, abs=1)
    # CRC Handbook, vapour pressure of water at 20 degC: 2.339 kPa
    assert float(volumetry.water_vapour_kpa(Decimal(20))) == pytest.approx(2.339, abs=0.002)
    wet = gas(["magnesium 0.243 g", "50 mL of HCl 1 mol/L"], "20", "1013.25 hPa", True).document
    assert wet["volume"]["value"] / hydrogen["volume"]["value"] == pytest.approx(101.325 / (101.325 - 2.339), rel=1e-4)
    # 0.05 g / 6.94 g/mol / 2 x 24055 mL; 0.1 g / 26.98 x 1.5 x 24055; 5 g / 84.007 x 24055
    assert gas(["lithium 0.05 g", "100 mL of water"], "20", "101.325 kPa", False).document["volume"][
        "value"
    ] == pytest.approx(86.7, abs=0.2)
    assert gas(["0.1 g aluminium", "20 mL of 2 M NaOH"], "20", "101.325 kPa", False).document["volume"][
        "value"
    ] == pytest.approx(133.7, abs=0.2)
    assert gas(["5 g bicarb", "100 mL vinegar"], "20", "101.325 kPa", False).document["volume"][
        "value"
    ] == pytest.approx(1432, abs=2)
    assert gas(["marble chips 2 g", "20 mL of 1M HCl"], "20", "101 kPa", False).document["limiting"] == "HCl"


@given(st.lists(st.decimals("20", "30", places=2), min_size=1, max_size=6))
def test_concordant_titres_agree_and_none_is_lost(titres: list[Decimal]) -> None:
    try:
        found = volumetry.concordant(titres)
    except PrepError:
        ordered = sorted(titres)
        assert min(b - a for a, b in pairwise(ordered)) > volumetry.CONCORDANT_ML
        return
    assert max(found.used) - min(found.used) <= volumetry.CONCORDANT_ML
    assert sorted((*found.used, *found.aside)) == sorted(titres)


def test_the_heat_of_neutralising_is_said_where_it_is_felt() -> None:
    # 25 mL of 1 mol/L each: 0.025 mol x 55.8 kJ/mol = 1.395 kJ in 50 mL, / (50 x 4.18 J/K) = 6.7 degC
    (said,) = neutralising_heat(["HCl 1 mol/L"], 25, ["NaOH 1 mol/L"], 25)
    assert said == "Neutralising gives off about 1.4 kJ, enough to warm it by 6.7 degC."
    # a diprotic acid gives two: 0.05 mol of OH- are the fewer, 2.79 kJ in 75 mL
    (two,) = neutralising_heat(["sulfuric acid 2 mol/L"], 25, ["NaOH 1 mol/L"], 50)
    assert "2.8 kJ, enough to warm it by 8.9 degC" in two
    (hot,) = neutralising_heat(["HCl 5 mol/L"], 20, ["NaOH 5 mol/L"], 20)
    assert hot.endswith("33 degC. Add it in portions, and let it cool between them.")
    assert neutralising_heat(["HCl 0.1 mol/L"], 25, ["NaOH 0.1 mol/L"], 25) == ()
    assert neutralising_heat(["HCl 1 mol/L"], 25, ["sodium carbonate 1 mol/L"], 25) == ()
    assert neutralising_heat(["HCl 1 mol/L"], 25, ["HCl 1 mol/L"], 25) == ()
    assert said in equivalence("25 mL of HCl 1 M", "NaOH 1 M", None, None).says


def test_what_is_typed_in_multiples_is_answered_in_them() -> None:
    assert serial("5 mmol/L", "10", 2, "10 mL").says[1].endswith("0.05 mmol/L.")
    made = standards(Standards("100 mg/L", ("5 mg/L", "0.01 g/L"), "100 mL"))
    assert [one.rpartition(": ")[2] for one in made.says] == ["5 mg/L", "10 mg/L"]
    assert made.document["standards"][0]["strength"] == {"value": 0.005, "unit": "g/L"}
    assert dilute(Dilution("50 mmol/L", None, "1 L", "10 mL")).says[0].startswith("The strength made is 0.5 mmol/L")
    assert convert("5 mmol/L", "NaCl", "mg/L", None, None).says[0] == "5 mmol/L = 292.21 mg/L"  # 58.443 g/mol


def test_a_figure_is_turned_into_another_and_what_cannot_be_made_is_said() -> None:
    found = convert("50 g/L", "calcium hydroxide", "mol/L", None, None)
    assert found.document["strength"]["value"] == pytest.approx(50 / 74.093, rel=1e-4)
    assert found.says[1].startswith("It cannot be made: 50 g/L of Calcium hydroxide is more than dissolves")
    assert "0.165 g" in found.document["warning"]


def test_a_calibration_is_drawn(tmp_path: Path) -> None:
    from prep.reports.curves import calibration_picture

    made = standards(Standards("1 g/L", ("0 g/L", "0.1 g/L", "0.2 g/L"), "100 mL", "0 0.22 0.45"))
    drawn = calibration_picture(tmp_path / "line.svg", made.document, readings_of("0 0.22 0.45")).decode()
    assert "absorbance" in drawn or "<svg" in drawn
    with pytest.raises(PrepError, match="--read"):
        readings_of(None)


def test_the_pipettes_are_those_of_the_own_room(monkeypatch: pytest.MonkeyPatch) -> None:
    one = Instrument("p4", "4 mL pipette", InstrumentKind.PIPETTE, Decimal(4), Decimal("0.02"), Decimal(1))
    monkeypatch.setattr(own_room, "instruments", lambda: (one,))
    made = standards(Standards("1 g/L", ("0.04 g/L", "0.05 g/L"), "100 mL"))
    assert "(1 x 4 mL pipette)" in made.says[0]
    assert "(graduated pipette or burette)" in made.says[1]


@pytest.mark.parametrize(
    ("said", "titrant", "mol_per_l"),
    [
        ("chloride", "silver nitrate 0.1 M", 0.08),
        ("vinegar", "NaOH 0.1 M", 0.08),
        ("iodine", "thiosulfate 0.1 M", 0.04),
        ("sulfite", "iodine 0.05 M", 0.04),
        ("chlorine", "sodium thiosulfate 0.1 M", 0.04),
        ("Fe2+", "KMnO4 0.02 M", 0.08),
        ("hardness", "EDTA 0.01 M", 0.008),
    ],
)
def test_what_is_titrated_as_it_is_said(said: str, titrant: str, mol_per_l: float) -> None:
    """20 mL against 25 mL: by the equation of each (Vogel, from memory)."""
    found = titrate(Titration("25 mL", said, titrant, "20.00, 20.00"))
    assert found.document["strength"]["value"] == pytest.approx(mol_per_l)
    with pytest.raises(PrepError, match="neither a substance on file nor a formula"):
        titrate(Titration("25 mL", "gubbins", titrant, "20.00, 20.00"))


# National Research Council, Prudent Practices in the Laboratory (2011), incompatible chemicals: hypochlorite with acid.
def test_what_must_not_meet_is_said_of_a_titration_too() -> None:
    bleach = equivalence("25 mL of NaOCl 0.5 mol/L", "HCl 2 M", "1:1", None)
    assert any(said.startswith("NEVER TOGETHER: Bleach with any acid") for said in bleach.says)
    assert bleach.document["must_not_meet"][0]["source"]
    found = titrate(Titration("25 mL", "NaOCl", "HCl 2 M", "10.0, 10.0 mL", ratio="1:1"))
    assert found.document["must_not_meet"]
    harmless = titrate(Titration("25 mL", "NaOH", "HCl 0.1 mol/L", "24.65, 24.70 mL"))
    assert harmless.document["must_not_meet"] == []
    on_file = titrate(Titration("25 mL", "H2O2", "KMnO4 0.02 mol/L", "24.65, 24.70 mL"))
    assert any(said.startswith("BUT FOR THIS TITRATION") for said in on_file.says)


def test_word_order_and_everyday_names_are_read() -> None:
    # 0.12 g / 24.305 g/mol = 4.937 mmol of H2; 24.06 L/mol at 20 degC and 101.325 kPa (ideal gas)
    assert gas(["0.12 g Mg", "50 mL of 1M HCl"], "20", "101.325 kPa", False).document["volume"]["value"] == (
        pytest.approx(118.8, abs=0.3)
    )
    lime = titrate(Titration("25 mL", "limewater", "HCl 0.05 M", "20.1 20.15"))
    assert lime.document["strength"]["value"] == pytest.approx(0.05 * 20.125 / 2 / 25)


def test_each_equation_of_a_gas_balances() -> None:
    """With what it says of moles: of what is mixed, and of the gas."""
    for row in seed_table("gas_reactions"):
        left, right = (
            [re.fullmatch(r"(?:(\d+) )?(\S+)", part) for part in side.split(" + ")]
            for side in row["equation"].split(" = ")
        )
        said = {m[2]: int(m[1] or 1) for m in (*left, *right) if m}
        assert said[row["one"]] == int(row["one_moles"])
        assert said[row["gas"]] == int(row["gas_moles"])
        if row["other"] not in ("", "H2O"):
            assert said[row["other"]] == int(row["other_moles"])
        if {"citrate", "tartrate"} & said.keys():  # of three hydrogens, and of two
            assert int(row["one_moles"]) * (1 if "HCO3" in row["one"] else 2) == int(row["other_moles"]) * (
                3 if "citrate" in said else 2
            )
            continue
        atoms: Counter[str] = Counter()
        for sign, side in ((1, left), (-1, right)):
            for m in side:
                assert m
                for symbol, count in composition(m[2]).items():
                    atoms[symbol] += sign * int(m[1] or 1) * int(count)
        assert not any(atoms.values()), row["equation"]


def test_titrations_of_textbooks() -> None:
    # OpenStax, Chemistry 2e, Example 4.14: 50.00 mL of HCl, 35.23 mL of 0.250 mol/L NaOH: 0.176 mol/L
    acid = titrate(Titration("50.00 mL", "HCl", "NaOH 0.250 M", "35.23 mL"))
    assert acid.document["strength"]["value"] == pytest.approx(0.176, abs=5e-4)
    # The same, 4.5: 20.00 mL of oxalic acid, 23.24 mL of 0.09113 mol/L KMnO4: 0.2648 mol/L
    oxalic = titrate(Titration("20.00 mL", "oxalic acid", "KMnO4 0.09113 M", "23.24 mL"))
    assert oxalic.document["strength"]["value"] == pytest.approx(0.2648, abs=1e-4)
    # from memory: D. Harvey, Analytical Chemistry 2.1, chapter 9: 0.4891 g of ore, 36.92 mL of 0.02153 mol/L
    # dichromate: 77.86 % w/w of Fe2O3, 54.46 % of iron
    ore = titrate(Titration("0.4891 g", "Fe2+", "K2Cr2O7 0.02153 M", "36.92 mL"))
    assert ore.document["moles"]["value"] * 159.687 / 2 / 0.4891 * 100 == pytest.approx(77.86, abs=0.02)
    # The same: 25.00 mL of bleach to 1000 mL, of which 25.00 mL take 8.96 mL of 0.09892 mol/L thiosulfate
    bleach = titrate(Titration("25.00 mL", "bleach", "sodium thiosulfate 0.09892 M", "8.96 mL"))
    assert bleach.document["strength"]["value"] * 40 * 74.442 / 10 == pytest.approx(5.28, abs=0.01)
    # The same: 0.4071 g of CaCO3 in 500 mL, of which 50.00 mL take 42.63 mL of EDTA: 0.009541 mol/L, turned round
    hard = titrate(Titration("50.00 mL", "hardness", "EDTA 0.009541 M", "42.63 mL"))
    assert hard.document["hardness"]["value"] == pytest.approx(1000 * 0.4071 / 0.5, rel=2e-4)


def test_a_strength_is_solved_for_as_in_the_textbook() -> None:
    # OpenStax, Chemistry 2e, Examples 3.19 to 3.21
    made = dilute(Dilution(source="5.00 M", take="0.850 L", volume="1.80 L"))
    assert made.document["to"]["value"] == pytest.approx(2.36, abs=5e-3)
    assert dilute(Dilution("0.45 M", "0.12 M", take="11 mL")).document["volume"]["value"] == pytest.approx(41, abs=0.5)
    assert dilute(Dilution("1.59 M", "0.100 M", "5.00 L")).document["take"]["value"] == pytest.approx(314, abs=1)


def test_a_standard_of_nothing_is_the_blank() -> None:
    assert standards(Standards("1 g/L", ("0 g/L", "0.1 g/L"), "100 mL")).says[0].endswith("the blank")


def test_a_titrant_that_is_no_standard_by_itself_is_called_so() -> None:
    found = titrate(Titration("25 mL", "HCl", "NaOH 0.1 mol/L", "24.65, 24.70 mL"))
    assert found.document["doubt"] in "\n".join(found.says)
    assert "only about that, unless it was found against dried potassium hydrogenphthalate" in found.document["doubt"]
    assert titrate(Titration("25 mL", "NaOH", "HCl 0.1 mol/L", "24.65, 24.70 mL")).document["doubt"] == ""


# From memory: OpenStax, Chemistry 2e, 9.3. 8.88 g of gallium in acid at 27 degC and 723 torr: 4.94 L of hydrogen;
# 0.200 L of argon over water at 26 degC and 750 torr: the gas itself has 725 torr.
@pytest.mark.parametrize(
    ("moles", "degrees", "torr", "over_water", "volume_ml"),
    [
        (Decimal("8.88") / Decimal("69.723") * Decimal("1.5"), 27, 723, False, 4940),
        (Decimal(725) * Decimal("0.200") / (Decimal("62.364") * Decimal("299.15")), 26, 750, True, 200),
    ],
)
def test_gas_volumes_of_a_textbook(moles: Decimal, degrees: int, torr: int, over_water: bool, volume_ml: float) -> None:
    kpa = Decimal(torr) * Decimal("0.133322")
    volume, _ = volumetry.gas_ml(moles, Decimal(degrees), kpa, over_water=over_water)
    assert float(volume) == pytest.approx(volume_ml, rel=2e-3)
