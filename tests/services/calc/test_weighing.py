"""What is weighed, measured, or refused for its reason; saturated solutions by what a litre of them holds."""

import re
from decimal import Decimal

import pytest

from prep.errors import PrepError
from prep.services.calc.weighing import Weighing, dissolve


def said(of: str, to: str = "1 mol/L", volume: str = "1 L") -> str:
    return "\n".join(dissolve(Weighing(to, volume, of=of)).says)


@pytest.mark.parametrize(
    ("of", "why"),
    [
        ("sodium", "reacts dangerously with water (H260, EUH014)"),
        ("potassium", "reacts dangerously with water"),
        ("calcium carbide", "reacts dangerously with water (H260)"),
        ("anhydrous aluminium chloride", "take Aluminium chloride hexahydrate"),
        ("quicklime", "take calcium hydroxide"),
        ("copper oxide", "does not dissolve in water"),
        ("zinc granules", "a metal does not dissolve"),
        ("sulfur", "does not dissolve"),
        ("hexane", "does not mix with water"),
        ("oxygen", "is a gas"),
        ("phenolphthalein", "dissolve it in ethanol"),
        ("iodine", "potassium iodide solution"),
        ("calcium carbonate", "does not dissolve"),
        ("ethyl ethanoate", "more than dissolves"),  # 88 g in a litre; 8.7 g in 100 g of water
        ("pentan-1-ol", "more than dissolves"),
    ],
)
def test_what_water_does_not_dissolve_is_refused_for_its_reason(of: str, why: str) -> None:
    with pytest.raises(PrepError) as refused:
        said(of)
    assert why in str(refused.value)


def test_an_insoluble_formula_is_refused_without_a_bottle_of_it() -> None:
    for formula in ("BaSO4", "AgCl", "Fe(OH)3", "Cu"):
        with pytest.raises(PrepError, match="not weighed into water"):
            dissolve(Weighing("1 mol/L", "1 L", formula=formula))


@pytest.mark.parametrize(
    ("formula", "why"),
    [
        ("NiCO3", "does not dissolve"),
        ("Mn(OH)2", "does not dissolve"),
        ("SnS", "does not dissolve"),
        ("Zn3(PO4)2", "does not dissolve"),
        ("V2O5", "does not dissolve"),
        ("K2O", "take the hydroxide"),
        ("Na2O2", "reacts"),
        ("NaBH4", "reacts"),
        ("NaNH2", "reacts"),
        ("Li3N", "reacts"),
        ("MgH2", "reacts"),
        ("Rb", "reacts violently"),
        ("SO2", "is a gas"),
        ("Cl2", "is a gas"),
        ("CaSO4", "more than dissolves"),  # by the 0.25 g of its dihydrate
        *((formula, "") for formula in ("K2CO3", "NaOH", "Na2S", "Na3PO4", "NH4HCO3", "CrO3", "HCl", "CoCl2")),
    ],
)
def test_what_is_on_no_shelf_goes_by_the_rules_of_solubility(formula: str, why: str) -> None:
    asked = Weighing("0.1 mol/L", "1 L", formula=formula)
    if not why:
        assert dissolve(asked).document["volume"]["value"] == 1000
        return
    with pytest.raises(PrepError, match=why):
        dissolve(asked)


@pytest.mark.parametrize(
    ("of", "to", "way"),
    [
        ("stannous chloride", "0.1 M", "concentrated hydrochloric acid"),
        ("ferric chloride", "0.1 M", "dilute hydrochloric acid"),
        ("Mohr's salt", "0.1 M", "dilute sulfuric acid"),
        ("starch", "1 % w/v", "boiling water"),
        ("agar", "2 % w/v", "boil"),
        ("gelatine", "5 % w/v", "60 degC"),
        ("cornflour", "1 % w/v", "boiling water"),
        ("red cabbage", "10 % w/v", "strain it"),
        ("nutrient agar powder", "2.8 % w/v", "boil until it is clear"),
        ("soap flakes", "1 % w/v", "70 degC"),
        ("yeast", "10 % w/v", "lukewarm water"),
    ],
)
def test_what_cold_water_spoils_goes_in_by_its_own_way(of: str, to: str, way: str) -> None:
    answer = dissolve(Weighing(to, "500 mL", of=of))
    assert way in "\n".join(answer.says)
    assert "make it up to 500 mL with water" in "\n".join(answer.says)
    assert way in answer.document["way"]["text"]


