"""Demonstrations of one's own by the commands, and what they will show."""

from pathlib import Path

import pytest

from tests.cli.conftest import Run

OPTIONS = (
    "demo",
    "new",
    "--name",
    "Two colours",
    "--principle",
    "neutralisation",
    "--in",
    "flask=5 mL of hcl-0.1",
    "--in",
    "flask=2 drops of phenolphthalein-0.1",
    "--add",
    "flask=naoh-0.1 from dropper until colour changed",
)


@pytest.mark.on_file
def test_a_demo_of_ones_own_is_made_found_and_predicted(inventory: Run, tmp_path: Path) -> None:
    assert inventory(*OPTIONS, "--dry-run").out.endswith("would be added.\n")
    assert inventory(*OPTIONS).code == 0
    assert inventory(*OPTIONS).code == 1  # it is on file
    assert [one["code"] for one in inventory("demo", "list", "neutralisation two", "--json").json] == ["two-colours"]
    found = inventory("demo", "predict", "two-colours", "--at", "10", "--json").json
    (vessel,) = found["vessels"]
    assert (vessel["start"]["colour"], vessel["end"]["colour"]) == ("colourless", "pink")
    assert vessel["changes"][0]["complete"]["drops"] == pytest.approx(101, abs=3)
    assert vessel["asked"][0]["colour"] == "colourless"
    written = inventory("demo", "show", "two-colours", "--toml").out
    file = tmp_path / "own.toml"
    file.write_text(written, encoding="utf-8")
    assert inventory("demo", "add", file).code == 1
    assert inventory("demo", "add", file, "--replace", "--dry-run").code == 0
    assert inventory("demo", "show", "two-colours", "--toml").out == written
    picture = tmp_path / "curves.svg"
    drawn = inventory("demo", "predict", "two-colours", "--at", "10", "--plot", picture)
    assert drawn.code == 0
    assert "after 10 drops: pH" in drawn.out
    assert drawn.out.rstrip().endswith("curves.svg.")
    assert picture.read_bytes().startswith(b"<?xml")
    assert inventory("db", "check").code == 0


@pytest.mark.on_file
def test_a_variant_in_one_line(inventory: Run) -> None:
    assert inventory(*OPTIONS).code == 0
    swap = ("--swap", "phenolphthalein-0.1=bromothymol-blue-0.05", "--stronger", "naoh-0.1=10")
    made = inventory("demo", "new", "--like", "two-colours", "--code", "two-b", *swap, "--json").json
    assert made["demo"] == "two-b"
    (vessel,) = inventory("demo", "predict", "two-b", "--json").json["vessels"]
    assert vessel["indicator"] == "bromothymol blue"
    assert vessel["changes"][0]["complete"]["drops"] == pytest.approx(10, abs=2)


@pytest.mark.on_file
def test_mistakes_are_listed_and_nothing_is_written(inventory: Run, tmp_path: Path) -> None:
    file = tmp_path / "odd.toml"
    file.write_text('name = "Odd"\ncolour = "red"\n[[vessel]]\nname = "flask"\n', encoding="utf-8")
    for way in ((), ("--dry-run",)):
        done = inventory("demo", "add", file, *way)
        assert (done.code, done.err.count("\n"), "odd.toml, line 2" in done.err) == (2, 1, True)
    assert inventory("demo", "list", "odd").code == 2


@pytest.mark.on_file
def test_what_is_only_read_runs_on_the_sample(prep: Run) -> None:
    assert prep("demo", "predict", "strong-acid-titration", "--sample", "--json").json["vessels"]
    assert "can_be_shown" not in prep("demo", "list", "copper", "--sample", "--json").json[0]
    (one, *_) = prep("demo", "list", "copper", "--can", "2027-01-20", "--sample", "--json").json
    assert (one["can_be_shown"]["on"], one["can_be_shown"]["provisional"]) == ("2027-01-20", True)
    assert "answered as a booking of it would be" in one["can_be_shown"]["note"]
    assert prep("book", "list", "--sample", "--no-states", "--json").json[0]["code"] == "B1"
    assert prep("book", "show", "B1", "--sample", "--json").json["state"] == "to be made"


@pytest.mark.on_file
def test_a_list_names_each_thing_once(prep: Run) -> None:
    listed = prep("demo", "list", "ph-curves", "--sample").out
    assert listed.count("hcl-0.1,") == 1
