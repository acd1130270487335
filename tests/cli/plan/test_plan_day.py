"""The first screen of the morning: the overview, today first; and one day with all that it takes."""

import json
from datetime import date, timedelta
from importlib import resources

import jsonschema
import pytest

from prep.store import files
from tests.cli.conftest import Run

TODAY = date.today()


@pytest.mark.parametrize("width", ["80", "100"])
def test_the_overview_opens_with_today_and_fits_two_screens(
    prep: Run, monkeypatch: pytest.MonkeyPatch, width: str
) -> None:
    monkeypatch.setenv("COLUMNS", width)
    said = prep("plan", "--sample")
    lines = said.out.splitlines()
    assert said.code == 0
    assert len(lines) <= 80
    assert max(map(len, lines)) <= int(width)
    document = prep("plan", "--sample", "--json").json
    today = [batch["minutes"] for batch in document["batches"] if batch["make_on"] == document["today"]]
    assert lines[2].startswith(f"TODAY: {len(today)} to make, about {sum(today)} of 240 min")
    for fact in ("[cuso4-0.5]", "STOP", "B12", "COMING", "prep plan --sample --day today"):
        assert fact in said.out
    days = said.out.partition("COMING")[2].splitlines()
    counted = [int(x[20:28]) for x in days if x[1:2].strip() and x[20:28].strip().isdigit()]
    assert sum(counted) == len(document["batches"]) - len(today)


def test_one_day_has_what_it_takes_and_nothing_of_another(prep: Run) -> None:
    everything = prep("plan", "--sample", "--json").json
    said = prep("plan", "--sample", "--day", "2027-01-12")
    makes = [batch["minutes"] for batch in everything["batches"] if batch["make_on"] == "2027-01-12"]
    shown = " ".join(said.out.split())
    head = f"Tue 12 Jan 2027: {len(makes)} to make, about {sum(makes)} of 240 min; 4 bookings, about 44 min to set out"
    assert shown.startswith(f"{head} and clear FETCH")
    for batch in everything["batches"]:
        mine = batch["make_on"] == "2027-01-12"
        last = batch["steps"][-2]["text"].removeprefix("Mind: ")
        assert (f"[{batch['solution']}]" in shown and last in shown) or not mine, batch["id"]
        if mine:
            assert all(take.get("bottle", "") in shown for take in batch["takes"])
            assert all(caution in shown for caution in batch["cautions"])
    for code in ("B1", "B2", "B3", "B4"):
        assert f"[ ] {code} " in shown
    assert "[ ] B5 " not in shown
    assert "glucose-10" not in shown  # of 13 January


@pytest.mark.on_file
def test_a_day_is_read_where_nothing_may_be_written(inventory: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """On an auditor's share no number of a line is kept: they are those of the order in which it is printed."""
    assert inventory("order", "placed", "sodium chloride", "--packs", 1, "--pack", "500 g", "--by", "Ada").code == 0
    day = inventory("order", "list", "--json").json["placed"][0]["due"]
    before = inventory("stock", "history", "--json").out
    monkeypatch.setattr(files, "is_writable", lambda _: False)
    said = inventory("plan", "--day", day)
    assert (said.code, said.err) == (0, "")
    assert " 1 [ ] P1 " in said.out
    assert inventory("log", 1, "--on", day).code == 2
    assert inventory("stock", "history", "--json").out == before


def test_a_day_as_a_document(prep: Run) -> None:
    everything = prep("plan", "--sample", "--json").json
    found = prep("plan", "--sample", "--day", "2027-01-14", "--json").json
    assert found["batches"] == [b for b in everything["batches"] if b["make_on"] == "2027-01-14"]
    assert {b["code"] for b in found["bookings"]} == {"B9", "B10", "B11", "B12"}
    needs = [need for booking in found["bookings"] for need in booking["requirements"]]
    assert sorted(need["id"] for need in needs) == sorted(
        need["id"] for need in everything["requirements"] if need["needed_on"] == "2027-01-14"
    )
    assert [w["severity"] for w in found["warnings"]] == ["stop"]
    whole = everything | {key: found[key] for key in ("batches", "orders", "warnings")} | {"requirements": needs}
    schema = json.loads(resources.files("prep.reports.plan").joinpath("plan.schema.json").read_text())
    jsonschema.validate(whole, schema)
    today = prep("plan", "--sample", "--day", "today", "--json").json
    assert today["day"] == everything["today"]
    assert {line["id"] for line in today["orders"]} == {
        line["id"] for line in everything["orders"] if line["order_by"] <= everything["today"]
    }


def test_a_day_that_is_not_in_the_plan_is_one_sentence(inventory: Run) -> None:
    for wrong in (TODAY - timedelta(days=1), TODAY + timedelta(days=300), "someday"):
        said = inventory("plan", "--day", wrong)
        assert (said.code, said.err.count("\n")) == (2, 1)
        assert "--day" in said.err
    assert inventory("plan", "--day", "today", "--csv", "folder").code == 2


def test_an_empty_day_says_so(inventory: Run) -> None:
    assert "nothing to make, to set out or to order" in inventory("plan", "--day", "today").out
    inventory("plan", "closed", "add", TODAY, "staff training")
    assert "closed: staff training" in inventory("plan", "--day", "today").out
    assert "Nothing." in inventory("plan").out


def test_steps_and_brief_are_the_whole_plan(prep: Run) -> None:
    steps, brief = (prep("plan", "--sample", option).out for option in ("--steps", "--brief"))
    assert "Put about" in steps
    assert "Put about" not in brief
    for head in ("NEEDS ATTENTION", "TO MAKE", "WHAT EACH BOOKING GETS", "WHAT IS CONSUMED", "TO ORDER"):
        assert head in steps
        assert head in brief
