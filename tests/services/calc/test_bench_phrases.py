"""A week's questions as a technician and a teacher ask them, each with its answer worked out by hand beforehand.

Densities at 20 degC: CRC Handbook, 102nd ed. (2021), Concentrative Properties of Aqueous Solutions. Molar masses:
standard atomic weights. A solid is weighed by its assay on file, 98 to 99.9 %: so the answers lie within 1.5 %.
"""

from collections.abc import Callable
from typing import Any

import pytest

from prep.errors import PrepError
from prep.services.calc.arithmetic import Answer, Dilution, convert, dilute
from prep.services.calc.equilibrium import EndpointQuestion, endpoint, ph
from prep.services.calc.gases import gas
from prep.services.calc.mixed_portions import Blend, blend, dilute_alcohol
from prep.services.calc.series import serial
from prep.services.calc.titration import Titration, equivalence, titrate
from prep.services.calc.weighing import Weighing, dissolve, molar_mass_of

HCL, H2SO4, NH3 = 11.642, 18.346, 10 * 35 * 0.880 / 17.031  # mol/L of 36 %, 98 % and 35 % w/w
MOLAR_L = 24.055  # of a gas at 20 degC and 101.325 kPa: 0.0820574 x 293.15
VINEGAR = 50 / 60.052


def taken(source: str | None, to: str | None, volume: str | None, of: str | None = None) -> Callable[[], Answer]:
    return lambda: dilute(Dilution(source, to, volume, of=of))


def weighed(of: str | None, to: str, volume: str | None = None, mass: str | None = None) -> Callable[[], Answer]:
    return lambda: dissolve(Weighing(to, volume, mass, of=of))


def said_in(strength: str, of: str | None, to: str) -> Callable[[], Answer]:
    return lambda: convert(strength, of, to, None, None)


