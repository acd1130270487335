"""Strengths: published concentrated reagents, every pair of kinds there and back, what is impossible."""

import csv
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.model import Form, Strength, StrengthKind, Substance
from prep.chemistry.quantities import strength
from prep.chemistry.strength.solutes import Solubility, SoluteFacts, about_substance
from prep.chemistry.strength.strengths import check_possible, convert, density_of, in_bottle, moles_in, recount
from prep.errors import PrepError

K = StrengthKind
DATA = Path(__file__).parents[1] / "data"


def _rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


REAGENTS = _rows("concentrated_reagents.csv")
CRC = _rows("crc_solutions.csv")


@pytest.mark.parametrize("row", REAGENTS, ids=lambda r: f"{r['formula']} {r['pct_w_w']}")
def test_concentrated_reagents_as_published(row: dict[str, str]) -> None:
    """% w/w and density as printed give the mol/L and mol/kg printed beside them (source in the row)."""
    reagent = Strength(Decimal(row["pct_w_w"]), K.PCT_W_W)
    known = SoluteFacts(row["formula"], density_g_ml=Decimal(row["density_g_ml"]))
    found = convert(reagent, K.MOL_PER_L, known)
    assert float(found.strength.value) == pytest.approx(float(row["mol_per_l"]), rel=float(row["tolerance_rel"]))
    assert found.density is not None
    assert any("g/mL" in line.text for line in found.working)
    if row["mol_per_kg"]:
        by_mass = convert(reagent, K.MOL_PER_KG, known)
        assert float(by_mass.strength.value) == pytest.approx(float(row["mol_per_kg"]), rel=2e-3)


@pytest.mark.parametrize("row", CRC, ids=lambda r: f"{r['formula']} {r['pct_w_w']}")
def test_strengths_of_the_crc_handbook_from_our_densities(row: dict[str, str]) -> None:
    # CRC Handbook, 102nd ed. (2021), Concentrative Properties of Aqueous Solutions; within 0.2 %, or the
    # half of its last digit where that is coarser.
    found = convert(Strength(Decimal(row["pct_w_w"]), K.PCT_W_W), K.MOL_PER_L, SoluteFacts(row["formula"]))
    assert float(found.strength.value) == pytest.approx(float(row["mol_per_l"]), rel=2e-3, abs=6e-4)
    if row["mol_per_kg"]:
        by_mass = convert(Strength(Decimal(row["pct_w_w"]), K.PCT_W_W), K.MOL_PER_KG, SoluteFacts(row["formula"]))
        assert float(by_mass.strength.value) == pytest.approx(float(row["mol_per_kg"]), rel=2e-3, abs=6e-4)


FULL = SoluteFacts("H2O2", "hydrogen peroxide", Decimal("1.1"), equivalents=2, pure_density_g_ml=Decimal("1.45"))
OPEN_KINDS = [k for k in K if k not in (K.SATURATED, K.TIMES)]


@given(st.floats(0.01, 60), st.sampled_from(OPEN_KINDS), st.sampled_from(OPEN_KINDS))
def test_there_and_back_with_a_given_density(pct: float, one: StrengthKind, other: StrengthKind) -> None:
    start = convert(Strength(Decimal(str(pct)), K.PCT_W_W), one, FULL).strength
    there = convert(start, other, FULL).strength
    back = convert(there, one, FULL).strength
    assert float(back.value) == pytest.approx(float(start.value), rel=1e-9)


@given(
    st.sampled_from(["HCl", "NaOH", "H2SO4", "HNO3", "NH3", "CH3COOH", "H3PO4"]),
    st.floats(0.01, 29),
    st.sampled_from([k for k in OPEN_KINDS if k not in (K.VOLUMES, K.PCT_V_V)]),
)
def test_there_and_back_through_the_tables(formula: str, pct: float, kind: StrengthKind) -> None:
    known = SoluteFacts(formula, equivalents=1)
    there = convert(Strength(Decimal(str(pct)), K.PCT_W_W), kind, known).strength
    back = convert(there, K.PCT_W_W, known).strength
    assert float(back.value) == pytest.approx(pct, rel=2e-5, abs=2e-5)


