"""A strength that was found: written on a bottle, with its uncertainty, and used by what is made from it."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from math import sqrt

import pytest

from prep.errors import PrepError, Refused
from prep.reports.make_documents import strength_document
from prep.services.inventory import session
from prep.services.making import make
from prep.services.making.reacting_ratio import moles_to_one
from prep.services.making.standardise import StandardisationRecord, standardise
from prep.services.stock import changes, listing
from tests.days import act, done_on
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")


@pytest.fixture
def alkali(inventory: None) -> str:  # noqa: ARG001 - the bottle stands in it
    """A bottle of 1 mol/L sodium hydroxide on the shelf."""
    (held,) = changes.receive(
        None, changes.Receipt("naoh-1", "1 L", 1, "PREP", date(2027, 12, 31), "", ""), act("Ada", DAY)
    )
    return held.code


def found(bottle: str, **written: object) -> tuple[Decimal, Decimal]:
    done = standardise(None, bottle, StandardisationRecord(**written), "Ada", done_on(DAY))  # type: ignore[arg-type]
    held, made = done.bottle, done.found
    assert held.strength == f"{made.strength.value} mol/L"
    assert held.strength_uncertainty_pct == str(made.uncertainty_pct)
    return made.strength.value, made.uncertainty_pct


def test_pipetted_sample_and_standard_run_in(alkali: str) -> None:
    strength, pct = found(alkali, titrated="25 mL of it = 24.35, 24.40 mL of hydrochloric acid 1 mol/L +- 0.2 %")
    assert float(strength) == pytest.approx(24.375 / 25, rel=1e-5)
    # by hand, with the room's class B glass: CG4, 3rd ed. (2012), rule 2, all in per cent of the value
    warm = 100 * 2.1e-4 * 4 / sqrt(3)
    burette = 100 * sqrt((0.1 / sqrt(6)) ** 2 + (0.025 / sqrt(3)) ** 2) / 24.375
    pipette = 100 * (0.06 / sqrt(6)) / 25
    read = 100 * 0.05 / sqrt(3) * sqrt(2) / 24.375 / sqrt(2)
    expected = 2 * sqrt(0.1**2 + burette**2 + pipette**2 + 2 * warm**2 + read**2)
    assert float(pct) == pytest.approx(expected, rel=0.06)


def test_pipetted_standard_and_sample_run_in(alkali: str) -> None:
    strength, _ = found(alkali, titrated="20 mL of sulfuric acid 0.5 mol/L = 19.8 mL of it")
    assert float(strength) == pytest.approx(20 / 19.8, rel=1e-5)  # two equivalents in a mole


def test_a_primary_standard_weighed_twice(alkali: str) -> None:
    """m P / (M V): potassium hydrogen phthalate, 204.22 g/mol (EURACHEM/CITAC Guide CG4, example A2)."""
    strength, pct = found(
        alkali,
        primary=(
            "5.105 g of potassium hydrogen phthalate = 24.6 mL of it",
            "5.201 g potassium hydrogen phthalate = 25.1 mL",
        ),
        purity="100 %",
    )
    by_hand = (5.105 / 24.6 + 5.201 / 25.1) / 2 / 204.2212 * 1000
    assert float(strength) == pytest.approx(by_hand, rel=1e-4)
    assert 0.2 < float(pct) < 1


def test_the_standard_may_be_a_bottle_as_it_was_found() -> None:
    """HC1 of the small school is hydrochloric acid found to be 0.1013 mol/L."""
    (weak,) = changes.receive(None, changes.Receipt("naoh-0.4", "1 L", 1, "PREP", None, "", ""), act("Ada", DAY))
    strength, _ = found(weak.code, titrated="10 mL of it = 39.5 mL of bottle HC1")
    assert float(strength) == pytest.approx(39.5 * 0.1013 / 10, rel=1e-5)


def test_what_is_made_from_it_follows() -> None:
    changes.receive(None, changes.Receipt("naoh-2", "1 L", 1, "PREP", date(2027, 12, 31), "", ""), act("Ada", DAY))
    code = next(b.code for b in listing.list_stock(None, "naoh-2", None, False, None))
    before = make.instructions(None, "naoh-1", "500 mL", "naoh-2", DAY).batch
    found(code, titrated="10 mL of it = 19.6, 19.6 mL of hydrochloric acid 1 mol/L +- 0.1 %")
    after = make.instructions(None, "naoh-1", "500 mL", "naoh-2", DAY).batch
    assert sum(t.amount for t in after.takes) == pytest.approx(sum(t.amount for t in before.takes) / 0.98, rel=1e-3)
    assert before.uncertainty_pct is None  # an alkali is about so strong until it is found
    assert any("It is about 1 mol/L" in step.text for step in before.steps)
    assert after.uncertainty_pct is not None
    assert any("It gives" in step.text for step in after.steps)
    assert any("as found or made, k = 2" in line.text for line in after.working)


def test_undoing_takes_the_found_strength_off_again(alkali: str) -> None:
    done = standardise(None, alkali, StandardisationRecord("25 mL of it = 24.4 mL of HCl 1 mol/L"), "Ada", done_on(DAY))
    changes.undo(None, done.job, act("Ada", DAY))
    shown = listing.show(None, alkali)
    held, history = shown.bottle, shown.moves
    assert (held.strength, held.strength_uncertainty_pct) == (None, None)
    assert {"standardise"} <= {line.kind for line in history}


def test_a_make_is_logged_with_what_was_found() -> None:
    changes.receive(None, changes.Receipt("sodium-hydroxide", "500 g", 1, "PREP", None, "", ""), act("Ada", DAY))
    written = StandardisationRecord("25 mL of it = 24.4 mL of hydrochloric acid 1 mol/L")
    logged = make.log(
        None,
        make.MakeRequest("naoh-1", "500 mL", "sodium-hydroxide", location="PREP", bottles=2, written=written),
        act("Ada", DAY),
    )
    assert [b.strength for b in logged.bottles] == ["0.976 mol/L"] * 2
    assert logged.standardised is not None
    assert logged.bottles[0].strength_uncertainty_pct == str(logged.standardised.uncertainty_pct)
    with session.reading(None) as connection:
        from prep.services.plan.snapshot import load

        bottle = next(b for b in load(connection, DAY).bottles if b.code == logged.bottles[0].code)
    assert bottle.strength_uncertainty_pct == logged.standardised.uncertainty_pct


BAD = {
    "nothing written": ({}, "--titrated"),
    "both": ({"titrated": "25 mL of it = 24 mL of HCl 1 mol/L", "primary": ("1 g of tris = 5 mL",)}, "once"),
    "no it": ({"titrated": "25 mL = 24 mL of HCl 1 mol/L"}, "25 mL of it"),
    "far off": ({"titrated": "25 mL of it = 24 mL of HCl 0.1 mol/L"}, "far from 1 mol/L"),
    "no volume": ({"titrated": "25 mL of it = 0 mL of HCl 1 mol/L"}, "zero"),
    "more than a burette": ({"titrated": "50 mL of it = 60 mL of HCl 1 mol/L"}, "holds"),
    "not mol/L": ({"titrated": "25 mL of it = 24 mL of HCl 3 % w/w"}, "mol/L"),
    "unknown standard": ({"titrated": "25 mL of it = 24 mL of unobtainium 1 mol/L"}, "unobtainium"),
    "how they react": ({"titrated": "25 mL of it = 24 mL of potassium iodide 1 mol/L"}, "--ratio"),
    "no mass": ({"primary": ("potassium hydrogen phthalate = 24 mL",)}, "0.5105 g"),
    "two primaries": ({"primary": ("5 g of tris = 24 mL", "5 g of oxalic acid = 24 mL")}, "weigh one"),
    "a purity of nothing": ({"primary": ("5.1 g of tris = 24 mL",), "purity": "3"}, "--purity"),
    "a ratio of nothing": ({"titrated": "25 mL of it = 24 mL of HCl 1 mol/L", "ratio": "0"}, "--ratio"),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_one_sentence(alkali: str, case: str) -> None:
    written, names = BAD[case]
    with pytest.raises(PrepError, match=names.replace("+", r"\+")):
        standardise(None, alkali, StandardisationRecord(**written), "Ada", done_on(DAY))  # type: ignore[arg-type]
    assert listing.show(None, alkali).bottle.strength is None


def test_only_a_made_solution_has_a_strength_to_find() -> None:
    with pytest.raises(PrepError, match="as bought"):
        standardise(None, "AC1", StandardisationRecord("25 mL of it = 24 mL of NaOH 1 mol/L"), "Ada", done_on(DAY))
    with pytest.raises(Refused, match="discarded"):
        standardise(None, "AC2", StandardisationRecord("25 mL of it = 24 mL of NaOH 1 mol/L"), "Ada", done_on(DAY))


def test_a_rough_titre_is_set_aside(alkali: str) -> None:
    strength, _ = found(alkali, titrated="25 mL of it = 25.3, 24.35, 24.40 mL of hydrochloric acid 1 mol/L +- 0.2 %")
    assert float(strength) == pytest.approx(24.375 / 25, rel=1e-5)


@pytest.mark.parametrize(
    ("sample", "standard", "moles"),
    [
        ("NaOH", "H2SO4", "2"),
        ("HCl", "Na2CO3", "2"),
        ("KMnO4", "Na2C2O4", "2/5"),  # 2 MnO4- to 5 C2O4(2-): from memory: Vogel, 5th ed.
        ("Na2S2O3", "KIO3", "6"),
        ("I2", "Na2S2O3", "1/2"),
        ("AgNO3", "NaCl", "1"),
        ("FeSO4", "KMnO4", "5"),
    ],
)
def test_the_ratio_is_that_of_the_reaction_on_file(sample: str, standard: str, moles: str) -> None:
    known = moles_to_one(sample, standard)
    assert known is not None
    assert known[0] == Fraction(moles)
    assert moles_to_one("NaCl", "glucose") is None


def test_a_standard_that_was_never_standardised_is_called_so(alkali: str) -> None:
    """Sodium hydroxide takes up water and carbon dioxide: unless it was found, it measures nothing."""
    (acid,) = changes.receive(None, changes.Receipt("hcl-1", "1 L", 1, "PREP", None, "", ""), act("Ada", DAY))
    against = StandardisationRecord(titrated=f"25 mL of it = 24.5, 24.5 mL of bottle {alkali}")
    made = standardise(None, acid.code, against, "Ada", done_on(DAY)).found
    assert made.doubt.startswith(f"Bottle {alkali} was never standardised: its 1 mol/L is only about that; find it")
    found(alkali, titrated="25 mL of it = 24.35, 24.40 mL of hydrochloric acid 1 mol/L +- 0.2 %")
    made = standardise(None, acid.code, against, "Ada", done_on(DAY)).found
    assert not made.doubt


@pytest.mark.usefixtures("alkali")
def test_a_standard_that_is_only_named_is_in_doubt_too() -> None:
    (acid,) = changes.receive(None, changes.Receipt("hcl-1", "1 L", 1, "PREP", None, "", ""), act("Ada", DAY))
    for standard, says in (
        ("NaOH 1 mol/L", "Sodium hydroxide takes up water and carbon dioxide: NaOH 1 mol/L is only about that, unless"),
        ("NaOH 1 mol/L +- 0.2 %", ""),
        ("sodium carbonate 0.5 mol/L", ""),
    ):
        against = StandardisationRecord(titrated=f"25 mL of it = 24.5, 24.5 mL of {standard}")
        made = standardise(None, acid.code, against, "Ada", done_on(DAY)).found
        assert made.doubt.startswith(says)
        assert bool(made.doubt) == bool(says)
        assert strength_document(made)["doubt"] == made.doubt


def balance(code: str) -> int:
    return listing.show(None, code).bottle.balance


def acids(count: int, use_by: date | None = None) -> list[str]:
    """Bottles of hydrochloric acid 2 mol/L, which the room has none of."""
    asked = changes.Receipt("hcl-2", "500 mL", count, "PREP", use_by, "", "")
    return [one.code for one in changes.receive(None, asked, act("Ada", DAY))]


def test_a_standard_by_its_strength_goes_off_the_only_bottle_of_it(alkali: str) -> None:
    (acid,) = acids(1)
    acids(1, DAY)  # out of date on the next day: nobody titrates with it
    written = StandardisationRecord(titrated="25 mL of it = 12.2, 12.2 mL of hydrochloric acid 2 mol/L")
    made = standardise(None, alkali, written, "Ada", done_on(DAY + timedelta(days=1))).found
    assert balance(acid) == 500_000_000 - 24_400_000
    assert made.used.bottle == acid
    assert "the only bottle of hydrochloric acid 2 mol/L" in made.used.meant


def test_of_several_bottles_that_may_be_meant_one_must_be_named(alkali: str) -> None:
    first, second = sorted(acids(2))
    with pytest.raises(PrepError, match=f"is in 2 bottles .{first}, {second}.: name the one"):
        found(alkali, titrated="25 mL of it = 12.2 mL of hydrochloric acid 2 mol/L")
    found(alkali, titrated="25 mL of it = 12.2 mL of hydrochloric acid 2 mol/L from elsewhere +- 0.2 %")
    assert [balance(first), balance(second)] == [500_000_000, 500_000_000]
    found(alkali, titrated=f"25 mL of it = 12.2 mL of bottle {second}")
    assert [balance(first), balance(second)] == [500_000_000, 487_800_000]


def test_a_solution_of_no_formula_on_the_shelf_stands_in_no_titration_s_way(alkali: str) -> None:
    """Starch and enzymes have a strength and no formula: they are no bottle of the standard's."""
    changes.receive(None, changes.Receipt("starch-1", "100 mL", 1, "PREP", None, "", ""), act("Ada", DAY))
    strength, _ = found(alkali, titrated="25 mL of it = 24.5, 24.5 mL of HCl 1 mol/L +- 0.2 %")
    assert float(strength) == pytest.approx(24.5 / 25, rel=1e-5)


def test_what_is_diluted_from_a_make_on_the_books_counts_how_well_that_was_made() -> None:
    """Relative uncertainties add up in quadrature (JCGM 100:2008, 5.1.6); the bottle is at its nominal strength."""
    changes.receive(None, changes.Receipt("copper-sulfate-5-water", "1 kg", 1, "PREP", None, "", ""), act("Ada", DAY))
    made_pct = make.instructions(None, "cuso4-0.5", "500 mL", "copper-sulfate-5-water", DAY).batch.uncertainty_pct
    request = make.MakeRequest("cuso4-0.5", "500 mL", "copper-sulfate-5-water", location="PREP")
    (bottle,) = make.log(None, request, act("Ada", DAY)).bottles
    diluted = make.instructions(None, "cuso4-0.1", "500 mL", "cuso4-0.5", DAY).batch
    assert bottle.strength is None
    assert {take.ref for take in diluted.takes} == {bottle.code}
    assert made_pct is not None
    said = f"strength of Copper(II) sulfate, 0.5 mol/L: u = {made_pct / 200:.2g} in 1"
    assert any(line.text.startswith(said) and "as found or made" in line.text for line in diluted.working)
