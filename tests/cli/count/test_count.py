"""The term-end count at the keyboard: open, sheet, entries, recount, close, report, and what is fixed then."""

import csv
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from prep.cli import common
from prep.services.stocktake import stocktake
from prep.store import queries
from tests.cli.conftest import Run
from tests.databases import made_once
from tests.days import act


@pytest.fixture
def store(prep: Run, url: str) -> tuple[Run, dict[str, str]]:
    """An inventory with three bottles in two places, and their codes."""
    bottles = {"acid": "hydrochloric-acid", "salt": "sodium-chloride", "base": "sodium-hydroxide"}

    def fill() -> None:
        assert prep("init", "--school", "Wendlemoor School").code == 0
        assert prep("stock", "place", "ACID", "Acid cupboard", "--order", "2").code == 0
        for name, amount, place in (("acid", "2.5 L", "ACID"), ("salt", "1 kg", "PREP"), ("base", "500 g", "PREP")):
            done = prep("stock", "receive", bottles[name], amount, "--at", place, "--lot", "L1", "--by", "Ada")
            assert done.code == 0

    made_once(url, "count", fill)
    codes = {one["item"]: one["code"] for one in prep("stock", "list", "--json").json}
    return prep, {name: codes[item] for name, item in bottles.items()}


Store = tuple[Run, dict[str, str]]


def amount(prep: Run, code: str) -> float:
    return float(prep("stock", "show", code, "--json").json["amount"]["value"])


def test_a_whole_count(store: Store, tmp_path: Path) -> None:
    prep, codes = store
    opened = prep("count", "open", "--json")
    assert (opened.code, opened.json["count"], opened.json["bottles"]) == (0, "C1", 3)
    assert prep("count", "open").code == 2
    assert prep("count", "enter", codes["salt"], "998 g").code == 0
    assert "measuring explains" in prep("count", "enter", codes["acid"], "2 L").out
    assert prep("count", "enter", codes["base"], "--not-found").code == 0
    state = prep("count", "list", "--json").json
    assert state["missing"] == []
    assert {one["bottle"] for one in state["recount"]} == {codes["acid"], codes["base"]}
    assert prep("count", "close").code == 1
    assert amount(prep, codes["acid"]) == 2500
    assert prep("count", "enter", codes["acid"], "2.01 L", "--note", "spilt").code == 0
    assert prep("count", "enter", codes["base"], "--not-found").code == 0
    assert prep("count", "found", "sodium chloride", "250 g", "--at", "PREP").code == 0
    assert prep("count", "found", "--at", "ACID", "--note", "brown glass, half full").code == 0
    closed = prep("count", "close", "--json", "--by", "Bo")
    assert closed.code == 0, closed.err
    assert len(closed.json["new_bottles"]) == 1
    assert amount(prep, codes["acid"]) == 2010
    assert amount(prep, codes["salt"]) == 998  # noise; a figure to the gram was weighed, and is the better known
    assert prep("stock", "show", codes["base"], "--json").json["status"] == "discarded"
    assert "spilt" in prep("stock", "history", codes["acid"], "--json").out
    assert prep("db", "check").code == 0

    report = prep("count", "report", "--json").json
    assert {one["bottle"] for one in report["not_found"]} == {codes["base"]}
    assert len(report["found"]) == 2
    assert len(report["unreadable"]) == 1
    flagged = {one["bottle"]: one["flagged"] for one in report["differences"]}
    assert flagged == {codes["acid"]: True, codes["base"]: True, codes["salt"]: False}
    assert any(one["class"].startswith("Skin Corr.") for one in report["hazards"])
    assert {t["item"] for t in report["turnover"]} >= {"hydrochloric-acid", "sodium-chloride"}
    acid = next(t for t in report["turnover"] if t["item"] == "hydrochloric-acid")
    assert (acid["came_in"]["value"], acid["corrected"]["value"], acid["closing"]["value"]) == (2500, -490, 2010)
    assert prep("count", "report").code == 0
    done = prep("count", "report", "--csv", tmp_path / "out", "--pdf", tmp_path / "report.pdf")
    assert done.code == 0, done.err
    assert (tmp_path / "report.pdf").read_bytes().startswith(b"%PDF")
    assert len(list((tmp_path / "out").glob("*.csv"))) == 18
    with (tmp_path / "out" / "differences.csv").open(encoding="utf-8-sig", newline="") as file:
        table = list(csv.DictReader(file))
    assert all(row["Unit"] in ("g", "mL") for row in table)  # numbers that a spreadsheet can add up, and their unit
    found = {row["Bottle"]: float(row["Difference"]) for row in table}
    assert found == {d["bottle"]: d["difference"]["value"] for d in report["differences"]}
    hazards = (tmp_path / "out" / "hazards.csv").read_text(encoding="utf-8-sig")
    assert hazards.startswith("Hazard class,At,Bottles,Mass [g],Volume of liquids [mL],Of unknown mass [mL]")


