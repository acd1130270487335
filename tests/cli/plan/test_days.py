"""Closed days, working weekdays and the minutes of a day: set, listed, and kept to by the plan."""

from datetime import date, timedelta

import pytest

from prep.dates import day
from tests.cli.conftest import Run

TODAY = date.today()
MONDAY = TODAY + timedelta(days=21 - TODAY.weekday())


def made_on(prep: Run) -> set[date]:
    """The days on which the plan makes something."""
    return {date.fromisoformat(batch["make_on"]) for batch in prep("plan", "--json").json["batches"]}


def test_nothing_is_made_on_a_closed_day(inventory: Run) -> None:
    inventory("book", "add", "metals-acid", "--on", MONDAY)
    usual = max(made_on(inventory))
    last = MONDAY - timedelta(days=1)
    done = inventory("plan", "closed", "add", last - timedelta(days=8), last, "half term", "--by", "R. Vane")
    assert done.code == 0, done.err
    assert made_on(inventory)
    assert max(made_on(inventory)) < last - timedelta(days=8) < usual
    (span,) = inventory("plan", "closed", "list", "--json").json
    assert (span["to"], span["why"]) == (last.isoformat(), "half term")
    assert "half term" in inventory("plan", "settings").out
    assert inventory("plan", "settings", "--json").json["closed"] == [span]
    assert any(line["by"] == "R. Vane" and "half term" in line["reason"] for line in history(inventory))
    assert inventory("plan", "closed", "remove", span["from"], span["to"]).code == 0
    assert max(made_on(inventory)) == usual


def history(prep: Run) -> list[dict[str, str]]:
    lines: list[dict[str, str]] = prep("stock", "history", "--json").json
    return lines


def test_a_part_of_a_closed_span_is_opened_again(inventory: Run) -> None:
    inventory("plan", "closed", "add", "2031-12-22", "2032-01-02", "winter break")
    assert inventory("plan", "closed", "remove", "2031-12-29").code == 0
    assert [(s["from"], s["to"]) for s in inventory("plan", "closed", "list", "--json").json] == [
        ("2031-12-22", "2031-12-28"),
        ("2031-12-30", "2032-01-02"),
    ]


def test_a_single_day_needs_no_last_one_and_its_bookings_are_named(inventory: Run) -> None:
    code = inventory("book", "add", "metals-acid", "--on", MONDAY, "--json").json["code"]
    done = inventory("plan", "closed", "add", MONDAY, "staff training")
    assert "staff training" in done.out
    assert f"Booking {code} on {day(MONDAY)} stands there" in done.out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("add", "2031-12-22", "2031-12-01"), "run backwards"),
        (("add", "2031-12-22", "2035-12-01"), "At most 400 days"),
        (("add", "soon"), "FROM"),
        (("add", "2031-12-22", "2031-13-01", "x"), "TO"),
        (("remove", "2031-12-22"), "not closed on 2031-12-22"),
    ],
)
def test_a_wrong_span_is_one_sentence(inventory: Run, arguments: tuple[str, ...], says: str) -> None:
    said = inventory("plan", "closed", *arguments)
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert says in said.err
    assert inventory("plan", "closed", "list", "--json").json == []


def test_a_day_without_time_and_a_day_with_more(inventory: Run) -> None:
    inventory("book", "add", "metals-acid", "--on", MONDAY)
    usual = max(made_on(inventory))
    found = inventory("plan", "settings", "--minutes", f"{usual} 0", "--by", "R. Vane", "--json").json
    assert found["minutes_on"] == {usual.isoformat(): 0}
    assert found["minutes_per_day"] == 240
    assert usual not in made_on(inventory)
    assert made_on(inventory)
    assert any(line["by"] == "R. Vane" and f"minutes on {usual} 0" in line["reason"] for line in history(inventory))
    assert "0" in next(x for x in inventory("plan", "settings").out.splitlines() if x.startswith("minutes on "))
    inventory("plan", "settings", "--minutes", f"{usual} 480")
    assert usual in made_on(inventory)
    assert inventory("plan", "settings", "--minutes", f"{usual} usual", "--json").json["minutes_on"] == {}


def test_the_working_weekdays_are_set(inventory: Run) -> None:
    inventory("book", "add", "metals-acid", "--on", MONDAY)
    found = inventory("plan", "settings", "--weekdays", "Mon, tuesday wed", "--json").json
    assert found["weekdays"] == ["mon", "tue", "wed"]
    assert max(made_on(inventory)).weekday() == 2
    for wrong in ("", "someday"):
        assert inventory("plan", "settings", "--weekdays", wrong).code == 2


def test_minutes_on_a_day_as_people_write_it(inventory: Run) -> None:
    found = inventory("plan", "settings", "--minutes", "2 dec 2031 30", "--minutes", "2031-12-03=480", "--json").json
    assert found["minutes_on"] == {"2031-12-02": 30, "2031-12-03": 480}


@pytest.mark.parametrize(
    ("option", "value", "says"),
    [
        ("--minutes", "2020-01-01 60", "2020-01-01 is past"),
        ("--minutes", "2031-12-06 60", "2031-12-06 is closed (sat is no working day)"),
        ("--wasted", "-1", '--wasted "-1" is no cost'),
        ("--make", "15min", '--make "15min" is no cost'),
        ("--wasted-hazard", "nan", '--wasted-hazard "nan" is no cost'),
        ("--dilution", "", '--dilution "" is no cost'),
        ("--weekdays", "monkey", '--weekdays: "monkey" is no weekday'),
        ("--time-zone", "Mars", '--time-zone "Mars" is no time zone'),
        ("--time-zone", "", '--time-zone "" is no time zone'),
    ],
)
def test_a_setting_that_is_none_is_named_by_its_option(inventory: Run, option: str, value: str, says: str) -> None:
    said = inventory("plan", "settings", option, value)
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert says in said.err


def test_the_usual_costs_again_go_with_no_cost_of_ones_own(inventory: Run) -> None:
    said = inventory("plan", "settings", "--defaults", "--wasted", "5")
    assert said.code == 2
    assert said.err == "prep: --defaults takes every cost back to the usual one; give it, or --wasted.\n"
    assert inventory("plan", "settings", "--weekdays", "tues, weds thurs", "--json").json["weekdays"] == [
        "tue",
        "wed",
        "thu",
    ]


@pytest.mark.parametrize("wrong", ["2031-12-02", "2031-12-02 -5", "2031-12-02 1441", "then 5", "2031-12-02 lots"])
def test_minutes_that_are_none_are_one_sentence(inventory: Run, wrong: str) -> None:
    said = inventory("plan", "settings", "--minutes", wrong)
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert "--minutes" in said.err


def test_what_stands_ready_ahead_is_said_in_days(inventory: Run) -> None:
    assert "ready ahead of use: 1 working day" in inventory("plan", "settings", "--make-ahead", "1").out
    assert "ready ahead of use: 3 working days" in inventory("plan", "settings", "--make-ahead", "3").out


def test_what_is_usual_stands_in_the_history_as_people_write_it(inventory: Run) -> None:
    said = inventory("usual", "--opened", "glucose=90", "--opened", "urea=0")
    assert said.code == 0, said.err
    assert any("days open glucose 90, urea 0" in line["reason"] for line in history(inventory))
