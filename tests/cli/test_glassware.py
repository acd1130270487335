"""What the room owns: listed, set, taken from a spreadsheet, and nothing used of which there is none."""

from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.cli.plan.test_days import history


def vessel(prep: Run, volume: str, solution: str = "hcl-1") -> str:
    found: str = prep("make", solution, "--volume", volume, "--json").json["vessel"]
    return found


def test_what_is_not_owned_is_not_used(inventory: Run) -> None:
    used = vessel(inventory, "900 mL")
    (one,) = [i for i in inventory("glassware", "list", "--json").json if i["name"] == used]
    assert one["count"] > 0
    done = inventory("glassware", "set", one["code"], "0", "--by", "R. Vane", "--json").json
    assert done == [one | {"count": 0}]
    assert vessel(inventory, "900 mL") != used
    assert "none" in next(x for x in inventory("glassware", "list").out.splitlines() if one["code"] in x)
    (line,) = [x for x in history(inventory) if x["kind"] == "settings"]
    assert (line["by"], line["reason"]) == ("R. Vane", f"glassware: {one['code']} {one['count']} -> 0")
    inventory("glassware", "set", used, "1")  # by its name
    assert vessel(inventory, "900 mL") == used


def test_a_room_without_anything_still_gets_an_answer(inventory: Run) -> None:
    codes = [i["code"] for i in inventory("glassware", "list", "--json").json]
    assert inventory("glassware", "set", *(word for code in codes for word in (code, "0"))).code == 0
    said = inventory("make", "hcl-1", "--volume", "500 mL")
    assert said.code == 0, said.err
    assert inventory("book", "add", "metals-acid", "--on", "2031-01-15").code == 0
    assert inventory("plan", "--from", "2031-01-10", "--weeks", "1").code == 0


def test_words_find_some(inventory: Run) -> None:
    found = inventory("glassware", "list", "cylinder 2", "--json").json
    assert [one["code"] for one in found] == ["cylinder-25", "cylinder-250", "cylinder-2000"]
    assert inventory("glassware", "list", "cauldron").code == 2


@pytest.mark.parametrize(
    ("pairs", "says"),
    [
        (("cylinder-2000",), "how many"),
        (("cylinder-3000", "1"), "Near: cylinder-"),
        (("cylinder-2000", "-1"), "whole number"),
        (("cylinder-2000", "some"), "whole number"),
    ],
)
def test_a_wrong_number_is_one_sentence(inventory: Run, pairs: tuple[str, ...], says: str) -> None:
    said = inventory("glassware", "set", "flask-50", "0", "--", *pairs)
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert says in said.err
    (flask,) = [i for i in inventory("glassware", "list", "--json").json if i["code"] == "flask-50"]
    assert flask["count"] == 4


def test_a_spreadsheet_sets_the_numbers_and_adds_what_is_new(inventory: Run, tmp_path: Path) -> None:
    before = inventory("glassware", "list", "--json").json
    file = tmp_path / "ours.csv"
    head = "code,count,name,kind,capacity,tolerance,resolution,source\n"
    file.write_text(
        f"{head}cylinder-2000,0,,,,,,\nflask-150,3,150 mL volumetric flask,volumetric flask,150,0.3,150,its mark\n"
    )
    assert inventory("glassware", "import", file, "--dry-run").code == 0
    assert inventory("glassware", "list", "--json").json == before
    assert inventory("glassware", "import", file).code == 0
    after = inventory("glassware", "list", "--json").json
    assert after[:-1] == [one | ({"count": 0} if one["code"] == "cylinder-2000" else {}) for one in before]
    assert (after[-1]["code"], after[-1]["capacity"]["value"], after[-1]["count"]) == ("flask-150", 150.0, 3)
    assert vessel(inventory, "150 mL", "kio3-0.02") == "150 mL volumetric flask"
    file.write_text(f"{head}cylinder-500,1,,,,,,\nflask-9,3,,,,,,\n")
    refused = inventory("glassware", "import", file)
    assert (refused.code, 'row 3, column "kind"' in refused.err) == (2, True)
    assert inventory("glassware", "list", "--json").json == after