def test_what_is_signed_off_is_fixed_and_undoing_the_count_frees_it(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    prep, codes = store
    monkeypatch.setattr(common, "today", lambda: date(2027, 7, 31))
    assert prep("count", "open", "--at", "ACID", "--on", "2027-07-01").code == 0
    assert prep("count", "enter", codes["acid"], "2 L").code == 0
    closed = prep("count", "close", "--as-counted", "--on", "2027-07-02", "--json").json
    late = prep("stock", "use", codes["acid"], "10 mL", "--on", "2027-07-01")
    assert (late.code, "signed off by count C1" in late.err) == (1, True)
    came = prep("stock", "history", codes["acid"], "--json").json[-1]["job"]
    undo = prep("stock", "undo", str(came))
    assert (undo.code, "signed off by count C1" in undo.err) == (1, True)
    assert prep("stock", "use", codes["acid"], "10 mL", "--on", "2027-07-02").code == 0
    assert prep("stock", "use", codes["salt"], "10 g", "--on", "2027-06-01").code == 0  # not counted
    assert amount(prep, codes["acid"]) == 1990
    assert prep("stock", "undo", closed["job"], "--on", "2027-07-02").code == 0
    assert amount(prep, codes["acid"]) == 2490
    assert prep("count", "list", "--all", "--json").json[0]["status"] == "open"
    assert prep("stock", "use", codes["acid"], "10 mL", "--on", "2027-07-01").code == 0
    assert prep("count", "enter", codes["acid"], "2.48 L").code == 0
    settled = prep("count", "close", "--on", "2027-07-03")  # the first entry said 2 L: a third settles it
    assert (settled.code, "Two entries differ" in settled.err) == (1, True)
    assert prep("count", "enter", codes["acid"], "2.48 L", "--by", "K. Third").code == 0
    assert prep("count", "close", "--on", "2027-07-03").code == 0
    assert prep("db", "check").code == 0


def test_the_next_count_opens_with_what_the_last_one_left(store: Store) -> None:
    prep, codes = store
    for counted, used in (("2.2 L", "200 mL"), ("1.99 L", "100 mL")):
        assert prep("count", "open", "--at", "ACID").code == 0
        assert prep("count", "enter", codes["acid"], counted).code == 0
        assert prep("count", "close", "--as-counted").code == 0
        assert prep("stock", "use", codes["acid"], used).code == 0
    report = prep("count", "report", "--count", "C2", "--json").json
    turned = report["turnover"][0]
    assert (turned["opening"]["value"], turned["used"]["value"]) == (2200, 200)


def filled(path: Path, fill: Callable[[dict[str, str]], str], extra: list[dict[str, str]]) -> None:
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        row["count"] = fill(row)
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]), delimiter=";")
        writer.writeheader()
        writer.writerows([*rows, *extra])