ASKED: list[tuple[Callable[[], Answer], str, float]] = [
    (taken("conc HCl", "2M", "5 L"), "take", 10000 / HCL),
    (taken("concentrated sulphuric acid", "1 mol/dm3", "2.5 dm3"), "take", 2500 / H2SO4),
    (taken("880 ammonia", "2M", "1 litre"), "take", 2000 / NH3),
    (taken("bench HCl 2M", "0.4 M", "250ml"), "take", 50),
    (taken("1M", "50 mM", "100 mL"), "take", 5),
    (taken("100 vol hydrogen peroxide", "20 vol", "500 mL"), "take", 100),
    (taken("5M NaOH", "M/2", "200 mL"), "take", 20),
    (taken(None, "1 part in 20", "1 L"), "take", 50),
    (taken(None, "1 part to 9 parts water", "1 L"), "take", 100),
    (taken(None, "one in ten", "200 mL"), "take", 20),
    (taken("50x TAE", "1x", "1 L"), "take", 20),
    (taken("bleach", "1 in 50", "5 L"), "take", 100),
    (taken("1 part vinegar to 4 parts water", "0.01 M", "1 L"), "take", 10 / (VINEGAR / 5)),
    (taken("vinegar", "0.1 M", "100 mL"), "take", 10 / VINEGAR),
    (taken("0.05 N iodine", "0.01 N", "250 mL"), "take", 50),
    (taken("battery acid 4.2 M", "1 M", "500 mL"), "take", 500 / 4.2),
    (taken("0.5 molar", "a tenth molar", "1 L"), "take", 200),
    (taken("saturated limewater", "1 in 2", "200 mL"), "take", 100),
    (lambda: dilute(Dilution("2 M", "0.1 M", take="10 mL")), "volume", 200),
    (lambda: dilute(Dilution("0.2 mol/L", None, "100 mL", "5 mL")), "to", 0.01),
    (weighed(None, "0.5 M copper sulphate", "1 L"), "mass", 0.5 * 249.68),
    (weighed("sodium hydroxide pellets", "2M", "2 L"), "mass", 4 * 39.997 / 0.98),
    (weighed("washing soda", "1 M", "250 mL"), "mass", 286.14 / 4),
    (weighed("potassium permanganate", "N/10", "1 L"), "mass", 158.03 / 50),
    (weighed("silver nitrate", "0.05 mol dm-3", "100 cm3"), "mass", 169.87 / 200),
    (weighed("sugar", "20 % w/w", mass="1 kg"), "mass", 200),
    (weighed("salt", "0.9 % w/v", "5 L"), "mass", 45),
    (weighed("sodium thiosulphate", "0.1 M", "500 mL"), "mass", 248.18 / 20),
    (weighed("disodium phosphate", "0.1 M", "1 L"), "mass", 14.196),
    (weighed("citric acid", "0.1 M", "500 mL"), "mass", 210.14 / 20),
    (weighed("ammonium chloride", "1 mol/kg", mass="500 g"), "mass", 500 * 53.491 / 1053.491),
    (weighed("urea", "8 M", "100 mL"), "mass", 48.045),
    (weighed("Tris", "50 mM", "1 L"), "mass", 121.14 / 20),
    (weighed("borax", "0.01 mol/kg", mass="1 kg"), "mass", 3.80),  # its ten waters join the solvent
    (weighed("Epsom salts", "25 g/L", "400 mL"), "mass", 10),
    (weighed(None, "2 N H2SO4", "500 mL"), "take", 500 / H2SO4),
    (said_in("250 ppm", "calcium carbonate", "mmol/L"), "strength", 250 * 0.99821 / 100.087),
    (said_in("100 mg/L", "Ca", "mmol/L"), "strength", 100 / 40.078),
    (said_in("2 M", "sulphuric acid", "N"), "strength", 4),
    (said_in("5 % w/v", "glucose", "mmol/L"), "strength", 50000 / 180.156),
    (said_in("0.9 % w/v NaCl", None, "mM"), "strength", 9000 / 58.443),
    (said_in("50 % w/w glycerol", None, "mol/L"), "strength", 500 * 1.1254 / 92.094),  # between 1.1200 and 1.1308
    (said_in("10 % w/w silver nitrate", None, "mol/L"), "strength", 100 * 1.0882 / 169.87),
    (said_in("20 % w/w anhydrous citric acid", None, "g/L"), "strength", 200 * 1.0858),
    (
        said_in("12 % w/w trisodium citrate", None, "mol/L"),
        "strength",
        120 * 1.0707 / 294.10,
    ),  # 10.53 % of the dry salt
    (lambda: dilute_alcohol("96% ethanol", "70% ethanol", "2 L", "20"), "take", 2000 * 70 / 96),
    (lambda: dilute_alcohol("IMS 99 %", "50 % v/v", "500 mL", "20"), "take", 500 * 50 / 99),
    (lambda: dilute_alcohol("abs. alcohol", "95 % v/v", "1 L", "20"), "take", 951.2),  # 99.8 % w/w is 99.87 % v/v
    (lambda: blend(Blend(("2 M NaOH 250 mL", "0.5 M NaOH 750 mL"))), "strength", 0.875),
    (lambda: blend(Blend(("100 g of 40 % w/w glycerol", "100 g water"))), "strength", 20),
    (lambda: blend(Blend(("0.1 M KCl 50ml", "0.3 M KCl 50ml", "water 100ml"))), "strength", 0.1),
    (lambda: equivalence("20 mL 0.05 M H2SO4", "0.1 M NaOH", None, None), "volume", 20),
    (lambda: titrate(Titration("10 mL", "vinegar", "0.5 M NaOH", "16.6 16.7")), "strength", 0.5 * 16.65 / 10),
    (lambda: titrate(Titration("25 mL", "iron(II)", "0.02 M KMnO4", "24.9, 25.0")), "strength", 0.1 * 24.95 / 25),
    (lambda: gas(["0.1 g magnesium ribbon", "20 mL 2 M HCl"], "20", "101.325 kPa", False), "volume", 4.1144 * MOLAR_L),
    (lambda: gas(["5 g marble chips", "50 mL of 1 M HCl"], "20", "101.325 kPa", False), "volume", 25 * MOLAR_L),
    (lambda: molar_mass_of("disodium phosphate"), "molar_mass", 141.96),
    (lambda: molar_mass_of("potash alum"), "molar_mass", 474.38),
    (lambda: molar_mass_of("aspirin"), "molar_mass", 180.16),
    # pH: the standards of IUPAC and NBS; else -log10(c gamma), or by halves of pKa and log c, to some hundredths
    (lambda: ph(["disodium phosphate 0.025 mol/kg", "KH2PO4 0.025 mol/kg"], "25", False), "ph", 6.865),
    (lambda: ph(["0.1 M ammonia", "0.1 M ammonium chloride"], "25", False), "ph", 9.245 + 0.108),
    (lambda: ph(["1:1000 conc HCl"], "25", False), "ph", 1.934 + 0.047),
    (lambda: ph(["vinegar"], "25", False), "ph", (4.756 + 0.0796) / 2),
    (
        lambda: endpoint(EndpointQuestion("25 mL of 0.1 M HCl", ["0.1 M caustic soda"], indicator="methyl orange")),
        "volume",
        25,
    ),
    (
        lambda: endpoint(EndpointQuestion("vinegar 5 mL", ["0.5 M NaOH"], indicator="phenolphthalein")),
        "volume",
        10 * VINEGAR,
    ),
]


