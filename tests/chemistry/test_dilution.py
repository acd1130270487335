"""Diluting and blending: published worked examples, conservation, refusals."""

import csv
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.dilution import blend, dilute, dilute_by_mass, dilute_substance, proportions
from prep.chemistry.model import Form, Strength, StrengthKind, Substance
from prep.chemistry.quantities import strength
from prep.chemistry.solutes import About
from prep.chemistry.strengths import convert, density_of
from prep.errors import PrepError

K = StrengthKind
with (Path(__file__).parent / "data" / "dilutions.csv").open(encoding="utf-8") as file:
    ROWS = list(csv.DictReader(file))


def examples(*kinds: str) -> pytest.MarkDecorator:
    """The published examples of these kinds, each with its source in the row."""
    rows = [r for r in ROWS if r["kind"] in kinds]
    return pytest.mark.parametrize("row", rows, ids=lambda r: r["id"])


def given_in(row: dict[str, str]) -> dict[str, str]:
    return dict(part.split("=", 1) for part in row["given"].split(";"))


def check(row: dict[str, str], found: Decimal) -> None:
    assert float(found) == pytest.approx(float(row["expected"]), rel=float(row["tolerance_rel"])), row["source"]


def molar(value: str | Decimal) -> Strength:
    return Strength(Decimal(value), K.MOL_PER_L)


@examples("dilution", "reagent dilution")
def test_molar_dilutions(row: dict[str, str]) -> None:
    g = given_in(row)
    if row["find"] == "C1_mol_L":  # the stock that the published volume implies
        made = dilute(molar(row["expected"]), molar(g["C2_mol_L"]), Decimal(g["V2_mL"]))
        assert float(made.take_ml) == pytest.approx(float(g["V1_mL"]), rel=float(row["tolerance_rel"]))
        return
    if row["find"] == "C2_mol_L":
        water = Decimal(g["V2_mL"]) - Decimal(g["V1_mL"])
        check(row, blend([(Decimal(g["V1_mL"]), molar(g["C1_mol_L"])), (water, molar("0"))]).strength.value)
        return
    if row["find"] == "V2_L":
        factor = dilute(molar(g["C1_mol_L"]), molar(g["C2_mol_L"]), Decimal(1000)).factor
        check(row, factor * Decimal(g["V1_mL"]) / 1000)
        return
    if "w_pct" in g:
        source, known = (
            Strength(Decimal(g["w_pct"]), K.PCT_W_W),
            About(g["formula"], density_g_ml=Decimal(g["d_g_mL"])),
        )
    else:
        source, known = molar(g["C1_mol_L"]), About()
    check(row, dilute(source, molar(g["C2_mol_L"]), Decimal(g["V2_mL"]), about=known).take_ml)


@examples("% w/w + density to dilution", "reagent dilution table")
def test_concentrated_reagents(row: dict[str, str]) -> None:
    g = given_in(row)
    bottle = Substance(
        *("reagent", "the reagent", g["formula"], "reagent", Form.AQUEOUS),
        assay_pct=Decimal(g["w_pct"]),
        density_g_ml=Decimal(g["d_g_mL"]),
    )
    check(row, dilute_substance(bottle, molar(g["C2_mol_L"]), Decimal(g["V2_mL"])).take_ml)


@examples("% w/w dilution")
def test_dilution_by_mass(row: dict[str, str]) -> None:
    g = given_in(row)
    source, target = (Strength(Decimal(g[w]), K.PCT_W_W) for w in ("w1_pct", "w2_pct"))
    made = dilute_by_mass(source, target, Decimal(g["m2_g"]))
    check(row, made.take_g)
    assert made.take_g + made.solvent_g == made.solution_g


@examples("mixing two strengths")
def test_two_strengths_to_a_third(row: dict[str, str]) -> None:
    g = given_in(row)
    weak, strong, aim = (Strength(Decimal(g[c]), K.PCT_W_V) for c in ("C1_pct", "C2_pct", "C_target_pct"))
    more, less, _ = proportions(strong, weak, aim, Decimal(g["V_target_mL"]))
    check(row, less)
    back = blend([(more, strong), (less, weak)])
    assert float(back.strength.value) == pytest.approx(float(aim.value), rel=1e-9)


@examples("serial dilution")
def test_serial_dilution(row: dict[str, str]) -> None:
    g = given_in(row)
    now = strength(f"{g['C0_mmol_L']} mmol/L")
    for _ in range(int(g["steps"])):
        now = blend([(Decimal(g["V_transfer_mL"]), now), (Decimal(g["V_diluent_mL"]), molar("0"))]).strength
    check(row, 1000 * now.value)