def test_a_returned_sheet_keeps_the_right_rows_and_names_the_wrong(store: Store, tmp_path: Path) -> None:
    prep, codes = store
    assert prep("count", "open", "--blind").code == 0
    sheet = tmp_path / "sheet.csv"
    assert prep("count", "sheet", "--csv", sheet, "--pdf", tmp_path / "sheet.pdf").code == 0
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    text = sheet.read_text(encoding="utf-8-sig")
    assert "2.5 L" not in text
    lines = [line.split(",")[1] for line in text.splitlines()[1:]]
    assert set(lines[:2]) == {codes["salt"], codes["base"]}  # in walking order
    assert lines[2] == codes["acid"]
    counts = {codes["acid"]: "2,45 L", codes["salt"]: "998 mL", codes["base"]: ""}
    extra = [
        dict.fromkeys(("location", "code", "name", "count"), "")
        | {"location": "PREP", "name": "urea", "count": "12 g"},
        {"location": "PREP", "code": "", "name": "brown glass", "count": "?"},
        {"location": "PREP", "code": "ZZZZ", "name": "", "count": "1 g"},
    ]
    filled(sheet, lambda row: counts[row["code"]], extra)
    done = prep("count", "import", sheet, "--json")
    assert done.code == 1
    assert len(done.json["taken"]) + len(done.json["refused"]) == 5
    assert any("sheet.csv, row " in one and "counted by mass" in one for one in done.json["refused"])
    assert any("ZZZZ" in one for one in done.json["refused"])
    state = prep("count", "list", "--json").json
    assert set(state["missing"]) == {codes["salt"], codes["base"]}


def test_weighing_with_the_bottle(store: Store) -> None:
    prep, codes = store
    assert prep("count", "open").code == 0
    missing = prep("count", "enter", codes["salt"], "--gross", "1200 g")
    assert (missing.code, "--tare" in missing.err) == (2, True)
    done = prep("count", "enter", codes["salt"], "--gross", "1250.5 g", "--tare", "250 g", "--json").json
    assert done["amount"] == {"value": 1000.5, "unit": "g"}
    acid = prep("count", "enter", codes["acid"], "--gross", "1530 g", "--tare", "350 g", "--density", "1.18 g/mL")
    assert (acid.code, "1 L" in acid.out) == (0, True)
    level = prep("count", "enter", codes["base"], "--level", "7", "--json").json
    assert level["amount"] == {"value": 350.0, "unit": "g"}
    assert prep("count", "close", "--as-counted").code == 0
    assert prep("count", "open").code == 0  # the tare is on file now
    again = prep("count", "enter", codes["salt"], "--gross", "1249 g", "--json").json
    assert again["amount"] == {"value": 999.0, "unit": "g"}


def test_a_liquid_weighed_is_as_fine_as_its_density_allows(store: Store) -> None:
    prep, codes = store
    assert prep("count", "open").code == 0
    # 2403.3 g at 1.1791 g/mL are 2038.249512 mL; the density is known within 0.5 %, which is 10 mL
    net = prep("count", "enter", codes["acid"], "2403.3 g", "--json").json
    assert net["amount"] == {"value": 2038.0, "unit": "mL"}
    gross = prep("count", "enter", codes["acid"], "--gross", "1703.3 g", "--tare", "301.2 g", "--json").json
    assert gross["amount"] == {"value": 1189.1, "unit": "mL"}
    said = prep("count", "close", "--partial", "--as-counted").err
    assert f"{codes['acid']}: 2.038 L by" in said  # two that differ: as they were written, and no finer
    assert prep("count", "drop", "C1").code == 0
    assert prep("count", "open").code == 0
    prep("count", "enter", codes["acid"], "2403.3 g")
    assert prep("count", "close", "--partial", "--as-counted").code == 0
    assert "-462 mL" in prep("stock", "history", "--last", "1").out


def test_a_net_weight_of_a_liquid_is_known_as_well_as_it_was_written(store: Store) -> None:
    prep, codes = store
    assert prep("count", "open").code == 0
    # weighed to 1 %, the density within 0.5 %: 1.5 % of 2.04 L, and the pack's 37.5 mL: 56 mL (k = 2)
    said = prep("count", "enter", codes["acid"], "2403.3 g").out
    assert "measuring explains 56 mL at most" in said, said


def test_used_between_counting_and_closing(store: Store) -> None:
    prep, codes = store
    assert prep("count", "open", "--at", "ACID").code == 0
    assert prep("count", "enter", codes["acid"], "2 L").code == 0
    assert prep("stock", "use", codes["acid"], "300 mL").code == 0
    assert prep("count", "close", "--as-counted").code == 0
    assert amount(prep, codes["acid"]) == 1700


