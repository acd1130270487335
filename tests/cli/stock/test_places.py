"""Where a bottle is put: no place is guessed, and what must not stand beside it is said."""

from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run


@pytest.fixture
def shelves(prep: Run) -> Run:
    """An inventory with an acid cupboard, first in the walk, and a prep room."""
    assert prep("init").code == 0
    assert prep("stock", "place", "ACID", "Acid cupboard", "--order", "0").code == 0
    assert prep("stock", "receive", "hydrochloric-acid", "2.5 L", "--at", "ACID").code == 0
    return prep


def where(prep: Run, item: str) -> set[str]:
    return {bottle["location"] for bottle in prep("stock", "list", "--item", item, "--json").json}


def test_no_place_is_guessed_among_several(shelves: Run) -> None:
    asked = shelves("stock", "receive", "sodium hydroxide", "500 g")
    assert (asked.code, asked.err.count("\n")) == (2, 1)
    for word in ("--at", "Sodium hydroxide", "ACID (Acid cupboard)", "PREP (Prep room)"):
        assert word in asked.err
    assert shelves("stock", "list", "--json").json[0]["item"] == "hydrochloric-acid"
    assert len(shelves("stock", "list", "--json").json) == 1


def test_the_same_item_draws_it_to_its_place(shelves: Run) -> None:
    assert shelves("stock", "receive", "sodium hydroxide", "500 g", "--at", "PREP").code == 0
    assert shelves("stock", "receive", "sodium hydroxide", "500 g").code == 0
    assert where(shelves, "sodium-hydroxide") == {"PREP"}
    assert shelves("stock", "receive", "hydrochloric-acid", "1 L").code == 0
    assert where(shelves, "hydrochloric-acid") == {"ACID"}
    assert shelves("stock", "receive", "hydrochloric-acid", "1 L", "--at", "PREP").code == 0
    asked = shelves("stock", "receive", "hydrochloric-acid", "1 L")
    assert "it stands at ACID and PREP" in asked.err


def test_the_only_place_needs_no_naming(prep: Run) -> None:
    prep("init")
    assert prep("stock", "receive", "sodium hydroxide", "500 g").code == 0


def apart(notes: list[dict[str, Any]]) -> list[str]:
    return [note["message"] for note in notes if note["code"] == "store-apart"]


@pytest.mark.parametrize("item", ["sodium-hydroxide", "ammonia"])
def test_what_must_not_stand_there_is_said_when_it_is_received(shelves: Run, item: str) -> None:
    amount = "500 g" if item == "sodium-hydroxide" else "1 L"
    (held,) = shelves("stock", "receive", item, amount, "--at", "ACID", "--json").json
    (message,) = apart(held["notes"])
    assert "Hydrochloric acid" in message
    assert held["notes"][0]["cure"] == f"Move {held['code']} ({held['name']}) to PREP."
    said = shelves("stock", "receive", item, amount, "--at", "ACID")
    assert said.out.count("Mind: ACID:") == 1
    (alone,) = shelves("stock", "receive", item, amount, "--at", "PREP", "--json").json
    assert alone["notes"] == []


def test_a_place_gets_another_name_and_keeps_its_code_and_its_bottles(shelves: Run) -> None:
    named = shelves("stock", "place", "acid cupboard", "Corrosives", "--rename", "--json").json
    assert named[0] == {"code": "ACID", "name": "Corrosives"}  # still first in the walk
    assert where(shelves, "hydrochloric-acid") == {"ACID"}
    taken = shelves("stock", "place", "ACID", "Acids")
    assert (taken.code, "--rename" in taken.err) == (2, True)
    assert shelves("stock", "place", "ACID", "--rename").code == 2
    assert shelves("stock", "place", "COLD", "Cold room", "--rename").code == 2
    job = shelves("stock", "history", "--json").json[0]
    assert (job["kind"], job["reason"]) == ("settings", "place ACID: Acid cupboard, now Corrosives")
    assert shelves("stock", "undo", str(job["job"])).code == 0
    assert shelves("stock", "place", "--json").json[0]["name"] == "Acid cupboard"


def test_it_is_said_of_a_move_an_order_and_a_make(shelves: Run) -> None:
    (held,) = shelves("stock", "receive", "sodium hydroxide", "500 g", "--at", "PREP", "--json").json
    moved = shelves("stock", "move", held["code"], "ACID", "--json").json
    assert len(apart(moved["notes"])) == 1
    assert "Mind: ACID" not in shelves("stock", "move", held["code"], "PREP").out
    made = shelves("make", "naoh-1", "--volume", "500 mL", "--log", "--at", "ACID", "--json").json
    assert len(apart(made["notes"])) == 1
    shelves("order", "placed", "sodium-hydroxide", "--packs", "2", "--pack", "500 g")
    came = shelves("order", "arrived", "P1", "--at", "ACID", "--json").json
    assert [len(apart(one["notes"])) for one in came] == [1, 1]


def test_a_make_without_a_place_asks(shelves: Run) -> None:
    shelves("stock", "receive", "sodium hydroxide", "500 g", "--at", "PREP")
    asked = shelves("make", "naoh-1", "--volume", "500 mL", "--log")
    assert (asked.code, "--at" in asked.err) == (2, True)
    assert "set once: prep usual" in asked.err
    assert where(shelves, "naoh-1") == set()
    assert shelves("make", "naoh-1", "--volume", "500 mL", "--log", "--at", "PREP").code == 0
    assert shelves("make", "naoh-1", "--volume", "500 mL", "--log").code == 0
    assert where(shelves, "naoh-1") == {"PREP"}


def test_a_spreadsheet_says_row_by_row_what_must_not_stand_there(shelves: Run, tmp_path: Path) -> None:
    file = tmp_path / "store.csv"
    file.write_text("item,amount,location\nsodium-hydroxide,500 g,Acid cupboard\nsodium-chloride,1 kg,PREP\n")
    for dry in (True, False):
        rows = shelves("stock", "import", file, "--json", *(["--dry-run"] if dry else [])).json["rows"]
        assert [len(row["notes"]) for row in rows] == [1, 0]
        assert "Hydrochloric acid" in rows[0]["notes"][0]
    file.write_text("item,amount,location\nethanol-96,2.5 L,ACID\nnitric-acid,1 L,ACID\n")  # of the same file
    notes = [row["notes"] for row in shelves("stock", "import", file, "--dry-run", "--json").json["rows"]]
    assert any("Nitric acid" in note for note in notes[0])
    assert any("Ethanol" in note for note in notes[1])
    assert "  mind: ACID: " in shelves("stock", "import", file, "--dry-run").out


def test_a_row_without_a_place_is_wrong_where_there_are_several(shelves: Run, tmp_path: Path) -> None:
    file = tmp_path / "store.csv"
    file.write_text("item,amount\nhydrochloric-acid,1 L\nsodium-chloride,1 kg\n")
    refused = shelves("stock", "import", file)
    assert (refused.code, 'row 3, column "location"' in refused.err) == (2, True)
    assert "--at" in refused.err
    assert shelves("stock", "import", file, "--at", "prep room").code == 0
    assert where(shelves, "sodium-chloride") == {"PREP"}