def test_a_liquid_as_bought_is_measured_and_goes_into_the_water() -> None:
    answer = dissolve(Weighing("1 mol/L", "1 L", of="sulphuric acid"))
    # 98 % x 1.8361 g/mL / 98.078 g/mol = 18.346 mol/L (CRC Handbook, 102nd ed.): 1000 mL / 18.346
    assert answer.document["take"]["value"] == pytest.approx(54.51, abs=0.01)
    text = "\n".join(answer.says)
    assert "measured, not weighed" in text
    assert "pour it slowly into about 700 mL of water" in text
    assert "never water to the acid" in text
    assert "dissolve" not in text
    # 95.3 kJ/mol x 1 mol into 1 L of water (4.18 J/mL K): 22.8 degC
    assert "Here about 95 kJ are given off, enough to warm it by 23 degC" in text


def test_more_heat_than_water_takes_is_not_a_temperature() -> None:
    """2.24 mol of sodium hydroxide in 100 mL give off 99 kJ (44 kJ/mol): by 4.18 J/(mL K) that would be 240 degC."""
    text = "\n".join(dissolve(Weighing("saturated", "100 mL", of="sodium hydroxide")).says)
    assert "99 kJ are given off, enough to make it boil." in text


def test_cautions_are_said_only_where_they_apply() -> None:
    assert "heats the water strongly" in said("caustic soda")
    assert "heats" not in said("caustic soda", "10 ppm")
    for plain in ("sodium chloride", "glucose"):
        assert len(said(plain, "0.1 mol/L").splitlines()) == 1
    assert "acid" not in said("ethanol").lower()


def test_saturated_salt_is_what_a_litre_of_it_holds() -> None:
    answer = dissolve(Weighing("saturated", "1 L", of="sodium chloride", assay="100"))
    # 35.9 g in 100 g of water = 26.4 % w/w; CRC Handbook, 102nd ed.: 26 % is 1.1972 g/mL, so 26.4 % about 1.2004
    assert answer.document["dissolves"]["value"] == pytest.approx(317, abs=1)
    assert answer.document["mass"]["value"] == pytest.approx(1.1 * answer.document["dissolves"]["value"])
    assert answer.document["water"]["value"] == pytest.approx((1200.4 - 317) / 0.99821, abs=2)
    text = "\n".join(answer.says)
    assert "the rest stays as solid" in text
    assert "make it up" not in text
    more = dissolve(Weighing("saturated", "1 L", of="sodium chloride", assay="100", excess="50 %"))
    assert more.document["mass"]["value"] == pytest.approx(1.5 * answer.document["dissolves"]["value"])
    impure = dissolve(Weighing("saturated", "1 L", of="sodium chloride", assay="50"))
    assert impure.document["mass"]["value"] == pytest.approx(2 * answer.document["mass"]["value"])


def test_by_mass_no_density_is_needed() -> None:
    answer = dissolve(Weighing("5 % w/w", mass="500 g", of="urea", assay="100"))
    assert (answer.document["mass"]["value"], answer.document["solution"]["value"]) == (25, 500)
    assert answer.document["water"]["value"] == pytest.approx(475 / 0.99821)
    with pytest.raises(PrepError, match="either --volume, or --mass"):
        dissolve(Weighing("5 % w/w", of="urea"))


def test_ppm_says_of_what() -> None:
    assert "taken by mass, mg in 1 kg of solution; here that is 9.982 mg/L" in said("sodium chloride", "10 ppm")


@pytest.mark.parametrize("kind", ["1 mol/L", "2 % w/v", "10 g/L"])
def test_two_hydrates_hold_as_much(kind: str) -> None:
    # 249.685 / 159.609 g/mol (standard atomic weights)
    dry, wet = (
        dissolve(Weighing(kind, "1 L", formula=one, counted="CuSO4")).document["mass"]["value"]
        for one in ("CuSO4", "CuSO4.5H2O")
    )
    assert Decimal(wet) / Decimal(dry) == pytest.approx(Decimal("1.56435"), rel=Decimal("1e-4"))


