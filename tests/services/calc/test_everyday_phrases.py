"""What technicians and teachers type into calculations, each with its answer worked out by hand.

Densities: CRC Handbook of Chemistry and Physics, 102nd ed. (2021), Concentrative Properties of Aqueous Solutions, but
for pure liquids: Lange's Handbook of Chemistry, from memory. Molar masses: standard atomic weights.
"""

import re
from collections.abc import Callable

import pytest

from prep.errors import PrepError
from prep.resources import seed_data
from prep.services.calc.arithmetic import Answer, Dilution, convert, dilute, minding
from prep.services.calc.equilibrium import BufferQuestion, EndpointQuestion, buffer, endpoint, ph
from prep.services.calc.gases import gas
from prep.services.calc.mixed_portions import Blend, blend, dilute_alcohol
from prep.services.calc.titration import equivalence
from prep.services.calc.weighing import Weighing, dissolve, molar_mass_of
from prep.services.catalogue.names import find_item
from prep.services.catalogue.seed import read_catalogue


@pytest.mark.parametrize(
    ("source", "to", "volume", "take_ml"),
    [
        ("conc. hydrochloric acid", "2M", "2.5 litres", 5000 / 11.64),  # 36 % x 11.791 g/L / 36.46 = 11.64 mol/L
        ("HCl conc", "0.5 mol dm-3", "500ml", 250 / 11.64),
        ("36% HCl", "1 mol dm-3", "1 dm3", 1000 / 11.64),
        ("concentrated H2SO4", "3M", "1L", 3000 / 18.35),  # 98 % x 18.36 g/mL x 10 / 98.08
        ("glacial ethanoic acid", "0.8 M", "2 L", 1600 / 17.41),  # 99.7 % x 1.0487 x 10 / 60.05
        ("880 ammonia", "2M", "250 cm3", 500 / 18.08),  # 35 % x 0.8803 x 10 / 17.031
        ("100 vols hydrogen peroxide", "20 vols", "500 ml", 100),
        ("N/10 NaOH", "N/50", "500 mL", 100),
        ("M/2 sulphuric acid", "M/20", "1 L", 100),
        ("50x TAE", "1x", "2 L", 40),
        ("1000 mg/L Cu", "5 mg/L", "100 mL", 0.5),
        ("100 µg/mL glucose", "5 µg/mL", "50 mL", 2.5),
        ("2 molar hydrochloric acid", "0.1 molar", "1 litre", 50),
        ("2 mol l-1 HCl", "0.1 mol l-1", "1 l", 50),
        ("vinegar", "0.1 M", "100 mL", 10 / 0.8326),  # 5 % w/v: 50 g/L / 60.05
        ("1 in 5", "1 in 50", "1 L", 100),
        ("propanone", "10 % v/v", "1 L", 100.5),  # 99.5 % of the pure liquid
        ("absolute ethanol", "70 % v/v", "1 L", 700.9),  # 99.8 % w/w, 99.87 % v/v
        ("96% ethanol", "70 % v/v", "500 mL", 364.6),  # 70/96 of it
        ("0.05 M iodine", "0.01 M", "100 mL", 20),  # stronger than water dissolves: in iodide
    ],
)
def test_a_dilution_as_typed(source: str, to: str, volume: str, take_ml: float) -> None:
    assert dilute(Dilution(source, to, volume)).document["take"]["value"] == pytest.approx(take_ml, rel=2e-3)


@pytest.mark.parametrize(
    ("typed", "taken"),
    [
        ("36% HCl", '"36% HCl" is taken as 36 % w/w, as bottles of it are labelled; if not so, write % w/w'),
        ("30% H2O2", '"30% H2O2" is taken as 30 % w/w'),
        ("96% ethanol", '"96% ethanol" is taken as 96 % v/v, as bottles of it are labelled; if not so'),
        ("acetone", '"acetone" is taken as Acetone (99.5 % w/w), as it is usually sold'),
        ("conc HCl", '"conc HCl" is taken as Hydrochloric acid, 36 % (36 % w/w)'),
    ],
)
def test_what_was_taken_for_a_name_is_said(typed: str, taken: str) -> None:
    kind = "% w/v" if "H" in typed else "% v/v"
    assert dilute(Dilution(typed, f"5 {kind}", "1 L")).says[0].startswith(taken)


