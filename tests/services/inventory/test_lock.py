"""While a job holds the writers' lock, nothing is imported and nothing that was typed is read: others would wait."""

import json
import os
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import typer.main
from sqlalchemy import update

from prep.cli.main import build
from prep.services.inventory import init, session
from prep.services.stock import bottle_import
from prep.store import table_rows
from prep.store.tables import SubstanceRow
from tests.days import act
from tests.lock_probe import each_alone

BEFORE = date(2024, 9, 2)

DAYS = {
    "bottles": """
        stock receive urea "500 g" --at PREP --strength "99 % w/w" --use-by 2031-12-31
        stock use SALT "1 g"
        stock place SHED "The shed"
        stock correct SALT --use-by 2031-06-30 --tare "312.4 g"
        stock quarantine SALT --reason doubt
        stock undo 5
        stock trace ACID1 --quarantine --reason recall
        stock discard SALT --reason old
        stock found "20 g" --at PREP --item "sodium chloride"
        stock import {folder}/store.csv
        safety tested ETHER --result "5 mg/L"
    """,
    "pouring": """
        stock decant ACID1 "100 mL" --at PREP
        stock split SALT --into 2
        stock top-up ACID1 --from ACID2 --amount "100 mL"
        stock pour-together ACID1 ACID2 --at PREP
        waste new "heavy metals" --full "2.5 L" --at PREP
        waste put W1 "150 mL" --what residues
        waste empty W1
        order placed "sodium chloride" --packs 2 --pack "500 g"
        order arrived P1 --packs 1 --at PREP --use-by 2032-06-30
        order cancel P1
        order rule "sodium chloride" --minimum "100 g"
    """,
    "makes": """
        make naoh-1 --volume "250 mL" --log --at PREP --titrated "25 mL of it = 24.6, 24.7 mL of HCl 1 mol/L"
        make "hydrochloric acid 3 mol/L" --volume "250 mL" --log --at PREP
        make nacl-0.1 --mass "500 g" --log --at PREP
        make --buffer "ethanoic acid/sodium ethanoate" --ph 4.7 --to "0.1 mol/L" --volume "500 mL" --log --at PREP
        stock standardise ALKALI --titrated "25 mL of it = 24.6, 24.7 mL of HCl 1 mol/L"
        solution set nacl-0.1 --usual "500 mL"
        solution new --buffer "ethanoic acid/sodium ethanoate" --ph 5 --strength "0.2 mol/L"
        substance name sodium-chloride "kitchen salt"
    """,
    "bookings": """
        book group add "Year 8" --also Y8
        book add blue-bottle --on today --closed --showings 2 --group Y8
        book add --item hcl-1 --portion "50 mL" --showings 3 --on today --closed
        book move B2 --period P2
        book done B1
        book cancel B2
        book import {folder}/book.csv --closed
        book import {folder}/book.ics --closed
    """,
    "school": """
        usual --name Ada --made-at PREP
        plan settings --minutes-per-day 180
        plan closed add 2035-12-21 2036-01-01 winter
        glassware set cylinder-2000 0
        stock control 7647-01-0
        safety verify ethanol-96 --supplier "Example Chemicals" --revision 3.2
        safety rule add sodium-hydroxide --at-most "0.3 mol/L" --room Lab3 --why young
        safety rule remove 1
        safety controlled add "potassium iodate" --act "county policy 7"
        safety controlled remove 1
        plan closed remove 2035-12-21
        book group add "Year 9"
        book group drop "Year 9"
        stock limit "Flam. Liq. 2" "50 L"
        solution set nacl-0.1 --method {folder}/method.toml
        safety renew --write
    """,
    "the day": """
        book add blue-bottle --on today --closed --showings 2 --room L2
        plan --day today
        log 1 --at PREP
        log 2
        book add thermite --on today --closed --room L2 --showings 1
        book allow B2 --who "the head"
        book set-out B2 --at "tray 3"
        stock place ACID "Acid cupboard"
        stock move SALT ACID
    """,
    "copies": """
        db restore {own}/b.db
        schools add south --name South --url sqlite:///{own}/south.db
        schools upgrade
        schools transfer north south SALT --amount "10 g"
    """,
    "lists": """
        solution import {folder}/solutions.csv
        substance import {folder}/substances.csv
        demo import {folder}/demos.csv --needs {folder}/needs.csv
        demo new --name Two --in "flask=5 mL of hcl-0.1" --add "flask=naoh-0.1 from dropper until pH 7"
        demo add {folder}/demo.toml
        glassware import {folder}/glass.csv
        db upgrade
        init --school Second --db {folder}/second.db
    """,
    "count": """
        count signers Ada
        count open
        count enter SALT "390 g"
        count found "sodium chloride" "5 g" --at PREP
        count import {folder}/count.csv
        count close --partial --as-counted
        stock undo 9
        count drop C1
    """,
}
"""The writing commands, in the order in which they are done on one copy of an inventory."""

