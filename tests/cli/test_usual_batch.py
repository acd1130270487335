"""`prep solution set CODE --usual`."""

import pytest

from tests.cli.conftest import Run
from tests.cli.plan.test_days import MONDAY


def test_a_school_sets_its_own(inventory: Run) -> None:
    done = inventory("solution", "set", "benedict", "--usual", "500 mL", "--by", "Ada")
    assert done.code == 0
    assert "500 mL" in done.out
    assert inventory("solution", "show", "benedict", "--json").json["usual"] == {"value": 500.0, "unit": "mL"}
    assert (
        inventory("solution", "set", "benedict", "--usual", "500 mL", "--by", "Ada", "--json").json["code"]
        == "benedict"
    )


def test_what_goes_off_within_a_fortnight_is_made_in_less_unless_the_school_says_how_much(inventory: Run) -> None:
    entry = inventory("solution", "show", "feso4-0.1", "--json").json
    assert entry["shelf_life_days"] == 14
    done = inventory("solution", "set", "feso4-0.1", "--usual", "250 mL", "--by", "Ada")
    assert "usually made 250 mL at once" in done.out
    assert "less where" not in done.out


@pytest.mark.parametrize(
    ("name", "usual", "said"),
    [
        ("benedict", "50 L", "more than any vessel"),
        ("benedict", "0.1 mL", "less than the room can make"),
        ("benedict", "5 g", '--usual "5 g" is not a volume'),
        ("benedict", "", "--usual: Nothing was given"),
        ("benedict", "0 mL", '--usual "0 mL" is zero'),
        ("benedict", "500", '--usual "500" has no unit'),
        ("benedict", "333 mL", "write 320 mL or 340 mL"),
        ("benedict", "much", '--usual "much"'),
        ("sodium chloride", "1 L", "bought, not made"),
    ],
)
def test_what_is_no_usual_batch_is_refused_with_the_reason(inventory: Run, name: str, usual: str, said: str) -> None:
    done = inventory("solution", "set", name, "--usual", usual, "--by", "Ada")
    assert done.code == 2
    assert said in done.err


def test_a_volume_between_two_round_ones_is_made_where_the_school_says_so(inventory: Run) -> None:
    inventory("solution", "set", "mgso4-0.5", "--usual", "400 mL", "--by", "Ada")
    inventory("book", "add", "--item", "mgso4-0.5", "--portion", "50 mL", "--on", MONDAY, "--by", "Ada")
    made = [one for one in inventory("plan", "--json").json["batches"] if one["solution"] == "mgso4-0.5"]
    assert [one["amount"] for one in made] == [{"value": 400.0, "unit": "mL"}]
    assert "no usual" not in made[0]["why"]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--usual", "500"), '--usual "500" has no unit'),
        (("--usual", "5000 L"), "more than any vessel"),
        (("--usual", "0.01 mL"), "less than the room can make"),
        (("--tolerance", "abc"), '--tolerance "abc"'),
        (("--strength", "1"), '--strength "1" has no unit'),
    ],
)
def test_a_new_solution_is_asked_the_same(inventory: Run, options: tuple[str, ...], said: str) -> None:
    words = ("--of", "sodium chloride", "--strength", "0.77 mol/L", *options)
    done = inventory("solution", "new", *words, "--by", "Ada", "--dry-run")
    assert done.code == 2
    assert said in done.err


def test_a_new_solution_keeps_the_usual_batch_it_was_given(inventory: Run) -> None:
    made = ("--of", "sodium chloride", "--strength", "0.77 mol/L", "--usual", "250 mL")
    code = inventory("solution", "new", *made, "--by", "Ada", "--json").json["code"]
    assert inventory("solution", "show", code, "--json").json["usual"] == {"value": 250.0, "unit": "mL"}