@pytest.mark.parametrize(
    ("source", "to", "why"),
    [
        ("5% bleach", "0.5 % w/v", "does not say which per cent; write % w/w, % w/v or % v/v"),
        ("household bleach 5%", "0.5 % w/v", "does not say which per cent"),
        ("96 % v/v ethanol", "70%", "does not say which per cent"),
        ("70% ethanol", "50 % v/v", "does not say which per cent"),
        ("105 % ethanol", "70 % v/v", r"does not say which per cent; .*No % w/w and no % v/v is above 100"),
        ("120 % HCl", "1 M", "No % w/w and no % v/v is above 100"),
        ("120 % w/w HCl", "1 M", "is impossible: no % w/w is above 100"),
        ("rubbing alcohol", "50 % v/v", 'say how strong as well, as its label has it: "70 % v/v rubbing alcohol"'),
        ("muriatic acid", "1 M", 'as its label has it: "36 % w/w muriatic acid"'),
        ("battery acid", "1 M", "is Sulfuric acid, 98 %; say how strong as well"),
        ("household ammonia", "0.1 M", "is Ammonia solution, 28 %; say how strong as well"),
        ("ethanoic acid", "0.1 M", 'as its label has it: "99.7 % w/w ethanoic acid"'),
        ("hexane", "10 % v/v", "Hexane is not diluted with water: it does not mix with water"),
        ("1 mg/mL BSA", "0.1 mg/mL", '"BSA" is no substance on file; .*A strength alone will do'),
        ("1,000 M NaOH", "0.1 M", "may be 1.000 or 1000; write it without the comma"),
    ],
)
def test_a_dilution_is_refused_for_what_is_missing(source: str, to: str, why: str) -> None:
    with pytest.raises(PrepError, match=why):
        dilute(Dilution(source, to, "1 L"))


def _value(answer: Answer) -> float:
    value: float = answer.document["strength"]["value"]
    return value


@pytest.mark.parametrize(
    ("typed", "unit", "value"),
    [
        ("35% HCl", "M", 11.27),  # 350 g/kg x 1.1742 kg/L / 36.46
        ("1 N sulfuric acid", "mol/L", 0.5),
        ("2.5 molal NaCl", "mol/L", 2.38),  # 2.5 mol in 1146.1 g of 1.0913 g/mL
        ("200 mg/L CaCO3", "mmol/L", 1.998),
        ("vinegar", "M", 0.8326),
        ("0.9 % w/v sodium chloride", "mmol/L", 154.0),
        ("5 % w/v", "g/L", 50),
    ],
)
def test_a_conversion_as_typed(typed: str, unit: str, value: float) -> None:
    assert _value(convert(typed, None, unit, None, None)) == pytest.approx(value, rel=1e-3)


@pytest.mark.parametrize(
    ("parts", "gas_ml"),
    [
        # 24.06 L/mol at 20 degC and 101.3 kPa (ideal gas)
        (["2 g marble chips", "50 mL of 2M HCl"], 2 / 100.09 * 24060),
        (["5 g copper carbonate"], 5 / 221.11 * 24060),  # Cu2(OH)2CO3
        (["5 g copper carbonate", "20 mL of 1 M sulfuric acid"], 0.02 / 2 * 24060),
        (["1 g baking soda", "50 mL of vinegar"], 1 / 84.007 * 24060),
        (["10 mL of 20 vol hydrogen peroxide"], 214.7),  # 200 mL at 0 degC, warmed to 20 degC
    ],
)
def test_a_gas_as_typed(parts: list[str], gas_ml: float) -> None:
    answer = gas(parts, "20", "101.3 kPa", False)
    assert answer.document["volume"]["value"] == pytest.approx(gas_ml, rel=3e-3)


