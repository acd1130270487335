"""Found strengths: the Guide's examples, textbook titrations, and what repeating can and cannot do.

EURACHEM/CITAC Guide CG4, 3rd ed. (2012), appendix A, examples A2 and A3: input data and printed results.
"""

from decimal import Decimal
from fractions import Fraction
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.measurement.standardisation import FoundStrength, by_mass, by_titration
from prep.chemistry.measurement.uncertainty import Uncertain
from prep.chemistry.model import Instrument, InstrumentKind, StrengthKind
from prep.errors import PrepError

D = Decimal


def _tool(kind: InstrumentKind, capacity: str, tolerance: str, resolution: str) -> Instrument:
    return Instrument("x", f"{capacity} {kind.value}", kind, D(capacity), D(tolerance), D(resolution))


BALANCE = _tool(InstrumentKind.BALANCE, "200", "0.00015", "0")
GUIDE_BURETTE = _tool(InstrumentKind.BURETTE, "20", "0.03", "0.05")
GUIDE_PIPETTE = _tool(InstrumentKind.PIPETTE, "15", "0.02", "15")
BURETTE = _tool(InstrumentKind.BURETTE, "50", "0.1", "0.1")
PIPETTE = _tool(InstrumentKind.PIPETTE, "25", "0.06", "25")
TENTH = Uncertain(0.1, 0.0001, "mol/L")


def _guide_naoh(repeatability: float, span_c: float) -> FoundStrength:
    return by_mass(
        [(D("0.3888"), D("18.64"))],
        "KHC8H4O4",
        D("204.2212"),
        balance=BALANCE,
        burette=GUIDE_BURETTE,
        molar_mass_half_width=0.0038 * sqrt(3),
        repeatability=repeatability,
        half_drop_ml=0,
        span_c=span_c,
    )


def test_cg4_a2_sodium_hydroxide_against_potassium_hydrogen_phthalate() -> None:
    # The Guide takes 0.006 mL for the temperature: 18.64 mL x 2.1e-4 x span / sqrt 3.
    found = _guide_naoh(0.0005, 0.006 * sqrt(3) / (18.64 * 2.1e-4))
    assert f"{found.result.value:.5f}" == "0.10214"
    assert f"{found.result.standard:.5f}" == "0.00010"
    assert found.result.standard == pytest.approx(0.0001005, abs=5e-8)
    assert str(found.strength) == "0.102136 mol/L"
    assert found.result.text() == "0.10214 ± 0.00020 mol/L (k = 2)"


def test_cg4_a3_hydrochloric_acid_by_way_of_sodium_hydroxide() -> None:
    found = by_titration(
        D(15),
        [D("14.89")],
        _guide_naoh(0.0, 4.0).result,
        pipette=GUIDE_PIPETTE,
        burette=GUIDE_BURETTE,
        repeatability=0.001,
        half_drop_ml=0,
        span_c=4.0,
    )
    assert f"{found.result.value:.5f}" == "0.10139"
    assert f"{found.result.standard:.5f}" == "0.00018"


def test_cg4_a3_the_end_point_of_an_indicator_doubles_the_uncertainty() -> None:
    # Section A3.6: an indicator's excess volume with a standard uncertainty of 0.03 mL in both titrations.
    half_drop = 0.03 * sqrt(3)
    naoh = by_mass(
        [(D("0.3888"), D("18.59"))],
        "KHC8H4O4",
        D("204.2212"),
        balance=BALANCE,
        burette=GUIDE_BURETTE,
        molar_mass_half_width=0.0038 * sqrt(3),
        repeatability=0.0,
        half_drop_ml=half_drop,
    )
    found = by_titration(
        D(15),
        [D("14.84")],
        naoh.result,
        pipette=GUIDE_PIPETTE,
        burette=GUIDE_BURETTE,
        repeatability=0.001 / sqrt(3),
        half_drop_ml=half_drop,
    )
    assert f"{found.result.value:.5f}" == "0.10132"
    assert f"{found.result.standard:.5f}" == "0.00031"


