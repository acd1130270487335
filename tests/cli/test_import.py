"""Spreadsheets in: bottles, substances, solutions, demos; every row's fate, then all or nothing."""

import codecs
from pathlib import Path

import pytest

from tests.cli.conftest import Run

GOOD = (
    "Chemical;Size;Cupboard;Expiry;Lot number;Supplier\r\n"
    "sodium chloride;0,5 kg;PREP;2030-01-31;A1;somebody\r\n"
    "67-64-1;2,5 L;;31.01.2031;B2;\r\n"
    ";;;;;\r\n"
    "hcl-1;250 mL;Prep room;;;\r\n"
)


def sheet(folder: Path, text: str, bom: bytes = b"") -> Path:
    path = folder / "store.csv"
    path.write_bytes(bom + text.encode())
    return path


@pytest.mark.parametrize("bom", [b"", codecs.BOM_UTF8])
@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_a_spreadsheet_as_a_person_keeps_it(prep: Run, tmp_path: Path, bom: bytes, delimiter: str) -> None:
    assert prep("init").code == 0
    file = sheet(tmp_path, GOOD.replace(";", delimiter), bom)
    dry = prep("stock", "import", file, "--dry-run", "--json")
    assert dry.code == 0, dry.err
    assert [row["row"] for row in dry.json["rows"]] == [2, 3, 5]
    assert prep("stock", "list", "--json").json == []
    done = prep("stock", "import", file, "--json")
    assert (done.code, done.json["added"]) == (0, True)
    held = {h["item"]: h for h in prep("stock", "list", "--json").json}
    assert held["sodium-chloride"]["amount"] == {"value": 500.0, "unit": "g"}
    assert held["sodium-chloride"]["lot"] == "A1"
    assert held[next(iter(set(held) - {"sodium-chloride", "hcl-1"}))]["use_by"] == "2031-01-31"
    assert held[next(iter(set(held) - {"sodium-chloride", "hcl-1"}))]["amount"]["value"] == 2500
    assert len({h["code"] for h in held.values()}) == 3
    assert prep("db", "check").code == 0
    assert prep("stock", "undo", done.json["job"]).code == 0
    assert prep("stock", "list", "--json").json == []


def test_with_commas_decimal_commas_stand_between_quotation_marks(prep: Run, tmp_path: Path) -> None:
    assert prep("init").code == 0
    text = 'item,amount,unit\nsodium-chloride,"1,5",kg\nsodium-chloride,250,g\n'
    assert prep("stock", "import", sheet(tmp_path, text)).code == 0
    amounts = [h["amount"]["value"] for h in prep("stock", "list", "--json").json]
    assert sorted(amounts) == [250, 1500]
    done = prep("stock", "import", sheet(tmp_path, 'item,amount\nsodium-chloride,"1,500 g"\n'))
    assert (done.code, "may be 1.500 or 1500" in done.err) == (2, True)


def test_columns_are_named_by_map(prep: Run, tmp_path: Path) -> None:
    assert prep("init").code == 0
    file = sheet(tmp_path, "Was,Wieviel,item\nurea,25 g,ignored\n")
    assert prep("stock", "import", file, "--map", "item=Was", "--map", "amount=Wieviel").code == 0
    assert prep("stock", "list", "--json").json[0]["item"] == "urea"
    for wrong in ("item", "item=", "size=Was", "item=Wo"):
        done = prep("stock", "import", file, "--map", wrong)
        assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("phlogiston,1 g,,,", "neither a substance nor a solution"),
        ("sodium-chloride,1 mL,,,", "counted by mass"),
        ("sodium-chloride,-1 g,,,", 'column "amount"'),
        ("sodium-chloride,nan g,,,", 'column "amount"'),
        ("sodium-chloride,,,,", "must not be empty"),
        ("sodium-chloride,1 g,NOWHERE,,", "is no location"),
        ("sodium-chloride,1 g,,01/02/2027,", "is no date"),
        ("sodium-chloride,1 g,,,OLD1", "taken already"),
        ("sodium-chloride,1 g,,,a b", "is no code"),
        ("sodium-chloride,1 g,,,,,x", "cells, but the header names"),
        ("sodium-chloride,1 g,,,x\x00", "not plain text"),
        ("sodium-chloride,40 drops,,,", "drops are no amount"),
    ],
)
def test_one_wrong_row_keeps_every_row_out(prep: Run, tmp_path: Path, row: str, says: str) -> None:
    assert prep("init").code == 0
    head = "item,amount,location,use_by,code\nsodium-chloride,1 g,,,OLD1\n"
    assert prep("stock", "import", sheet(tmp_path, head)).code == 0
    before = prep("stock", "history", "--json").out
    file = sheet(tmp_path, f"item,amount,location,use_by,code\nurea,1 g,,,NEW1\n{row}\nurea,2 g,,,NEW2\n")
    done = prep("stock", "import", file)
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
    assert "store.csv, row 3" in done.err
    assert says in done.err
    dry = prep("stock", "import", file, "--dry-run", "--json")
    assert [(f["row"], f["wrong"]) for f in dry.json["rows"]] == [(2, False), (3, True), (4, False)]
    assert prep("stock", "history", "--json").out == before