def test_a_solution_may_be_an_ingredient_of_a_buffer() -> None:
    # 0.1 mol/L of 100 mL: the vinegar has x mol, 0.8326 mol/L
    made = buffer(BufferQuestion("vinegar/sodium acetate", "4.5", "0.1 mol/L", "100 mL"))
    acid, salt = made.document["ingredients"]
    assert acid["volume"]["value"] == pytest.approx(acid["moles"]["value"] / 0.8326 * 1000, rel=1e-3)
    assert acid["moles"]["value"] + salt["moles"]["value"] == pytest.approx(0.01, rel=1e-3)
    assert made.says[0].startswith("Measure")


def test_vinegar_one_in_ten_is_a_tenth_as_strong() -> None:
    tenth = ph(["1 in 10 vinegar"], "25", False).document["ph"]
    assert tenth == ph(["acetic acid 0.5 % w/v"], "25", False).document["ph"]


def test_a_band_that_the_amounts_make_wide_says_so() -> None:
    equal = ph(["25 mL of 0.1 M HCl", "25 mL of 0.1 M NaOH"], "25", False).document["uncertainty"]
    assert equal["value"] > 2
    assert "1% more or less of one component moves the pH so far" in equal["wider_for"]
    assert not ph(["0.1 M HCl"], "25", False).document["uncertainty"]["wider_for"]


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        (lambda: buffer(BufferQuestion("PBS", "7.4", "10 mM", "1 L")), "or a buffer by its name: acetate, .*tris"),
        (lambda: gas(["1 g copper", "50 mL of 2 M HCl"], "20", "101.3 kPa", False), "What gas Cu and HCl give"),
        (lambda: gas(["1 g copper"], "20", "101.3 kPa", False), "What gas Cu gives off when heated or by itself"),
    ],
)
def test_what_is_not_on_file_says_what_is(asked: Callable[[], Answer], why: str) -> None:
    with pytest.raises(PrepError, match=why):
        asked()


def test_a_trace_of_a_metal_is_warned_of_nothing() -> None:
    iron = minding(dilute(Dilution("1000 ppm iron", "2 ppm", "250 mL")), None, held="1000 ppm iron")
    assert not any("NEVER" in text for text in iron.says)


def test_spirit_and_water_say_what_the_spirit_was_taken_for() -> None:
    assert blend(Blend(("200 mL of 96% ethanol", "100 mL of water"))).says[0].startswith('"96% ethanol" is taken as')


@pytest.mark.parametrize(
    ("portions", "pct", "grams"),
    [
        # The rule of mixing by mass: masses add, and so do the masses of what is dissolved. Worked by hand.
        (("100 g of 10 % w/w sodium chloride", "200 g of 20 % w/w sodium chloride"), 50 / 3, 300),
        (("50 g of sugar", "200 g of water"), 20, 250),
        (("200 g of water", "50 g of caster sugar"), 20, 250),
        (("100 g of 96 % w/w sulfuric acid", "200 g of water"), 32, 300),
        (("100 g of 10 % w/w", "200 g of 20 % w/w"), 50 / 3, 300),
        # Of the measured ones the density: water 0.99821 g/mL at 20 degC (Tanaka et al., Metrologia 38 (2001) 301).
        (("50 g of copper sulfate", "200 mL of water"), 100 * 50 / (50 + 199.642), 249.642),
    ],
)
def test_portions_may_be_weighed(portions: tuple[str, ...], pct: float, grams: float) -> None:
    made = blend(Blend(portions)).document
    assert made["mass"] == {"value": pytest.approx(grams, rel=1e-4), "unit": "g"}
    assert made["strength"] == {"value": pytest.approx(pct, rel=1e-4), "unit": "% w/w"}


@pytest.mark.parametrize(
    ("portions", "why"),
    [
        (("50 g of salt", "20 g of water"), "more than dissolves"),
        (("100 g of sodium", "100 g of water"), "reacts dangerously"),
        (("100 g of sugar", "100 g of salt"), "two substances"),
        (("10 g of water", "10 g of unobtainium"), "unobtainium"),
        (("10 mL of 30 % w/w unobtainium", "10 mL of water"), '"unobtainium" is no substance on file'),
    ],
)
def test_what_is_weighed_together_must_make_a_solution(portions: tuple[str, ...], why: str) -> None:
    with pytest.raises(PrepError, match=why):
        blend(Blend(portions))