@pytest.mark.parametrize(("asked", "where", "by_hand"), ASKED)
def test_a_question_is_answered_as_by_hand(asked: Callable[[], Answer], where: str, by_hand: float) -> None:
    found: Any = asked().document[where]
    value = found["value"] if isinstance(found, dict) else found
    assert value == pytest.approx(by_hand, rel=1.5e-2 if where == "mass" else 4e-3)


REFUSED = [
    (weighed("sodium", "1 M", "1 L"), "water"),
    (weighed("chalk", "0.1 M", "1 L"), "does not dissolve"),
    (weighed("iodine", "0.05 M", "1 L"), "iodide"),
    (weighed("phenolphthalein", "1 % w/v", "100 mL"), "ethanol"),
    (weighed("glucose", "1 in 10", "1 L"), "say how much is dissolved"),
    (taken("conc HCl", "1:1", "1 L"), r"equal parts of two are 1 \+ 1"),
    (taken("10 % available chlorine", "0.1 % w/v", "1 L"), "does not say which per cent"),
    (lambda: ph(["lemon juice"], "25", False), "no substance on file"),
    (lambda: ph(["nitrous acid"], "25", False), "and then its strength"),
    (lambda: blend(Blend(("100 mL of 1 M HCl", "100 mL of 1 M NaOH"))), "two substances"),
]


@pytest.mark.parametrize(("asked", "why"), REFUSED)
def test_what_cannot_be_answered_is_refused_for_its_reason(asked: Callable[[], Answer], why: str) -> None:
    with pytest.raises(PrepError, match=why):
        asked()


def test_the_hydrate_is_said_where_a_density_turns_on_it() -> None:
    says = convert("20 % w/w citric acid", None, "g/L", None, None).says
    assert says[0] == '"citric acid" is taken as Citric acid monohydrate (C6H8O7.H2O), the form usually sold.'
    assert convert("20 % w/v citric acid", None, "g/L", None, None).says[0].startswith("20 % w/v = 200 g/L")


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (lambda: blend(Blend(("10 mL of 5 mM KCl", "10 mL of 1 mM KCl"))), "20 mL of 3 mM"),
        (said_in("50 mg/L Pb", None, "ppm"), "50 mg/L = 50.09 ppm"),  # 50 / 0.99821
        (said_in("1000 ppb lead", None, "mg/L"), "1000 ppb = 0.99821 mg/L"),
        (lambda: dilute(Dilution("5 mmol/L glucose", None, "50 mL", "1 mL")), "The strength made is 0.1 mmol/L: "),
        (lambda: dilute(Dilution("2 N H2SO4", None, "50 mL", "1 mL")), "The strength made is 0.04 eq/L: "),
    ],
)
def test_a_strength_is_answered_in_the_unit_that_stands_beside_its_name(asked: Callable[[], Answer], says: str) -> None:
    assert asked().says[0].startswith(says)


def test_what_ppm_was_taken_for_is_said_in_every_command() -> None:
    asked: list[Callable[[], Answer]] = [
        lambda: ph(["100 ppm NaOH"], "25", False),
        lambda: blend(Blend(("10 mL of 100 ppm copper", "10 mL of water"))),
        lambda: serial("1000 ppm copper", "10", 2, "10 mL"),
        lambda: equivalence("20 mL of 100 ppm calcium", "EDTA 0.01 M", None, None),
        lambda: endpoint(EndpointQuestion("10 mL of 400 ppm NaOH", ["0.01 M HCl"], target="7")),
        taken("1000 ppm copper", "10 ppm", "100 mL"),
        weighed("salt", "100 ppm", "1 L"),
        said_in("100 ppm Pb", None, "mg/L"),
    ]
    for one in asked:
        assert sum("by mass, mg in 1 kg of solution" in said for said in one().says) == 1
    for by_volume in (lambda: ph(["100 mg/L NaOH"], "25", False), said_in("100 mg/L Pb", None, "mmol/L")):
        assert not any("by mass" in said for said in by_volume().says)


def test_a_strength_of_a_metal_is_of_its_ion() -> None:
    """Calcium fires with water, its ion does not: a hardness of 100 ppm of calcium is no metal in a flask."""
    assert not equivalence("20 mL of 100 ppm calcium", "EDTA 0.01 M", None, None).document["must_not_meet"]
    assert ph(["NaCl 0.1 M"], "25", False).document["must_not_meet"] == []
    assert gas(["0.1 g calcium", "20 mL of 1 M HCl"], "20", "101.325 kPa", False).document["must_not_meet"]
