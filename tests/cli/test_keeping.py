"""The inventory out as plain files and in again, equal; copies put back only when they are clean; upgrades."""

import json
import re
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from prep.resources import url_of
from prep.store.migrate import HEAD
from tests.cli.conftest import Run
from tests.databases import BACKENDS, empty, everything, made_once, sql


@pytest.fixture
def busy(prep: Run, url: str) -> Run:
    """An inventory in which a little of everything has happened."""

    def fill() -> None:
        assert prep("init", "--school", "Wendlemoor School").code == 0
        for item, amount in (("hydrochloric-acid", "2.5 L"), ("sodium-chloride", "1 kg")):
            assert prep("stock", "receive", item, amount).code == 0
        assert prep("make", "hcl-2", "--volume", "1 L", "--log").code == 0
        booked = prep("book", "add", "thiosulfate-rate", "--on", "today", "--closed", "--json").json["code"]
        assert prep("book", "done", booked, "--used", "hcl-2=20 mL").code == 0
        assert prep("order", "placed", "sodium-chloride").code == 0
        bottle = prep("stock", "list", "--item", "sodium-chloride", "--json").json[0]["code"]
        assert prep("stock", "use", bottle, "12.345678 g", "--reason", '=cmd|"x"!A1, élève\u2028').code == 2
        assert prep("stock", "use", bottle, "12.345678 g", "--reason", "=1+1, élève ☃").code == 0
        assert prep("count", "open").code == 0
        assert prep("count", "enter", bottle, "900 g").code == 0
        assert prep("count", "close", "--partial", "--as-counted").code == 0

    made_once(url, "busy", fill)
    return prep


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Where the inventory is, if it is in a file."""
    return tmp_path / "inventory.db"


@pytest.mark.parametrize("kind", [[], ["--csv"]])
def test_out_and_in_again_is_equal(busy: Run, url: str, tmp_path: Path, kind: list[str]) -> None:
    prep = busy
    done = prep("db", "export", tmp_path / "out", "--json", *kind)
    assert done.code == 0, done.err
    assert done.json["rows"]["signoff"] == 1
    assert prep("db", "export", tmp_path / "out").code == 2
    back = tmp_path / "back.db"
    done = prep("db", "import", tmp_path / "out", "--db", back)
    assert done.code == 0, done.err
    assert everything(url_of(back)) == everything(url)
    assert prep("db", "check", "--db", back).code == 0
    again = prep("db", "export", tmp_path / "again", "--db", back, *kind)
    assert again.code == 0
    for part in (tmp_path / "out").iterdir():
        assert part.read_bytes() == (tmp_path / "again" / part.name).read_bytes()
    refused = prep("db", "import", tmp_path / "out")  # nothing is written over
    assert (refused.code, refused.out, refused.err.count("\n")) == (2, "", 1)
    assert prep("stock", "receive", "urea", "5 g", "--db", back).code == 0


def _edit(folder: Path, name: str, change: dict[str, object]) -> None:
    path = folder / name
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[0] = json.dumps(json.loads(lines[0]) | change)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


@pytest.mark.parametrize(
    ("name", "change", "says"),
    [
        ("movement.jsonl", {"amount": 5}, "not clean"),
        ("movement.jsonl", {"amount": 5.5}, "wrong kind"),
        ("movement.jsonl", {"amount": None}, "must not be empty"),
        ("movement.jsonl", {"bottle": "NONE"}, "refused|not clean|parent"),
        ("movement.jsonl", {"extra": 1}, "the columns are"),
        ("job.jsonl", {"on": "tomorrow"}, "no date"),
        ("bottle.jsonl", {"balance": -1}, "less than nothing"),
        ("bottle.jsonl", {"status": "lost"}, "refused"),
        ("substance.jsonl", None, "holds 0 rows"),
        ("bottle.jsonl", "{[", "no line of JSON"),
        ("bottle.jsonl", "[1]", "no row of a table"),
        ("prep.json", "{}", "no exported inventory"),
        ("prep.json", "nonsense", "no exported inventory"),
    ],
)
def test_a_folder_that_was_tampered_with_leaves_nothing(
    busy: Run, url: str, tmp_path: Path, name: str, change: object, says: str
) -> None:
    prep = busy
    out = tmp_path / "out"
    assert prep("db", "export", out).code == 0
    empty(url)
    if isinstance(change, dict):
        _edit(out, name, change)
    elif change is None:
        (out / name).write_text("")
    else:
        (out / name).write_text(str(change))
    done = prep("db", "import", out)
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
    assert re.search(says, done.err), done.err
    assert "make one with: prep init" in prep("stock", "list").err
    assert not list(tmp_path.glob("inventory.db*"))


@pytest.mark.on_file
def test_a_copy_is_put_back_and_what_was_there_is_kept(busy: Run, file: Path, tmp_path: Path) -> None:
    prep = busy
    copy = tmp_path / "copy.db"
    assert prep("db", "backup", copy).code == 0
    before = everything(url_of(file))
    assert prep("stock", "receive", "urea", "5 g").code == 0
    after = everything(url_of(file))
    done = prep("db", "restore", copy, "--json")
    assert done.code == 0, done.err
    assert everything(url_of(file)) == before
    assert everything(url_of(Path(done.json["kept"]))) == after
    assert prep("stock", "receive", "urea", "5 g").code == 0
    assert prep("db", "restore", file).code == 2


@pytest.mark.on_file
@pytest.mark.parametrize("harm", ["truncated", "flipped", "balance", "guard", "foreign", "newer", "text", "missing"])
def test_a_copy_that_is_not_clean_replaces_nothing(busy: Run, file: Path, tmp_path: Path, harm: str) -> None:
    prep = busy
    copy = tmp_path / "copy.db"
    assert prep("db", "backup", copy).code == 0
    content = copy.read_bytes()
    if harm == "truncated":
        copy.write_bytes(content[: len(content) // 2])
    elif harm == "flipped":
        spoilt = bytearray(content)
        for place in range(4096, len(spoilt), 997):
            spoilt[place] ^= 0xFF
        copy.write_bytes(spoilt)
    elif harm == "text":
        copy.write_text("no database " * 1000)
    elif harm == "missing":
        copy.unlink()
    else:
        with sqlite3.connect(copy) as other:
            other.execute(
                {
                    "balance": "UPDATE bottle SET balance = balance + 1",
                    "guard": "DROP TRIGGER guard_movement_update",
                    "foreign": "DROP TABLE bottle",
                    "newer": "UPDATE alembic_version SET version_num = '9999'",
                }[harm]
            )
        other.close()
    before = everything(url_of(file))
    there = sorted(p.name for p in tmp_path.iterdir() if "copy" not in p.name)
    done = prep("db", "restore", copy)
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1), done
    assert "copy.db" in done.err
    assert everything(url_of(file)) == before
    assert sorted(p.name for p in tmp_path.iterdir() if "copy" not in p.name) == there


@pytest.mark.on_file
def test_a_damaged_inventory_is_put_aside(busy: Run, file: Path, tmp_path: Path) -> None:
    prep = busy
    copy = tmp_path / "copy.db"
    assert prep("db", "backup", copy).code == 0
    before = everything(url_of(file))
    for end in ("-wal", "-shm"):
        file.with_name(file.name + end).unlink(missing_ok=True)
    file.write_bytes(file.read_bytes()[:30_000])
    assert prep("stock", "list").code == 2
    done = prep("db", "restore", copy, "--json")
    assert done.code == 0, done.err
    assert everything(url_of(file)) == before
    assert "damaged" in done.json["kept"]


def test_upgrade_says_that_nothing_is_to_do_and_puts_guards_back(busy: Run, url: str) -> None:
    prep = busy
    where = " ON movement" if url.startswith("postgresql") else ""
    sql(url, f"DROP TRIGGER guard_movement_delete{where}")
    assert prep("db", "check").code == 1
    done = prep("db", "upgrade", "--json")
    assert done.json == {"before": HEAD, "after": HEAD, "backup": None}
    assert prep("db", "check").code == 0


@pytest.mark.on_file
def test_upgrade_where_there_is_none(prep: Run, tmp_path: Path) -> None:
    assert prep("db", "upgrade").code == 2
    assert list(tmp_path.iterdir()) == []
    shutil.rmtree(tmp_path)


@pytest.mark.parametrize("url", BACKENDS[1:], indirect=True)
def test_the_password_of_a_server_is_not_shown(prep: Run, url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for secret in (url.replace("postgres@", "postgres:hidden1@"), f"{url}&password=hidden2"):
        monkeypatch.setenv("PREP_DATABASE_URL", secret)
        done = prep("init"), prep("init"), prep("init", "--json")
        assert "postgresql://postgres" in "".join(one.out + one.err for one in done)
        assert "hidden" not in "".join(one.out + one.err for one in done)


@pytest.mark.parametrize("url", BACKENDS[1:], indirect=True)
def test_the_driver_of_a_server_says_nothing_beside_the_sentence(busy: Run, url: str, tmp_path: Path) -> None:
    assert busy("db", "export", tmp_path / "out").code == 0
    twice = tmp_path / "out" / "substance.jsonl"
    first, _, *rest = twice.read_text(encoding="utf-8").splitlines()
    twice.write_text("\n".join([first, first, *rest]), encoding="utf-8")
    empty(url)
    command = [sys.executable, "-m", "prep.cli.main", "db", "import", "out"]  # as here logging is pytest's
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr.count("\n")) == (2, 1), done.stderr


@pytest.mark.parametrize("url", BACKENDS[1:], indirect=True)
def test_what_copies_files_says_what_to_do_on_a_server(prep: Run, tmp_path: Path) -> None:
    assert prep("init").code == 0
    (tmp_path / "copy.db").write_bytes(b"")
    for command, instead in (
        (("backup",), "pg_dump"),
        (("backup", tmp_path / "new.db"), "prep db export FOLDER"),
        (("restore", tmp_path / "copy.db"), "prep db import FOLDER"),
    ):
        done = prep("db", *command)
        assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
        assert instead in done.err
    assert [path.name for path in tmp_path.iterdir()] == ["copy.db"]