@pytest.mark.parametrize(
    ("asked", "take_ml"),
    [
        (Dilution(source="Lugol's iodine", target="1:10", volume="100 mL"), 10),
        (Dilution(of="Lugol's iodine", target="1 in 20", volume="100 mL"), 5),
        (Dilution(target="Lugol's iodine 1:10", volume="100 mL"), 10),
        (Dilution(of="vinegar", target="1:10", volume="100 mL"), 10),
        # 36 % w/w at 1.1789 g/mL is 11.64 mol/L: CRC Handbook of Chemistry and Physics, 102nd ed.
        (Dilution(source="conc", of="HCl", target="0.1 M", volume="1 L"), 8.59),
        # Saturated at 20 degC: 35.89 g in 100 g of water (CRC, 91st ed.), 1.2007 g/mL, so 5.426 mol/L.
        (Dilution(source="saturated brine", target="1 M", volume="1 L"), 1000 / 5.426),
    ],
)
def test_a_solution_may_go_by_its_name(asked: Dilution, take_ml: float) -> None:
    assert dilute(asked).document["take"]["value"] == pytest.approx(take_ml, rel=5e-3)


@pytest.mark.parametrize(
    ("of", "mol_per_l"),
    # The reagent that gives or takes one mole of electrons, or of Ag+: Vogel's Textbook of Quantitative Chemical
    # Analysis, 5th ed., from memory.
    [
        ("silver nitrate", 0.1),
        ("potassium permanganate", 0.02),
        ("potassium dichromate", 0.1 / 6),
        ("sodium thiosulfate", 0.1),
        ("sodium oxalate", 0.05),
        ("ammonium iron(II) sulfate", 0.1),
        ("oxalic acid", 0.05),
    ],
)
def test_a_tenth_normal_reagent_of_titrations(of: str, mol_per_l: float) -> None:
    assert convert("N/10", of, "mol/L", None, None).document["strength"]["value"] == pytest.approx(mol_per_l)


def test_wool_of_iron_is_iron() -> None:
    for said in ("iron wool", "steel wool", "wire wool"):
        assert molar_mass_of(said).document["formula"] == "Fe"
        # 1 g of iron is 17.9 mmol, and gives as many of hydrogen: 24.055 L/mol at 20 degC (ideal gas).
        made = gas([f"1 g {said}", "50 mL of 1 M HCl"], "20", "101.325 kPa", False).document
        assert made["volume"]["value"] == pytest.approx(430.8, rel=2e-3)


def test_what_is_not_known_to_dissolve_is_said() -> None:
    assert "not on file" in " ".join(dissolve(Weighing(target="1 % w/v", volume="100 mL", of="DCPIP")).says)
    assert "not on file" not in " ".join(dissolve(Weighing(target="0.1 % w/v", volume="100 mL", of="DCPIP")).says)
    with pytest.raises(PrepError, match="more than dissolves"):
        dissolve(Weighing(target="3 % w/v", volume="100 mL", of="crystal violet"))


@pytest.mark.parametrize(
    ("said", "grams"),
    [
        # Molar masses: standard atomic weights; 0.1 mol of what is pure.
        ("NaOH(s)", 3.9997),
        ("blue copper sulfate", 24.9685),
        ("white copper sulfate", 15.9609),
        ("iron 2 sulfate", 27.8015),
        ("iron(2+) sulfate", 27.8015),
        ("K I", 16.6003),
        ("mag sulfate", 24.6475),
        ("calcium chloride fused", 11.0984),
        ("Na2EDTA.2H2O", 37.2237),
        ("sodium thiosulphate 5 hydrate", 24.8184),
        ("Ba(OH)2", 31.5463),
        ("Ca(NO3)2", 23.6149),
        ("ferric alum", 48.2192),
        ("caster sugar", 34.2297),
    ],
)
def test_a_solid_goes_by_any_of_its_names(said: str, grams: float) -> None:
    made = dissolve(Weighing(target="0.1 M", volume="1 L", of=said, assay="100"))
    assert made.document["mass"]["value"] == pytest.approx(grams, rel=1e-3)
    assert "read as" not in " ".join(made.says)


