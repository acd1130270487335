"""Whatever a person types or a file holds: one sentence, the right exit code, nothing half written."""

import json
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.conftest import Result, Run
from tests.databases import sql

LONG = "x" * 5000


SUMS = [
    ("calc", "dilute", "--from", "12 mol/L", "--to", "0.1 mol/L", "--volume", "2 MW"),
    ("calc", "dilute", "--from", "12 mol/L", "--to", "0.1 mol/L", "--volume", "-2 L"),
    ("calc", "dilute", "--from", "12 mol/L", "--to", "0.1 mol/L", "--volume", "nan L"),
    ("calc", "dilute", "--from", "12 mol/L", "--to", "0.1 mol/L", "--volume", "0 mL"),
    ("calc", "dilute", "--from", "12 mol/L", "--to", "0.1 mol/L", "--volume", "1e400 L"),
    ("calc", "dilute", "--from", "12 mol/L", "--to", "0.1 mol/L", "--volume", "2"),
    ("calc", "dilute", "--from", "12 mol/L", "--to", "0.1 mol/L", "--volume", "2*3 L"),
    ("calc", "dilute", "--from", "0.1 mol/L", "--to", "2 mol/L", "--volume", "1 L"),
    ("calc", "dilute", "--from", "5 N", "--to", "0.1 mol/L", "--volume", "1 L"),
    ("calc", "dilute", "--from", "37 % w/w", "--to", "0.1 mol/L", "--volume", "1 L"),
    ("calc", "dilute", "--from", "saturated", "--to", "0.1 mol/L", "--volume", "1 L"),
    ("calc", "dissolve", "--formula", "HOAc", "--to", "1 mol/L", "--volume", "1 L"),
    ("calc", "dissolve", "--formula", "NaCl", "--to", "60 % w/w", "--volume", "1 L"),
    ("calc", "dissolve", "--formula", "NaCl", "--to", "9 mol/L", "--volume", "1 L"),
    ("calc", "dissolve", "--formula", "NaCl", "--to", "1 mol/L", "--volume", "1 g"),
    ("calc", "dissolve", "--formula", "NaCl", "--to", "1 mol/L", "--volume", "1 L", "--assay", "0"),
    ("calc", "dissolve", "--to", "1 mol/L", "--volume", "1 L"),
    ("calc", "strength", "110 % v/v", "--of", "ethanol", "--in", "mol/L"),
    ("calc", "strength", "1 mol/L", "--of", "phlogiston", "--in", "g/L"),
    ("calc", "strength", "1 mol/L", "--of", "sodium chloride", "--in", "furlongs"),
    ("calc", "blend", "100 mL of 1 mol/L"),
    ("calc", "blend", "100 mL of 1 mol/L", "100 mL"),
    ("calc", "alcohol", "--from", "96 % v/v", "--to", "70 mol/L", "--volume", "1 L"),
    ("calc", "alcohol", "--from", "96 % v/v", "--to", "70 % v/v", "--volume", "1 L", "--temp", "hot"),
    ("calc", "dilute", "--from", LONG, "--to", "1 mol/L", "--volume", "1 L"),
]
JOBS = [
    ("plan", "--from", "2027-02-30"),
    ("plan", "--from", "2027-02-02", "--to", "2027-01-01"),
    ("plan", "--weeks", "0"),
    ("plan", "--weeks", "2", "--to", "2027-01-01"),
    ("make", "hcl-1", "--volume", "1 kg"),
    ("make", "hcl-1", "--volume", "100 L"),
    ("make", "aqua regia", "--volume", "1 L"),
    ("make", "sodium-chloride", "--volume", "1 L"),
    ("make", "hcl-1", "--volume", "1 L", "--from", "sodium-chloride"),
    ("make", "hcl-1", "--volume", "1 L", "--at", "PREP"),
    ("make", "hcl-1", "--volume", "1 L", "--log", "--found", "3 % w/v"),
    ("make", "hcl-1", "--volume", "1 L", "--log", "--found", "11 mol/L"),
    ("stock", "receive", "sodium-chloride", "500 mL"),
    ("stock", "receive", "sodium-chloride", "40 drops"),
    ("stock", "receive", "sodium-chloride", "500 g", "--use-by", "1999-01-01"),
    ("stock", "receive", "sodium-chloride", "500 g", "--at", "NOWHERE"),
    ("stock", "receive", "sodium-chloride", "500 g", "--bottles", "0"),
    ("stock", "receive", "sodium-chloride", "500 g", "--lot", "a\x1b[31m"),
    ("stock", "receive", "sodium-chloride", "500 g", "--by", ""),
    ("stock", "receive", "sodium-chloride", "9e99 g"),
    ("stock", "show", "'; DROP TABLE bottle; --"),
    ("stock", "use", "NONE", "1 g"),
    ("stock", "move", "NONE", "PREP"),
    ("stock", "undo", "999"),
    ("stock", "history", "--last", "0"),
    ("book", "add", "no-such-demo", "--on", "2099-01-05"),
    ("book", "add", "blue-bottle", "--on", "2001-01-01"),
    ("book", "add", "blue-bottle", "--on", "2099-01-05", "--showings", "0"),
    ("book", "move", "B99", "--to", "2099-01-01"),
    ("book", "import", "missing.csv"),
    ("order", "placed", "hcl-1"),
    ("order", "arrived", "P99"),
    ("substance", "show", "phlogiston"),
    ("demo", "show", "blue-bottle", "--showings", "-1"),
    ("nonsense",),
    ("plan", "--nonsense"),
]