def test_a_liquid_by_mass_needs_no_density() -> None:
    # 500 g x 10 % / 36 % = 138.89 g, the rest water
    answer = dissolve(Weighing("10 % w/w", mass="500 g", of="hydrochloric acid"))
    assert answer.document["mass"]["value"] == pytest.approx(138.889, rel=1e-5)
    assert "into 361.1 g of water" in answer.says[0]
    with pytest.raises(PrepError, match="stronger than"):
        dissolve(Weighing("40 % w/w", mass="500 g", of="hydrochloric acid"))


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("BaSO4", "does not dissolve"),  # a formula of which nothing is on file
        ("SO3", "reacts violently"),
        ("P4O10", "reacts violently"),
        ("Mg3N2", "ammonia"),
        ("starch", "has no formula, so its moles weigh nothing certain"),
    ],
)
def test_what_is_no_weighing_says_why(said: str, why: str) -> None:
    with pytest.raises(PrepError, match=why):
        dissolve(Weighing("0.1 mol/L", volume="1 L", of=said))


@pytest.mark.parametrize(
    ("said", "to", "ml"),
    [
        ("100 vol hydrogen peroxide", "10 vol", 50.0),  # ten times diluted, by its name
        ("12 M HCl", "2 M", 83.33),
        ("37 % HCl", "2 M", 83.26),  # 37 % w/w at 1.1837 g/mL is 12.01 mol/L: CRC Handbook, densities of HCl
        ("conc HCl", "2 M", 85.9),  # as on file, 36 %
    ],
)
def test_a_concentrate_is_as_strong_as_its_name_says(said: str, to: str, ml: float) -> None:
    found = dissolve(Weighing(to, "500 mL", of=said))
    assert found.document["take"]["value"] == pytest.approx(ml, rel=2e-3)


def test_the_water_poured_first_leaves_room_for_the_rest() -> None:
    said = " ".join(dissolve(Weighing("70 % v/v", "1 L", of="96 % ethanol")).says)
    assert "add it to about 240 mL of water" in said


@pytest.mark.parametrize(
    ("said", "why"),
    [("limewater", "is a solution .limewater., not a substance as bought"), ("IMS", "prep calc alcohol")],
)
def test_what_is_no_solid_is_led_to_its_own_way(said: str, why: str) -> None:
    with pytest.raises(PrepError, match=why):
        dissolve(Weighing("1 % w/v", "1 L", of=said))


@pytest.mark.parametrize(
    ("of", "to", "water_g"),
    [
        # The water in a litre. 2 mol/L sucrose is 54.6 % w/w at 1.254 g/mL (ICUMSA tables, from memory): 569 g.
        # 19 mol/L sodium hydroxide is 49.9 % w/w at 1.5243 g/mL (CRC Handbook, 102nd ed.): 764 g.
        ("sucrose", "2 M", 569),
        ("sodium hydroxide", "19 M", 764),
        ("sodium chloride", "1 M", 979),
    ],
)
def test_a_solid_is_dissolved_in_less_water_than_goes_into_the_whole(of: str, to: str, water_g: float) -> None:
    said = " ".join(dissolve(Weighing(target=to, volume="1 L", of=of)).says)
    found = re.search(r"dissolve it in about ([0-9.]+) mL of water", said)
    assert found is not None
    assert float(found[1]) == pytest.approx(min(700, 0.9 * water_g), rel=0.05)


@pytest.mark.parametrize(("of", "to"), [("zinc chloride", "15 mol/L"), ("NH4SCN", "1600 g/L")])
def test_water_to_begin_with_is_never_less_than_nothing(of: str, to: str) -> None:
    """209 and 163 g of a solid leave hardly any room in 100 mL, and no density says how much."""
    says = said(of, to, "100 mL")
    assert "dissolve it in as little water as dissolves it, and make it up to 100 mL." in says
    assert "may leave no room for its water in 100 mL: make a little first." in says
