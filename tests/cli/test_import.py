"""Spreadsheets in: bottles, substances, solutions, demos; every row's fate, then all or nothing."""

import codecs
import contextlib
import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest

from prep.services.files.formula_guard import harmless
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
    done = prep("stock", "import", file, "--map", "item=Was", "--map", "amount=Was")
    assert (done.code, "cannot be both item and amount" in done.err) == (2, True)
    done = prep("stock", "import", file, "--map", "item=Was", "--map", "amount=WIEVIEL ", "--dry-run", "--json")
    assert (done.code, done.json["not_read"]) == (0, ["item"])


# What spreadsheets write, in the words of people who keep them. Each: the file, what it makes, what is passed over.
SHEETS = {
    "a line that names the delimiter": ("sep=;\r\nitem;amount\r\nurea;2,5 g\r\n", [2.5], []),
    "the same, of another kind": ('"sep=\t"\nitem\tamount\nurea\t2.5 g\n', [2.5], []),
    "lines that end as on old machines": ("item;amount\rurea;2 g\rurea;3 g\r", [2, 3], []),
    "blank rows first, empty columns last": (";;;\n\nitem;amount;;\nurea;2 g;;\n;;;\n\n", [2], []),
    "line breaks and hard blanks in cells": (
        'item;amount;note;Extra\nurea;2\xa0g;"one\nother";"a\nb\u200b"\n',
        [2],
        ["Extra"],
    ),
    "headers with breaks, commas and units": (
        '"Chemical\n";"Price, each";"Amount\n(g)"\nurea;3;2,5\nurea;3;40 mg\n',
        [2.5, 0.04],
        ["Price, each"],
    ),
    "units in brackets, other case and blanks": ("ITEM,AMOUNT [kg], Use  By \nurea,0.5,2030-01-31\n", [500], []),
    "a unit after a stroke": ("item;amount / mg\nurea;250\n", [0.25], []),
    "accents in two spellings": ("item;amount;Mu\u0308ll\nurea;2 g;x\n", [2], ["Mu\u0308ll"]),
    "a unit of its own, said twice": ("item;amount;unit\nurea;2 g;g\n", [2], []),
    "by CAS number, formula and any case": (
        "item;amount\n57-13-6;1 g\nCO(NH2)2;2 g\nCO(NH₂)₂;3 g\nUREA;4 g\n",
        [1, 2, 3, 4],
        [],
    ),
    "midnight after a date": ("item;amount;use_by\nurea;2 g;2030-01-31 00:00:00\n", [2], []),
    "columns of one name that nobody reads": ("item;amount;x;x\nurea;2 g;1;2\n", [2], ["x", "x"]),
}


@pytest.mark.on_file
@pytest.mark.parametrize("name", SHEETS)
def test_what_spreadsheets_write_is_read(prep: Run, tmp_path: Path, name: str) -> None:
    text, amounts, not_read = SHEETS[name]
    assert prep("init").code == 0
    done = prep("stock", "import", sheet(tmp_path, text), "--json")
    assert done.code == 0, done.err
    assert done.json["not_read"] == not_read
    assert sorted(h["amount"]["value"] for h in prep("stock", "list", "--json").json) == sorted(amounts)
    assert "\n" not in "".join(h["note"] for h in prep("stock", "list", "--json").json)


NO_SHEETS = {
    "UTF-16": ("item\tamount\nurea\t2 g\n".encode("utf-16"), "store.csv: this is UTF-16 text; save"),
    "UTF-16 without its mark": ("item\tamount\n".encode("utf-16-le"), "store.csv: this is UTF-16 text; save"),
    "Windows-1252": ("item;note\nurea;x\nurea;früh\n".encode("cp1252"), "store.csv, line 3: not UTF-8 text; save"),
    "a sheet itself": (b"PK\x03\x04rest", "store.csv: this is a spreadsheet's own file; save the sheet as CSV"),
    "another delimiter": (b"sep=|\nitem|amount\n", 'divided by "|"; use commas'),
    "nothing": (b"", "the file is empty"),
    "blank rows": (b";;\n\n", "the file is empty"),
    "a header alone": (b"item;amount\n", "there is no bottle in it"),
    "an open quotation": (b'item;amount\nurea;"2 g\n', "line 2: not readable"),
    "two columns of one meaning": (b"item;Size;Amount\nurea;2 g;1\n", '("Size" and "Amount" would both be it'),
    "none of the columns": (b"Stock of 2027;\n", 'the column "item" is missing (there are: Stock of 2027)'),
}


