"""What was asked at a prep room's desk with handbooks beside it: phrases, each with its answer worked out by hand."""

import pytest

from prep.errors import PrepError
from prep.services.calc.arithmetic import Dilution, convert, dilute
from prep.services.calc.equilibrium import BufferQuestion, buffer, ph
from prep.services.calc.gases import gas
from prep.services.calc.indicator_colours import indicator
from prep.services.calc.mixed_portions import Blend, blend
from prep.services.calc.series import serial
from prep.services.calc.titration import Titration, equivalence, titrate
from prep.services.calc.weighing import Weighing, dissolve, molar_mass_of

# A made-up solution is called by its solute and the word: common practice, no source.


@pytest.mark.parametrize(
    ("source", "to", "take_ml"),
    [
        ("1M copper sulphate solution", "0.1M", 100),
        ("N/10 iodine solution", "N/100", 100),
        ("sodium hydroxide solution 2 M", "0.5 M", 250),
        ("0.1 M NaCl (aq)", "0.02 M", 200),
        ("2 M aqueous sodium carbonate", "0.5 M", 250),
        ("conc HCL", "1 M", 1000 / 11.642),  # 36 % x 11.791 g/L / 36.461
        ("CONC HCL", "1 M", 1000 / 11.642),
        ("sat'd NaCl", "1 M", 1000 / 5.426),  # 26.4 % w/w, 1.2007 g/mL / 58.443
        ("satd. sodium chloride", "1 M", 1000 / 5.426),
    ],
)
def test_what_is_diluted_goes_by_its_solute(source: str, to: str, take_ml: float) -> None:
    made = dilute(Dilution(source, to, "1 L"))
    assert made.document["take"]["value"] == pytest.approx(take_ml, rel=2e-3)


def test_a_solution_is_named_so_in_every_sum() -> None:
    assert (
        ph(["0.1 M NaOH solution"], "25", ideal=False).document["ph"]
        == ph(["0.1 M NaOH"], "25", ideal=False).document["ph"]
    )
    assert (
        ph(["saturated limewater"], "25", ideal=False).document["ph"]
        == ph(["saturated calcium hydroxide"], "25", ideal=False).document["ph"]
    )
    asked = Titration("25 ml", "sodium hydroxide solution", "0.1 M hydrochloric acid solution", "25.0 25.0")
    assert titrate(asked).document["strength"]["value"] == pytest.approx(0.1)
    found = equivalence("25 ml of 0.1M sodium carbonate solution", "0.1 M HCl solution", None, None)
    assert found.document["volume"]["value"] == pytest.approx(50)
    made = dissolve(Weighing("0.1 M", "1 L", of="copper sulphate solution"))
    assert made.document["mass"]["value"] == pytest.approx(24.968 / 0.99, rel=1e-4)
    assert convert("1 M", "sodium chloride solution", "g/L", None, None).document["strength"]["value"] == pytest.approx(
        58.443, rel=1e-4
    )


@pytest.mark.parametrize("text", ["glycerol solution", "ethanol solution", "acetone solution"])
def test_a_solution_is_not_the_neat_liquid(text: str) -> None:
    with pytest.raises(PrepError):
        dilute(Dilution(text, "1 % v/v", "1 L"))


# Titres are written with two decimals; a continental hand writes them with a comma.


@pytest.mark.parametrize(
    ("titres", "mean"),
    [
        ("24,60 24,65", 24.625),
        ("24,60; 24,65 mL", 24.625),
        ("24.60, 24.65", 24.625),
        ("24.60,24.65 cm3", 24.625),
        ("24.6 24.65", 24.625),
        ("25, 25", 25),
    ],
)
def test_titres_with_either_comma(titres: str, mean: float) -> None:
    made = titrate(Titration("25 ml", "NaOH", "0.1M HCl", titres))
    assert made.document["titre"]["value"] == pytest.approx(mean)
    assert made.document["set_aside"] == []


@pytest.mark.parametrize("titres", ["24,60", "24,60,24,65", "24,25"])
def test_a_comma_that_may_part_or_point_is_asked_about(titres: str) -> None:
    with pytest.raises(PrepError, match="a point"):
        titrate(Titration("25 ml", "NaOH", "0.1M HCl", titres))


@pytest.mark.parametrize(
    ("typed", "to", "value"),
    [
        ("10 % wt/vol", "g/L", 100),
        ("10 wt/vol %", "g/L", 100),
        ("10 % weight/volume", "g/L", 100),
        ("10 % wt/wt", "% w/w", 10),
        ("10 % vol/vol", "% v/v", 10),
        ("5 mg per cent", "mg/L", 50),  # mg in 100 mL, as clinics write it
        ("90 mg%", "mg/L", 900),
        ("5 mg %", "g/L", 0.05),
    ],
)
def test_per_cents_spelled_out(typed: str, to: str, value: float) -> None:
    made = convert(typed, "glucose", to, None, None).document["strength"]["value"]
    assert made == pytest.approx(value, rel=1e-6)


