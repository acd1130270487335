"""A technician's day on a real file: init, receive, book, plan, make, log, plan again, undo, count."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from prep.errors import PrepError
from tests.cli.conftest import Run


def monday() -> date:
    """A Monday at least a week ahead."""
    today = date.today()
    return today + timedelta(days=14 - today.weekday())


def bottle_of(prep: Run, item: str) -> dict:
    (held,) = [b for b in prep("stock", "list", "--json").json if b["item"] == item]
    return held


def test_what_is_logged_is_no_longer_asked_for(inventory: Run) -> None:
    booked = inventory("book", "add", "metals-acid", "--on", monday(), "--showings", "2", "--json")
    assert booked.code == 0
    before = inventory("plan", "--weeks", "4", "--json").json
    task = next(b for b in before["batches"] if b["solution"] == "hcl-1")
    volume = f"{task['amount']['value']} mL"
    made = inventory("make", "hcl-1", "--volume", volume, "--log", "--by", "R. Vane")
    assert made.code == 0, made.err
    assert "Logged as job" in made.out
    after = inventory("plan", "--weeks", "4", "--json").json
    assert "hcl-1" not in {b["solution"] for b in after["batches"]}
    need = next(n for n in after["requirements"] if n["item"] == "hcl-1")
    assert "bottle" in need["served"][0]
    assert inventory("db", "check").code == 0


def test_what_is_made_on_the_day_of_its_use_is_no_longer_asked_for(inventory: Run) -> None:
    """Marked as made fresh, or late for what should have stood ready the day before."""
    inventory("stock", "receive", "soluble-starch", "250 g")
    for demo, item, volume in (("starch-digestion", "starch-1", "100 mL"), ("metals-acid", "hcl-1", "500 mL")):
        code = inventory("book", "add", demo, "--on", "today", "--closed", "--json").json["code"]
        assert inventory("make", item, "--volume", volume, "--log").code == 0
        after = inventory("plan", "--json").json
        assert item not in {b["solution"] for b in after["batches"]}
        (need,) = [n for n in after["requirements"] if n["item"] == item and n["booking"] == code]
        assert [share["bottle"] for share in need["served"]] == [bottle_of(inventory, item)["code"]]
        assert "short" not in need


def test_a_make_takes_what_it_says_and_fills_a_bottle(inventory: Run) -> None:
    start = bottle_of(inventory, "sodium-hydroxide")["amount"]["value"]
    made = inventory("make", "naoh-1", "--volume", "500 mL", "--log", "--json").json
    taken = sum(t["amount"]["value"] for t in made["takes"])
    assert bottle_of(inventory, "sodium-hydroxide")["amount"]["value"] == round(start - taken, 6)
    held = bottle_of(inventory, "naoh-1")
    assert held["amount"] == {"value": 500.0, "unit": "mL"}
    assert held["made_by"]
    assert held["use_by"]


def test_undoing_a_make_puts_everything_back(inventory: Run) -> None:
    start = bottle_of(inventory, "sodium-hydroxide")["amount"]
    job = inventory("make", "naoh-1", "--volume", "500 mL", "--log", "--json").json["job"]
    undone = inventory("stock", "undo", job)
    assert undone.code == 0, undone.err
    assert bottle_of(inventory, "sodium-hydroxide")["amount"] == start
    assert not [b for b in inventory("stock", "list", "--json").json if b["item"] == "naoh-1"]
    assert inventory("db", "check").code == 0
    again = inventory("stock", "undo", job)
    assert (again.code, "already undone" in again.err) == (1, True)


def test_a_job_on_which_later_ones_rest_is_not_undone(inventory: Run) -> None:
    made = inventory("make", "naoh-1", "--volume", "500 mL", "--log", "--json").json
    code = made["bottles"][0]
    assert inventory("stock", "use", code, "100 mL", "--reason", "lesson").code == 0
    refused = inventory("stock", "undo", made["job"])
    assert refused.code == 1
    assert code in refused.err


def test_a_bottle_does_not_give_more_than_it_holds(inventory: Run) -> None:
    code = bottle_of(inventory, "sodium-chloride")["code"]
    assert inventory("stock", "use", code, "1 kg").code == 0  # to the last grain
    refused = inventory("stock", "use", code, "1 mg")
    assert (refused.code, refused.err.count("\n")) == (1, 1)
    assert "holds" in refused.err


def test_move_quarantine_discard_and_the_plan(inventory: Run) -> None:
    code = bottle_of(inventory, "hydrochloric-acid")["code"]
    assert inventory("stock", "place", "ACID", "Acid cupboard").code == 0
    assert "ACID" in inventory("stock", "move", code, "ACID").out
    assert inventory("stock", "quarantine", code, "--reason", "label unreadable").code == 0
    assert inventory("stock", "use", code, "1 mL").code == 1
    inventory("book", "add", "metals-acid", "--on", monday())
    shown = inventory("plan", "--weeks", "4", "--json").json
    assert code not in {t.get("bottle") for b in shown["batches"] for t in b["takes"]}
    assert inventory("stock", "quarantine", code, "--release").code == 0
    gone = inventory("stock", "discard", code, "--reason", "contaminated")
    assert gone.code == 0
    assert code not in inventory("stock", "list").out
    assert code in inventory("stock", "list", "--all").out
    assert inventory("stock", "show", code, "--json").json["status"] == "discarded"


def test_orders_are_counted_on_and_arrive_on_the_shelf(inventory: Run) -> None:
    placed = inventory("order", "placed", "potassium iodide", "--packs", "2", "--pack", "100 g", "--json").json
    assert placed["code"] == "P1"
    assert "Potassium iodide" in inventory("order", "list").out
    came = inventory("order", "arrived", "P1", "--use-by", "2035-01-31", "--json").json
    assert len(came) == 2
    assert (
        sum(b["amount"]["value"] for b in inventory("stock", "list", "--json").json if b["item"] == "potassium-iodide")
        == 200
    )
    twice = inventory("order", "arrived", "P1")
    assert (twice.code, "arrived already" in twice.err) == (1, True)


def test_bookings_add_move_cancel_done_and_list(inventory: Run) -> None:
    day = monday()
    code = inventory("book", "add", "blue-bottle", "--on", day, "--teacher", "A. Hollis", "--json").json["code"]
    moved = inventory("book", "move", code, "--to", day + timedelta(days=1), "--room", "Lab2", "--json").json
    assert (moved["date"], moved["room"]) == ((day + timedelta(days=1)).isoformat(), "Lab2")
    assert inventory("book", "cancel", code).code == 0
    assert inventory("book", "list", "--json").json == []
    assert inventory("book", "list", "--all", "--json").json[0]["status"] == "cancelled"
    assert inventory("book", "cancel", code).code == 1


def test_a_list_of_bookings_is_added_whole_or_not_at_all(inventory: Run, tmp_path: Path) -> None:
    good = tmp_path / "good.csv"
    good.write_text(f"﻿date;demo;showings;room\n{monday()};blue-bottle;2;Lab1\n{monday()};silver-mirror;1;Lab2\n")
    assert len(inventory("book", "import", good, "--dry-run", "--json").json) == 2
    assert inventory("book", "list", "--json").json == []
    assert inventory("book", "import", good).code == 0
    bad = tmp_path / "bad.csv"
    bad.write_text(f"date,demo,showings\n{monday()},blue-bottle,1\n{monday()},blue-bottle,none\n")
    refused = inventory("book", "import", bad)
    assert refused.code == 2
    assert 'bad.csv, row 3, column "showings"' in refused.err
    assert len(inventory("book", "list", "--json").json) == 2


def test_a_booking_stands_though_no_plan_can_be_drawn_up(inventory: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def looped(*_: object) -> None:
        raise PrepError("a is made from b, and b from a.")

    monkeypatch.setattr("prep.planning.plan.make_plan", looped)
    said = inventory("book", "add", "metals-acid", "--on", monday())
    assert (said.code, said.err) == (0, "")
    assert "B1 is booked; whether it can be served is not known: a is made from b" in said.out
    assert "It can be served" not in said.out
    again = inventory("book", "add", "metals-acid", "--on", monday(), "--again", "--json").json
    assert (again["code"], again["can_be_served"]) == ("B2", None)
    assert [b["code"] for b in inventory("book", "list", "--json").json] == ["B1", "B2"]


def test_the_plan_is_strict_only_when_asked(inventory: Run) -> None:
    inventory("book", "add", "silver-mirror", "--on", date.today() + timedelta(days=1), "--closed")
    assert inventory("plan").code == 0
    refused = inventory("plan", "--strict")
    assert refused.code == 1
    assert "short" in refused.err


def test_the_plan_as_tables(inventory: Run, tmp_path: Path) -> None:
    inventory("book", "add", "metals-acid", "--on", monday())
    folder = tmp_path / "tables"
    assert inventory("plan", "--csv", folder).code == 0
    assert {p.name for p in folder.iterdir()} == {
        "requirements.csv",
        "makes.csv",
        "takes.csv",
        "bottles.csv",
        "orders.csv",
        "warnings.csv",
    }
    assert "metals-acid" not in (folder / "makes.csv").read_text()
    assert "hcl-1" in (folder / "makes.csv").read_text()


def test_square_brackets_survive(inventory: Run) -> None:
    note = "NaOH [aq] stood [/b] here :warning: rack [a1]"
    code = inventory("stock", "receive", "sodium-hydroxide", "100 g", "--note", note, "--json").json[0]["code"]
    shown = inventory("stock", "show", code).out
    assert note in " ".join(shown.split())


def test_tables_fit_eighty_columns(inventory: Run) -> None:
    inventory("book", "add", "metals-acid", "--on", monday())
    for command in (
        ["stock", "list"],
        ["plan"],
        ["plan", "--brief"],
        ["plan", "--steps"],
        ["plan", "--day", "today"],
        ["solution", "list"],
        ["demo", "list"],
        ["book", "list"],
        ["stock", "history"],
    ):
        assert max(len(line) for line in inventory(*command).out.splitlines()) <= 80, command


def test_a_found_strength_changes_what_is_taken(inventory: Run) -> None:
    inventory("make", "naoh-1", "--volume", "1 L", "--log", "--found", "0.90 mol/L")
    shown = inventory("make", "naoh-0.1", "--volume", "1 L", "--from", "naoh-1", "--json").json
    (take,) = shown["takes"]
    assert 110 < take["amount"]["value"] < 113


@pytest.mark.on_file
def test_the_backup_is_whole(inventory: Run, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    assert inventory("db", "backup", copy).code == 0
    assert inventory("stock", "list", "--db", copy, "--json").json == inventory("stock", "list", "--json").json


def test_an_imported_booking_keeps_to_the_limit_of_its_age_group(inventory: Run, tmp_path: Path) -> None:
    rule = (
        "safety",
        "rule",
        "add",
        "sodium-hydroxide",
        "--at-most",
        "0.3 mol/L",
        "--group",
        "Year 8",
        "--why",
        "young",
    )
    assert inventory(*rule).code == 0
    file = tmp_path / "list.csv"
    file.write_text(f"date,demo,group\n{monday()},blue-bottle,Year 8\n")
    refused = inventory("book", "import", file)
    assert (refused.code, refused.err.count("\n")) == (1, 1), refused.err
    assert inventory("book", "list", "--json").json == []
    assert inventory("book", "group", "add", "Year 12").code == 0
    file.write_text(f"date,demo,group\n{monday()},blue-bottle,Year 12\n")
    assert inventory("book", "import", file).code == 0


def test_a_file_of_one_row_has_one_row(inventory: Run, tmp_path: Path) -> None:
    assert inventory("stock", "receive", "urea", "5 g").code == 0
    said = inventory("stock", "list", "--item", "urea", "--csv", tmp_path / "urea.csv").out
    assert said.rstrip().endswith(": 1 row.")
