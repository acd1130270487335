"""Every example that a command's help gives runs, each on a store room that has what the help speaks of."""

import json
import re
import shlex
import shutil
import socket
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import typer
import uvicorn
from starlette.testclient import TestClient

from prep.cli import common
from prep.cli.main import build, main
from prep.resources import seed_data
from prep.services.inventory import init, session
from prep.services.schools import school_list, transfer
from prep.store.audit import seals
from tests.cli.conftest import Run
from tests.databases import made_once, sql
from tests.days import act

TODAY = date(2026, 11, 30)
FILES = {
    "school/settings.toml": 'school = "Invented School"\n',
    "school/locations.csv": "code,name,walk_order\nPREP,Prep room,1\nACID,Acid cupboard,2\nSOLV,Solvents,3\n",
    "school/bottles.csv": "code,item,amount,use_by,location,received,opened,lot\n"
    "K7Q2,sodium-chloride,500 g,,PREP,2026-09-01,,L77\n"
    "R6M3,naoh-0.1,1 L,2027-06-30,PREP,2026-11-02,,\n"
    "K6G7,hydrochloric-acid,2.5 L,2028-01-01,ACID,2026-09-01,,\n"
    "N4H2,sodium-hydroxide,500 g,,PREP,2026-09-01,,\n"
    "A2C3,acetic-acid,500 mL,,ACID,2026-09-01,,\n"
    "B5D6,acetic-acid,250 mL,,ACID,2026-09-01,,\n"
    "A2C4,sodium-acetate,500 g,,PREP,2026-09-01,,\n"
    "H2C4,hcl-1,500 mL,2027-06-30,PREP,2026-11-02,,\n"
    "G7P2,diethyl-ether,250 mL,,SOLV,2026-09-01,2026-09-15,\n",
    "school/orders.csv": "code,item,pack,packs,placed,due\nP3,sodium-chloride,250 g,2,2026-11-20,2026-12-10\n",
    "school/bookings.csv": "code,date,demo,showings\nB12,2027-01-06,magnesium-rate,5\nB14,2027-01-13,whoosh-bottle,1\n",
    "store.csv": "Chemical,Size\nsodium chloride,250 g\n",
    "half-term.csv": "date,demo\n2027-01-14,blue-bottle\n",
    "substance/ours.csv": "code,name,form\nx-salt,X salt,solid\n",
    "solution/ours.csv": "code,name,shelf_life_days,recipe_makes\nx-brine,X brine,30,1 L\n",
    "solution/our-recipes.csv": "solution,item,amount\nx-brine,sodium-chloride,20 g\n",
    "solution/our-benedict.toml": '[[step]]\nkind = "shake"\ntext = "Shake it well."\n',
    "demo/ours.csv": "code,name\nx-demo,X demo\n",
    "demo/ours.toml": 'name = "Y demo"\n[[vessel]]\nname = "flask"\n'
    '[[vessel.contains]]\nitem = "naoh-0.1"\namount = "20 mL"\n',
    "demo/our-needs.csv": "demo,item,per_showing\nx-demo,naoh-0.1,20 mL\n",
    "glassware/ours.csv": "code,name,kind,capacity,tolerance,resolution,count\n"
    "x-cylinder,X cylinder,measuring cylinder,100,1,1,2\n",
}


def examples() -> Iterator[str]:
    """Each `Example:` of each command and group, and what the options of a standardisation say is written so."""

    def walk(command: Any) -> Iterator[str]:
        for said in re.findall(r"Example: (prep .*?)(?:\n\s*\n|\Z)", command.help or "", re.DOTALL):
            yield " ".join(said.split())
        for part in getattr(command, "commands", {}).values():
            yield from walk(part)

    app = typer.main.get_command(build())
    yield from walk(app)
    standardise = app.commands["stock"].commands["standardise"]  # type: ignore[attr-defined]
    for option in standardise.params:
        if option.name in ("titrated", "primary"):
            written = re.findall(r'".*?"', option.help)[0]
            yield f"prep stock standardise R6M3 {option.opts[0]} {written}"


ELSEWHERE = ("prep serve", "prep schools", "prep log 3", "prep log 2-3")
SCHOOLS = [said for said in dict.fromkeys(examples()) if said.startswith("prep schools")]
EXAMPLES = [said for said in dict.fromkeys(examples()) if not said.startswith(ELSEWHERE)]
"""Run on their own: a group wants schools, and a number wants a printed day; a server does not end."""
SEAL = "3f2a-9c1b-77d0-e415"