def test_a_density_is_no_strength() -> None:
    # A litre of 36 % acid weighs 1.18 kg and holds 0.42 kg of HCl.
    with pytest.raises(PrepError, match="density"):
        convert("1.18 g/mL", "HCl", "mol/L", None, None)
    assert convert("0.3 g/mL", "glucose", "g/L", None, None).document["strength"]["value"] == pytest.approx(300)


@pytest.mark.parametrize("text", [".880 ammonia", "0.880 ammonia"])
def test_an_880_bottle_says_what_it_is_taken_for(text: str) -> None:
    assert "35 % w/w" in dilute(Dilution(text, "2 M", "1 L")).says[0]
    assert "35 % w/w" in convert(text, None, "mol/L", None, None).says[0]


@pytest.mark.parametrize("given", [("conc", "sulphuric acid"), ("0.880", "ammonia"), ("10-15 % w/v", "bleach")])
def test_a_grade_beside_its_name_says_what_it_is_taken_for(given: tuple[str, str]) -> None:
    assert "is taken as" in convert(*given, "mol/L", None, None).says[0]


def test_portions_without_of() -> None:
    made = blend(Blend(("100 ml 2M HCl", "300 ml 0.5M HCl"))).document
    assert made == blend(Blend(("100 mL of 2 M HCl", "300 mL of 0.5 M HCl"))).document
    found = equivalence("25 ml 0.1M HCl", "0.1M NaOH", None, None)
    assert found.document["volume"]["value"] == pytest.approx(25)


@pytest.mark.parametrize(
    ("sample", "titrant", "indicator", "ml"),
    [
        ("0.5105 g of KHP", "0.1 M NaOH", "phenolphthalein", 25.0),  # 0.5105 / 204.22 / 0.1
        ("0.5105 g KHP", "0.1 M NaOH", None, 25.0),
        ("0.1761 g of vitamin C", "0.05 M iodine", None, 20.0),  # 0.1761 / 176.12 / 0.05
        ("265 mg of anhydrous sodium carbonate", "0.1 M HCl", None, 50.0),  # 2 x 0.265 / 105.99 / 0.1
    ],
)
def test_the_equivalence_of_what_is_weighed(sample: str, titrant: str, indicator: str | None, ml: float) -> None:
    made = equivalence(sample, titrant, None, None)
    assert made.document["volume"]["value"] == pytest.approx(ml, rel=1e-3)
    if indicator:
        with pytest.raises(PrepError, match="mL"):  # how far an indicator is off turns on the volume
            equivalence(sample, titrant, None, indicator)


@pytest.mark.parametrize("factor", ["1 in 10", "tenfold", "1:10", "10x", "10", "10-fold"])
def test_a_series_by_its_factor_as_said(factor: str) -> None:
    made = serial("1 M", factor, 2, "10 mL").document
    assert made["steps"][1]["strength"]["value"] == pytest.approx(0.01)


def test_a_series_from_neat() -> None:
    made = serial("neat", "10", 2, "10 mL")
    assert made.document["steps"][1]["strength"] == {"value": pytest.approx(0.01), "unit": "x"}


def test_oxygen_from_peroxide_and_its_catalyst() -> None:
    # 5 mL of 20 vol give 100 mL at 0 degC: x 293.15/273.15 = 107 mL; the dioxide only hastens it.
    made = gas(["5 ml of 20 vol hydrogen peroxide", "manganese dioxide 0.5 g"], "20", "101.325 kPa", over_water=False)
    assert made.document["volume"]["value"] == pytest.approx(107.3, rel=5e-3)
    assert made.document["limiting"] == "H2O2"
    assert any("catalyst" in said for said in made.says)
    assert any("froth" in said or "heat" in said for said in made.says)


def test_methyl_orange_serves_the_carbonate_titration() -> None:
    # Vogel's Quantitative Chemical Analysis, from memory: sodium carbonate against acid with methyl orange.
    made = equivalence("25 mL of 0.05 M sodium carbonate", "0.1 M HCl", None, "methyl orange")
    assert "within its change" in " ".join(made.says)
    made = equivalence("25 mL of 0.1 M ammonia", "0.1 M HCl", None, "phenolphthalein")
    assert "does not fit" in " ".join(made.says)