FILES = {
    "store.csv": "item,amount,location\nurea,500 g,PREP\nethanol-96,1 L,PREP\n",
    "book.csv": "date,demo\n2055-06-08,blue-bottle\n",
    "book.ics": "BEGIN:VCALENDAR\nVERSION:2.0\nBEGIN:VEVENT\nUID:1\nDTSTART:20550610T090000\n"
    "SUMMARY:blue-bottle x 2\nEND:VEVENT\nEND:VCALENDAR\n",
    "count.csv": "code,count\nSALT,391 g\nETHER,480 mL\n",
    "solutions.csv": "code,name,solute,strength,shelf_life_days\nsalt-9,Strong salt,sodium-chloride,3 mol/L,90\n",
    "substances.csv": "code,name,cas,formula,form\nnew-salt,New salt,7647-14-5,NaCl,solid\n",
    "demos.csv": "code,name\nsalty,Salty water\n",
    "needs.csv": "demo,item,per_showing\nsalty,nacl-0.1,50 mL\n",
    "demo.toml": 'name = "Two liquids"\n[[vessel]]\nname = "flask"\n[[vessel.contains]]\n'
    'item = "hcl-0.1"\namount = "5 mL"\n',
    "method.toml": '[[step]]\nkind = "dissolve"\nshare = 0.8\n[[step]]\nkind = "mark"\n',
    "glass.csv": "code,name,kind,grade,capacity,tolerance,resolution,count\nmug,Mug,beaker,B,300,15,100,2\n",
}
STOCK = """code,item,amount,location,strength
SALT,sodium-chloride,500 g,PREP,
ALKALI,naoh-1,500 mL,PREP,
ACID1,hydrochloric-acid,500 mL,PREP,
ACID2,hydrochloric-acid,500 mL,PREP,
HCL,hcl-1,500 mL,PREP,
LYE,sodium-hydroxide,500 g,PREP,
VINEGAR,acetic-acid,500 mL,PREP,
ACETATE,sodium-acetate-3-water,500 g,PREP,
ETHER,diethyl-ether,500 mL,PREP,
"""


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An inventory with a few bottles, and files to be taken in, in a folder."""
    folder = tmp_path_factory.mktemp("filled")
    for name, text in FILES.items():
        (folder / name).write_text(text)
    (folder / "stock.csv").write_text(STOCK)
    path = folder / "a.db"
    init.init(path, "Ada", BEFORE, None, "Wendlemoor School")
    taken = bottle_import.import_stock(path, bottle_import.StockFile(folder / "stock.csv"), False, act("Ada", BEFORE))
    assert taken.job, [fate.says for fate in taken.fates if fate.wrong]
    older = {"classification": "Skin Corr. 1A H314", "sources": json.dumps({"hazard": "from memory: a table"})}
    rows = table_rows.table(SubstanceRow)
    with session.writing(path) as connection:
        connection.execute(update(rows).where(rows.c.code == "formic-acid").values(older))
    return folder


READING = set(
    """
    calc mass|demo list|demo show|demo predict|demo sheet|demo learn|label|serve|completion|db check|db backup|db export
    plan why|plan closed list|stock list|stock totals|stock controlled|stock history|stock show|book list|book show
    book group list|order list|count sheet|count list|count report|solution list|solution show|substance list
    substance show|glassware list|safety classify|safety storage|safety due|safety sources|safety notes|safety waste
    safety rule list|safety controlled list|waste list|waste show|schools list|schools check|schools plan|schools open
    schools report|schools rights
    """.replace("\n", "|").split("|")
)
"""The commands that write nothing; all others are done below."""
ALONE = {"db salvage", "db import", "db repair", "book edit", "schools complete"}
"""A new file that nobody else has yet, a mending of what is broken, and what others end with or are called too."""


def test_every_command_that_writes_is_done() -> None:
    done = {" ".join(line.split()) for day in DAYS.values() for line in day.strip().splitlines()}
    left = [
        name
        for name in _commands(typer.main.get_command(build()), "")
        if name not in {one.strip() for one in READING} | ALONE and not name.startswith("calc ")
        if not any(f"{line} ".startswith(f"{name} ") for line in done)
    ]
    assert left == []


def _commands(command: Any, name: str) -> list[str]:
    """The commands below a group, by their whole names."""
    if not hasattr(command, "commands"):
        return [name]
    return [one for part, sub in command.commands.items() for one in _commands(sub, f"{name} {part}".strip())]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a process for each command is forked")
@pytest.mark.parametrize("day", DAYS)
def test_nothing_is_imported_or_read_under_the_lock(
    filled: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, day: str
) -> None:
    shutil.copy(filled / "a.db", tmp_path / "a.db")
    shutil.copy(filled / "a.db", tmp_path / "b.db")
    monkeypatch.setenv("PREP_DATABASE_URL", f"sqlite:///{tmp_path / 'a.db'}")
    north = {"code": "north", "name": "North", "url": f"sqlite:///{tmp_path / 'a.db'}"}
    (tmp_path / "schools.json").write_text(json.dumps([north]))
    monkeypatch.setenv("PREP_SCHOOLS", str(tmp_path / "schools.json"))
    lines = [line.strip() for line in DAYS[day].strip().splitlines()]
    lines = [line.replace("{folder}", str(filled)).replace("{own}", str(tmp_path)) for line in lines]
    found = each_alone("command", lines)
    assert [one for one in found if one["code"] or not one["under"] or any(one["under"])] == []
