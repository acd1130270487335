"""What a person may type for an amount or a strength, and what is refused."""

import re
import time
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry import quantities as q
from prep.chemistry import units
from prep.chemistry.model import Measure, PouredPart, Strength, StrengthKind
from prep.chemistry.typed_strength import NamedStrength
from prep.errors import PrepError


@pytest.mark.parametrize(
    ("text", "ml"),
    [
        ("250 mL", "250"),
        ("250ml", "250"),
        ("2.5 L", "2500"),
        ("2.5 l", "2500"),
        ("3 dL", "300"),
        ("3 cL", "30"),
        ("5 uL", "0.005"),
        ("5 µL", "0.005"),
        ("5 μL", "0.005"),
        ("5 cm3", "5"),
        ("5 cm³", "5"),
        ("5 dm^3", "5000"),
        ("1e2 mL", "100"),
        (".5 L", "500"),
        ("500ML", "500"),  # no megalitres: whoever writes in capitals means millilitres
        ("5 UL", "0.005"),
        ("2 ltr", "2000"),
        ("10 mls", "10"),
        ("0.1 mL", "0.1"),
    ],
)
def test_volumes_are_exact(text: str, ml: str) -> None:
    assert q.volume_ml(text) == Decimal(ml)


@pytest.mark.parametrize(
    ("text", "g"),
    [
        ("2.5 g", "2.5"),
        ("1 kg", "1000"),
        ("1KG", "1000"),
        ("25 gms", "25"),
        ("40 mg", "0.04"),
        ("7 ug", "0.000007"),
        ("7 µg", "0.000007"),
    ],
)
def test_masses_are_exact(text: str, g: str) -> None:
    assert q.mass_g(text) == Decimal(g)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "Nothing was given"),
        ("5", "no unit"),
        ("mL", "not one number"),
        ("5 N", '"N" is not known'),
        ("5 Da", "not known"),
        ("5 t", "not known"),
        ("nan mL", "not one number"),
        ("inf mL", "not one number"),
        ("-5 mL", "negative"),
        ("−5 mL", "negative"),
        ("0 mL", "zero"),
        ("2*3 mL", "not known"),
        ("1/3 mL", "has a fraction"),
        ("2 x 3 mL", "not known"),
        ("5 mL**2", "not known"),
        ("5 mL*mL/mL", "not known"),
        ("5 __import__('os')", "not known"),
        ("1,000 mL", "may be 1.000 or 1000"),
        ("2,5.1 mL", "has a comma"),
        ("1,000,000 mL", "has a comma"),
        ("5 g", "is not a volume"),
        ("5 mol/L", "is not a volume"),
        ("2 000 mL", "no separator"),
        ("1e30 L", "more than the books can hold"),
        ("1e999 L", "beyond"),
        ("1e99999999999 L", "beyond"),
        ("9" * 200 + " mL", "not one number"),
        ("٣ mL", "not one number"),
        ("5 mL\x00", "not known"),
    ],
)
def test_refused_volumes_say_why(text: str, why: str) -> None:
    with pytest.raises(PrepError, match=why) as refused:
        q.volume_ml(text)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 300


def test_a_plain_unit_is_what_the_registry_says_it_is() -> None:
    registry, checked = units._registry(), 0
    for unit, meaning in units._plain().items():
        if re.fullmatch(r"[kdcmuµ]?(?:g|L|l|mol|eq|M)|(?:gram|litre|liter|mole|drop)s?|[cd]m3", unit):
            parsed = registry.parse_units(unit)
            assert str(parsed.dimensionality) == meaning.dimension
            assert Decimal(registry.Quantity(Decimal(1), parsed).to_root_units().magnitude) == meaning.factor
            checked += 1
    assert checked > 30


def test_zero_passes_where_it_is_allowed() -> None:
    assert q.volume_ml("0 mL", zero=True) == 0
    assert q.amount("0 g", zero=True) == q.Amount(0, Measure.MASS)


def test_amounts_are_whole_micrograms_or_nanolitres() -> None:
    assert q.amount("25 mL") == q.Amount(25_000_000, Measure.VOLUME)
    assert q.amount("2.5 g") == q.Amount(2_500_000, Measure.MASS)
    assert q.amount("0.0000025 g") == q.Amount(2, Measure.MASS)  # half-even
    assert q.amount("0.0000035 g") == q.Amount(4, Measure.MASS)
    with pytest.raises(PrepError, match="less than the books can hold"):
        q.amount("1e-9 g")
    with pytest.raises(PrepError, match="not an amount"):
        q.amount("3 mol")