def test_a_textbook_titration_and_its_mirror() -> None:
    # 25.0 mL of sodium carbonate 0.05 mol/L took 24.6 mL of hydrochloric acid: C = 0.05 x 25.0 / 24.6 x 2.
    carbonate = Uncertain(0.05, 0.00005, "mol/L")
    acid = by_titration(
        D(25),
        [D("24.6"), D("24.6")],
        carbonate,
        pipette=PIPETTE,
        burette=BURETTE,
        standard_in_burette=False,
        ratio=Fraction(2),
    )
    assert acid.result.value == pytest.approx(0.05 * 25.0 / 24.6 * 2, rel=1e-12)
    assert acid.strength.kind is StrengthKind.MOL_PER_L
    assert acid.concordant
    text = "\n".join(line.text for line in acid.working)
    assert "mean titre of 24.6, 24.6 mL = 24.6 mL" in text
    assert "found 0.1016 ± " in text
    # The acid, now the standard in the burette, gives the carbonate back.
    back = by_titration(D(25), [D("24.6")], acid.result, pipette=PIPETTE, burette=BURETTE, ratio=Fraction(1, 2))
    assert back.result.value == pytest.approx(0.05, rel=1e-12)
    assert back.result.relative > acid.result.relative


def test_titres_that_disagree_are_said_and_counted() -> None:
    far = by_titration(D(25), [D("24.1"), D("24.9")], TENTH, pipette=PIPETTE, burette=BURETTE)
    near = by_titration(D(25), [D("24.45"), D("24.55")], TENTH, pipette=PIPETTE, burette=BURETTE)
    assert not far.concordant
    assert near.concordant
    assert far.result.value == pytest.approx(near.result.value)
    assert far.result.relative > 2 * near.result.relative
    assert any("repeat until they agree" in line.text for line in far.working)
    masses = [(D("0.5105"), D("25.0")), (D("0.5105"), D("25.4"))]
    spread = by_mass(masses, "KHC8H4O4", D("204.22"), balance=BALANCE, burette=BURETTE)
    assert not spread.concordant


def test_masses_may_differ_if_the_results_agree() -> None:
    masses = [(D("0.5105"), D("25.00")), (D("0.4084"), D("20.00"))]
    found = by_mass(masses, "KHC8H4O4", D("204.22"), balance=BALANCE, burette=BURETTE)
    assert found.concordant
    assert found.result.value == pytest.approx(0.09999, abs=5e-6)


@given(st.integers(1, 12), st.decimals("5", "49", places=1))
def test_repeating_helps_but_never_below_what_all_titrations_share(count: int, titre: Decimal) -> None:
    one = by_titration(D(25), [titre], TENTH, pipette=PIPETTE, burette=BURETTE)
    many = by_titration(D(25), [titre] * count, TENTH, pipette=PIPETTE, burette=BURETTE)
    assert many.result.value == pytest.approx(one.result.value)
    assert many.result.relative <= one.result.relative * (1 + 1e-12)
    shared = max(TENTH.relative, 0.06 / sqrt(6) / 25, 0.1 / sqrt(6) / float(titre))
    assert many.result.relative > shared


@pytest.mark.parametrize(
    ("titres", "portion", "ratio", "said"),
    [
        ([], "25", 1, "No titre was given"),
        (["0"], "25", 1, "must be above 0"),
        (["-1"], "25", 1, "must be above 0"),
        (["NaN"], "25", 1, "must be above 0"),
        (["50.1"], "25", 1, "more than the 50 burette holds (50 mL)"),
        (["25"] * 21, "25", 1, "21 titres are more than the 20"),
        (["25"], "20", 1, "delivers 25 mL at a time, not 20 mL"),
        (["25"], "0", 1, "must be above 0"),
        (["25"], "25", 0, "A mole ratio of 0"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(titres: list[str], portion: str, ratio: int, said: str) -> None:
    with pytest.raises(PrepError) as problem:
        by_titration(
            D(portion),
            [D(t) for t in titres],
            TENTH,
            pipette=PIPETTE,
            burette=BURETTE,
            ratio=Fraction(ratio),
        )
    assert said in str(problem.value)


@pytest.mark.parametrize(
    ("weighings", "purity", "said"),
    [
        ([], "1", "No titration was given"),
        ([("0", "25")], "1", "must be above 0"),
        ([("201", "25")], "1", "more than the 200 balance weighs"),
        ([("0.5", "25")], "1.01", "not possible"),
        ([("0.5", "25")], "0", "not possible"),
    ],
)
def test_masses_that_cannot_be_are_refused(weighings: list[tuple[str, str]], purity: str, said: str) -> None:
    with pytest.raises(PrepError) as problem:
        by_mass(
            [(D(m), D(t)) for m, t in weighings],
            "KHC8H4O4",
            D("204.22"),
            balance=BALANCE,
            burette=BURETTE,
            purity=D(purity),
        )
    assert said in str(problem.value)