@pytest.mark.parametrize("said", ["calcium chloride hexahydrate", "sodium carbonate heptahydrate"])
def test_a_hydrate_that_is_not_on_file_is_not_taken_for_another(said: str) -> None:
    with pytest.raises(PrepError, match="is on file only as"):
        dissolve(Weighing(target="0.1 M", volume="1 L", of=said))
    with pytest.raises(PrepError, match="is on file only as"):
        find_item(said, read_catalogue(seed_data()), only="substance", held=())


@pytest.mark.parametrize("said", ["1/10", "ten-fold", "10-fold", "10 fold dilution", "1 in 10", "1/10 dilution"])
def test_a_tenth_is_said_in_many_ways(said: str) -> None:
    assert dilute(Dilution(target=said, volume="10 mL")).document["take"]["value"] == pytest.approx(1)


@pytest.mark.parametrize(
    ("unit", "value", "shown"),
    [("molarity", 2, "2 mol/L"), ("normality", 4, "4 eq/L"), ("g per litre", 196.16, "g/litre"), ("N", 4, "4 N")],
)
def test_the_kind_wanted_may_be_a_word(unit: str, value: float, shown: str) -> None:
    answer = convert("2 M", "sulfuric acid", unit, None, None)
    assert answer.document["strength"]["value"] == pytest.approx(value, rel=1e-4)
    assert shown in answer.says[0]


def test_parts_per_thousand_are_by_mass() -> None:
    # 35 g in 1 kg of solution: as 3.5 % w/w.
    for said in ("35 parts per thousand", "35 g/kg", "35000 parts per million"):
        made = dissolve(Weighing(target=said, mass="1 kg", of="sodium chloride", assay="100"))
        assert made.document["mass"]["value"] == pytest.approx(35)


def test_what_has_no_density_is_led_to_its_mass() -> None:
    asked = Weighing(target="0.05 molal", volume="250 mL", of="potassium hydrogen phthalate")
    with pytest.raises(PrepError, match="--mass"):
        dissolve(asked)


@pytest.mark.parametrize(
    ("asked", "how"),
    [
        (lambda: ph(["saturated borax"], "25", False), "give its strength in mol/L"),
        (lambda: blend(Blend(("10 mL of 30 % w/w potassium hydrogen phthalate", "10 mL of 1 % w/v"))), "."),
        (lambda: blend(Blend(("10 mL of 0.05 mol/kg KHP", "10 mL of 0.05 M"))), r"weigh the portions|no table"),
    ],
)
def test_what_asks_for_a_density_says_what_this_command_takes(asked: Callable[[], Answer], how: str) -> None:
    with pytest.raises(PrepError, match=how) as refused:
        asked()
    assert "give the density" not in str(refused.value)


_PENTAHYDRATE = '"copper sulfate" is taken as Copper(II) sulfate pentahydrate (CuSO4.5H2O), the form usually sold.'


@pytest.mark.parametrize(
    "asked",
    [
        lambda: convert("1 mol/L copper sulfate", None, "g/L", None, None),
        lambda: convert("20 g/L", "copper sulfate", "mol/L", None, None),
        lambda: dilute(Dilution("20 g/L copper sulfate", "0.01 mol/L", "1 L")),
        lambda: blend(Blend(("100 mL of 20 g/L copper sulfate", "100 mL of 0.1 mol/L copper sulfate"))),
        lambda: equivalence("25 mL of 5 g/L copper sulfate", "EDTA 0.01 mol/L", None, None),
    ],
)
def test_a_hydrate_that_is_not_named_is_said_first(asked: Callable[[], Answer]) -> None:
    """249.68 g of blue crystals or 159.61 g of the white powder hold a mole: common practice, no source."""
    assert asked().says[0] == _PENTAHYDRATE


def test_where_no_moles_are_counted_from_a_mass_no_hydrate_is_said() -> None:
    for asked in (
        dilute(Dilution("20 g/L copper sulfate", "2 g/L", "1 L")),
        convert("1 mol/L copper sulfate", None, "mmol/L", None, None),
    ):
        assert "is taken as" not in " ".join(asked.says)


