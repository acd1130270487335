"""C1 V1 = C2 V2 for any of its four, dilution factors, and two stocks to one strength."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.errors import PrepError
from prep.services.calc.arithmetic import Dilution, convert, dilute
from prep.services.calc.equilibrium import EndpointQuestion, endpoint, ph
from prep.services.calc.mixed_portions import Blend, blend
from prep.services.calc.series import serial
from prep.services.calc.weighing import Weighing, dissolve, molar_mass_of


@given(st.integers(2, 12), st.integers(1, 9), st.integers(50, 2000))
def test_each_of_the_four_gives_the_others_back(strong: int, tenths: int, volume: int) -> None:
    source, target = f"{strong} mol/L", f"{tenths / 10} mol/L"
    take = dilute(Dilution(source, target, f"{volume} mL")).document["take"]["value"]
    assert dilute(Dilution(source, target, take=f"{take:.9f} mL")).document["volume"]["value"] == pytest.approx(volume)
    made = dilute(Dilution(source, None, f"{volume} mL", f"{take:.9f} mL")).document["to"]["value"]
    assert made == pytest.approx(tenths / 10)
    held = dilute(Dilution(None, target, f"{volume} mL", f"{take:.9f} mL")).document["from"]["value"]
    assert held == pytest.approx(strong)


def test_a_factor_needs_no_strength() -> None:
    # One part in ten of 500 mL is 50 mL.
    assert dilute(Dilution(target="1 in 10", volume="500 mL")).document["take"]["value"] == 50
    assert dilute(Dilution(target="1:10", take="5 mL")).document["volume"]["value"] == 50
    assert dilute(Dilution("10x", "1x", "1 L")).document["take"]["value"] == 100
    answer = dilute(Dilution("12 mol/L", "1 in 10", "500 mL"))
    assert answer.document["to"] == {"value": 1.2, "unit": "mol/L"}
    assert answer.says[0].startswith("One part in 10: take 50 mL and make it up to 500 mL")
    assert "1:10 is read so, not as 1 + 10" in dilute(Dilution("12 mol/L", "1:10", "500 mL")).says[0]
    with pytest.raises(PrepError, match="Give three of"):
        dilute(Dilution("2 mol/L", "1 mol/L"))


def test_parts_that_are_added_are_said_as_parts() -> None:
    nine = dilute(Dilution(target="1+9", volume="100 mL"))
    assert nine.document["take"]["value"] == 10
    assert nine.says[0] == "1 part and 9 parts: take 10 mL and make it up to 100 mL (about 90 mL of solvent)."
    equal = dilute(Dilution(target="1 + 1", take="25 mL")).says[0]
    assert equal == "1 part and 1 part: take 25 mL and make it up to 50 mL (about 25 mL of solvent)."
    with pytest.raises(PrepError, match=r"equal parts of two are 1 \+ 1"):
        dilute(Dilution(target="1:1", take="25 mL"))


# A hundredth of 36 % w/w at 1.1791 g/mL, 11.642 mol/L: CRC Handbook, 102nd ed.; 5 % w/v vinegar is 0.83261 mol/L.
THINNED = [
    *((one, 0.11642) for one in ("1 in 100 conc HCl", "conc HCl 1 in 100", "conc HCl diluted 1:100", "1:100 conc HCl")),
    *(
        (one, 0.11642)
        for one in ("1 in 100 dilution of conc HCl", "conc HCl (1 in 100)", "a 1 + 99 dilution of c. HCl")
    ),
    *((one, 0.2) for one in ("1 in 10 of 2 M HCl", "2 M HCl 1 in 10", "2 M HCl diluted 1:10", "2 M HCl, 1 in 10")),
    *((one, 0.2) for one in ("1+9 2 M HCl", "ten-fold dilution of 2 M HCl")),
]


@pytest.mark.parametrize(("said", "mol_per_l"), THINNED)
def test_what_is_diluted_so_many_times_is_the_same_to_every_command(said: str, mol_per_l: float) -> None:
    close = pytest.approx(mol_per_l, rel=3e-4)
    assert convert(said, None, "mol/L", None, None).document["strength"]["value"] == close
    assert 1 / dilute(Dilution(said, "0.001 mol/L", "1 L")).document["take"]["value"] == close
    assert 2 * blend(Blend((f"100 mL of {said}", "100 mL of water"))).document["strength"]["value"] == close
    made = dissolve(Weighing(target=said, volume="1 L")).document["take"]["value"]
    assert made * 11.642 / 1000 == pytest.approx(mol_per_l, rel=1e-3)
    assert 10 ** -ph([said], "25", True).document["ph"] == pytest.approx(mol_per_l, rel=1e-3)
    asked = EndpointQuestion(dish="10 mL", of=[said], add=["0.1 M NaOH"], target="7", ideal=True)
    assert endpoint(asked).document["volume"]["value"] / 100 == pytest.approx(mol_per_l, rel=1e-3)
    assert serial(said, "10", 1, "10 mL").document["steps"][0]["strength"]["value"] * 10 == close


def test_what_is_diluted_says_what_it_was_taken_for() -> None:
    taken = ph(["1:10 vinegar"], "25", False).says
    assert taken[0] == '"vinegar" is taken as 5 % w/v acetic acid.'
    assert taken[1] == 'One part in 10: "1:10 vinegar" is 0.5 % w/v.'
    for of_any_strength in ("1 in 10 HCl", "NaOH 1:10"):
        with pytest.raises(PrepError, match="say how strong as well"):
            ph([of_any_strength], "25", False)
    with pytest.raises(PrepError, match="say how much is dissolved"):
        dissolve(Weighing(target="1 in 10", of="salt", volume="1 L"))
    concentrate = dissolve(Weighing(target="1 in 100", of="conc HCl", volume="1 L"))
    assert concentrate.document["take"]["value"] == pytest.approx(10)
    assert dissolve(Weighing(target="2 N H2SO4", volume="1 L")).document == (
        dissolve(Weighing(target="1 M", of="H2SO4", volume="1 L")).document
    )


def test_the_order_of_mixing_is_said_where_it_matters() -> None:
    assert "never water" in "".join(dilute(Dilution("12 mol/L", "1 mol/L", "1 L")).says)
    assert len(dilute(Dilution("0.1 mol/L", "0.01 mol/L", "1 L")).says) == 1
    assert "acid" not in "".join(dilute(Dilution("96 % v/v", "70 % v/v", "1 L", of="ethanol")).says)


def test_two_stocks_to_one_strength() -> None:
    # 2 x + 0.5 (600 - x) = 600: x = 200 mL
    made = blend(Blend(("2 mol/L", "0.5 mol/L"), target="1 mol/L", volume="600 mL")).document["portions"]
    assert [one["volume"]["value"] for one in made] == [200, 400]
    with pytest.raises(PrepError, match="not between"):
        blend(Blend(("2 mol/L", "0.5 mol/L"), target="3 mol/L", volume="600 mL"))
    # By mass where the densities are known: sulfuric acid 30 % is 1.2191 g/mL, 98 % is 1.8361 (CRC Handbook, 102nd
    # ed.): 600 x 1.2191 x 30/98 / 1.8361 = 121.95 mL, and not 600 mL in all before they are mixed.
    acid = blend(Blend(("98 % w/w", "water"), "sulfuric acid", "30 % w/w", "600 mL")).document["portions"]
    assert acid[0]["volume"]["value"] == pytest.approx(121.95, abs=0.1)
    assert sum(one["volume"]["value"] for one in acid) > 620


@given(st.permutations(["100 mL of 2 mol/L", "300 mL of 20 % w/w", "50 mL of water"]))
def test_a_blend_does_not_mind_the_order(portions: list[str]) -> None:
    # 100 mL x 1.0330 g/mL with 7.292 g of HCl, 300 mL x 1.0980 with 65.88 g, 50 mL x 0.9982 (CRC Handbook, 102nd ed.):
    # 73.17 g in 482.6 g
    moles = blend(Blend(tuple(portions), "hydrochloric acid")).document
    grams = moles["strength"]
    told = convert(f"{grams['value']} {grams['unit']}", "hydrochloric acid", "% w/w", None, None)
    assert told.document["strength"]["value"] == pytest.approx(15.16, abs=0.02)


@pytest.mark.parametrize(
    ("strength", "of", "to", "value"),
    [
        ("0.1 mol/L", None, "mmol/L", 100),
        ("2 N", "sulfuric acid", "mol/L", 1),
        ("M/10", None, "mM", 100),
        ("5 g/L", None, "mg/L", 5000),
        ("1 g/dm3", None, "g/L", 1),
    ],
)
def test_units_in_and_out_alike(strength: str, of: str | None, to: str, value: float) -> None:
    assert convert(strength, of, to, None, None).document["strength"] == {"value": pytest.approx(value), "unit": to}


@pytest.mark.parametrize(
    ("strength", "of", "to", "value", "says"),
    [
        # 100 mg in 1 kg, 0.99821 kg/L (Tanaka et al. 2001): 99.82 mg/L; / 63.546 g/mol
        ("100 ppm", "Cu", "mmol/L", 1.5708, "here that is 99.82 mg/L"),
        ("saturated", "sodium chloride", "mol/L", 5.43, "saturated = "),
        ("0.880", "ammonia", "mol/L", 18.08, "35 % w/w = "),  # 0.88 x 350 / 17.031
        ("5.25 % w/w", "bleach", "mol/L", 0.759, "with the density 1.076"),  # 1.076 x 52.5 / 74.442
    ],
)
def test_what_a_strength_means_is_said(strength: str, of: str, to: str, value: float, says: str) -> None:
    answer = convert(strength, of, to, None, None)
    assert answer.document["strength"]["value"] == pytest.approx(value, rel=2e-3)
    assert says in "\n".join(answer.says)


@pytest.mark.parametrize(
    ("strength", "of", "to", "value"),
    [
        ("5 % w/v available chlorine", "bleach", "mol/L", 0.7052),  # 50 g/L / 70.906 g/mol
        ("10 % w/w av. Cl2", "sodium hypochlorite", "% w/w", 10.499),  # x 74.442 / 70.906
        ("65 % w/w available chlorine", "calcium hypochlorite", "% w/w", 65.54),  # x 142.98 / (2 x 70.906)
    ],
)
def test_bleach_as_available_chlorine(strength: str, of: str, to: str, value: float) -> None:
    assert convert(strength, of, to, None, None).document["strength"]["value"] == pytest.approx(value, rel=1e-3)


def test_bleach_is_diluted_by_its_available_chlorine() -> None:
    """12 % w/w is 12.6 % w/w of NaOCl, 1.188 g/mL: 142.5 g/L of chlorine, to 5 g/L."""
    asked = Dilution("12 % w/w available chlorine", "0.5 % w/v available chlorine", "1 L")
    assert dilute(asked).document["take"]["value"] == pytest.approx(1000 * 5 / 142.5, rel=2e-3)


def test_one_thing_is_not_diluted_to_another() -> None:
    with pytest.raises(PrepError, match="is not diluted to"):
        dilute(Dilution("2 M H2SO4", "0.1 M HCl", "1 L"))
    same = dilute(Dilution("0.5 M copper sulphate", "0.1 M CuSO4.5H2O", "1 L"))
    assert same.document["take"]["value"] == pytest.approx(200)


def test_what_is_lacking_is_asked_for() -> None:
    with pytest.raises(PrepError, match="--equivalents"):
        convert("0.1 N", "potassium iodate", "mol/L", None, None)
    assert convert("0.1 N", "potassium iodate", "mol/L", None, 5).document["strength"]["value"] == 0.02
    for name in ("IMS", "HCl"):
        with pytest.raises(PrepError, match="say how strong as well"):
            dilute(Dilution(name, "0.1 mol/L", "1 L"))


def test_a_molar_mass_is_found_by_any_name_and_agrees_with_a_handbook() -> None:
    # CRC Handbook, physical constants of inorganic compounds: CuSO4.5H2O 249.69 g/mol
    assert molar_mass_of("blue vitriol").document["molar_mass"]["value"] == pytest.approx(249.69, abs=0.01)
    assert "CuSO4.5H2O" in molar_mass_of("copper sulphate").says[0]


def test_a_molar_mass_goes_by_a_name_of_which_no_bottle_is_on_file() -> None:
    # IUPAC standard atomic weights: C3H6O3 90.078, LiOH 23.95
    assert molar_mass_of("lactic acid").document["molar_mass"]["value"] == pytest.approx(90.078, abs=2e-3)
    assert molar_mass_of("lithium hydroxide").document["molar_mass"]["value"] == pytest.approx(23.948, abs=2e-2)
    with pytest.raises(PrepError, match="is no substance on file"):
        molar_mass_of("unheard of salt")


def test_a_bare_per_cent_of_a_solid_is_asked_about() -> None:
    with pytest.raises(PrepError, match="does not say which per cent"):
        dilute(Dilution("1 % phenolphthalein", "0.1 % w/v", "50 mL"))


def test_a_strength_far_below_one_is_read_at_a_glance() -> None:
    """1 ug/kg of Pb(NO3)2: 0.9982e-6 g/L / 331.2 g/mol = 3.014 nmol/L."""
    assert (
        convert("1 ppb", "lead nitrate", "mol/L", None, None).says[0] == "1 ppb = 3.0138 nmol/L (0.0000000030138 mol/L)"
    )
    assert convert("1 ppm", "CuSO4.5H2O", "M", None, None).says[0] == "1 ppm = 3.9979 µM (0.0000039979 M)"
    assert convert("1 ppb", "CuSO4.5H2O", "g/L", None, None).says[0].startswith("1 ppb = 998.2 ng/L (")
    assert convert("1 mmol/L", "NaCl", "mol/L", None, None).says[0] == "1 mmol/L = 0.001 mol/L"


@pytest.mark.parametrize(
    ("wanted", "steps", "take"),
    [("1 mM", "1 in 100", 5), ("10 uM", "2 times 1 in 100", 5), ("0.1 mM", "1 in 100 and then 1 in 10", 5)],
)
def test_what_is_too_little_to_measure_goes_by_a_weaker_one(wanted: str, steps: str, take: int) -> None:
    """50 mL of 1 mM takes 0.05 mL of 1 M: less than a micropipette's 0.1 mL, or 5 mL of it 1 in 100."""
    says = dilute(Dilution("1 M", wanted, "50 mL")).says
    assert f"dilute it first, {steps}, and take {take} mL of that." in says[1]
    assert not any("measured well" in one for one in dilute(Dilution("1 M", "10 mM", "50 mL")).says)


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("Fehling's A", r'"Fehling\'s A" is a solution \(fehling-a\)'),
        ("starch", "Soluble starch has no one formula on file"),
        ("universal indicator", r"is a solution \(universal\)"),
    ],
)
def test_what_has_no_molar_mass_is_refused_for_that_reason(name: str, why: str) -> None:
    with pytest.raises(PrepError, match=why):
        molar_mass_of(name)
    assert molar_mass_of("C6H12O6").document["molar_mass"]["value"] == pytest.approx(180.16, abs=0.01)  # of any sugar