@examples("molarity to normality")
def test_equivalents(row: dict[str, str]) -> None:
    g = given_in(row)
    known = About(g["formula"], equivalents=int(g["equivalents"]))
    check(row, convert(molar(g["C_mol_L"]), K.EQ_PER_L, known).strength.value)


def test_take_and_solvent_without_a_formula() -> None:
    made = dilute(strength("12.0 mol/L"), strength("0.1 mol/L"), Decimal(2000))
    assert float(made.take_ml) == pytest.approx(16.667, abs=0.001)
    assert float(made.solvent_ml) == pytest.approx(1983.33, abs=0.01)
    assert made.factor == 120


def test_water_by_densities_where_they_are_known() -> None:
    made = dilute(strength("98 % w/w"), strength("1 mol/L"), Decimal(1000), about=About("H2SO4"))
    # CRC Handbook, 102nd ed.: 98 % is 18.346 mol/L, 1.8361 g/mL.
    assert float(made.take_ml) == pytest.approx(1000 / 18.346, rel=1e-3)
    mass = 1000 * density_of(strength("1 mol/L"), About("H2SO4")).g_ml
    expected = (mass - made.take_ml * Decimal("1.8361")) / Decimal("0.99821")
    assert float(made.solvent_ml) == pytest.approx(float(expected), rel=1e-4)
    assert any(line.source for line in made.working)


def test_the_sources_density_is_not_the_products() -> None:
    # 5 % w/w hydrochloric acid is 1.0228 g/mL (between 4 and 6 % w/w, CRC Handbook, 102nd ed.).
    acid = About("HCl", density_g_ml=Decimal("1.1791"))
    made = dilute(strength("36 % w/w"), strength("5 % w/w"), Decimal(1000), about=acid)
    assert float(made.take_ml) == pytest.approx(1000 * 1.0228 * 0.05 / (0.36 * 1.1791), rel=1e-3)
    salt = About("KNO3", density_g_ml=Decimal("1.1623"))
    given_both = dilute(
        strength("24 % w/w"),
        strength("10 % w/w"),
        Decimal(1000),
        about=salt,
        target_density_g_ml=Decimal("1.0627"),
    )
    assert float(given_both.take_ml) == pytest.approx(1062.7 * 0.1 / (0.24 * 1.1623), rel=1e-9)


def test_peroxide_volumes() -> None:
    assert dilute(strength("100 vol"), strength("20 vol"), Decimal(1000)).take_ml == 200
    peroxide = About("H2O2", density_g_ml=Decimal("1.11"))
    made = dilute(strength("30 % w/w"), strength("20 vol"), Decimal(1000), about=peroxide)
    assert float(made.take_ml) == pytest.approx(182.3, abs=0.2)


def test_ethanol_contracts() -> None:
    # OIML R 22 (1975), evaluated: 729.17 mL of 96 % v/v and 297.35 mL of water make 1 L of 70 % v/v.
    made = dilute(strength("96 % v/v"), strength("70 % v/v"), Decimal(1000), about=About("C2H5OH"))
    assert (float(made.take_ml), float(made.solvent_ml)) == pytest.approx((729.17, 297.35), rel=1e-4)
    spirit = Substance(
        *("ethanol-96", "ethanol 96 %", "C2H5OH", "ethanol", Form.LIQUID),
        assay_pct=Decimal("93.838"),
        density_g_ml=Decimal("0.8074"),
    )
    from_bottle = dilute_substance(spirit, strength("70 % v/v"), Decimal(1000))
    assert float(from_bottle.take_ml) == pytest.approx(729.17, rel=1e-4)
    assert float(from_bottle.solvent_ml) == pytest.approx(297.35, rel=1e-3)
    mixed = blend(
        [(Decimal(500), strength("96 % v/v")), (Decimal(500), Strength(Decimal(0), K.PCT_V_V))],
        about=About("C2H5OH"),
    )
    assert float(mixed.volume_ml) == pytest.approx(969.61, rel=1e-4)


ACID = Substance(
    *("hydrochloric-acid", "hydrochloric acid", "HCl", "hydrochloric-acid", Form.AQUEOUS),
    assay_pct=Decimal(36),
    density_g_ml=Decimal("1.1791"),
    sources={"density": "CRC Handbook, 102nd ed."},
)


def test_a_concentrate_without_its_density_uses_the_table() -> None:
    given_one = dilute_substance(ACID, strength("2 mol/L"), Decimal(1000))
    table = dilute_substance(replace(ACID, density_g_ml=None), strength("2 mol/L"), Decimal(1000))
    assert float(given_one.take_ml) == pytest.approx(float(table.take_ml), rel=1e-4)
    assert float(given_one.take_ml) == pytest.approx(2000 / 11.642, rel=1e-3)


