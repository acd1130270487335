"""A name means the same to every command, and what was taken for it is said."""

import re
from pathlib import Path

import pytest

from prep.resources import seed_data
from prep.services.catalogue.seed import read_catalogue
from tests.cli.conftest import Run


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ("2 M sulfuric acid", "h2so4-2"),
        ("hydrogen peroxide 20 vol", "h2o2-20vol"),
        ("0.1M HCl", "hcl-0.1"),
        ("hydrochloric acid", "hydrochloric-acid"),  # the only one of its grades in the room
    ],
)
def test_a_bottle_is_received_and_listed_by_any_of_its_names(inventory: Run, said: str, code: str) -> None:
    came = inventory("stock", "receive", said, "100 mL", "--json")
    assert came.code == 0, came.err
    assert came.json[0]["item"] == code
    assert {one["item"] for one in inventory("stock", "list", "--item", said, "--json").json} == {code}
    listed = inventory("stock", "list", "--item", said).out
    assert f'"{said}" is taken as ' in listed
    assert f"({code})." in listed


def test_orders_and_counts_take_the_one_that_is_held(inventory: Run) -> None:
    ordered = inventory("order", "placed", "hydrochloric acid", "--pack", "500 mL")
    assert '"hydrochloric acid" is taken as Hydrochloric acid, 36 % (hydrochloric-acid).' in ordered.out
    assert inventory("count", "open").code == 0
    found = inventory("count", "found", "hydrochloric acid", "250 mL")
    assert '"hydrochloric acid" is taken as Hydrochloric acid, 36 %.' in found.out
    assert inventory("stock", "receive", "hydrochloric-acid-32", "1 L").code == 0
    for command in (("order", "placed"), ("stock", "list", "--item"), ("stock", "receive")):
        refused = inventory(*command, "hydrochloric acid", *(["1 L"] if command[1] == "receive" else []))
        assert refused.code == 2
        assert "may be hydrochloric-acid, hydrochloric-acid-32" in refused.err


def test_a_full_name_is_not_repeated(inventory: Run) -> None:
    for said in ("sodium chloride", "hydrochloric acid 36 %", "sulfuric acid 2 mol/L", "hcl-0.1"):
        assert "taken as" not in inventory("stock", "receive", said, "5 g" if "sodium" in said else "5 mL").out
    assert "taken as" not in inventory("stock", "list").out


def test_only_solutions_are_offered_to_make(inventory: Run) -> None:
    refused = inventory("make", "hydrochloric acid", "--volume", "1 L")
    assert refused.code == 2
    listed = refused.err.partition("may be ")[2].partition(";")[0].split(", ")
    on_file = read_catalogue(seed_data()).solutions.values()
    assert sorted(listed) == sorted(one.code for one in on_file if one.solute == "hydrochloric-acid")
    assert inventory("make", "2 mol/L HCl", "--volume", "1 L").code == 0
    assert inventory("solution", "show", "hydrochloric acid 0.1 mol/L", "--json").json["code"] == "hcl-0.1"


def test_the_calculator_knows_the_same_names(prep: Run) -> None:
    want = ("--to", "0.5 mol/L", "--volume", "250 mL")
    british = prep("calc", "dissolve", "--of", "copper sulphate", *want)
    assert british.code == 0, british.err
    said = " ".join(british.out.split())
    assert said.startswith(
        '"copper sulphate" is taken as Copper(II) sulfate pentahydrate (CuSO4.5H2O), the form usually sold. '
        "Weigh 31.53 g of CuSO4.5H2O,"
    )  # 0.5 mol/L x 0.25 L x 249.685 g/mol / 99 %
    assert "taken as" not in prep("calc", "dissolve", "--of", "blue vitriol", *want).out
    expected = prep("calc", "ph", "HCl 0.1 mol/L", "--json").json["ph"]
    for said in ("hcl 0.1 mol/L", "0.1M HCl", "hydrochloric acid 0.1 M"):
        assert prep("calc", "ph", said, "--json").json["ph"] == expected
    near = prep("calc", "indicator", "phenolphtalein")
    assert near.code == 2
    assert "Near: phenolphthalein" in near.err
    assert "litmus" not in near.err
    assert "On file: " in prep("calc", "indicator", "zzz").err