def test_all_kinds_agree_on_one_solution() -> None:
    # 20-volume hydrogen peroxide is 1.78 mol/L and about 6 % w/v (British Pharmacopoeia: 20 vol, 6 %).
    peroxide = SoluteFacts("H2O2")
    assert float(convert(strength("20 vol"), K.MOL_PER_L, peroxide).strength.value) == pytest.approx(1.784, abs=0.002)
    assert float(convert(strength("20 vol"), K.PCT_W_V, peroxide).strength.value) == pytest.approx(6.07, abs=0.01)
    sulfuric = SoluteFacts("H2SO4", equivalents=2, equivalents_of="H+")
    assert convert(strength("0.05 mol/L"), K.EQ_PER_L, sulfuric).strength == strength("0.1 eq/L")
    assert convert(strength("0.1 eq/L"), K.MOL_PER_L, sulfuric).strength == strength("0.05 mol/L")
    assert convert(strength("5 % w/v"), K.G_PER_L, SoluteFacts()).strength == strength("50 g/L")
    assert convert(strength("0.01 % w/w"), K.PPM, SoluteFacts()).strength == strength("100 ppm")


def test_molality_counts_all_the_water() -> None:
    # 0.5 mol of CuSO4 in 1000 g of water is 79.80 g in 1079.80 g, whichever hydrate brought it.
    dry = convert(strength("0.5 mol/kg"), K.PCT_W_W, SoluteFacts("CuSO4")).strength
    assert float(dry.value) == pytest.approx(100 * 79.804 / 1079.804, rel=1e-5)
    wet = convert(strength("0.5 mol/kg"), K.PCT_W_W, SoluteFacts("CuSO4.5H2O")).strength
    assert float(wet.value) == pytest.approx(100 * 124.842 / 1079.804, rel=1e-5)


def test_counting_another_hydrate() -> None:
    found = recount(strength("10 % w/v"), SoluteFacts("CuSO4"), "CuSO4.5H2O")
    assert float(found.strength.value) == pytest.approx(15.6436, rel=1e-5)
    assert recount(strength("1 mol/L"), SoluteFacts("CuSO4"), "CuSO4.5H2O").strength == strength("1 mol/L")
    with pytest.raises(PrepError, match="water of crystallisation"):
        recount(strength("1 mol/L"), SoluteFacts("CuSO4"), "CuCl2")


def test_the_dilute_assumption_is_named_and_bounded() -> None:
    found = convert(strength("50 ppm"), K.MOL_PER_L, SoluteFacts("KClO3"))
    assert found.density is not None
    assert any("density taken as water's" in line.text and line.source for line in found.working)
    with pytest.raises(PrepError, match=r"give the density"):
        convert(strength("5 % w/w"), K.MOL_PER_L, SoluteFacts("KClO3", "potassium chlorate"))
    loose = convert(strength("3 % w/w"), K.MOL_PER_L, SoluteFacts("KClO3", tolerance_pct=Decimal(5)))
    # 3 % of 998.21 g in 122.55 g/mol, were it as light as water
    assert float(loose.strength.value) == pytest.approx(0.2444, rel=1e-3)
    # CRC Handbook, 102nd ed.: 3 % w/w potassium nitrate is 0.302 mol/L (from memory).
    modelled = convert(strength("3 % w/w"), K.MOL_PER_L, SoluteFacts("KNO3"))
    assert float(modelled.strength.value) == pytest.approx(0.302, rel=2e-3)


