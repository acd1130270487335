"""Diluting and blending: published worked examples, conservation, refusals; by `calc` and by the planner's routes."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.model import Form, PouredPart, Strength, StrengthKind, Substance
from prep.chemistry.preparation.routes import RouteKind
from prep.chemistry.quantities import strength
from prep.chemistry.strength.dilution import blend, dilute
from prep.chemistry.strength.solutes import SoluteFacts
from prep.chemistry.strength.strengths import convert, density_of
from prep.errors import PrepError
from tests.published import agree, card, check, examples, given_in, making, option, planned_take, solid

K = StrengthKind


def molar(value: str | Decimal) -> Strength:
    return Strength(Decimal(value), K.MOL_PER_L)


def concentrate(formula: str, pct: str, density: str | None, form: Form = Form.AQUEOUS) -> Substance:
    return Substance(
        *("reagent", "the reagent", formula, "solute", form),
        assay_pct=Decimal(pct),
        density_g_ml=None if density is None else Decimal(density),
    )


def taken(source: Strength, target: Strength, volume_ml: str | Decimal) -> tuple[float, float]:
    """Millilitres of a stronger solution, as `calc dilute` says and as the planner does."""
    volume = Decimal(volume_ml)
    return float(dilute(source, target, volume).take_ml), planned_take(source, target, volume)


@examples("dilution", "reagent dilution")
def test_published_molar_dilutions_are_reproduced(row: dict[str, str]) -> None:
    g = given_in(row)
    if "w_pct" in g:
        source, wanted, volume = Strength(Decimal(g["w_pct"]), K.PCT_W_W), molar(g["C2_mol_L"]), Decimal(g["V2_mL"])
        known = SoluteFacts(g["formula"], density_g_ml=Decimal(g["d_g_mL"]))
        bottle = concentrate(g["formula"], g["w_pct"], g["d_g_mL"])
        check(row, dilute(source, wanted, volume, about=known).take_ml, planned_take(bottle, wanted, volume))
        return
    # The answer goes in where it is asked for; what is taken must then be what the example says.
    g[row["find"]] = row["expected"]
    volume = Decimal(g["V2_L"]) * 1000 if "V2_L" in g else Decimal(g["V2_mL"])
    agree(row, g["V1_mL"], *taken(molar(g["C1_mol_L"]), molar(g["C2_mol_L"]), volume))


@examples("% w/w + density to dilution", "reagent dilution table")
def test_published_dilutions_of_concentrates_are_reproduced(row: dict[str, str]) -> None:
    g = given_in(row)
    bottle = concentrate(g["formula"], g["w_pct"], g["d_g_mL"])
    check(row, planned_take(bottle, molar(g["C2_mol_L"]), Decimal(g["V2_mL"])))


@examples("% w/w dilution")
def test_dilution_by_mass(row: dict[str, str]) -> None:
    g = given_in(row)
    acid = SoluteFacts("HNO3", "nitric acid")  # the example's; its densities are in the table
    source, target = (Strength(Decimal(g[w]), K.PCT_W_W) for w in ("w1_pct", "w2_pct"))
    volume = Decimal(g["m2_g"]) / density_of(target, acid).g_ml
    by_calc = dilute(source, target, volume, about=acid).take_ml
    planned = planned_take(source, target, volume, of=solid("HNO3"))
    density = float(density_of(source, acid).g_ml)
    check(row, float(by_calc) * density, planned * density)


@examples("mixing two strengths")
def test_two_strengths_to_a_third(row: dict[str, str]) -> None:
    g = given_in(row)
    weak, strong, aim = (Strength(Decimal(g[c]), K.PCT_W_V) for c in ("C1_pct", "C2_pct", "C_target_pct"))
    volume, less = Fraction(g["V_target_mL"]), Fraction(row["expected"])
    routes = making(solid(""), card("weak", weak), card("strong", strong), card("made", aim))
    (weaker,) = routes.weaker("made")
    assert weaker.item == "weak"
    share = less / (weaker.per_nl * volume)
    more = (1 - share) * option(routes, RouteKind.DILUTE).per_nl * volume
    check(row, float(volume - more))  # with the published volume of the weaker, the stronger fills the rest
    back = blend([PouredPart(Decimal(float(more)), strong), PouredPart(Decimal(row["expected"]), weak)])
    assert float(back.strength.value) == pytest.approx(float(aim.value), rel=1e-6)


@examples("serial dilution")
def test_a_published_serial_dilution_is_reproduced(row: dict[str, str]) -> None:
    g = given_in(row)
    now = strength(f"{g['C0_mmol_L']} mmol/L")
    for _ in range(int(g["steps"])):
        now = blend(
            [PouredPart(Decimal(g["V_transfer_mL"]), now), PouredPart(Decimal(g["V_diluent_mL"]), molar("0"))]
        ).strength
    check(row, 1000 * now.value)
    stock = float(g["V_transfer_mL"]) + float(g["V_diluent_mL"])
    _, planned = taken(strength(f"{g['C0_mmol_L']} mmol/L"), strength(f"{row['expected']} mmol/L"), "1")
    assert planned == pytest.approx((float(g["V_transfer_mL"]) / stock) ** int(g["steps"]), rel=1e-9)


@examples("molarity to normality")
def test_published_equivalents_are_reproduced(row: dict[str, str]) -> None:
    g = given_in(row)
    known = SoluteFacts(g["formula"], equivalents=int(g["equivalents"]))
    check(row, convert(molar(g["C_mol_L"]), K.EQ_PER_L, known).strength.value)


def test_take_and_solvent_without_a_formula() -> None:
    made = dilute(strength("12.0 mol/L"), strength("0.1 mol/L"), Decimal(2000))
    assert float(made.take_ml) == pytest.approx(16.667, abs=0.001)
    assert float(made.solvent_ml) == pytest.approx(1983.33, abs=0.01)
    planned = planned_take(strength("12.0 mol/L"), strength("0.1 mol/L"), Decimal(2000))
    assert planned == pytest.approx(16.667, abs=0.001)


def test_water_by_densities_where_they_are_known() -> None:
    made = dilute(strength("98 % w/w"), strength("1 mol/L"), Decimal(1000), about=SoluteFacts("H2SO4"))
    # CRC Handbook, 102nd ed.: 98 % is 18.346 mol/L, 1.8361 g/mL.
    assert float(made.take_ml) == pytest.approx(1000 / 18.346, rel=1e-3)
    mass = 1000 * density_of(strength("1 mol/L"), SoluteFacts("H2SO4")).g_ml
    expected = (mass - made.take_ml * Decimal("1.8361")) / Decimal("0.99821")
    assert float(made.solvent_ml) == pytest.approx(float(expected), rel=1e-4)
    assert any(line.source for line in made.working)


def test_the_sources_density_is_not_the_products() -> None:
    # 5 % w/w hydrochloric acid is 1.0228 g/mL (between 4 and 6 % w/w, CRC Handbook, 102nd ed.).
    acid = SoluteFacts("HCl", density_g_ml=Decimal("1.1791"))
    made = dilute(strength("36 % w/w"), strength("5 % w/w"), Decimal(1000), about=acid)
    expected = pytest.approx(1000 * 1.0228 * 0.05 / (0.36 * 1.1791), rel=1e-3)
    assert float(made.take_ml) == expected
    assert planned_take(concentrate("HCl", "36", "1.1791"), strength("5 % w/w"), Decimal(1000)) == expected


def test_hydrogen_peroxide_is_diluted_by_its_volumes() -> None:
    assert taken(strength("100 vol"), strength("20 vol"), "1000") == (200, 200)
    peroxide = SoluteFacts("H2O2", density_g_ml=Decimal("1.11"))
    made = dilute(strength("30 % w/w"), strength("20 vol"), Decimal(1000), about=peroxide)
    assert float(made.take_ml) == pytest.approx(182.3, abs=0.2)
    assert planned_take(concentrate("H2O2", "30", "1.11"), strength("20 vol"), Decimal(1000)) == pytest.approx(
        float(made.take_ml), rel=1e-9
    )


@pytest.mark.parametrize(("stock", "weak"), [("20 vol", "10 vol"), ("10 % w/v", "5 % w/v"), ("3 g/L", "1.5 g/L")])
def test_half_as_strong_takes_exactly_half(stock: str, weak: str) -> None:
    """By way of moles it came to a nanolitre more, and the bottle that held just enough was refused."""
    routes = making(solid("H2O2"), card("stock", strength(stock)), card("made", strength(weak)))
    assert option(routes, RouteKind.DILUTE).per_nl == Fraction(1, 2)
    assert option(routes, RouteKind.DILUTE).needed(250_000_000) == 125_000_000
    assert option(routes, RouteKind.DILUTE).needed(3) == 2  # never less than the exact amount


def test_two_hydrates_are_diluted_by_moles() -> None:
    """10 % w/v of CuSO4 is 15.64 % w/v of CuSO4.5H2O: M 159.61 and 249.68 g/mol."""
    stock = card("stock", strength("10 % w/v"), "CuSO4")
    wanted = card("made", strength("10 % w/v"), "CuSO4.5H2O")
    hydrate = replace(solid("CuSO4.5H2O"), code="hydrate")
    routes = making(solid("CuSO4"), hydrate, stock, wanted)
    assert float(option(routes, RouteKind.DILUTE).per_nl) == pytest.approx(159.61 / 249.68, rel=1e-4)


def test_ethanol_and_water_contract_when_mixed() -> None:
    # OIML R 22 (1975), evaluated: 729.17 mL of 96 % v/v and 297.35 mL of water make 1 L of 70 % v/v.
    made = dilute(strength("96 % v/v"), strength("70 % v/v"), Decimal(1000), about=SoluteFacts("C2H5OH"))
    assert (float(made.take_ml), float(made.solvent_ml)) == pytest.approx((729.17, 297.35), rel=1e-4)
    spirit = concentrate("C2H5OH", "93.838", "0.8074", Form.LIQUID)
    assert planned_take(spirit, strength("70 % v/v"), Decimal(1000)) == pytest.approx(729.17, rel=1e-4)
    mixed = blend(
        [PouredPart(Decimal(500), strength("96 % v/v")), PouredPart(Decimal(500), Strength(Decimal(0), K.PCT_V_V))],
        about=SoluteFacts("C2H5OH"),
    )
    assert float(mixed.volume_ml) == pytest.approx(969.61, rel=1e-4)


def test_a_concentrate_without_its_density_uses_the_table() -> None:
    # CRC Handbook, 102nd ed.: 36 % is 11.642 mol/L, 1.1791 g/mL.
    given_one = planned_take(concentrate("HCl", "36", "1.1791"), molar("2"), Decimal(1000))
    table = planned_take(concentrate("HCl", "36", None), molar("2"), Decimal(1000))
    assert given_one == pytest.approx(table, rel=1e-4)
    assert given_one == pytest.approx(2000 / 11.642, rel=1e-3)


@pytest.mark.parametrize(
    ("source", "target", "known", "why"),
    [
        ("0.1 mol/L", "2 mol/L", SoluteFacts(), "stronger"),
        ("10 % w/w", "12 mol/L", SoluteFacts("HCl"), "stronger"),
        ("50 % v/v", "70 % v/v", SoluteFacts("C2H5OH"), "stronger"),
        ("10 % w/w", "1 mol/L", SoluteFacts("KClO3"), "give the density"),
        ("10 % w/v", "1 mol/L", SoluteFacts(), "formula is needed"),
        ("2 eq/L", "1 mol/L", SoluteFacts("H2SO4"), "equivalents"),
    ],
)
def test_a_dilution_that_cannot_be_is_refused_with_the_reason(
    source: str, target: str, known: SoluteFacts, why: str
) -> None:
    with pytest.raises(PrepError, match=why):
        dilute(strength(source), strength(target), Decimal(100), about=known)


def test_amounts_that_are_none() -> None:
    one = strength("1 mol/L")
    with pytest.raises(PrepError, match="more than nothing"):
        dilute(one, one, Decimal(0))
    with pytest.raises(PrepError, match="more than nothing"):
        dilute(one, molar("0"), Decimal(100))
    with pytest.raises(PrepError, match="more than nothing"):
        dilute(strength("96 % v/v"), strength("0 % v/v"), Decimal(100), about=SoluteFacts("C2H5OH"))
    with pytest.raises(PrepError, match="nothing to blend"):
        blend([])
    with pytest.raises(PrepError, match="nothing to blend"):
        blend([PouredPart(Decimal(0), one)])
    unknown = making(replace(concentrate("HCl", "36", "1.1791"), assay_pct=None), card("made", one))
    assert unknown.routes("made") == ()
    assert "assay" in unknown.problems["made"][0]


def test_the_same_strength_is_taken_whole() -> None:
    made = dilute(strength("1 mol/L"), strength("1 mol/L"), Decimal(100))
    assert (made.take_ml, made.solvent_ml) == (100, 0)


def test_what_is_no_stronger_can_give_a_part_and_what_is_stronger_is_a_route() -> None:
    others = [card(text, molar(text)) for text in ("0.2", "1", "0.8", "2")]
    routes = making(solid(""), *others, card("made", molar("1")))
    assert [(o.item, o.per_nl) for o in routes.weaker("made")] == [("1", 1), ("0.8", Fraction(5, 4)), ("0.2", 5)]
    assert [r.source for r in routes.routes("made") if r.kind is RouteKind.DILUTE] == ["2"]


def test_blending_by_volume() -> None:
    made = blend([PouredPart(Decimal(100), strength("2 mol/L")), PouredPart(Decimal(300), strength("0.5 mol/L"))])
    assert (made.volume_ml, made.strength) == (400, strength("0.875 mol/L"))
    assert "volumes taken to add" in made.working[-1].text


PARTS = st.lists(
    st.tuples(st.decimals("0.1", "2000", places=1), st.decimals("0", "20", places=3)), min_size=1, max_size=6
)


@given(PARTS, st.sampled_from([K.MOL_PER_L, K.G_PER_L, K.PCT_W_V, K.VOLUMES]))
def test_blending_by_volume_conserves_what_is_dissolved(
    parts: list[tuple[Decimal, Decimal]], kind: StrengthKind
) -> None:
    made = blend([PouredPart(v, Strength(c, kind)) for v, c in parts])
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
    known = SoluteFacts(formula)
    portions = [PouredPart(v, convert(Strength(c, K.PCT_W_W), kind, known).strength) for v, c in parts]
    made = blend(portions, about=known)

    def grams(volume: Decimal, held: Strength) -> Decimal:
        return volume * convert(held, K.G_PER_L, known).strength.value / 1000

    before = float(sum(grams(one.volume_ml, one.strength) for one in portions))
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