@pytest.mark.parametrize(
    ("source", "target", "known", "why"),
    [
        ("0.1 mol/L", "2 mol/L", About(), "stronger"),
        ("10 % w/w", "12 mol/L", About("HCl"), "stronger"),
        ("50 % v/v", "70 % v/v", About("C2H5OH"), "stronger"),
        ("10 % w/w", "1 mol/L", About("KNO3"), "give the density"),
        ("10 % w/v", "1 mol/L", About(), "formula is needed"),
        ("2 eq/L", "1 mol/L", About("H2SO4"), "equivalents"),
    ],
)
def test_refusals(source: str, target: str, known: About, why: str) -> None:
    with pytest.raises(PrepError, match=why):
        dilute(strength(source), strength(target), Decimal(100), about=known)


def test_amounts_that_are_none() -> None:
    one = strength("1 mol/L")
    with pytest.raises(PrepError, match="more than nothing"):
        dilute(one, one, Decimal(0))
    with pytest.raises(PrepError, match="more than nothing"):
        dilute(one, molar("0"), Decimal(100))
    with pytest.raises(PrepError, match="more than nothing"):
        dilute_by_mass(strength("10 % w/w"), strength("1 % w/w"), Decimal(0))
    with pytest.raises(PrepError, match="nothing to blend"):
        blend([])
    with pytest.raises(PrepError, match="nothing to blend"):
        blend([(Decimal(0), one)])
    with pytest.raises(PrepError, match="not between"):
        proportions(strength("2 mol/L"), one, strength("3 mol/L"), Decimal(100))
    with pytest.raises(PrepError, match="is a solid"):
        dilute_substance(replace(ACID, form=Form.SOLID), one, Decimal(100))
    with pytest.raises(PrepError, match="assay"):
        dilute_substance(replace(ACID, assay_pct=None), one, Decimal(100))


def test_the_same_strength_is_taken_whole() -> None:
    made = dilute(strength("1 mol/L"), strength("1 mol/L"), Decimal(100))
    assert (made.take_ml, made.solvent_ml, made.factor) == (100, 0, 1)


def test_blending_by_volume() -> None:
    made = blend([(Decimal(100), strength("2 mol/L")), (Decimal(300), strength("0.5 mol/L"))])
    assert (made.volume_ml, made.strength) == (400, strength("0.875 mol/L"))
    assert "volumes taken to add" in made.working[-1].text


PARTS = st.lists(
    st.tuples(st.decimals("0.1", "2000", places=1), st.decimals("0", "20", places=3)), min_size=1, max_size=6
)


@given(PARTS, st.sampled_from([K.MOL_PER_L, K.G_PER_L, K.PCT_W_V, K.VOLUMES]))
def test_blending_by_volume_conserves_what_is_dissolved(
    parts: list[tuple[Decimal, Decimal]], kind: StrengthKind
) -> None:
    made = blend([(v, Strength(c, kind)) for v, c in parts])
    before = float(sum(v * c for v, c in parts))
    assert float(made.volume_ml * made.strength.value) == pytest.approx(before, rel=1e-9, abs=1e-9)


@given(
    PARTS,
    st.sampled_from(["HCl", "NaOH", "H2SO4", "NH3", "NaCl"]),
    st.sampled_from([K.PCT_W_W, K.PPM, K.MOL_PER_KG]),
)
def test_blending_by_mass_conserves_what_is_dissolved(
    parts: list[tuple[Decimal, Decimal]], formula: str, kind: StrengthKind
) -> None:
    known = About(formula)
    portions = [(v, convert(Strength(c, K.PCT_W_W), kind, known).strength) for v, c in parts]
    made = blend(portions, about=known)

    def grams(volume: Decimal, held: Strength) -> Decimal:
        return volume * convert(held, K.G_PER_L, known).strength.value / 1000

    before = float(sum(grams(v, s) for v, s in portions))
    assert float(grams(made.volume_ml, made.strength)) == pytest.approx(before, rel=1e-5, abs=1e-6)


@given(
    st.decimals("0.01", "12", places=2),
    st.decimals("0.001", "1", places=3),
    st.decimals("1", "10000", places=1),
)
def test_a_dilution_holds_what_it_took(stock: Decimal, share: Decimal, volume: Decimal) -> None:
    target = molar(stock * share)
    made = dilute(molar(stock), target, volume)
    assert float(made.take_ml * stock) == pytest.approx(float(volume * target.value), rel=1e-9)
    assert float(made.take_ml + made.solvent_ml) == pytest.approx(float(volume), rel=1e-9)