@pytest.fixture(scope="module")
def stores(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the files, an inventory with twelve jobs, and one in which counts were made and one is open."""
    folder = tmp_path_factory.mktemp("examples")
    for name, text in FILES.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(common, "today", lambda: TODAY)
        patch.setenv("PREP_DATABASE_URL", f"sqlite:///{folder / 'inventory.db'}")
        patch.chdir(folder)
        run(f"init --from {folder / 'school'}")
        for _ in range(5):
            run("stock move K7Q2 ACID")
            run("stock move K7Q2 PREP")
        run('stock receive "sodium hydroxide" "500 g" --bottles 2 --at PREP')  # job 12
        run('book group add "Year 8"')
        run('waste new "heavy metals" --full "2.5 L" --at PREP')
        run('waste put W1 "100 mL" --what "copper sulfate residues"')
        run('safety rule add glucose --group "year 7"')
        run('safety rule add urea --group "year 7"')
        run("plan closed add 2026-12-21 2027-01-01")
        run("db backup copy-of-today.db")
        shutil.copy(folder / "inventory.db", folder / "counting.db")
        patch.setenv("PREP_DATABASE_URL", f"sqlite:///{folder / 'counting.db'}")
        run("count open --at ACID")
        run("count enter K6G7 2.4L")
        run("count enter A2C3 0.5L")
        run("count enter B5D6 0.25L")
        run("count close --as-counted")
        run("count open --at PREP")
        run("count drop C2")
        run("count open --at PREP")
        run("count sheet --csv sheet.csv")
    return folder


def run(line: str) -> None:
    with pytest.raises(SystemExit) as stop:
        main(shlex.split(line))
    assert stop.value.code in (0, None), line


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_example_of_the_help_runs_as_printed(
    example: str, stores: Path, prep: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(stores, tmp_path, dirs_exist_ok=True)
    command, *words = shlex.split(example)
    assert command == "prep"
    if (tmp_path / words[0] / "ours.csv").exists():
        monkeypatch.chdir(tmp_path / words[0])
    counting = words[0] == "count" and words[1] != "open"
    new = words[0] == "init" or words[:2] == ["db", "import"]
    store = "new.db" if new else "counting.db" if counting else "inventory.db"
    monkeypatch.setenv("PREP_DATABASE_URL", f"sqlite:///{tmp_path / store}")
    monkeypatch.setattr(common, "today", lambda: TODAY)
    if words[:2] == ["db", "backup"]:
        (tmp_path / "copy-of-today.db").unlink()
    if words[:2] == ["book", "done"]:
        monkeypatch.setattr(common, "today", lambda: date(2027, 1, 6))
    if SEAL in words:
        words[words.index(SEAL)] = prep("db", "check", "--json").json["seal"]
    if words[:2] == ["db", "repair"]:
        sql(f"sqlite:///{tmp_path / store}", "UPDATE bottle SET balance = balance + 5 WHERE code = 'K7Q2'")
    if words[:2] == ["db", "salvage"]:
        shutil.copy(tmp_path / store, tmp_path / "damaged.db")
        sql(f"sqlite:///{tmp_path / 'damaged.db'}", "UPDATE bottle SET balance = balance + 5 WHERE code = 'K7Q2'")
    if words[:2] == ["db", "import"]:
        assert prep("db", "export", "inventory-2027", "--db", tmp_path / "inventory.db").code == 0
    if words[:2] == ["count", "close"]:
        for bottle in prep("count", "sheet", "--json").json["bottles"]:
            amount = f"{bottle['book']['value']} {bottle['book']['unit']}"
            assert prep("count", "enter", bottle["bottle"], amount).code == 0
    before = 0 if new else newest_job()
    done = prep(*words)
    assert done.code == 0, done.err
    assert done.out, "it says nothing"
    if not new and (after := newest_job()) > before:
        assert re.search(rf"\b(jobs?|undo) (\d.* )?{after}\b", done.out), f"it does not tell of job {after}"


def newest_job() -> int:
    with session.reading(None) as connection:
        return seals.newest_job(connection)


def test_there_are_as_many_examples_as_commands() -> None:
    assert len(EXAMPLES) > 80


@pytest.mark.parametrize("lines", ["prep log 3", "prep log 2-3"])
def test_a_line_of_the_shipped_schools_day_is_logged(
    lines: str, prep: Run, url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    day = date(2027, 1, 11)
    monkeypatch.setattr(common, "today", lambda: day)
    made_once(url, "sample_school", lambda: init.init(None, "Ada", day, seed_data() / "school", ""))
    assert prep("plan", "--day", "today").code == 0
    (example,) = (said for said in dict.fromkeys(examples()) if said.startswith(lines))
    done = prep(*shlex.split(example)[1:])
    assert done.code == 0, done.err


@pytest.mark.on_file
def test_a_groups_examples_run_on_two_schools(stores: Path, prep: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PREP_SCHOOLS", "schools.json")
    assert prep("init", "--from", stores / "school", "--db", "north.db").code == 0
    assert prep("schools", "add", "south", "--name", "South School", "--url", "sqlite:///south.db").code == 0
    left = [said for said in SCHOOLS if not said.startswith(("prep schools complete", "prep schools rights"))]
    assert len(SCHOOLS) == len(left) + 2
    for example in left:
        _, *words = shlex.split(example)
        done = prep(*("sqlite:///north.db" if word.startswith("postgresql:") else word for word in words))
        assert done.code == 0, (example, done.err)
        assert done.out, example


@pytest.mark.on_file
def test_a_hand_over_that_was_broken_off_is_completed(stores: Path, prep: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PREP_SCHOOLS", "schools.json")
    assert prep("init", "--from", stores / "school", "--db", "north.db").code == 0
    for code in ("north", "south"):
        url = f"sqlite:///{code}.db"
        assert prep("schools", "add", code, "--name", f"{code.title()} School", "--url", url).code == 0
    given = transfer.give(*school_list.read(None), transfer.Offer("K7Q2", "100 g"), act("Ada", TODAY))
    (example,) = (said for said in SCHOOLS if said.startswith("prep schools complete"))
    done = prep(*((word == "1f2e3d4c" and given.name) or word for word in shlex.split(example)[1:]))
    assert done.code == 0, done.err
    assert "South School" in done.out
    assert transfer.open_ones(school_list.read(None)).hand_overs == ()


@pytest.mark.on_file
def test_the_script_of_rights_is_a_servers(prep: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """That the script does on a server what it says is tested beside it; here no server is asked."""
    listed = tmp_path / "schools.json"
    url = "postgresql://prep@db.school.example/prep"
    listed.write_text(json.dumps([{"code": "north", "name": "North School", "url": url}]), encoding="utf-8")
    monkeypatch.setenv("PREP_SCHOOLS", str(listed))
    (example,) = (said for said in SCHOOLS if said.startswith("prep schools rights"))
    done = prep(*shlex.split(example)[1:])
    assert done.code == 0, done.err
    assert "CREATE ROLE north_technician" in done.out


@pytest.mark.on_file
def test_the_page_is_served(prep: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a port that is free; the server answers once and stops."""
    pages = []

    def answers_once(server: uvicorn.Server, sockets: list[socket.socket]) -> None:
        with TestClient(server.config.app, base_url=f"http://localhost:{sockets[0].getsockname()[1]}") as person:
            pages.append(person.get("/"))

    monkeypatch.setattr(uvicorn.Server, "run", answers_once)
    (example,) = (said for said in dict.fromkeys(examples()) if said.startswith("prep serve"))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = str(free.getsockname()[1])
    done = prep(*((word == "8014" and port) or word for word in shlex.split(example)[1:]))
    assert done.code == 0, done.err
    assert f"http://localhost:{port}" in done.out
    assert pages[0].status_code == 200
    assert "<form" in pages[0].text


def test_no_help_names_an_internal_file() -> None:
    """What the columns of a list are is said there, or by `--help` of the command that shows them."""

    def said(command: Any) -> Iterator[str]:
        yield command.help or ""
        yield from (getattr(param, "help", None) or "" for param in command.params)
        for part in getattr(command, "commands", {}).values():
            yield from said(part)

    for text in said(typer.main.get_command(build())):
        assert not re.search(r"seed_data|tables/|\.py\b", text), text
