"""Uncertainty: the worked examples of EURACHEM/CITAC CG4, the printed form, and what must always hold.

Input data of the examples: EURACHEM/CITAC Guide CG4, Quantifying Uncertainty in Analytical Measurement, 3rd ed.
(2012), appendix A, examples A1 to A3; unrounded results as worked in the documentation of the GUM Tree
Calculator (GTC 1.3, Measurement Standards Laboratory of New Zealand), pages CITAC A1 to A3.
"""

from decimal import Decimal
from math import hypot, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.measurement.uncertainty import (
    Contribution,
    Uncertain,
    assay,
    combined,
    glass_volume,
    molar_mass_of,
    rectangular,
    summed,
    triangular,
    vessel_volume,
    weighed,
    with_uncertainty,
)
from prep.chemistry.model import Instrument, InstrumentKind

# Atomic weights and their limits as example A2 prints them (2012).
_KHP = 8 * 12.0107 + 5 * 1.00794 + 4 * 15.9994 + 39.0983
_KHP_U = hypot(8 * rectangular(0.0008), 5 * rectangular(0.00007), 4 * rectangular(0.0003), rectangular(0.0001))


def _khp() -> Contribution:
    return Contribution("M(KHP)", _KHP, _KHP_U, "g/mol", -1.0)


def _mass_khp() -> Contribution:
    return weighed("KHP", 0.3888, 0.15e-3)


def test_cg4_a1_a_calibration_standard() -> None:
    volume = glass_volume("flask", 100, 0.1, repeatability_ml=0.02, span_c=4).inverse()
    assert volume.standard == pytest.approx(0.0665, abs=5e-5)
    mass = Contribution("Cd", 100.28, 0.05, "mg")
    result = combined(1000 * 100.28 * 0.9999 / 100, (mass, volume, assay(0.9999, 0.0001)), "mg/L")
    assert f"{result.value:.1f}" == "1002.7"
    assert f"{result.standard:.3f}" == "0.835"
    # The Guide combines rounded figures (0.0005, 0.0007, 0.000058) and so prints 0.0009 and 0.9 mg/L.
    rounded = hypot(0.0005, 0.0007, 0.000058)
    assert f"{rounded:.4f}" == "0.0009"
    assert f"{1002.7 * float(f'{rounded:.4f}'):.1f}" == "0.9"
    shares = {part.name: part.relative * result.value for part in result.parts}
    assert shares["Cd"] == pytest.approx(0.49995, rel=1e-4)
    assert shares["flask"] == pytest.approx(0.666525, rel=1e-4)
    assert shares["assay"] == pytest.approx(0.0578967, rel=1e-4)


def test_cg4_a2_standardising_sodium_hydroxide() -> None:
    titre = summed("titre", 18.64, (triangular(0.03), 0.006), "mL").inverse()
    repeat = Contribution("repeatability", 1.0, 0.0005)
    value = 1000 * 0.3888 * 1.0 / (_KHP * 18.64)
    result = combined(value, (_mass_khp(), assay(1.0, 0.0005), _khp(), titre, repeat), "mol/L")
    assert f"{_KHP:.4f}" == "204.2212"
    assert f"{_KHP_U:.4f}" == "0.0038"
    assert f"{result.value:.5f}" == "0.10214"
    assert f"{result.standard:.5f}" == "0.00010"
    assert result.value == pytest.approx(0.102136159706, rel=1e-10)
    assert result.standard == pytest.approx(0.000100500722, rel=1e-6)


def test_cg4_a3_an_acid_base_titration() -> None:
    second = summed("VT2", 14.89, (triangular(0.03), rectangular(15 * 2.1e-4 * 4)), "mL")
    first = summed("VT1", 18.64, (triangular(0.03), rectangular(19 * 2.1e-4 * 4)), "mL").inverse()
    sample = glass_volume("HCl", 15, 0.02, span_c=4).inverse()
    repeat = Contribution("repeatability", 1.0, 0.001)
    value = 1000 * 0.3888 * 1.0 * 14.89 / (18.64 * _KHP * 15)
    parts = (_mass_khp(), assay(1.0, 0.0005), _khp(), second, first, sample, repeat)
    result = combined(value, parts, "mol/L")
    assert f"{result.value:.5f}" == "0.10139"
    assert f"{result.standard:.5f}" == "0.00018"
    assert result.standard == pytest.approx(0.0001843, abs=5e-8)