@pytest.mark.parametrize("formula", ["HCl", "NaOH", "H2SO4", "HNO3", "NH3", "CH3COOH", "H3PO4", "NaCl"])
def test_the_dilute_assumption_claims_no_more_than_it_keeps(formula: str) -> None:
    """Where a table shows the truth, taking water's density is off by no more than is claimed."""
    for pct in ("0.2", "0.5", "0.8", "1", "2", "4"):
        mass = Strength(Decimal(pct), K.PCT_W_W)
        true = density_of(mass, SoluteFacts(formula))
        # A name that no table knows: the same solution without its table.
        taken = density_of(mass, SoluteFacts("", tolerance_pct=Decimal(10)))
        assert abs(true.g_ml - taken.g_ml) <= taken.error_g_ml


BRINE = SoluteFacts(
    "NaCl", "sodium chloride", solubility=Solubility(Decimal("35.9"), Decimal(20), "CRC Handbook", "NaCl")
)


@pytest.mark.parametrize("text", ["60 % w/w", "27 % w/w", "7 mol/L", "6.5 mol/kg", "400 g/L", "40 % w/v"])
def test_more_than_dissolves_is_refused_with_the_limit(text: str) -> None:
    with pytest.raises(PrepError, match=r"35\.9 g of NaCl in 100 g of water at 20 degC \(CRC Handbook\)"):
        convert(strength(text), K.G_PER_L, BRINE)


@pytest.mark.parametrize("text", ["26 % w/w", "5 mol/L", "6 mol/kg", "300 g/L"])
def test_what_dissolves_passes(text: str) -> None:
    check_possible(strength(text), BRINE)


def test_saturated_is_a_strength() -> None:
    # 26.4 % w/w sodium chloride at 20 degC, 5.4 mol/L (CRC Handbook, from memory).
    assert float(convert(strength("saturated"), K.PCT_W_W, BRINE).strength.value) == pytest.approx(26.4, abs=0.05)
    assert float(convert(strength("saturated"), K.MOL_PER_L, BRINE).strength.value) == pytest.approx(5.43, abs=0.03)
    # Limewater: 0.173 g in 100 g at 20 degC gives 0.0233 mol/L (CRC Handbook, from memory).
    lime = SoluteFacts("Ca(OH)2", solubility=Solubility(Decimal("0.173"), Decimal(20), "CRC Handbook"))
    assert float(convert(strength("saturated"), K.MOL_PER_L, lime).strength.value) == pytest.approx(0.0233, abs=2e-4)
    with pytest.raises(PrepError, match="solubility of KCl is not recorded"):
        convert(strength("saturated"), K.MOL_PER_L, SoluteFacts("KCl"))
    with pytest.raises(PrepError, match="cannot be turned into"):
        convert(strength("1 mol/L"), K.SATURATED, BRINE)


def test_solubility_of_a_hydrate_limits_the_anhydrous_strength() -> None:
    copper = SoluteFacts("CuSO4", "copper sulfate", solubility=Solubility(Decimal(32), Decimal(20), "", "CuSO4.5H2O"))
    check_possible(strength("1 mol/L"), copper)
    # 1.25 mol/L: 312 g of the hydrate, whose own water leaves at most 886 g for it to dissolve in.
    for text in ("1.25 mol/L", "2 mol/L", "20 % w/w", "60 % w/v"):
        with pytest.raises(PrepError, match="more than dissolves"):
            check_possible(strength(text), copper)