@pytest.mark.on_file
@pytest.mark.parametrize("name", NO_SHEETS)
def test_what_is_no_such_sheet_is_told_in_a_sentence(prep: Run, tmp_path: Path, name: str) -> None:
    content, says = NO_SHEETS[name]
    assert prep("init").code == 0
    file = tmp_path / "store.csv"
    file.write_bytes(content)
    for dry in ((), ("--dry-run",)):
        done = prep("stock", "import", file, *dry)
        assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
        assert says in done.err, done.err


# What may be read in two ways is refused, whatever divides the cells. Each: delimiter, cell, its grams or None.
@pytest.mark.on_file
@pytest.mark.parametrize(
    ("delimiter", "cell", "grams"),
    [
        (";", "1,250 g", 1.25),
        (";", "1.250 g", None),
        (";", "0.250 g", 0.25),
        (";", "12.50 g", 12.5),
        (";", "1.250,5 g", None),
        (",", "1.250 g", 1.25),
        (",", '"1,250 g"', None),
        (",", '"0,250 g"', 0.25),
        (",", '"1,250.5 g"', None),
        ("\t", "1.250 g", None),
        ("\t", "1,250 g", None),
        ("\t", "2,5 g", 2.5),
        (";", "1 250 g", None),
        (";", "1'250 g", None),
        (";", "1\u202f250 g", None),
    ],
)
def test_thousands_are_never_guessed(prep: Run, tmp_path: Path, delimiter: str, cell: str, grams: float | None) -> None:
    assert prep("init").code == 0
    done = prep("stock", "import", sheet(tmp_path, f"item{delimiter}amount\nurea{delimiter}{cell}\n"))
    if grams is None:
        assert done.code == 2
        assert re.search("may be|has a (comma|separator)", done.err), done.err
        assert prep("stock", "list", "--json").json == []
    else:
        assert done.code == 0, done.err
        assert prep("stock", "list", "--json").json[0]["amount"]["value"] == grams


def test_a_dry_run_promises_no_code_and_the_list_is_in_the_order_of_the_file(prep: Run, tmp_path: Path) -> None:
    assert prep("init").code == 0
    file = sheet(tmp_path, "code;item;amount;Colour\n;urea;2 g;1\nX1;urea;3 g;1\n")
    dry = prep("stock", "import", file, "--dry-run")
    assert dry.out == (
        "store.csv, row 2: new bottle, which will get a code: 2 g of urea at PREP\n"
        "store.csv, row 3: new bottle X1: 3 g of urea at PREP\nNot read: Colour.\n2 rows would be added.\n"
    )
    done = prep("stock", "import", file, "--json")
    codes = [row["code"] for row in done.json["rows"]]
    assert codes[1] == "X1"
    assert {h["code"]: h["amount"]["value"] for h in prep("stock", "list", "--json").json} == {codes[0]: 2, "X1": 3}


def test_text_that_came_out_harmless_goes_in_as_it_was(prep: Run, tmp_path: Path) -> None:
    assert prep("init").code == 0
    notes = ["=1+1", "'=1+1", "-2+3", "'quoted'"]
    rows = "".join(f"urea,{number + 1} g,{harmless(note)}\n" for number, note in enumerate(notes))
    assert prep("stock", "import", sheet(tmp_path, "item,amount,note\n" + rows)).code == 0
    held = sorted(prep("stock", "list", "--json").json, key=lambda h: float(h["amount"]["value"]))
    assert [h["note"] for h in held] == notes