@pytest.mark.parametrize(
    ("value", "expanded", "shown"),
    [
        (0.1, 0.0006, "0.1000 ± 0.0006 mol/L (k = 2)"),
        (0.1, 0.000561, "0.1000 ± 0.0006 mol/L (k = 2)"),
        (0.1, 0.00123, "0.1000 ± 0.0012 mol/L (k = 2)"),
        (0.1, 0.00062, "0.1000 ± 0.0006 mol/L (k = 2)"),
        (0.1, 0.00064, "0.1000 ± 0.0007 mol/L (k = 2)"),  # 0.0006 would be 6 % too small
        (0.1, 0.000996, "0.1000 ± 0.0010 mol/L (k = 2)"),
        (2.0, 0.0034, "2.000 ± 0.004 mol/L (k = 2)"),
        (1002.7, 1.67, "1002.7 ± 1.7 mol/L (k = 2)"),
        (1002.7, 42.0, "1000 ± 40 mol/L (k = 2)"),
        (1234.0, 173.0, "1230 ± 170 mol/L (k = 2)"),
        (1.5, 0.0, "1.5 ± 0 mol/L (k = 2)"),
        (1e-6, 3.2e-8, "0.00000100 ± 0.00000004 mol/L (k = 2)"),
    ],
)
def test_the_printed_form(value: float, expanded: float, shown: str) -> None:
    assert with_uncertainty(value, expanded, "mol/L") == shown
    assert with_uncertainty(value, expanded, "mol/L", plain=True) == shown.replace("±", "+-")
    assert shown.isascii() or "±" in shown


def test_a_solid_and_then_two_dilutions() -> None:
    flask = Instrument("f", "250 mL flask", InstrumentKind.FLASK, Decimal(250), Decimal("0.3"), Decimal(250), "B")
    salt = (weighed("NaCl", 14.61, 0.02, 0.01), assay(1.0, 0.005), molar_mass_of("NaCl", 58.44))
    stock = combined(1.0, (*salt, vessel_volume(flask, 250)), "mol/L")
    # By hand: weighing sqrt(2 (0.02^2/3 + 0.01^2/12)) g, assay 0.005/sqrt 3, flask 0.3/sqrt 6 and 0.21/sqrt 3 mL.
    by_hand = hypot(
        sqrt(2 * (0.02**2 / 3 + 0.01**2 / 12)) / 14.61,
        0.005 / sqrt(3),
        hypot(0.3 / sqrt(6), 250 * 2.1e-4 * 4 / sqrt(3)) / 250,
        1e-4 / sqrt(3),
    )
    assert stock.relative == pytest.approx(by_hand, rel=1e-12)
    step = (glass_volume("25 mL pipette", 25, 0.06), vessel_volume(flask, 250))
    tenth = combined(0.1, (stock.as_contribution("the stock's strength"), *step), "mol/L")
    hundredth = combined(0.01, (tenth.as_contribution("the stock's strength"), *step), "mol/L")
    once = hypot(*(part.relative for part in step))
    assert hundredth.relative == pytest.approx(hypot(stock.relative, sqrt(2) * once), rel=1e-12)
    text = "\n".join(line.text for line in hundredth.working())
    assert "25 mL pipette" in text
    assert "the stock's strength" in text
    assert hundredth.working()[-1].source.startswith("EURACHEM/CITAC")
    assert hundredth.text(plain=True).isascii()


def test_a_second_filling_errs_the_same_way_but_is_read_again() -> None:
    once = glass_volume("c", 50, 0.5, division_ml=1, span_c=0)
    twice = glass_volume("c", 100, 0.5, division_ml=1, span_c=0, fillings=2)
    assert twice.standard == pytest.approx(hypot(2 * triangular(0.5), sqrt(2) * rectangular(0.5)), rel=1e-12)
    assert once.relative > twice.relative > once.relative / sqrt(2)


def test_nothing_has_no_relative_uncertainty() -> None:
    with pytest.raises(ValueError, match="0 has no relative"):
        combined(0.0, ())
    with pytest.raises(ValueError, match="0 has no relative"):
        combined(1.0, (Contribution("x", 0.0, 1.0),))


_parts = st.lists(
    st.builds(
        Contribution,
        st.just("x"),
        st.floats(0.01, 1e4),
        st.floats(0, 10),
        st.just("mL"),
        st.sampled_from((1.0, -1.0, 2.0)),
    ),
    min_size=1,
    max_size=6,
)


@given(st.floats(1e-6, 1e3), _parts)
def test_the_sum_is_between_the_largest_part_and_the_plain_sum(value: float, parts: list[Contribution]) -> None:
    result = combined(value, parts)
    largest = max(p.relative for p in parts)
    assert largest * (1 - 1e-9) <= result.relative <= sum(p.relative for p in parts) * (1 + 1e-9) + 1e-15


@given(st.floats(1e-5, 1e5), st.floats(1e-7, 0.3))
def test_the_printed_uncertainty_is_never_five_per_cent_too_small(value: float, relative: float) -> None:
    expanded = value * relative
    shown = with_uncertainty(value, expanded, plain=True)
    left, _, rest = shown.partition(" +- ")
    printed = Decimal(rest.split(" ")[0])
    assert Decimal("0.95") * Decimal(str(expanded)) <= printed <= Decimal("1.34") * Decimal(str(expanded))
    assert abs(Decimal(left) - Decimal(str(value))) <= printed / 2
    assert Uncertain(value, expanded / 2).text(plain=True).startswith(left)