def one_sentence(done: Result) -> None:
    """Exit 2, one sentence, and nothing else."""
    assert done.code == 2, (done.out, done.err)
    assert done.out == ""
    assert "Traceback" not in done.err
    if not done.err.startswith("Usage"):
        assert done.err.startswith("prep: ")
        assert done.err.count("\n") == 1
        assert len(done.err) < 700


@pytest.mark.on_file
@pytest.mark.parametrize("arguments", SUMS, ids=lambda a: " ".join(a)[:60])
def test_a_sum_that_cannot_be_done_is_one_sentence(prep: Run, arguments: tuple[str, ...]) -> None:
    one_sentence(prep(*arguments))


@pytest.mark.on_file
@pytest.mark.parametrize("arguments", JOBS, ids=lambda a: " ".join(a)[:60])
def test_one_sentence_and_exit_two(inventory: Run, arguments: tuple[str, ...]) -> None:
    before = inventory("stock", "history", "--json").out
    one_sentence(inventory(*arguments))
    assert inventory("stock", "history", "--json").out == before


@pytest.mark.on_file
def test_a_file_that_is_no_database(prep: Run, tmp_path: Path) -> None:
    file = tmp_path / "letter.db"
    file.write_text("Dear colleague, this is no database at all. " * 40)
    text = file.read_bytes()
    for command in (["stock", "list"], ["init"], ["plan"], ["db", "check"]):
        done = prep(*command, "--db", file)
        assert (done.code, done.err.count("\n")) == (2, 1), done.err
        assert "letter.db" in done.err
    assert file.read_bytes() == text


@pytest.mark.on_file
def test_a_database_of_another_program(prep: Run, tmp_path: Path) -> None:
    file = tmp_path / "other.db"
    with sqlite3.connect(file) as other:
        other.execute("CREATE TABLE accounts (id INTEGER)")
    done = prep("stock", "list", "--db", file)
    assert done.code == 2
    assert "another program" in done.err


def test_a_database_from_a_newer_version(inventory: Run, url: str) -> None:
    sql(url, "UPDATE alembic_version SET version_num = '9999'")
    done = inventory("stock", "list")
    assert done.code == 2
    assert "newer version" in done.err


def test_no_inventory_yet(prep: Run, tmp_path: Path) -> None:
    done = prep("stock", "list")
    assert done.code == 2
    assert "prep init" in done.err
    assert list(tmp_path.iterdir()) == []


def test_init_does_not_write_over_an_inventory(inventory: Run) -> None:
    before = inventory("stock", "list", "--json").out
    said = inventory("init")
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert "there is an inventory already" in said.err
    assert inventory("stock", "list", "--json").out == before