# By hand from OIML R 22 (1975), as the shared check values have it: 96 % v/v to 1 L of 70 % v/v takes 729.2 mL and
# 297.4 mL of water; 99.8 % w/w is 789.9 g/L, and 1 L of 70 % v/v weighs 885.56 g, of it 62.39 % w/w.
SPIRITS = [
    *(
        (one, 729.2)
        for one in ("96 % v/v", "IMS 96 %", "96% meths", "ethanol 96 %", "rectified spirit", "EtOH 96 % v/v")
    ),
    *((one, 700.8) for one in ("ethanol absolute", "absolute alcohol", "absolute EtOH")),
    *((one, 1000 * 70 / 95) for one in ("95 % ethanol", "95 % v/v IMS", "methylated spirit 95%")),
]


@pytest.mark.parametrize(("said", "take"), SPIRITS)
def test_a_spirit_goes_by_its_name(said: str, take: float) -> None:
    for wanted in ("70 % v/v", "70 % ethanol"):
        made = dilute_alcohol(said, wanted, "1 L", "20").document
        assert dilute(Dilution(said, "70 % v/v", "1 L", of="ethanol" if said == "96 % v/v" else None)).document["take"][
            "value"
        ] == pytest.approx(take, rel=1e-3)
        assert made["take"]["value"] == pytest.approx(take, rel=2e-4)


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("meths", 'say how strong as well, as its label has it: "95 % v/v meths"'),
        ("96 %", "does not say which per cent"),
        ("propan-2-ol", "Propan-2-ol is no ethanol"),
        ("conc HCl", "is no ethanol"),
    ],
)
def test_what_is_no_spirit_of_a_strength_is_told(said: str, why: str) -> None:
    with pytest.raises(PrepError, match=re.escape(why)):
        dilute_alcohol(said, "70 % v/v", "1 L", "20")


def test_a_spirit_by_its_name_says_what_it_is_taken_for() -> None:
    says = dilute_alcohol("IMS 96 %", "70 % ethanol", "1 L", "20").says
    assert says[0] == '"IMS 96 %" is taken as 96 % v/v; if not so, write % w/w.'
    assert "What denatures it is counted as ethanol." in says


# 0.1 L x 2 mol/L + 0.3 L x 0.5 mol/L = 0.35 mol; the volumes shrink by a tenth of a mL in 400.
ORDERS = [
    ("100 mL of 2 M HCl", "300 mL of 0.5 M HCl"),
    ("2 M HCl 100 mL", "0.5 M HCl, 300 mL"),
    ("100 mL 2 M HCl", "HCl 0.5 M (300 mL)"),
    ("HCl 2 M - 100 cm3", "300 mL @ 0.5 M"),
    ("100 mL at 2 M", "0.5 mol/L HCl 0.3 L"),
]


@pytest.mark.parametrize("portions", ORDERS)
def test_portions_are_read_in_any_order(portions: tuple[str, str]) -> None:
    made = blend(Blend(portions, of="HCl")).document
    assert made["volume"]["value"] == pytest.approx(400, rel=2e-4)
    assert made["strength"]["value"] == pytest.approx(0.875, rel=2e-4)


def test_a_portion_is_the_same_to_ph_and_endpoint_in_any_order() -> None:
    usual = ph(["25 mL of 0.1 M acetic acid", "10 mL of 0.1 M NaOH"], "25", False).document
    assert ph(["0.1 M acetic acid, 25 mL", "NaOH 0.1 M 10 mL"], "25", False).document == usual
    for dish in ("25 mL of 0.1 M HCl", "0.1 M HCl 25 mL", "HCl 0.1 M, 25 mL"):
        asked = EndpointQuestion(dish, ["0.1 M NaOH"], target="7")
        assert endpoint(asked).document["volume"]["value"] == pytest.approx(25, abs=0.01)
    for weighed in (("100 g of 10 % w/w", "100 g of water"), ("10 % w/w 100 g", "water, 100 g")):
        assert blend(Blend(weighed)).document["strength"]["value"] == 5
    with pytest.raises(PrepError, match="is not a portion"):
        blend(Blend(("10 g per 100 mL", "100 mL of water")))