def test_substances_solutions_and_demos(prep: Run, tmp_path: Path) -> None:
    assert prep("init").code == 0
    substances = tmp_path / "s.csv"
    substances.write_text(
        "code;name;form;formula;assay_pct;classification;source\n"
        "test-salt;test salt;solid;NaCl;99,5;not classified;invented\n",
        encoding="utf-8",
    )
    assert prep("substance", "import", substances, "--dry-run").code == 0
    assert prep("substance", "show", "test-salt").code == 2
    assert prep("substance", "import", substances).code == 0
    assert prep("substance", "show", "test-salt", "--json").json["assay_pct"] == 99.5
    again = prep("substance", "import", substances)
    assert (again.code, "--replace" in again.err) == (2, True)
    assert prep("substance", "import", substances, "--replace").code == 0
    solutions, recipes = tmp_path / "l.csv", tmp_path / "r.csv"
    solutions.write_text(
        "code,name,shelf_life_days,recipe_makes,source\ntest-brine,test brine,30,1 L,invented\n", encoding="utf-8"
    )
    recipes.write_text("solution,item,amount\ntest-brine,test-salt,20 g\n", encoding="utf-8")
    assert prep("solution", "import", solutions).code == 2
    done = prep("solution", "import", solutions, "--recipes", recipes)
    assert done.code == 0, done.err
    demos, needs = tmp_path / "d.csv", tmp_path / "n.csv"
    demos.write_text("code,name,spare_pct,source\nfloating-egg,Floating egg,10,invented\n", encoding="utf-8")
    needs.write_text("demo,item,per_showing\nfloating-egg,test-brine,200 mL\n", encoding="utf-8")
    assert prep("demo", "import", demos, "--needs", needs).code == 0
    assert prep("stock", "receive", "test-salt", "500 g").code == 0
    assert prep("make", "test-brine", "--volume", "500 mL", "--log").code == 0
    booked = prep("book", "add", "floating-egg", "--on", "2099-01-05", "--closed", "--json")
    assert booked.code == 0, booked.err
    needs.write_text("demo,item,per_showing\nfloating-egg,phlogiston,200 mL\n", encoding="utf-8")
    wrong = prep("demo", "import", demos, "--needs", needs, "--replace")
    assert (wrong.code, "n.csv, row 2" in wrong.err) == (2, True)
    assert prep("demo", "show", "floating-egg").code == 0
    loop = "code,name,shelf_life_days,recipe_makes\na-loop,a loop,30,1 L\n"
    solutions.write_text(loop, encoding="utf-8")
    recipes.write_text("solution,item,amount\na-loop,a-loop,20 mL\n", encoding="utf-8")
    assert prep("solution", "import", solutions, "--recipes", recipes).code == 2


@pytest.mark.parametrize(
    ("column", "word", "accepted"),
    [
        ("peroxide_class", "Z", "A, B, C, D"),
        ("storage_group", "acids", "acid_inorganic_nonoxidising, acid_inorganic_oxidising"),
        ("disposal", "river", "drain, neutralise"),
        ("classification", "Nasty 9 H999", "Skin Corr. 1B H314"),
    ],
)
def test_a_hazard_word_that_is_none_is_refused(
    inventory: Run, tmp_path: Path, column: str, word: str, accepted: str
) -> None:
    file = tmp_path / "own.csv"
    file.write_text(f"code,name,form,{column}\nours,Ours,solid,{word}\n", encoding="utf-8")
    said = inventory("substance", "import", file)
    assert said.code == 2
    assert "own.csv, row 2" in said.err
    assert column in said.err
    assert accepted in said.err
    assert inventory("substance", "show", "ours").code == 2


def test_a_recipe_that_contradicts_its_card_is_refused_with_the_figures(inventory: Run, tmp_path: Path) -> None:
    cards, lines = tmp_path / "cards.csv", tmp_path / "lines.csv"
    cards.write_text(
        "code,name,solute,strength,shelf_life_days,recipe_makes\nodd-brine,Odd brine,sodium-chloride,1 mol/L,90,1 L\n"
    )
    lines.write_text("solution,item,amount\nodd-brine,sodium-chloride,29.22 g\n")
    refused = inventory("solution", "import", cards, "--recipes", lines)
    assert refused.code == 2
    assert "gives 0.5 mol/L, and its card says 1 mol/L" in " ".join((refused.out + refused.err).split())