@pytest.fixture
def shared_folder() -> Iterator[Path]:
    """A folder that another user may enter, with an inventory in it."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


@pytest.mark.on_file
def test_a_read_only_file(inventory: Run, shared_folder: Path) -> None:
    """As a user whom a read-only file stops: root becomes nobody once everything is imported."""
    program = (
        "import contextlib, os, sys\n"
        "from prep.cli.main import main\n"
        "with contextlib.suppress(SystemExit): main(sys.argv[1:])\n"  # imports all; root may well succeed
        "if os.geteuid() == 0: os.setgroups([]); os.setgid(65534); os.setuid(65534)\n"
        "main(sys.argv[1:])\n"
    )
    file = shared_folder / "inventory.db"
    inventory("db", "backup", file)
    file.chmod(0o444)
    command = ["stock", "receive", "sodium-chloride", "1 g", "--by", "R. Vane", "--db", str(file)]
    done = subprocess.run([sys.executable, "-c", program, *command], capture_output=True, text=True, check=False)
    assert done.returncode == 2, done.stdout
    assert done.stderr.strip().splitlines()[-1].startswith("prep: ")
    assert "inventory.db" in done.stderr
    assert "Traceback" not in done.stderr
    held = [
        b
        for b in inventory("stock", "list", "--db", file, "--json").json
        if b["made_by"] == "" and b["amount"]["value"] == 1
    ]
    assert len(held) <= 1  # root's own, never the other's


@pytest.mark.on_file
def test_a_full_disk(inventory: Run, tmp_path: Path) -> None:
    """The size of a file is limited: what SQLite meets is what it meets on a full disk."""
    file = tmp_path / "inventory.db"
    before = inventory("stock", "list", "--json").out
    inventory("db", "check")
    limit = 4096  # not even the write-ahead log's first page
    program = (
        f"import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}));"
        "from prep.cli.main import main; main(sys.argv[1:])"
    )
    command = ["stock", "receive", "sodium-chloride", "1 g", "--bottles", "300", "--db", str(file)]
    done = subprocess.run([sys.executable, "-c", program, *command], capture_output=True, text=True, check=False)
    assert done.returncode == 2, done.stdout
    assert done.stderr.count("\n") == 1, done.stderr
    assert "inventory.db" in done.stderr
    assert inventory("stock", "list", "--json").out == before
    assert inventory("db", "check").code == 0


def test_a_tampered_balance_is_found(inventory: Run, url: str) -> None:
    sql(url, "UPDATE bottle SET balance = balance - 1 WHERE item = 'sodium-chloride'")
    done = inventory("db", "check")
    assert done.code == 1
    assert "add up to" in done.out


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("", "empty"),
        ("date,demo\n2099-01-05,ghost\n", 'row 2, column "demo"'),
        ("date,demo\n05/01/2099,blue-bottle\n", 'row 2, column "date"'),
        ("date,demo,colour\n2099-01-05,blue-bottle,red\n", "colour"),
        ("demo\nblue-bottle\n", '"date" is missing'),
        ("date,demo,demo\n", "twice"),
        ('date,demo\n2099-01-05,"blue-bottle\n', "not readable"),
        ("date,demo\n2099-01-05,blue-bottle,1,2,3\n", "row 2"),
        ("date,demo\n2099-01-05,blue\0bottle\n", "row 2"),
        ("date,demo\n2099-01-05,=cmd|' /C calc'!A0\n", 'row 2, column "demo"'),
    ],
)
def test_a_malformed_list_names_row_and_column(inventory: Run, tmp_path: Path, text: str, where: str) -> None:
    file = tmp_path / "list.csv"
    file.write_text(text)
    done = inventory("book", "import", file)
    assert done.code == 2, done.out
    assert done.err.startswith("prep: list.csv") or str(file) in done.err
    assert where in done.err
    assert inventory("book", "list", "--json").json == []


def test_bytes_that_are_no_text(inventory: Run, tmp_path: Path) -> None:
    file = tmp_path / "list.csv"
    file.write_bytes(b"date,demo\n\xff\xfe\x00")
    done = inventory("book", "import", file)
    assert (done.code, "UTF-8" in done.err) == (2, True)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (
            ("book", "add", "blue-bottle", "--on", "today", "--showings", "1.5"),
            '--showings "1.5" is not accepted; write a',
        ),
        (
            ("book", "add", "blue-bottle", "--on", "today", "--showings=two"),
            '--showings "two" is not accepted; write a',
        ),
        (("calc", "endpoint", "--dish", "5 mL", "--add", "x", "--drops-per-ml", "few"), "write a number, such as 2.5"),
        (("stock", "undo", "first"), "JOB is not accepted; write a whole number"),
        (
            ("stock", "use", "K7Q2", "-5 g"),
            '"-5 g" begins with a minus sign; an amount or a number is more than nothing',
        ),
        (("stock", "receive", "urea", "-5g"), '"-5g" begins with a minus sign'),
        (("stock", "undo", "-5"), '"-5" begins with a minus sign'),
        (("stock", "list", "--itm", "urea"), "prep stock list has no option --itm (near: "),
        (("book", "add", "blue-bottle"), "prep book add needs --on; see: prep book add --help"),
        (("stock", "use", "K7Q2"), "prep stock use needs AMOUNT; see"),
        (("stock", "use", "K7Q2", "5 g", "6 g"), "prep stock use: got unexpected"),
        (("stock", "list", "--item"), "--item needs a value after it"),
        (("stock", "frob"), 'prep stock has no command "frob"; it has standardise, '),
        (("frob",), 'prep has no command "frob"; it has init,'),
    ],
)
def test_what_the_command_line_refuses_is_one_sentence(prep: Run, arguments: tuple[str, ...], told: str) -> None:
    done = prep(*arguments)
    assert (done.code, done.out) == (2, "")
    assert done.err.count("\n") == 1, done.err
    assert done.err.startswith("prep: ")
    assert told in done.err


def test_help_and_version_are_no_errors(prep: Run) -> None:
    for arguments in (("--help",), ("stock", "-h"), ("--version",)):
        done = prep(*arguments)
        assert (done.code, done.err) == (0, "")
    bare = prep("stock")
    assert bare.code == 2
    assert "Usage: prep stock" in bare.err


@pytest.mark.parametrize("text", ["a\nb", "a\x1b[31m", "x" * 3000, "\u202eevil"])
@pytest.mark.parametrize(
    "command",
    [
        ("stock", "place", "A2"),
        ("stock", "receive", "sodium-chloride", "1 g", "--note"),
        ("stock", "receive", "sodium-chloride", "1 g", "--lot"),
        ("stock", "receive", "sodium-chloride", "1 g", "--by"),
        ("stock", "discard", "X", "--reason"),
        ("count", "found", "sodium-chloride", "1 g", "--note"),
        ("book", "add", "blue-bottle", "--closed", "--on", "2099-01-05", "--room"),
        ("book", "add", "blue-bottle", "--closed", "--on", "2099-01-05", "--group"),
        ("safety", "rule", "add", "sodium-chloride", "--why"),
        ("safety", "tested", "X", "--result"),
        ("plan", "closed", "add", "2099-01-05", "2099-01-06"),
        ("init", "--db", "new.db", "--school"),
    ],
    ids=" ".join,
)
def test_text_that_no_label_can_hold_is_refused(
    inventory: Run, tmp_path: Path, command: tuple[str, ...], text: str
) -> None:
    inventory("count", "open")
    before = inventory("stock", "history", "--json").out
    done = inventory(*command, text)
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1), done.out
    assert "printable characters" in done.err
    assert inventory("stock", "history", "--json").out == before
    assert inventory("stock", "place", "--json").json == [{"code": "PREP", "name": "Prep room"}]
    assert inventory("book", "list", "--json").json == []
    assert not (tmp_path / "new.db").exists()


@pytest.mark.on_file
@pytest.mark.parametrize(
    "arguments",
    [
        ("calc", "dilute", "--from", "2 M"),
        ("calc", "dilute", "--vol", "1 L"),
        ("plan", "--sample", "--day", "x\ny"),
        ("stock", "list", "--db", "none.db"),
    ],
    ids=" ".join,
)
def test_an_error_is_a_document_where_a_document_was_asked_for(prep: Run, arguments: tuple[str, ...]) -> None:
    """The same sentence as a person gets, as a document on standard error; standard output has none."""
    read = prep(*arguments)
    asked = prep(*arguments, "--json")
    error = json.loads(asked.err)["error"]
    assert error["message"].replace("\n", "\\x0a") == read.err.removeprefix("prep: ").rstrip("\n")
    assert (asked.code, error["exit_code"], asked.out) == (2, 2, "")


@pytest.mark.on_file
def test_a_word_after_the_options_asks_for_no_document(prep: Run) -> None:
    """What stands after -- is a name, not an option."""
    assert prep("calc", "mass", "--", "--json").err.startswith("prep: ")
