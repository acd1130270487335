"""What is kept of an item at least: shown, set, told apart from what is needed, and not ordered twice."""

from datetime import date
from typing import Any

import pytest

from prep.cli import common
from tests.cli.conftest import Run
from tests.cli.plan.test_days import MONDAY, history


def orders(prep: Run, item: str) -> list[dict[str, Any]]:
    return [line for line in prep("plan", "--json").json["orders"] if line["item"] == item]


def test_a_rule_is_shown_and_set(inventory: Run) -> None:
    shown = inventory("order", "rule", "sodium chloride").out
    assert shown == "Sodium chloride: minimum 250 g; packs of 1 kg, 2.5 kg; an order takes 7 days.\n"
    done = inventory(
        "order", "rule", "sodium-chloride", "--minimum", "100 g", "--pack", "500 g", "--pack", "250 g",
        "--lead-days", "10", "--by", "R. Vane", "--json",
    )  # fmt: skip
    wanted = {
        "minimum": {"value": 100.0, "unit": "g"},
        "packs": [{"value": 250.0, "unit": "g"}, {"value": 500.0, "unit": "g"}],
        "lead_days": 10,
        "own_minimum": True,
    }
    assert done.json == {"item": "sodium-chloride", "job": history(inventory)[0]["job"]} | wanted
    assert inventory("substance", "show", "sodium chloride", "--json").json["ordering"] == wanted
    said = inventory("substance", "show", "sodium chloride").out
    for fact in ("minimum: 100 g", "packs: 250 g, 500 g", "lead days: 10"):
        assert fact in said
    (line,) = [one for one in history(inventory) if "sodium-chloride" in one["reason"] and one["kind"] == "settings"]
    assert line["by"] == "R. Vane"
    assert "minimum 250 g" in line["reason"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("sodium-chloride", "--minimum", "1 L"), "counted by mass"),
        (("sodium-chloride", "--pack", "0 g"), "0 g"),
        (("sodium-chloride", "--lead-days", "-1"), "--lead-days"),
        (("hcl-1", "--minimum", "1 L"), "made here"),
        (("gold", "--minimum", "1 g"), "neither"),
    ],
)
def test_a_wrong_rule_is_one_sentence(inventory: Run, arguments: tuple[str, ...], says: str) -> None:
    said = inventory("order", "rule", *arguments)
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert says in said.err


def test_the_first_grams_of_the_only_bottle_are_no_reason_to_order(inventory: Run) -> None:
    inventory("stock", "receive", "sodium-thiosulfate-5-water", "500 g")
    inventory("stock", "receive", "potassium-iodide", "250 g")
    for held in inventory("stock", "list", "--json").json:
        if held["amount"]["unit"] == "g":
            inventory("stock", "use", held["code"], "9 g")
    assert inventory("plan", "--json").json["orders"] == []


def test_a_minimum_of_the_catalogue_is_kept_of_what_bookings_use_alone(inventory: Run) -> None:
    inventory("stock", "receive", "limonene", "25 mL", "--at", "PREP")
    assert inventory("substance", "show", "limonene", "--json").json["ordering"]["own_minimum"] is False
    assert not orders(inventory, "limonene")
    assert "Less than is usually kept, and not ordered" in " ".join(inventory("plan", "--brief").out.split())
    inventory("order", "rule", "limonene", "--minimum", "125 mL")
    assert [line["for_minimum"] for line in orders(inventory, "limonene")] == [True]


def test_an_undercut_minimum_is_said_to_be_that_and_is_no_stop(inventory: Run) -> None:
    inventory("order", "rule", "sodium-chloride", "--minimum", "1.2 kg")
    (line,) = orders(inventory, "sodium-chloride")
    assert (line["for_minimum"], line["late"]) == (True, False)
    warnings = inventory("plan", "--json").json["warnings"]
    assert {w["severity"] for w in warnings if "Sodium chloride" in w["message"]} == {"act"}
    assert "Sodium chloride (its minimum)" in inventory("plan").out
    said = " ".join(inventory("plan", "--brief").out.split())
    assert "Order today to keep the minimum stock; nothing booked waits for it: Sodium chloride (minimum 1.2 kg" in said
    assert "its minimum" in inventory("order", "list").out


def test_what_is_on_its_way_is_not_ordered_again(inventory: Run) -> None:
    inventory("order", "rule", "sodium-chloride", "--minimum", "1.2 kg")
    assert orders(inventory, "sodium-chloride")
    assert inventory("order", "placed", "sodium-chloride", "--packs", "2", "--pack", "1 kg").code == 0
    assert orders(inventory, "sodium-chloride") == []
    assert "Nothing." in inventory("order", "list").out
    inventory("book", "add", "metals-acid", "--on", MONDAY)
    assert orders(inventory, "sodium-chloride") == []
    inventory("order", "cancel", "P1")
    assert orders(inventory, "sodium-chloride")


def test_an_order_is_due_on_a_day_on_which_the_room_is_open(prep: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(common, "today", lambda: date(2027, 2, 4))  # a Thursday
    assert prep("init").code == 0
    assert prep("order", "rule", "urea", "--pack", "100 g", "--lead-days", 10).code == 0
    sunday, closed = prep("order", "placed", "urea", "--json"), ("2027-02-16", "2027-02-17")
    assert (sunday.code, sunday.json["due"]) == (0, "2027-02-15")
    assert prep("plan", "closed", "add", *closed, "training").code == 0
    assert prep("order", "rule", "urea", "--lead-days", 12).code == 0
    assert prep("order", "placed", "urea", "--json").json["due"] == "2027-02-18"


def test_a_rule_that_was_set_is_as_it_was_once_that_is_undone(inventory: Run) -> None:
    before = inventory("order", "rule", "urea", "--json").json
    inventory("order", "rule", "urea", "--minimum", "100 g")
    (job, *_) = [line["job"] for line in history(inventory) if line["kind"] == "settings" and "urea" in line["reason"]]
    undone = inventory("stock", "undo", job)
    assert undone.code == 0, undone.err
    assert inventory("order", "rule", "urea", "--json").json == before
    assert inventory("db", "check").code == 0