def test_a_place_goes_by_code_or_name(inventory: Run) -> None:
    assert inventory("stock", "place", "S3", "Shelf 3").code == 0
    bottle = inventory("stock", "list", "--json").json[0]["code"]
    moved = inventory("stock", "move", bottle, "shelf 3", "--json")
    assert moved.code == 0, moved.err
    assert moved.json["location"] == "S3"
    for said in ("S3", "s3", "Shelf 3"):
        assert [one["code"] for one in inventory("stock", "list", "--at", said, "--json").json] == [bottle]
    assert inventory("count", "open", "--at", "shelf 3", "--json").json["location"] == "S3"
    assert inventory("count", "enter", bottle, "5 mL", "--at", "Shelf 3").code == 0
    assert "is no location; there are " in inventory("stock", "list", "--at", "Shelf 4").err
    assert inventory("stock", "place", "T3", "Shelf 3").code == 0
    assert '"Shelf 3" may be S3, T3;' in inventory("stock", "list", "--at", "Shelf 3").err


def test_a_list_says_where_else_the_word_is(inventory: Run) -> None:
    none = inventory("substance", "list", "vinegar")
    assert none.code == 2
    assert 'No substance on file matches "vinegar"; solutions do (prep solution list)' in none.err
    assert inventory("demo", "list", "zzz").err == 'prep: No demo on file matches "zzz".\n'
    british = inventory("substance", "list", "copper sulphate", "--json").json
    assert {one["code"] for one in british} == {"copper-sulfate", "copper-sulfate-5-water"}


def test_a_code_that_is_taken_says_by_what(inventory: Run, tmp_path: Path) -> None:
    ours = tmp_path / "ours.csv"
    ours.write_text("code,name,form\nvinegar,Ours,liquid\n")
    refused = inventory("substance", "import", ours)
    assert refused.code == 2
    assert '"vinegar" is taken by the solution Vinegar strength ethanoic acid, 5 % w/v' in refused.err
    ours.write_text("code,name,shelf_life_days,solute,strength\nurea,Ours,10,urea,1 mol/L\n")
    assert '"urea" is taken by the substance Urea' in inventory("solution", "import", ours).err


def test_of_two_hydrates_the_one_in_the_room_is_weighed(inventory: Run) -> None:
    dissolve = ("calc", "dissolve", "--of", "copper sulphate", "--to", "0.5 mol/L", "--volume", "250 mL")
    assert inventory("stock", "receive", "copper-sulfate", "100 g").code == 0
    asked = " ".join(inventory(*dissolve).out.split())
    assert (
        "(CuSO4), the form that the room holds. Weigh 20.36 g of CuSO4," in asked
    )  # 0.5 mol/L x 0.25 L x 159.609 g/mol / 98 %
    assert inventory("stock", "receive", "copper(II) sulphate 5-hydrate", "250 g").code == 0
    both = inventory(*dissolve)
    assert both.code == 2
    assert "31.53 g of Copper(II) sulfate pentahydrate (CuSO4.5H2O) or 20.36 g of Copper(II) sulfate, anh" in both.err


def test_a_school_has_names_of_its_own(inventory: Run) -> None:
    named = ("substance", "name", "bicarb", "volcano powder", "--by", "R. Vane")
    called = 'Sodium hydrogencarbonate (sodium-hydrogencarbonate) is called "volcano powder" too'
    assert re.fullmatch(rf"{re.escape(called)} \(job \d+\)\.\n", inventory(*named).out)
    came = inventory("stock", "receive", "Volcano Powder", "500 g", "--json")
    assert came.json[0]["item"] == "sodium-hydrogencarbonate", came.err
    assert 'substance sodium-hydrogencarbonate is called "volcano powder" too' in str(
        inventory("stock", "history", "--json").json
    )
    weighed = inventory("calc", "dissolve", "--of", "volcano powder", "--to", "0.5 mol/L", "--volume", "100 mL")
    assert "NaHCO3" in weighed.out, weighed.err
    assert "means Sodium hydrogencarbonate (sodium-hydrogencarbonate) already" in inventory(*named).err
    assert "is already Sodium chloride" in inventory("substance", "name", "bicarb", "table salt").err


def test_a_concentrate_is_received_as_strong_as_its_name_says(inventory: Run) -> None:
    said = inventory("stock", "receive", "nitric acid 70 %", "1 L", "--at", "PREP").out
    assert "Nitric acid, 68 % [70 % w/w]" in said
    assert "w/w]" not in inventory("stock", "receive", "conc nitric acid", "1 L", "--at", "PREP").out
    assert "w/w]" not in inventory("stock", "receive", "96 % ethanol", "1 L", "--at", "PREP").out