@pytest.mark.parametrize(
    "arguments",
    [
        ("enter", "{acid}"),
        ("enter", "{acid}", "2 L", "--level", "5"),
        ("enter", "{acid}", "2 apples"),
        ("enter", "{acid}", "nan L"),
        ("enter", "{acid}", "1,500 L"),
        ("enter", "{acid}", "--level", "11"),
        ("enter", "{acid}", "--level", "-1"),
        ("enter", "{acid}", "--gross", "5 kg", "--tare", "1 g"),
        ("enter", "{acid}", "--gross", "1 g", "--tare", "500 g", "--density", "1.2 g/mL"),
        ("enter", "{acid}", "--gross", "1 L", "--tare", "5 g"),
        ("enter", "{acid}", "2 L", "--at", "NOWHERE"),
        ("enter", "NONE", "2 L"),
        ("enter", "{acid}", "2 L", "--count", "C9"),
        ("enter", "{acid}", "2 L", "--note", "a\x1b[31m"),
        ("found", "phlogiston", "1 g", "--at", "PREP"),
        ("found", "sodium chloride", "--at", "PREP"),
        ("import", "missing.csv"),
        ("drop", "C7"),
        ("report", "--count", "x"),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(store: Store, arguments: tuple[str, ...]) -> None:
    prep, codes = store
    assert prep("count", "open").code == 0
    done = prep("count", *(a.format(**codes) for a in arguments))
    assert (done.code, done.out) == (2, ""), done
    assert done.err.startswith("prep: ")
    assert done.err.count("\n") == 1
    assert prep("count", "list", "--json").json["entries"] == 0


def test_no_count_is_open(store: Store) -> None:
    prep, _ = store
    for command in ("sheet", "list", "close", "report"):
        done = prep("count", command)
        assert (done.code, "prep count open" in done.err) == (2, True)


def test_the_report_of_a_blind_count_shows_the_books_only_when_it_is_closed(store: Store, tmp_path: Path) -> None:
    prep, codes = store
    assert prep("count", "open", "--blind").code == 0
    assert prep("count", "enter", codes["acid"], "2 L").code == 0
    for way in ((), ("--json",), ("--csv", tmp_path / "out"), ("--pdf", tmp_path / "report.pdf")):
        said = prep("count", "report", *way)
        assert (said.code, said.out, said.err.count("\n")) == (1, "", 1)
        assert "Count C1 is blind" in said.err
    assert not (tmp_path / "out").exists()
    assert not (tmp_path / "report.pdf").exists()
    assert prep("count", "close", "--partial", "--as-counted").code == 0
    assert prep("count", "report", "--json").json["differences"]


def test_the_catalogue_is_read_once_for_a_whole_sheet(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    prep, _ = store
    for item in ("hydrochloric-acid", "hcl-1"):
        assert prep("stock", "receive", item, "1 L", "--bottles", "40", "--at", "ACID").code == 0
    assert prep("count", "open").code == 0
    sheet = tmp_path / "sheet.csv"
    assert prep("count", "sheet", "--csv", sheet).code == 0
    with sheet.open(encoding="utf-8-sig", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["measure"] == "volume"]
    for row in rows:
        row |= {"count": "G 1500", "tare": "400 g"}
    rows += [dict.fromkeys(rows[0], "") | {"location": "PREP", "name": "urea", "count": "12 g"}] * 40
    with sheet.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    read = []
    for name in ("substances", "solutions"):
        whole = getattr(queries, name)
        monkeypatch.setattr(queries, name, lambda *asked, n=name, w=whole: read.append(n) or w(*asked))
    done = stocktake.import_sheet(None, None, stocktake.SheetFile(sheet), act("R. Vane", date(2027, 1, 11)))
    taken, wrong = done.entries, done.refused
    assert (len(taken), wrong) == (121, ())
    assert sorted(read) == ["solutions", "substances"]


def test_a_sheet_may_be_looked_at_before_it_is_taken(prep: Run, tmp_path: Path) -> None:
    prep("init", "--school", "Invented School")
    bottle = prep("stock", "receive", "sodium chloride", "500 g", "--at", "PREP", "--json").json[0]["code"]
    prep("count", "open")
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(f"code,count\n{bottle},480 g\nQ9Q9,5 g\n", "utf-8")
    looked = prep("count", "import", sheet, "--dry-run")
    assert looked.code == 1
    assert "1 would be taken, 1 refused" in looked.out
    assert "nothing was written" in looked.err
    assert bottle in str(prep("count", "list", "--json").json["missing"])