def test_drops_wait_for_their_dropper() -> None:
    drops = q.amount("40 drops")
    assert (drops.drops, drops.base) == (40, 0)
    assert drops.base_with(Decimal(20)) == 2_000_000
    assert q.amount("5 mL").base_with(Decimal(20)) == 5_000_000
    with pytest.raises(PrepError, match="whole number of drops"):
        q.amount("1.5 drops")


def test_the_largest_amounts_still_sum_in_64_bits() -> None:
    assert q.amount("1000 kg").base * 9000 < 2**63
    with pytest.raises(PrepError, match="more than the books can hold"):
        q.amount("1001000 kg")


@pytest.mark.parametrize(
    ("text", "value", "kind"),
    [
        ("0.1 mol/L", "0.1", StrengthKind.MOL_PER_L),
        ("0.1M", "0.1", StrengthKind.MOL_PER_L),
        ("5 mM", "0.005", StrengthKind.MOL_PER_L),
        ("5 mmol/L", "0.005", StrengthKind.MOL_PER_L),
        ("2 mol dm-3", "2", StrengthKind.MOL_PER_L),
        ("2 mol dm⁻³", "2", StrengthKind.MOL_PER_L),
        ("2 mol L-1", "2", StrengthKind.MOL_PER_L),
        ("0.05 mol/kg", "0.05", StrengthKind.MOL_PER_KG),
        ("5 g/L", "5", StrengthKind.G_PER_L),
        ("5 mg/L", "0.005", StrengthKind.G_PER_L),
        ("0.3 g/mL", "300", StrengthKind.G_PER_L),
        ("5 g/100 mL", "5", StrengthKind.PCT_W_V),
        ("5 % w/w", "5", StrengthKind.PCT_W_W),
        ("5%w/v", "5", StrengthKind.PCT_W_V),
        ("5 % (v/v)", "5", StrengthKind.PCT_V_V),
        ("5 ppm", "5", StrengthKind.PPM),
        ("5 mg/kg", "5", StrengthKind.PPM),
        ("1 eq/L", "1", StrengthKind.EQ_PER_L),
        ("2 N", "2", StrengthKind.EQ_PER_L),
        ("N/10", "0.1", StrengthKind.EQ_PER_L),
        ("M/10", "0.1", StrengthKind.MOL_PER_L),
        ("0.5 molal", "0.5", StrengthKind.MOL_PER_KG),
        ("5 g/dm3", "5", StrengthKind.G_PER_L),
        ("5 g/100 g", "5", StrengthKind.PCT_W_W),
        ("10x", "10", StrengthKind.TIMES),
        ("1 in 10", "0.1", StrengthKind.TIMES),
        ("1:10", "0.1", StrengthKind.TIMES),
        ("20 vol", "20", StrengthKind.VOLUMES),
        ("20 volumes", "20", StrengthKind.VOLUMES),
        ("saturated", "0", StrengthKind.SATURATED),
    ],
)
def test_a_strength_is_read_in_any_way_it_is_written(text: str, value: str, kind: StrengthKind) -> None:
    assert q.strength(text) == Strength(Decimal(value), kind)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("5 %", "which per cent"),
        ("2 in 1", "no dilution"),
        ("110 % v/v", "above 100"),
        ("101 % w/w", "above 100"),
        ("2000000 ppm", "above"),
        ("1.2 g/mL", "reads as a density"),
        ("5 mL/L", "no strength"),
        ("5 g", "no strength"),
        ("0 mol/L", "zero"),
        ("-1 mol/L", "negative"),
        ("1,000 mol/L", "may be 1.000 or 1000"),
        ("1e9 mol/L", "stronger than any"),
    ],
)
def test_a_strength_that_is_none_is_refused_with_the_reason(text: str, why: str) -> None:
    with pytest.raises(PrepError, match=why):
        q.strength(text)


@given(
    st.decimals(min_value="0.001", max_value="90", places=3),
    st.sampled_from([k for k in StrengthKind if k is not StrengthKind.SATURATED]),
)
def test_a_printed_strength_reads_back(value: Decimal, kind: StrengthKind) -> None:
    strength = Strength(value, kind)
    assert q.strength(str(strength)) == strength


