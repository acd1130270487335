"""Thousands of hostile command lines and files, drawn from a fixed seed: 0, 1 or 2, a sentence, nothing half written.

The commands and their options are read from the program itself, so that new ones are tried too.
"""

import random
import sqlite3
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer

from prep.cli.main import COMMANDS, build, main
from prep.services.inventory import backup
from tests.cli.conftest import Run
from tests.databases import BACKENDS, made_once

LINES = 1300
SHEETS = 900
HOSTILE = (
    "",
    " ",
    "-",
    "--",
    "\x00",
    "\x1b[31mred\x1b[0m",
    "a\nb\r\nc",
    "\u202eevil\u202c",
    "\ufeffx",
    "\udc80\udcff",
    "👩‍🔬" * 50,
    "é" * 300,
    "x" * 20_000,
    "(" * 3000,
    "'; DROP TABLE bottle; --",
    '" OR 1=1 --',
    "=cmd|' /C calc'!A0",
    "@SUM(A1:A9)",
    "%s%n{0}{__class__}",
    "$(touch pwned)",
    "../../../../proc/none/passwd",
    "/proc/none/x",
    "no/such/folder/x",
    ".",
    "nan",
    "NaN g",
    "-inf mL",
    "1e999 g",
    "9" * 400,
    "9" * 400 + " mL",
    "0",
    "-1",
    "0.0000000000001 g",
    "1_000 g",
    "١٢ g",
    "1/0 g",
    "2**99 g",
    "250 ML",
    "12,5 g",
    "2027-02-30",
    "9999-12-31",
    "0001-01-01",
    "today",
    "[bold]x[/] [NaOH]",
    "C999999999999999999H9",
    "H2O" * 500,
    "((((H))))9999999999999",
    "hcl-1=",
    "=5 mL",
)
USUAL = (
    "sodium-chloride",
    "hydrochloric-acid",
    "hcl-1",
    "thiosulfate-rate",
    "500 g",
    "250 mL",
    "1 L",
    "0.1 mol/L",
    "37 % w/w",
    "1.18 g/mL",
    "2099-01-05",
    "PREP",
    "B1",
    "P1",
    "C1",
    "1",
    "2",
    "NaCl",
    "acetic acid 0.1 mol/L",
    "sheet.csv",
    "pH 4.7",
)
SLOW = {("plan",), ("safety", "classify"), ("init",), ("serve",), ("schools", "add")}  # tried elsewhere, or seldom here
DELIMITERS = ",;\t|"


def commands() -> list[tuple[tuple[str, ...], Any]]:
    """Every command with its words and its parameters."""
    found: list[tuple[tuple[str, ...], Any]] = []

    def walk(words: tuple[str, ...], command: Any) -> None:
        if parts := getattr(command, "commands", None):
            for name, part in parts.items():
                walk((*words, name), part)
        else:
            found.append((words, command))

    walk((), typer.main.get_command(build()))
    return found


def parts(number: int) -> list[tuple[str, int]]:
    """Everything on SQLite, the first part on a server too."""
    return [(kind, part) for kind in BACKENDS for part in range(number if kind == "sqlite" else 1)]


def value(draw: random.Random) -> str:
    return draw.choice(HOSTILE) if draw.random() < 0.45 else draw.choice(USUAL)


def a_line(draw: random.Random, known: list[tuple[tuple[str, ...], Any]]) -> list[str]:
    words, command = draw.choice(known)
    line = list(words)
    for parameter in command.params:
        rare = parameter.name == "sample"  # makes a whole school anew each time
        wanted = parameter.required or draw.random() < (0.01 if rare else 0.25)
        if not wanted or parameter.name in ("db", "help"):
            continue
        if parameter.param_type_name == "option":
            line.append(draw.choice(parameter.opts))
            if not getattr(parameter, "is_flag", False):
                line.append(value(draw))
        else:
            line += [value(draw) for _ in range(draw.choice((1, 1, 1, 2, 3)) if parameter.nargs == -1 else 1)]
    if draw.random() < 0.1:
        line.insert(draw.randrange(len(line) + 1), value(draw))
    return line


