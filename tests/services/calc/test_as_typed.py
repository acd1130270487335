"""Strengths and portions in the words of a prep room, each with what it is by hand."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry import quantities
from prep.chemistry.model import StrengthKind
from prep.errors import PrepError
from prep.services.calc.arithmetic import Dilution, convert, dilute
from prep.services.calc.equilibrium import BufferQuestion, EndpointQuestion, buffer, endpoint, ph
from prep.services.calc.gases import gas
from prep.services.calc.mixed_portions import Blend, blend
from prep.services.calc.named_substance import strength_named
from prep.services.calc.series import Standards, serial, standards


@pytest.mark.parametrize(
    ("typed", "value", "kind"),
    [
        ("0.1M", "0.1", StrengthKind.MOL_PER_L),
        ("M/10", "0.1", StrengthKind.MOL_PER_L),
        ("0.5 mol dm-3", "0.5", StrengthKind.MOL_PER_L),
        ("1 x 10^-3 M", "0.001", StrengthKind.MOL_PER_L),
        ("1.0 x 10-3 M", "0.001", StrengthKind.MOL_PER_L),
        ("10^-3 mol/L", "0.001", StrengthKind.MOL_PER_L),
        ("0.1 MOL/L", "0.1", StrengthKind.MOL_PER_L),
        ("5 g per litre", "5", StrengthKind.G_PER_L),
        ("5 g per 100 mL", "5", StrengthKind.PCT_W_V),
        ("5 mg dm-3", "0.005", StrengthKind.G_PER_L),
        ("5 per cent w/v", "5", StrengthKind.PCT_W_V),
        ("5 percent w/v", "5", StrengthKind.PCT_W_V),
        ("2 N", "2", StrengthKind.EQ_PER_L),
        ("2 molal", "2", StrengthKind.MOL_PER_KG),
        ("20 vols", "20", StrengthKind.VOLUMES),
        ("1 + 9", "0.1", StrengthKind.TIMES),  # one part and nine parts are ten
        ("1:10", "0.1", StrengthKind.TIMES),
        ("10x", "10", StrengthKind.TIMES),
        ("saturated solution", "0", StrengthKind.SATURATED),
    ],
)
def test_a_strength_as_written(typed: str, value: str, kind: StrengthKind) -> None:
    found = quantities.strength(typed)
    assert (found.value, found.kind) == (Decimal(value), kind)


@pytest.mark.parametrize(
    ("typed", "value", "of"),
    [
        ("2 M", 2, ""),
        ("2 M HCl", 2, "HCl"),
        ("conc HCl", 36, "hydrochloric-acid"),
        ("0.880 ammonia", 35, "ammonia-880"),
        ("glacial acetic acid", Decimal("99.7"), "acetic-acid"),
        ("100 vol peroxide", 100, "peroxide"),
        ("formalin", 37, "formaldehyde"),
        ("10x TBE", 10, ""),
    ],
)
def test_a_strength_may_be_said_by_what_it_is_of(typed: str, value: Decimal, of: str) -> None:
    named = strength_named(typed)
    assert (named.strength.value, named.what) == (value, of)


def test_a_dilution_of_a_concentrate_by_its_name() -> None:
    # 36 % at 1.1791 g/mL is 11.642 mol/L (CRC Handbook, 102nd ed.): 0.1 mol / 11.642 mol/L = 8.59 mL
    made = dilute(Dilution("conc HCl", "0.1 M", "1 L"))
    assert made.document["take"]["value"] == pytest.approx(8.590, abs=0.003)
    assert any("never water to the acid" in one for one in made.says)
    with pytest.raises(PrepError, match="gubbins"):
        dilute(Dilution("gubbins", "0.1 M", "1 L"))


def test_portions_may_be_said_by_what_they_are_of() -> None:
    named = blend(Blend(("100 mL of 2 M HCl", "100 mL of conc HCl")))
    plain = blend(Blend(("100 mL of 2 mol/L", "100 mL of 36 % w/w"), of="hydrochloric acid"))
    assert named.document == plain.document | {"taken_as": [named.says[0]]}
    assert named.says[0].startswith('"conc HCl" is taken as Hydrochloric acid, 36 % (36 % w/w), as it is usually sold')


def test_a_ph_may_be_asked_of_a_concentrate() -> None:
    glacial = ph(["glacial acetic acid"], "25", False).document
    assert glacial["taken_as"]
    assert glacial == ph(["acetic acid 99.7 % w/w"], "25", False).document | {"taken_as": glacial["taken_as"]}
    for bare in ("HCl", "acetic acid", "ammonia"):  # of any strength: asked about, never guessed
        with pytest.raises(PrepError, match="and then its strength"):
            ph([bare], "25", False)
    with pytest.raises(PrepError, match="does not say which per cent"):
        ph(["5% glucose"], "25", False)


@pytest.mark.parametrize(
    ("said", "same"),
    [
        ("acetate", "acetic acid/sodium acetate"),
        ("phosphate buffer", "KH2PO4/Na2HPO4"),
        ("McIlvaine", "citric acid/disodium hydrogen phosphate"),
        ("tris", "tris/HCl"),
    ],
)
def test_a_buffer_goes_by_its_family(said: str, same: str) -> None:
    question = BufferQuestion(said, "6.5" if "phos" in said else "5" if said != "tris" else "8", "0.1 M", "1 L")
    assert buffer(question).says == buffer(replace(question, pair=same)).says


def test_what_says_its_own_strength_needs_no_other() -> None:
    # 5 % w/v: 50 / 60.052 = 0.8326 mol/L; pKa 4.756 (CRC Handbook): about half of pKa - log c
    assert ph(["vinegar"], "25", False).document["ph"] == pytest.approx((4.756 + 0.0796) / 2, abs=0.03)
    assert serial("0.1 M HCl", "10", 2, "10 mL").document["steps"][1]["strength"]["value"] == 0.001
    made = standards(Standards("0.1 M copper sulfate", ("0 M", "0.02 M", "0.04 M"), "10 mL")).document["standards"]
    assert [one["take"]["value"] for one in made] == [0, 2, 4]


@pytest.mark.parametrize(
    ("portions", "whole"),
    [
        # by hand: moles over the whole volume
        (["10 mL of 0.1 M HCl", "20 mL of water"], ["HCl 0.0333333333333 mol/L"]),
        (["10 mL 0.1 M HCl", "20 cm3 of 0.1 M NaOH"], ["HCl 0.0333333333333 M", "NaOH 0.0666666666667 M"]),
        (
            ["0.025 L of 0.1 M acetic acid", "10 mL of 0.1 M NaOH"],
            ["acetic acid 0.0714285714 M", "NaOH 0.0285714286 M"],
        ),
    ],
)
def test_portions_by_volume_have_the_ph_of_what_they_make_together(portions: list[str], whole: list[str]) -> None:
    made = ph(portions, "25", False)
    assert abs(made.document["ph"] - ph(whole, "25", False).document["ph"]) < 1e-6
    assert any("volumes are taken to add up" in line.text for line in made.working)
    assert made.document["volume"]["unit"] == "mL"


def test_a_dish_of_portions_is_the_dish_of_their_mixture() -> None:
    # 1.0 mmol of acid takes 10 mL of 0.1 mol/L, with how much water it ever stands; pH -log10(0.04) and gamma
    with_water = EndpointQuestion("25 mL", ["0.1 M NaOH"], of=["10 mL of 0.1 M HCl"], target="7")
    both_said = EndpointQuestion("10 mL of 0.1 M HCl", ["0.1 M NaOH"], of=["15 mL of water"], target="7")
    for asked in (with_water, both_said):
        found = endpoint(asked).document
        assert abs(found["volume"]["value"] - 10) < 0.001
        assert abs(found["start_ph"] - ph(["HCl 0.04 M"], "25", False).document["ph"]) < 0.001
    short = endpoint(replace(with_water, add=["5 mL of 0.1 M NaOH"]))
    assert "That is more than the 5 mL that there is of it." in short.says


def test_portions_warm_each_other_and_are_refused_where_they_do_not_fit() -> None:
    # 25 mL of 1 mol/L each: 0.025 mol x 55.8 kJ/mol = 1.395 kJ in 50 mL, / (50 x 4.18 J/K) = 6.7 degC
    assert any(
        "1.4 kJ, enough to warm it by 6.7" in one for one in ph(["25 mL 1 M HCl", "25 mL 1 M NaOH"], "25", False).says
    )
    with pytest.raises(PrepError, match="each portion or of none"):
        ph(["10 mL of 0.1 M HCl", "0.1 M NaOH"], "25", False)
    with pytest.raises(PrepError, match="10 mL together, more than the 5 mL"):
        endpoint(EndpointQuestion("5 mL", ["0.1 M NaOH"], of=["10 mL of 0.1 M HCl"], target="7"))
    with pytest.raises(PrepError, match="two substances"):
        blend(Blend(("10 mL of 0.1 M HCl", "20 mL of 0.2 M NaOH")))
    assert blend(Blend(("10 mL of 0.1 M HCl", "20 mL of 0.1 M hydrochloric acid"))).document["volume"]["value"] == 30


def test_a_minus_before_a_named_strength_is_said() -> None:
    with pytest.raises(PrepError, match="negative strength"):
        strength_named("HCl -5 % w/w")
    assert strength_named("copper sulfate - 0.5 mol/L").strength.value == Decimal("0.5")


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("HCl 105 % w/w", "no % w/w is above 100"),
        ("110 % w/w ethanol", "no % w/w is above 100"),
        # 1830.5 g/L is the density of the pure acid at 20 degC (CRC Handbook, 102nd ed.): 18.66 mol/L
        ("sulfuric acid 20 mol/L", "that holds 1830.5 g in a litre"),
        ("ethanol 17.5 M", "that holds 789.24 g in a litre"),
    ],
)
def test_what_nothing_is_as_strong_as_is_said_so(typed: str, why: str) -> None:
    with pytest.raises(PrepError, match=re.escape(why)):
        dilute(Dilution(typed, "1 mol/L", "1 L"))


def test_a_strength_below_that_of_the_pure_liquid_is_diluted() -> None:
    for typed in ("sulfuric acid 18.6 mol/L", "ethanol 17 M", "acetic acid 17.4 mol/L"):
        assert dilute(Dilution(typed, "1 mol/L", "1 L")).document["take"]["value"] < 60


def test_a_wrong_letter_in_a_component_is_said() -> None:
    assert (
        ph(["sulfric acid 0.1 M"], "25", False).says[0]
        == '"sulfric acid" is read as "sulfuric acid": Sulfuric acid, 98 %.'
    )


def test_a_series_of_a_strength_by_mass_is_taken_by_volume() -> None:
    """10 mL of 36 % w/w HCl hold 10 x 1.1791 x 0.36 = 4.2448 g; 100 mL of it weigh 101.88 g: CRC Handbook, 102nd ed.,
    Concentrative Properties of Aqueous Solutions, at 4.17 % 1.0188 g/mL. It is no tenth of 36 %.
    """
    made = serial("conc HCl", "10", 2, "100 mL")
    tubes = [one["strength"]["value"] for one in made.document["steps"]]
    assert tubes[0] == pytest.approx(4.2448 / 101.88 * 100, rel=2e-4)
    assert made.document["steps"][0]["strength"]["unit"] == "% w/w"
    assert made.says[0].startswith('"conc HCl" is taken as Hydrochloric acid, 36 % (36 % w/w)')
    assert any("acid to the water" in one for one in made.says)
    salt = serial("5 mol/kg NaCl", "2", 1, "50 mL").document["steps"][0]["strength"]
    # 5 x 58.443 g in 1292.2 g at 1.1690 g/mL: 264.35 g/L; half of it at 1.0869 g/mL is 12.161 % w/w (CRC, the same)
    assert salt["value"] == pytest.approx(1000 * 12.161 / (100 - 12.161) / 58.443, rel=5e-4)
    brine = serial("saturated salt", "10", 1, "10 mL").document["steps"][0]["strength"]
    assert brine["unit"] == "g/L"
    assert 31 < brine["value"] < 32.5  # from memory: saturated brine holds about 317 g in a litre at 20 C
    assert serial("1000 ppm", "10", 1, "10 mL").document["steps"][0]["strength"]["value"] == 100
    with pytest.raises(PrepError, match="name what it is of"):
        serial("36 % w/w", "10", 1, "100 mL")
    with pytest.raises(PrepError, match="no solution of Sodium in water"):
        serial("1 M sodium", "10", 1, "100 mL")


def test_standards_are_compared_in_one_kind_of_strength() -> None:
    """NaCl: CRC Handbook, 102nd ed., 10 % w/w 1.0707 and 1 % w/w 1.0053 g/mL; M(CuSO4.5H2O) 249.68 g/mol."""

    def takes(source: str, *wanted: str) -> list[float]:
        made = standards(Standards(source, wanted, "100 mL"))
        return [one["take"]["value"] for one in made.document["standards"]]

    assert takes("10 % w/w NaCl", "1 % w/w") == pytest.approx([100 * 10.053 / 107.07], rel=1e-4)
    assert takes("0.1 M copper sulphate", "0", "1 g/L") == pytest.approx([0, 100 / 24.968], rel=1e-4)
    assert takes("1000 ppm copper", "blank", "10 mg/L") == pytest.approx([0, 1.0018], rel=1e-3)
    assert takes("1 g/L", "10 ppm", "20 ppm") == pytest.approx([0.99823, 1.99646], rel=1e-3)
    assert takes("0.1 M copper sulphate", "10 mM") == [10]
    with pytest.raises(PrepError, match="every standard in one kind"):
        takes("1 g/L", "0.1 g/L", "0.001 M")


def test_decimal_commas_are_read_in_every_calculation() -> None:
    with_point = Dilution("2.5 M HCl", "0.125 M", "0.5 L")
    assert dilute(Dilution("2,5 M HCl", "0,125 M", "0,5 L")).document == dilute(with_point).document
    assert ph(["2,5 mL of 0,1 M HCl", "7,5 mL water"], "25", False).document == (
        ph(["2.5 mL of 0.1 M HCl", "7.5 mL water"], "25", False).document
    )
    assert mixed_volume("zinc 0,5 g") == mixed_volume("zinc 0.5 g")
    read = Standards("1 g/L", ("0 g/L", "0,1 g/L", "0,2 g/L"), "100 mL", "0 0,22 0,45", "0,31")
    found = standards(read).document["unknown"]["value"]
    assert found == pytest.approx((0.31 + 0.0016667) / 2.25, rel=1e-4)  # slope 0.45/0.2, mean 0.67/3 at 0.1
    with pytest.raises(PrepError, match=r"no list of numbers|not one reading"):
        standards(replace(read, unknown="0.31 0.32"))


def mixed_volume(metal: str) -> float:
    volume: float = gas([metal, "25 mL of 1 M H2SO4"], "20", "101.325 kPa", False).document["volume"]["value"]
    return volume


@pytest.mark.parametrize(
    "name", ["copper (2) sulphate", "copper(2) sulfate", "copper (2+) sulphate", "Copper 2 sulphate"]
)
def test_an_oxidation_number_in_figures_is_read(name: str) -> None:
    assert "Copper(II) sulfate pentahydrate" in convert(f"1 M {name}", None, "g/L", None, None).says[0]