@given(st.text(max_size=30))
def test_no_text_ends_in_anything_but_a_sentence(text: str) -> None:
    for read in (
        q.volume_ml,
        q.mass_g,
        q.amount,
        q.strength,
        q.temperature_c,
        q.ph,
        q.density_g_ml,
        q.component,
        lambda typed: q.portions([typed]),
    ):
        try:
            read(text)
        except PrepError as error:
            assert str(error).isprintable()  # noqa: PT017 - both outcomes are right


def test_components_and_portions() -> None:
    assert q.component("acetic acid 0.1 mol/L") == NamedStrength("acetic acid", q.strength("0.1 mol/L"))
    assert q.component("7647-01-0 9.99 % w/w") == NamedStrength("7647-01-0", q.strength("9.99 % w/w"))
    assert q.component("copper sulfate 5 water 0.5 mol/L").what == "copper sulfate 5 water"
    assert q.component("calcium hydroxide saturated").strength.kind is StrengthKind.SATURATED
    for text in ("0.1 mol/L HCl", "0.1M HCl", "HCl 0.1 M"):
        assert q.component(text) == NamedStrength("HCl", q.strength("0.1 mol/L"))
    assert q.component("20 vol hydrogen peroxide") == NamedStrength("hydrogen peroxide", q.strength("20 vol"))
    assert q.component("2-hydroxybenzoic acid 0.1 mol/L").what == "2-hydroxybenzoic acid"
    assert q.component("2 N H2SO4") == NamedStrength("H2SO4", q.strength("2 eq/L"))
    for text in ("M/10 silver nitrate", "silver nitrate M/10", "silver nitrate (0.1M)"):
        assert q.component(text) == NamedStrength("silver nitrate", q.strength("0.1 mol/L"))
    assert q.component("1 in 10 bleach").what == "bleach"
    for text in ("NaCl", "0.1 mol/L", "NaCl 5 %"):
        with pytest.raises(PrepError):
            q.component(text)


def test_portions_name_a_volume_and_what_it_is_of() -> None:
    half = PouredPart(Decimal(50), q.strength("0 mol/L", zero=True))
    assert q.portions(["100 mL of 2 mol/L", "50 mL of water"]) == [
        PouredPart(Decimal(100), q.strength("2 mol/L")),
        half,
    ]
    assert q.portions(["50 mL of Water", "100 mL of 2 mol/L"])[0] == half  # of the kind that comes after
    assert q.portions(["1 L of saturated", "1 L of water"])[1].strength == q.strength("0 % w/w", zero=True)
    for wrong in (["100 mL"], ["1 L of water", "1 L of water"], ["1 L of tea"]):
        with pytest.raises(PrepError):
            q.portions(wrong)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("ethanoic acid 1,000 mol/L", "may be 1.000 or 1000"),
        ("1,000 mol/L ethanoic acid", "may be 1.000 or 1000"),
        ("2,3-dihydroxybutanedioic acid", "needs a name"),  # that comma is the name's
        ("ethanoic acid ½ mol/L", "write ½ as a decimal number, 0.5."),
        ("ethanoic acid 1/60 mol/L", "write 1/60 as a decimal number, 0.016667."),
    ],
)
def test_a_component_says_what_is_wrong_with_its_number(text: str, told: str) -> None:
    with pytest.raises(PrepError) as refused:
        q.component(text)
    assert told in str(refused.value)


@pytest.mark.parametrize(
    ("text", "told"), [("½ mol/L", "0.5."), ("1½ mol/L", "1.5."), ("1/60 mol/L", "0.016667."), ("1 / 4 mol/L", "0.25.")]
)
def test_a_fraction_is_told_as_a_decimal(text: str, told: str) -> None:
    with pytest.raises(PrepError) as refused:
        q.strength(text)
    assert str(refused.value).endswith(f"as a decimal number, {told}")
    assert q.strength("5 g/100 mL").kind is StrengthKind.PCT_W_V


@pytest.mark.parametrize(("text", "c"), [("25", "25"), ("25 C", "25"), ("25 °C", "25"), ("-5 degC", "-5")])
def test_a_temperature_is_read_in_degrees_celsius(text: str, c: str) -> None:
    assert q.temperature_c(text) == Decimal(c)


