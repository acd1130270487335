"""`prep demo show` and `prep plan` on a demo that runs an alkali in until a pH."""

from datetime import date, timedelta

import pytest

from tests.cli.conftest import Run

pytestmark = pytest.mark.on_file  # the sums are the same on any database


def test_demo_show_says_how_it_was_computed(inventory: Run) -> None:
    shown = inventory("demo", "show", "salt-making", "--showings", "2")
    assert shown.code == 0, shown.err
    assert "naoh-1 until pH 7: 25 mL for one showing" in " ".join(shown.out.split())
    assert "25 mmol of HCl" in shown.out
    document = inventory("demo", "show", "salt-making", "--showings", "2", "--json").json
    (until,) = document["until"]
    assert until["per_showing"]["value"] == pytest.approx(25, abs=0.01)
    assert until["working"]
    takes = {t["item"]: t["amount"]["value"] for t in document["takes"]}
    assert takes["naoh-1"] == pytest.approx(until["per_showing"]["value"] * 2 * 1.1 + 10, abs=1e-5)
    assert inventory("demo", "show", "silver-mirror", "--json").json["until"] == []


def test_the_plan_takes_what_the_demo_shows(inventory: Run) -> None:
    monday = date.today() + timedelta(days=14 - date.today().weekday())
    booked = inventory("book", "add", "salt-making", "--on", monday, "--showings", "3", "--json").json
    plan = inventory("plan", "--weeks", "4", "--json").json
    need = next(r for r in plan["requirements"] if r["item"] == "naoh-1")
    document = inventory("demo", "show", "salt-making", "--showings", "3", "--json").json
    takes = {t["item"]: t["amount"]["value"] for t in document["takes"]}
    assert need["amount"]["value"] == takes["naoh-1"]
    assert {t["item"]: t["amount"]["value"] for t in booked["takes"]}["naoh-1"] == takes["naoh-1"]


def test_done_uses_what_was_planned_and_put_out(inventory: Run) -> None:
    code = inventory("book", "add", "salt-making", "--on", "today", "--closed", "--showings", "3", "--json").json[
        "code"
    ]
    need = next(r for r in inventory("plan", "--json").json["requirements"] if r["item"] == "naoh-1")
    document = inventory("demo", "show", "salt-making", "--json").json
    (until,) = document["until"]
    done = inventory("book", "done", code, "--json")
    assert done.code == 0, done.err
    taken = next(t for t in done.json["taken"] if t["item"] == "naoh-1")
    assert taken["used"]["value"] == taken["planned"]["value"] == pytest.approx(3 * until["per_showing"]["value"])
    assert taken["put_out"] == need["amount"]


def test_a_teacher_reads_what_to_set_out_by_name(inventory: Run) -> None:
    shown = inventory("demo", "show", "thiosulfate-rate", "--showings", "3")
    assert shown.code == 0
    takes = inventory("demo", "show", "thiosulfate-rate", "--showings", "3", "--json").json["takes"]
    amounts = {t["item"]: t["amount"] for t in takes}
    assert amounts["thiosulfate-0.2"] == {"value": 510.0, "unit": "mL"}
    assert amounts["hcl-2"] == {"value": 87.5, "unit": "mL"}
    said = " ".join(shown.out.split())
    for words in (
        "thiosulfate, ",
        "Set out",
        "510 mL",
        "90 mL",
        "Caution: Goggles. Sulfur dioxide",
        "10 % to spare",
    ):
        assert words in said
    assert "True" not in said


def test_what_takes_less_than_a_drop_is_a_drop(inventory: Run) -> None:
    """Pure salt water and a strong acid: nothing in the room measures a third of a microlitre."""
    made = inventory(
        *("demo", "new", "--name", "Salt water", "--in", "cup=25 mL of nacl-0.1"),
        *("--in", "cup=4 drops of bromothymol blue", "--add", "cup=hcl-0.1 from dropper until colour changed"),
    )
    assert made.code == 0, made.err
    shown = " ".join(inventory("demo", "show", "salt water").out.split())
    assert "(0.3" not in shown
    assert " 1 drops" not in shown
    in_ml = " ".join(inventory("demo", "predict", "salt water", "--ml", "--at", "1").out.split())
    assert "complete with the first drop" in in_ml
    assert "computed: less than a drop" in in_ml
    assert "after 1 drop: pH" in in_ml
    assert "0.0003" not in in_ml