def test_thousands_of_bottles_have_codes_of_their_own(prep: Run, tmp_path: Path) -> None:
    assert prep("init").code == 0
    rows = "".join(f"urea;{number % 50 + 1} g\n" for number in range(6000))
    done = prep("stock", "import", sheet(tmp_path, "item;amount\n" + rows), "--json")
    assert len({row["code"] for row in done.json["rows"]}) == 6000
    assert [row["row"] for row in done.json["rows"]] == list(range(2, 6002))
    assert prep("db", "check").code == 0


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("phlogiston,1 g,,,", "neither a substance nor a solution"),
        ("sodium-chloride,1 mL,,,", "counted by mass"),
        ("sodium-chloride,-1 g,,,", 'column "amount"'),
        ("sodium-chloride,nan g,,,", 'column "amount"'),
        ("sodium-chloride,,,,", "must not be empty"),
        ("sodium-chloride,1 g,NOWHERE,,", "is no location"),
        ("sodium-chloride,1 g,,01/02/2027,", "is no date that says which is the day"),
        ("sodium-chloride,1 g,,13-2-27,", "is no date that says which is the day"),
        ("sodium-chloride,1 g,,31.02.2027,", '"31.02.2027" is no date'),
        ("sodium-chloride,1 g,,46398,", "is no date"),
        ("sodium-chloride,1 g,,,OLD1", "taken already: a bottle on the books has it"),
        ("sodium-chloride,1 g,,,new1", "taken already: row 2 has it"),
        ("sodium-chloride,1,,,", "has no unit"),
        ("sodium\u200b-chloride,1 g,,,", "(it holds U+200B)"),
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
    needs.write_text("demo;item;per_showing (mL)\nfloating-egg;test-brine;200,0\n", encoding="utf-8")
    dry = prep("demo", "import", demos, "--needs", needs, "--dry-run")
    assert dry.out == (
        "n.csv, row 2: test-brine, a need of floating-egg\nd.csv, row 2: new: floating-egg\n2 rows would be added.\n"
    )
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


@pytest.mark.on_file
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
    lines.write_text("solution,item,amount\nodd-brine,sodium-chloride,29.22 g\n")  # 99.5 % pure on file
    refused = inventory("solution", "import", cards, "--recipes", lines)
    assert refused.code == 2
    assert "gives 0.4975 mol/L, and its entry says 1 mol/L" in " ".join((refused.out + refused.err).split())


def test_a_long_job_shows_a_bar_on_a_terminal_only(prep: Run, tmp_path: Path) -> None:
    """Of standard error, and not with --json: what a program reads stays clean."""
    assert prep("init").code == 0
    sheet(tmp_path, "item;amount\n" + "urea;1 g\n" * 3000)
    Path("bookings.csv").write_text("date,demo\n2099-01-05,blue-bottle\n")
    for command in (
        ["stock", "import", "store.csv", "--dry-run"],
        ["book", "import", "bookings.csv", "--dry-run"],
        ["db", "export", "out"],
        ["db", "import", "out", "--db", "new.db"],
    ):
        assert "━━━" in re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", _on_a_terminal(command)), command
    assert _on_a_terminal(["db", "export", "other", "--json"]) == ""
    done = prep("stock", "import", "store.csv", "--dry-run")
    assert (done.code, done.err) == (0, "")


def _on_a_terminal(command: list[str]) -> str:
    """What a command in a process of its own writes to standard error, which is a terminal."""
    main, other = pty.openpty()
    run, env = "from prep.cli.main import main; main()", {**os.environ, "TERM": "xterm"}
    with subprocess.Popen(
        [sys.executable, "-c", run, *command],
        stdout=subprocess.DEVNULL,
        stderr=other,
        env=env,
    ) as process:
        os.close(other)
        said = b""
        with contextlib.suppress(OSError):  # the terminal is gone once the process is
            while part := os.read(main, 65536):
                said += part
        os.close(main)
    assert process.returncode == 0
    return said.decode()


