"""Days and whole numbers at the door: none so far away that a later command fails; nothing done after today."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from prep.cli import common
from prep.dates import FIRST, LAST
from prep.errors import PrepError
from tests.cli.conftest import Result, Run
from tests.cli.test_hostile import commands

TODAY = date(2027, 1, 11)  # a Monday


@pytest.fixture
def room(inventory: Run, monkeypatch: pytest.MonkeyPatch) -> Run:
    """The inventory, on a Monday."""
    monkeypatch.setattr(common, "today", lambda: TODAY)
    return inventory


def one_sentence(done: Result, *said: str) -> None:
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1), done.err
    for part in said:
        assert part in done.err


@pytest.mark.on_file
@pytest.mark.parametrize("day", ["9999-12-31", "9999-12-30", "2201-01-01", "1949-12-31", "0001-01-01"])
@pytest.mark.parametrize(
    "command",
    [
        ("order", "placed", "sodium-chloride", "--pack", "500 g", "--due"),
        ("order", "placed", "sodium-chloride", "--pack", "500 g", "--on"),
        ("book", "add", "blue-bottle", "--on"),
        ("book", "list", "--to"),
        ("stock", "receive", "sodium-chloride", "500 g", "--use-by"),
        ("stock", "list", "--use-by"),
        ("safety", "due", "--on"),
        ("plan", "--from"),
        ("plan", "--to"),
        ("plan", "--pdf", "day", "x.pdf", "--day"),
        ("make", "nacl-0.1", "--volume", "1 L", "--on"),
    ],
    ids=" ".join,
)
def test_a_day_far_away_is_refused_and_breaks_nothing(inventory: Run, command: tuple[str, ...], day: str) -> None:
    one_sentence(inventory(*command, day), day, "the years 1950 to 2200")
    for after in (("plan",), ("order", "list"), ("safety", "due"), ("book", "list"), ("db", "check")):
        assert inventory(*after).code == 0
    assert inventory("order", "list", "--json").json["placed"] == []


def test_the_farthest_days_that_are_accepted_break_nothing(inventory: Run) -> None:
    far = (LAST - timedelta(days=1)).isoformat()  # a working day
    one_sentence(inventory("order", "placed", "sodium-chloride", "--pack", "500 g", "--due", LAST), "two years")
    assert inventory("stock", "receive", "sodium-chloride", "500 g", "--use-by", LAST).code == 0
    assert inventory("stock", "receive", "diethyl-ether", "500 mL", "--on", FIRST).code == 0
    assert inventory("book", "add", "blue-bottle", "--on", far, "--closed").code == 0
    assert inventory("safety", "due", "--on", LAST, "--within", "3660").code == 0
    for after in (("plan",), ("order", "list"), ("safety", "due"), ("db", "check")):
        assert inventory(*after).code == 0


@pytest.mark.on_file
@pytest.mark.parametrize("number", ["99999999999999999999", "-99999999999999999999", "2147483648", "-1"])
@pytest.mark.parametrize(
    "command",
    [
        ("stock", "place", "A2", "n", "--order"),
        ("stock", "undo"),
        ("stock", "history", "--last"),
        ("stock", "receive", "sodium-chloride", "1 g", "--bottles"),
        ("order", "placed", "sodium-chloride", "--packs"),
        ("book", "add", "blue-bottle", "--on", "2099-01-05", "--showings"),
        ("label", "--batch"),
        ("safety", "due", "--within"),
        ("safety", "rule", "remove"),
        ("safety", "waste", "blue-bottle", "--showings"),
        ("plan", "--weeks"),
        ("plan", "settings", "--make-ahead"),
        ("demo", "show", "blue-bottle", "--showings"),
    ],
    ids=" ".join,
)
def test_a_whole_number_out_of_bounds_is_refused(inventory: Run, command: tuple[str, ...], number: str) -> None:
    last = [*command, number] if command[-1].startswith("--") else [*command, "--", number]
    one_sentence(inventory(*last))
    assert inventory("stock", "place").code == 0
    assert inventory("plan").code == 0


@pytest.mark.on_file
@pytest.mark.parametrize("days", ["36526", "9000000", "99999999999999999999"])
def test_what_a_file_says_keeps_for_ever_is_refused(inventory: Run, tmp_path: Path, days: str) -> None:
    cards = tmp_path / "cards.csv"
    cards.write_text(f"code,name,solute,strength,shelf_life_days\nold-brine,Old,sodium-chloride,1 mol/L,{days}\n")
    one_sentence(inventory("solution", "import", cards), "row 2", "shelf_life_days", "from 0 to 36525")
    bottles = tmp_path / "bottles.csv"
    bottles.write_text("item,amount,use_by\nsodium-chloride,1 g,9999-12-31\n")
    one_sentence(inventory("stock", "import", bottles), "row 2", "the years 1950 to 2200")


# What is recorded as done --------------------------------------------------------------------------------


def done_commands() -> list[tuple[str, ...]]:
    """Every command that records the day of something done, with arguments that get it as far as that day."""
    wanted = common.On.__metadata__[0].help  # type: ignore[attr-defined]
    found = []
    for words, command in commands():
        if not any(getattr(p, "help", None) == wanted for p in command.params):
            continue
        line = list(words)
        for parameter in command.params:
            if parameter.required:
                line += ["1"] if parameter.param_type_name == "argument" else [parameter.opts[0], "1"]
        if words == ("make",):
            line += ["nacl-0.1", "--volume", "1 L", "--log"]
        if words == ("stock", "trace"):
            line.append("--quarantine")
        found.append(tuple(line))
    assert len(found) >= 15
    return found


@pytest.mark.on_file
@pytest.mark.parametrize("command", done_commands(), ids=" ".join)
def test_nothing_is_done_after_today(room: Run, command: tuple[str, ...]) -> None:
    before = room("stock", "history", "--json").out
    one_sentence(room(*command, "--on", "2027-01-12"), "--on 2027-01-12 is still to come", "2027-01-11 or before")
    assert room("stock", "history", "--json").out == before


def test_a_weekday_of_what_was_done_is_the_last_such_day(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(common, "today", lambda: TODAY)
    said = {
        "monday": TODAY,
        "Sunday": date(2027, 1, 10),
        "tuesday": date(2027, 1, 5),
        "today": TODAY,
        "2027-01-02": date(2027, 1, 2),
    }
    assert {word: common.done(word).on for word in said} == said
    assert common.done(None).on == TODAY
    assert common.a_date("monday", "--on") == date(2027, 1, 18)
    assert common.a_date("tuesday", "--on") == date(2027, 1, 12)
    with pytest.raises(PrepError, match="is no date"):
        common.done("someday")


def test_nothing_is_done_with_a_bottle_before_it_came(room: Run) -> None:
    came = room("stock", "receive", "sodium-chloride", "100 g", "--on", "2027-01-08", "--json").json[0]
    code = came["code"]
    for command in (
        ("stock", "use", code, "1 g"),
        ("stock", "discard", code),
        ("stock", "quarantine", code),
        ("stock", "undo", room("stock", "history", "--json").json[0]["job"]),
    ):
        one_sentence(room(*command, "--on", "2001-01-01"), "--on 2001-01-01 is before", "2027-01-08")
    assert room("stock", "show", code, "--json").json["opened"] is None
    used = room("stock", "use", code, "1 g", "--on", "friday", "--json")
    assert (used.code, used.json["opened"]) == (0, "2027-01-08")


def test_an_order_arrives_after_it_was_placed_and_in_date(room: Run) -> None:
    placed = room("order", "placed", "sodium-chloride", "--pack", "500 g", "--on", "2027-01-06", "--json").json["code"]
    one_sentence(room("order", "arrived", placed, "--on", "2027-01-05"), "before order P1 was placed, 2027-01-06")
    one_sentence(room("order", "arrived", placed, "--use-by", "2001-01-01"), "--use-by 2001-01-01 is before the day")
    assert room("order", "arrived", placed, "--use-by", "2030-01-01").code == 0