@pytest.mark.parametrize("text", ["25 F", "300 K", "400", "warm", "25,5,5", "nan"])
def test_a_temperature_in_another_unit_or_out_of_range_is_refused(text: str) -> None:
    with pytest.raises(PrepError):
        q.temperature_c(text)


@pytest.mark.parametrize("text", ["4.7", "pH 4.7", "pH4.7", "ph  4.70", " PH 4.7 "])
def test_a_ph_with_and_without_its_name(text: str) -> None:
    assert q.ph(text) == Decimal("4.7")


@pytest.mark.parametrize(
    "text", ["", "pH", "sour", "nan", "-1", "14.1", "4,7,1", "pH pH 4", "4.7 mol/L", "1e400", "9" * 90]
)
def test_a_ph_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(PrepError, match=r"no pH; accepted is a number from 0 to 14|point"):
        q.ph(text)
    assert q.ph("-1", -2, 16) == -1


def test_densities_are_plausible() -> None:
    assert q.density_g_ml("1180 g/L") == q.density_g_ml("1.18 g/cm3") == Decimal("1.18")
    with pytest.raises(PrepError, match=r"0\.1 to 25"):
        q.density_g_ml("1180 g/mL")


@pytest.mark.parametrize(
    ("base", "measure", "text"),
    [
        (250_000_000, Measure.VOLUME, "250 mL"),
        (2_500_000_000, Measure.VOLUME, "2.5 L"),
        (500_000, Measure.VOLUME, "0.5 mL"),
        (50_000, Measure.VOLUME, "50 µL"),
        (12_500_000, Measure.MASS, "12.5 g"),
        (40_000, Measure.MASS, "40 mg"),
        (1_000_000_000, Measure.MASS, "1 kg"),
        (999_999_999, Measure.MASS, "1 kg"),
        (123_456_789, Measure.MASS, "123.46 g"),
        (0, Measure.VOLUME, "0 mL"),
        (-1_500_000, Measure.VOLUME, "-1.5 mL"),
    ],
)
def test_an_amount_is_shown_in_the_unit_a_person_would_use(base: int, measure: Measure, text: str) -> None:
    assert q.show(base, measure) == text


@given(st.integers(0, q.LARGEST_BASE), st.sampled_from(list(Measure)))
def test_what_is_shown_in_full_reads_back(base: int, measure: Measure) -> None:
    text = q.show(base, measure, figures=None)
    if not text.endswith("nL"):
        assert q.amount(text, zero=True) == q.Amount(base, measure)


def test_json_amounts_are_in_grams_or_millilitres() -> None:
    assert q.as_json(250_000_000, Measure.VOLUME) == {"value": 250.0, "unit": "mL"}
    assert q.as_json(2_500_000, Measure.MASS) == {"value": 2.5, "unit": "g"}


def test_thousands_of_cells_are_quick() -> None:
    q.amount("1 mL")
    start = time.perf_counter()
    for n in range(5000):
        q.amount(f"{n + 1}.25 mL")
    assert time.perf_counter() - start < 1.0


@pytest.mark.parametrize(
    ("comma", "point"),
    [("0,1 mol/L", "0.1 mol/L"), ("2,5 M", "2.5 M"), ("0,125 M", "0.125 M"), ("0,9 % w/v", "0.9 % w/v")],
)
def test_a_decimal_comma_is_a_point_where_it_is_no_thousand(comma: str, point: str) -> None:
    """As half of the world's schools write it; three figures after other than nought may be a thousand's comma."""
    assert q.strength(comma) == q.strength(point)
    for text in (f"ethanoic acid {comma}", f"{comma} ethanoic acid"):
        assert q.component(text).strength == q.strength(point)
    assert q.component("2,3-dihydroxybutanedioic acid 0,5 M").what == "2,3-dihydroxybutanedioic acid"


def test_a_decimal_comma_is_read_of_every_quantity() -> None:
    assert q.volume_ml("2,5 mL") == Decimal("2.5")
    assert q.mass_g("0,25 g") == Decimal("0.25")
    assert q.amount("12,5 mL") == q.amount("12.5 mL")
    assert q.temperature_c("20,5") == Decimal("20.5")
    assert q.ph("4,75") == Decimal("4.75")
    assert q.density_g_ml("1,18 g/mL") == Decimal("1.18")
    assert q.portions(["2,5 mL of 0,1 M"]) == q.portions(["2.5 mL of 0.1 M"])