def test_days_in_a_list_are_read_as_the_school_writes_them(prep: Run, tmp_path: Path) -> None:
    assert prep("init").code == 0
    text = "item,amount,location,received,use_by\nurea,1 g,PREP,5/12/2025,12/2030\n"
    refused = prep("stock", "import", sheet(tmp_path, text))
    assert (refused.code, "which is the day" in refused.err) == (2, True)
    assert prep("usual", "--dates", "day-first").code == 0
    assert prep("stock", "import", sheet(tmp_path, text)).code == 0
    (held,) = prep("stock", "list", "--json").json
    assert held["use_by"] == "2030-12-31"
    assert prep("stock", "show", held["code"], "--json").json["received"] == "2025-12-05"


def test_a_row_that_had_a_wrong_letter_says_how_it_was_read(prep: Run, tmp_path: Path) -> None:
    assert prep("init").code == 0
    file = sheet(tmp_path, "item,amount,at\nSodum chloride,500 g,PREP\nSodium chloride,500 g,PREP\n")
    dry = prep("stock", "import", file, "--dry-run")
    assert '"Sodum chloride" is read as "sodium chloride": Sodium chloride (sodium-chloride).' in dry.out
    assert dry.out.count("is read as") == 1
    assert "Not read" not in dry.out


def test_every_import_says_what_a_name_was_taken_for(prep: Run, tmp_path: Path) -> None:
    """A wrong letter and a hydrate left open are said in the row's fate, of bookings, recipes, demos and bottles."""
    assert prep("init").code == 0
    slip = '"cooper sulphate" is read as "copper sulphate", which is taken as Copper(II) sulfate pentahydrate'
    salt = '"Sodum chloride" is read as "sodium chloride": Sodium chloride (sodium-chloride).'
    booked = sheet(tmp_path, "date,item,portion\n2027-01-15,cooper sulphate,5 g\n2027-01-15,hcl-2,50 mL\n")
    dry = prep("book", "import", booked, "--dry-run")
    assert f"row 2: {slip}" in dry.out
    assert dry.out.count("taken as") == 1
    first, second = prep("book", "import", booked, "--json").json
    assert first["taken_as"].startswith(slip)
    assert "taken_as" not in second
    files = {
        "x.csv": "code,name,shelf_life_days,recipe_makes,made_from\nx-blue,X blue,30,1 L,Sodum chloride\n",
        "x-recipes.csv": "solution,item,amount\nx-blue,cooper sulphate,20 g\nx-blue,table salt,1 g\n",
        "d.csv": "code,name\nx-demo,X demo\n",
        "n.csv": "demo,item,per_showing\nx-demo,cooper sulphate,2 g\nx-demo,2M HCl,20 mL\n",
    }
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    made = prep("solution", "import", tmp_path / "x.csv", "--recipes", tmp_path / "x-recipes.csv", "--dry-run")
    assert made.code == 0, made.err
    assert f"mind: {slip}" in made.out
    assert f"mind: {salt}" in made.out
    assert "row 3: sodium-chloride, an ingredient of x-blue" in made.out
    shown = prep("demo", "import", tmp_path / "d.csv", "--needs", tmp_path / "n.csv", "--dry-run")
    assert f"mind: {slip}" in shown.out
    assert "row 3: hcl-2, a need of x-demo" in shown.out
    held = prep("stock", "import", sheet(tmp_path, "item,amount,at\ncooper sulphate,500 g,PREP\n"), "--dry-run")
    assert f"mind: {slip}" in held.out


