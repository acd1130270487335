"""What a label says of a strength of its own: found by titration, or worked out, or read on a bought bottle."""

from datetime import date

import pytest

from prep.services.making.make import MakeRequest, log
from prep.services.making.standardise import StandardisationRecord, standardise
from prep.services.stock import changes, pouring
from prep.services.stock.labels import labels
from tests.days import act, done_on
from tests.services.conftest import DAY

pytestmark = pytest.mark.usefixtures("inventory")
ACT = act("Ada", DAY)


def strength_on(bottle: str) -> str:
    return labels(None, [bottle])[0].strength


def receive(item: str, amount: str, strength: str | None = None) -> str:
    return changes.receive(None, changes.Receipt(item, amount, 1, "PREP", date(2027, 12, 31), "", "", strength), ACT)[
        0
    ].code


def test_a_weighed_make_was_not_titrated() -> None:
    alkali = receive("sodium-hydroxide", "500 g")
    made = log(None, MakeRequest("naoh-1", "500 mL", taken=(f"{alkali}=20.12 g",), location="PREP"), ACT)
    code = made.bottles[0].code
    assert strength_on(code) == "0.986 mol/L"
    done = standardise(
        None, code, StandardisationRecord(titrated="25 mL of it = 24.60, 24.65 mL of hydrochloric acid 1 mol/L"), "Ada",
        done_on(DAY),
    )  # fmt: skip
    assert strength_on(code) == f"{done.found.strength} (found)"
    changes.undo(None, done.job, ACT)
    assert strength_on(code) == "0.986 mol/L"


def test_a_note_that_is_corrected_makes_no_titration() -> None:
    alkali = receive("sodium-hydroxide", "500 g")
    made = log(None, MakeRequest("naoh-1", "500 mL", taken=(f"{alkali}=20.12 g",), location="PREP"), ACT)
    first, other = receive("hcl-0.1", "1 L", "0.1002 mol/L"), receive("hcl-0.1", "1 L", "0.0998 mol/L")
    poured = pouring.pour_together(None, [first, other], None, ACT).filled
    for code in (made.bottles[0].code, poured[0].code):
        before = strength_on(code)
        for note in ("for class 3", "for class 4"):
            changes.correct(None, code, changes.Correction(note=note), "asked for", ACT)
        assert strength_on(code) == before


def test_a_bought_solution_has_the_strength_of_its_label() -> None:
    assert strength_on(receive("hcl-0.1", "1 L", "0.1002 mol/L")) == "0.1002 mol/L"


def test_a_blend_is_worked_out() -> None:
    first, other = receive("hcl-0.1", "1 L", "0.1002 mol/L"), receive("hcl-0.1", "1 L", "0.0998 mol/L")
    (new,) = pouring.pour_together(None, [first, other], None, ACT).filled
    assert strength_on(new.code) == "0.1 mol/L"


def test_a_topped_up_bottle_holds_what_it_holds() -> None:
    first, other = receive("sodium-chloride", "500 g"), receive("sodium-chloride", "1 kg")
    pouring.top_up(None, first, other, "250 g", ACT)
    assert labels(None, [first])[0].amount == "750 g"
    assert labels(None, [other])[0].amount == "1 kg"