def test_what_is_no_primary_standard_is_only_about_as_strong() -> None:
    # reference: published preparations of hydroxide, permanganate and thiosulfate are found against a standard.
    for of, against in (
        ("sodium hydroxide", "potassium hydrogenphthalate"),
        ("potassium permanganate", "sodium oxalate"),
        ("sodium thiosulphate", "potassium iodate"),
    ):
        said = " ".join(dissolve(Weighing("0.1 M", "1 L", of=of)).says)
        assert "It is about 0.1 mol/L, for" in said
        assert f"find it against dried {against}" in said
    for of in ("KHP", "sodium chloride", "anhydrous sodium carbonate"):
        assert "It is about" not in " ".join(dissolve(Weighing("0.1 M", "1 L", of=of)).says)
    # 10 g/L of it is not a strength that anybody titrates to: said all the same, it takes up water.
    assert "about 10 g/L" in " ".join(dissolve(Weighing("10 g/L", "1 L", of="NaOH")).says)


def test_a_mass_is_printed_as_a_balance_shows_it_and_kept_in_full() -> None:
    made = dissolve(Weighing("0.5 mol/L", "250 mL", of="blue vitriol"))
    assert "Weigh 31.53 g of" in " ".join(made.says)
    assert made.document["mass"]["value"] == pytest.approx(31.526, abs=5e-4)


@pytest.mark.parametrize("of", ["ethanol", "acetone", "propan-2-ol"])
def test_an_open_flammable_liquid_has_its_caution(of: str) -> None:
    assert "No flames" in " ".join(dissolve(Weighing("50 % v/v", "1 L", of=of)).says)


@pytest.mark.parametrize("of", ["anhydrous copper sulphate", "anhydrous magnesium sulphate"])
def test_a_dried_salt_warms_the_water(of: str) -> None:
    # 66 to 73 and 91 kJ/mol: one mole in a litre warms it by 16 degC and more (CRC enthalpies of solution).
    assert "warm it by" in " ".join(dissolve(Weighing("1 M", "1 L", of=of)).says)
    assert "warm it by" not in " ".join(dissolve(Weighing("0.01 M", "1 L", of=of)).says)


def test_a_buffer_of_a_concentrate_is_measured_with_its_cautions() -> None:
    made = buffer(BufferQuestion("Tris/HCl", "8", "0.05 M", "1 L"))
    said = " ".join(made.says)
    assert "Measure 2.497 mL of Hydrochloric acid, 36 % (HCl) (2.945 g)" in said
    assert "fume cupboard" in said
    assert "Add the acid to the water" in said
    assert "fume cupboard" not in " ".join(buffer(BufferQuestion("phosphate", "7", "0.05 M", "1 L")).says)


@pytest.mark.parametrize("text", ["UI", "univ. indicator", "universal", "Universal Indicator solution"])
def test_universal_indicator_by_its_short_names(text: str) -> None:
    assert indicator(text, ["5"]).document["name"] == "universal indicator"


@pytest.mark.parametrize(
    ("typed", "whole"),
    [
        ("acetic acid/acetate", "acetic acid/sodium acetate"),
        ("ethanoic acid / ethanoate", "acetic acid/sodium acetate"),
        ("bicarbonate/carbonate", "sodium hydrogencarbonate/sodium carbonate"),
        ("ammonia/ammonium", "ammonia/ammonium chloride"),
        ("citric acid/citrate", "citric acid/trisodium citrate"),
    ],
)
def test_a_pair_by_its_ions(typed: str, whole: str) -> None:
    ph_wanted = {"a": "4.8", "e": "4.8", "b": "10", "c": "5"}[typed[0]] if "ammon" not in typed else "9.5"
    made, full = (buffer(BufferQuestion(one, ph_wanted, "0.1 M", "1 L")).document for one in (typed, whole))
    assert made["ingredients"] == full["ingredients"]


def test_bleach_by_mass_says_what_it_is_in_available_chlorine() -> None:
    # One Cl2 (70.906) for each NaOCl (74.44): 1 % w/v of the salt is 0.9525 % of available chlorine.
    said = " ".join(dilute(Dilution("bleach", "1 % w/v", "1 L")).says)
    assert "1 % w/v counts the hypochlorite; as available chlorine it is 0.9525 % w/v" in said
    assert "available chlorine it is" not in " ".join(dilute(Dilution("bleach", "0.1 M", "1 L")).says)
    assert "available chlorine it is" not in " ".join(dilute(Dilution("NaCl 5 % w/v", "1 % w/v", "1 L")).says)


def test_a_little_is_said_in_milligrams() -> None:
    # 8.125 mL x 0.01 mol/L / 4 / 100 mL x 31.998 g/mol = 6.5 mg/L
    said = titrate(Titration("100 ml", "dissolved oxygen", "0.01M thiosulphate", "8.10 8.15")).says[0]
    assert "(6.5 mg/L)" in said


def test_a_molar_mass_says_which_hydrate_was_taken() -> None:
    assert "is taken as Copper(II) sulfate pentahydrate" in molar_mass_of("copper sulphate").says[0]
    assert "taken as" not in molar_mass_of("blue vitriol").says[0]