def test_what_a_second_sheet_is_about_is_named_by_code_or_name(inventory: Run, tmp_path: Path) -> None:
    """The needs and leftovers of a demo, the recipe of a solution, and an instrument on file."""
    sheets = {
        "demos.csv": "code,name\nours,Our own show\n",
        "needs.csv": 'demo,item,per_showing\nour own  show,sodium chloride,5 g\nours,naoh-1,"25 mL"\n',
        "left.csv": "demo,what,stream\nOur own show,brine,drain\n",
        "solutions.csv": "code,name,shelf_life_days,recipe_makes\nour-brine,Our brine,90,1 L\n",
        "recipes.csv": 'solution,item,amount\nOur brine,sodium chloride,"10 g"\n',
        "glass.csv": "code,count\n2 L measuring cylinder,7\n",
    }
    for name, text in sheets.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    glass = {one["name"]: one for one in inventory("glassware", "list", "--json").json}
    assert glass["2 L measuring cylinder"]["count"] != 7
    for words in (
        ("demo", "import", "demos.csv", "--needs", "needs.csv", "--leftovers", "left.csv"),
        ("solution", "import", "solutions.csv", "--recipes", "recipes.csv"),
        ("glassware", "import", "glass.csv"),
    ):
        done = inventory(*(tmp_path / word if word.endswith(".csv") else word for word in words))
        assert done.code == 0, done.err + done.out
    shown = inventory("demo", "show", "ours", "--json").json
    assert ([need["item"] for need in shown["needs"]], shown["leaves"][0]["what"]) == (
        ["sodium-chloride", "naoh-1"],
        "brine",
    )
    glass = {one["name"]: one for one in inventory("glassware", "list", "--json").json}
    assert glass["2 L measuring cylinder"]["count"] == 7


MESSY = """PREP ROOM - STORES LIST (checked in September),,,,,
,,,,,
Chemical name / description,Formula,Qty in bottle,No. of bottles,Where kept,Notes
Hydrochloric acid conc.,HCl,2.5L,2,PREP,approx half full
H2O2 20 vol,,approx 200 ml,1,PREP,
Zinc granulated,Zn,¾ kg,1,PREP,
Citric acid,,1½ kg,,PREP,
Sugar (granulated),,1 kg bag,1,PREP,
Pot. permang.,,100 g,1,PREP,
Fehlings soln no. 1,,500 ml,1,PREP,
Calcium carbonate marble chips,,2kg,1,PREP,
IMS,,2.5L,2,PREP,1 full 1 half
"""


def test_a_list_as_a_store_has_it(prep: Run, tmp_path: Path) -> None:
    """A title above the headings, numbers of bottles, fractions, and remarks that gainsay the amount."""
    assert prep("init").code == 0
    dry = prep("stock", "import", sheet(tmp_path, MESSY), "--dry-run")
    assert dry.code == 0, dry.err
    said = " ".join(dry.out.split())
    assert said.count('its note says "approx half full", and 2.5 L are put on the books') == 1
    assert '"approx 200 ml" is put on the books as 200 mL: measure it when it is counted.' in said
    assert 'its note says "1 full 1 half"' in said
    done = prep("stock", "import", sheet(tmp_path, MESSY), "--json")
    assert done.code == 0, done.err
    held = [(one["item"], one["amount"]["value"]) for one in prep("stock", "list", "--json").json]
    assert sorted(held) == sorted(
        [("hydrochloric-acid", 2500.0)] * 2
        + [("h2o2-20vol", 200), ("zinc-granules", 750), ("citric-acid-1-water", 1500), ("sucrose", 1000)]
        + [("potassium-permanganate", 100), ("fehling-a", 500), ("calcium-carbonate", 2000)]
        + [("ethanol-denatured", 2500.0)] * 2
    )
    assert prep("db", "check").code == 0


def test_a_wrong_number_of_bottles_is_told(prep: Run, tmp_path: Path) -> None:
    assert prep("init").code == 0
    for row, why in (("urea,500 g,two,", "no number of bottles"), ("urea,500 g,2,U1", 'cannot have the one code "U1"')):
        done = prep("stock", "import", sheet(tmp_path, f"item,amount,bottles,code\n{row}\n"))
        assert (done.code, why in done.err) == (2, True), done.err
    done = prep("stock", "import", sheet(tmp_path, "Store list,,\nname of it,size,place\nurea,500 g,PREP\n"))
    assert done.code == 2
    assert 'row 2: the column "item" is missing (there are: name of it, size, place)' in done.err