@pytest.mark.parametrize(
    ("given_strength", "kind", "known", "why"),
    [
        (Strength(Decimal(110), K.PCT_V_V), K.G_PER_L, SoluteFacts("C2H5OH"), "above 100"),
        (Strength(Decimal(101), K.PCT_W_W), K.PPM, SoluteFacts("HCl"), "above 100"),
        (Strength(Decimal(-1), K.PCT_W_W), K.PPM, SoluteFacts("HCl"), "below nothing"),
        (
            Strength(Decimal(2000), K.G_PER_L),
            K.PCT_W_W,
            SoluteFacts("KI", density_g_ml=Decimal("1.5")),
            "impossible",
        ),
        (Strength(Decimal(20), K.VOLUMES), K.MOL_PER_L, SoluteFacts("NaCl"), "hydrogen peroxide only"),
        (Strength(Decimal(1), K.MOL_PER_L), K.VOLUMES, SoluteFacts("NaCl"), "hydrogen peroxide"),
        (Strength(Decimal(1), K.EQ_PER_L), K.MOL_PER_L, SoluteFacts("H2SO4"), "equivalents per mole are named"),
        (Strength(Decimal(1), K.MOL_PER_L), K.G_PER_L, SoluteFacts(), "formula is needed"),
        (Strength(Decimal(5), K.PCT_V_V), K.G_PER_L, SoluteFacts("CO(NH2)2"), "density of the pure liquid"),
        (Strength(Decimal(100), K.PCT_W_W), K.MOL_PER_KG, SoluteFacts("CH3COOH"), "leaves no water"),
        (Strength(Decimal(15), K.MOL_PER_L), K.PCT_W_W, SoluteFacts("HCl"), "beyond the densities on file"),
    ],
)
def test_a_conversion_that_lacks_a_fact_is_refused_with_the_reason(
    given_strength: Strength, kind: StrengthKind, known: SoluteFacts, why: str
) -> None:
    with pytest.raises(PrepError, match=why):
        convert(given_strength, kind, known)


ACID = Substance(
    "hydrochloric-acid",
    "hydrochloric acid",
    "HCl",
    "hydrochloric-acid",
    Form.AQUEOUS,
    assay_pct=Decimal(36),
    density_g_ml=Decimal("1.1791"),
    sources={"density": "CRC Handbook, 102nd ed."},
)


def test_strength_in_the_bottle() -> None:
    # CRC Handbook, 102nd ed.: hydrochloric acid 36 % w/w, 1.1791 g/mL, 11.642 mol/L.
    found = in_bottle(ACID, K.MOL_PER_L)
    assert float(found.strength.value) == pytest.approx(11.642, rel=6e-4)
    assert any(line.source == "CRC Handbook, 102nd ed." for line in found.working)
    from_table = in_bottle(replace(ACID, density_g_ml=None), K.MOL_PER_L)
    assert float(from_table.strength.value) == pytest.approx(11.642, rel=6e-4)
    with pytest.raises(PrepError, match="assay"):
        in_bottle(replace(ACID, assay_pct=None), K.MOL_PER_L)
    with pytest.raises(PrepError, match="is a solid"):
        in_bottle(replace(ACID, form=Form.SOLID), K.MOL_PER_L)


def test_moles_in_what_is_bought() -> None:
    assert float(moles_in(ACID)) * 1e9 == pytest.approx(11.642, rel=6e-4)  # CRC Handbook, 102nd ed.: mol/L
    soda = Substance("soda", "soda", "Na2CO3.10H2O", "soda", Form.SOLID, assay_pct=Decimal(99))
    assert float(moles_in(soda)) * 1e6 == pytest.approx(0.99 / 286.14, rel=1e-4)


def test_a_concentrates_density_is_not_that_of_its_dilutions() -> None:
    assert about_substance(ACID).density_g_ml is None
    dilute = convert(strength("2 % w/w"), K.MOL_PER_L, about_substance(ACID))
    assert float(dilute.strength.value) == pytest.approx(0.553, abs=1e-3)  # CRC Handbook, 102nd ed.
    propanone = Substance("propanone", "propanone", "C3H6O", "propanone", Form.LIQUID, density_g_ml=Decimal("0.79"))
    assert about_substance(propanone).pure_density_g_ml == Decimal("0.79")
    assert about_substance(replace(propanone, assay_pct=Decimal(90))).pure_density_g_ml is None
    spirit = Substance(
        *("ethanol-96", "ethanol 96 %", "C2H5OH", "ethanol", Form.LIQUID),
        assay_pct=Decimal("93.84"),
        density_g_ml=Decimal("0.8074"),
    )
    assert about_substance(spirit).pure_density_g_ml is None