@pytest.fixture
def hostile(url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """An inventory to be harmed, and a folder of its own."""
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    monkeypatch.chdir(tmp_path)

    def fill() -> None:
        for line in (
            ["init"],
            ["stock", "receive", "sodium-chloride", "1 kg"],
            ["stock", "receive", "hydrochloric-acid", "2.5 L"],
            ["count", "open"],
        ):
            with pytest.raises(SystemExit):
                main(line)

    made_once(url, "hostile", fill)
    (tmp_path / "sheet.csv").write_text("item,amount\nurea,1 g\n", encoding="utf-8")
    yield tmp_path
    assert not (tmp_path / "pwned").exists()
    assert backup.check(None) == []


def run(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> int:
    """The exit code of a command that kept to the rules; what it said is looked at."""
    code = 0
    try:
        main(arguments)
    except SystemExit as stop:
        code = stop.code if isinstance(stop.code, int) else 0 if stop.code is None else 99
    except BaseException as trouble:
        raise AssertionError(f"{[a[:80] for a in arguments]} ended in {trouble!r}") from trouble
    said = capsys.readouterr()
    about = f"{[a[:80] for a in arguments]}: {code} {said.err[:400]!r}"
    assert code in (0, 1, 2), about
    assert "Traceback" not in said.err + said.out, about
    if code:
        assert said.err, about
        assert said.err.startswith("Usage") or said.err.count("\n") == 1, about
        assert len(said.err) < 3000 or said.err.startswith("Usage"), about  # which repeats what was typed
    assert not any(unicodedata.category(c) == "Cc" and c != "\n" for c in said.err), about
    return code


@pytest.mark.parametrize(("url", "part"), parts(4), indirect=["url"])
@pytest.mark.usefixtures("hostile")
def test_hostile_command_lines(capsys: pytest.CaptureFixture[str], part: int) -> None:
    draw = random.Random(f"lines {part}")
    known = [one for one in commands() if one[0] not in SLOW]
    capsys.readouterr()
    codes = [run(a_line(draw, known), capsys) for _ in range(LINES // 4)]
    assert {0, 2} <= set(codes)


def a_cell(draw: random.Random) -> str:
    cell = value(draw)
    return f'"{cell}"' if draw.random() < 0.3 else cell


def a_sheet(draw: random.Random, columns: list[str]) -> bytes:
    """A file that is more or less a table."""
    delimiter = draw.choice(DELIMITERS)
    header = [c for c in columns if draw.random() < 0.8]
    draw.shuffle(header)
    if draw.random() < 0.2:
        header.append(value(draw)[:200])
    rows = [header] + [
        [a_cell(draw) for _ in range(max(0, len(header) + draw.choice((0, 0, 0, 0, -1, 1))))]
        for _ in range(draw.randrange(5))
    ]
    text = draw.choice(("\n", "\r\n", "\r")).join(delimiter.join(row) for row in rows)
    content = text.encode("utf-8", "surrogateescape")
    if draw.random() < 0.2:
        content = b"\xef\xbb\xbf" + content
    if draw.random() < 0.1:
        content = text.encode("utf-16", "replace")
    if content and draw.random() < 0.15:
        spoilt = bytearray(content)
        spoilt[draw.randrange(len(spoilt))] = draw.randrange(256)
        content = bytes(spoilt)
    return content


IMPORTS: tuple[tuple[tuple[str, ...], str], ...] = (
    (("stock", "import", "in.csv"), "item amount unit use_by location code lot strength tare note"),
    (("stock", "import", "in.csv", "--dry-run", "--json"), "item amount code status received opened"),
    (("count", "import", "in.csv"), "location code name measure book tare count note"),
    (("book", "import", "in.csv"), "code date period room teacher demo showings"),
    (("substance", "import", "in.csv"), "code name form formula assay_pct classification density_g_ml source"),
    (("solution", "import", "in.csv", "--recipes", "sheet.csv"), "code name shelf_life_days solute strength"),
    (("demo", "import", "in.csv", "--needs", "in.csv"), "code name demo item per_showing spare_pct"),
)


@pytest.mark.parametrize(("url", "part"), parts(3), indirect=["url"])
def test_a_hostile_sheet_is_one_sentence_and_never_a_traceback(
    hostile: Path, capsys: pytest.CaptureFixture[str], part: int
) -> None:
    draw = random.Random(f"sheets {part}")
    capsys.readouterr()
    for _ in range(SHEETS // 3):
        command, columns = draw.choice(IMPORTS)
        (hostile / "in.csv").write_bytes(a_sheet(draw, columns.split()))
        run(list(command), capsys)


@pytest.mark.on_file
def test_a_flipped_bit_anywhere_in_the_file_is_a_sentence(
    prep: Run, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert prep("init").code == 0
    path = tmp_path / "inventory.db"
    with sqlite3.connect(path) as file:
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    file.close()
    whole = path.read_bytes()
    draw = random.Random(11)
    for _ in range(120):
        spoilt = bytearray(whole)
        for _ in range(draw.choice((1, 1, 8, 64))):
            place = draw.randrange(len(spoilt))
            spoilt[place] ^= 1 << draw.randrange(8)
        for end in ("-wal", "-shm"):
            path.with_name(path.name + end).unlink(missing_ok=True)
        path.write_bytes(spoilt)
        run(draw.choice((["stock", "list"], ["db", "check"], ["stock", "history"], ["solution", "list"])), capsys)


def test_every_command_is_tried() -> None:
    assert {words[0] for words, _ in commands()} == set(COMMANDS)
