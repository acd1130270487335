"""The inventory out as plain files and in again, equal; copies put back only when they are clean; upgrades."""

import json
import shutil
import sqlite3
from pathlib import Path

import pytest

from tests.cli.conftest import Run


def everything(path: Path) -> dict[str, list[tuple[object, ...]]]:
    with sqlite3.connect(path) as file:
        names = [n for (n,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
        return {name: sorted(file.execute(f'SELECT * FROM "{name}"'), key=repr) for name in names}


@pytest.fixture
def busy(inventory: Run, tmp_path: Path) -> tuple[Run, Path]:
    """An inventory in which a little of everything has happened."""
    prep = inventory
    assert prep("make", "hcl-2", "--volume", "1 L", "--log").code == 0
    booked = prep("book", "add", "thiosulfate-rate", "--on", "2099-01-05", "--closed", "--json").json["code"]
    assert prep("book", "done", booked, "--used", "hcl-2=20 mL").code == 0
    assert prep("order", "placed", "sodium-chloride").code == 0
    bottle = prep("stock", "list", "--item", "sodium-chloride", "--json").json[0]["code"]
    assert prep("stock", "use", bottle, "12.345678 g", "--reason", '=cmd|"x"!A1, élève\u2028').code == 2
    assert prep("stock", "use", bottle, "12.345678 g", "--reason", "=1+1, élève ☃").code == 0
    assert prep("count", "open").code == 0
    assert prep("count", "enter", bottle, "900 g").code == 0
    assert prep("count", "close", "--partial", "--as-counted").code == 0
    return prep, tmp_path / "inventory.db"


def test_out_and_in_again_is_equal(busy: tuple[Run, Path], tmp_path: Path) -> None:
    prep, file = busy
    done = prep("db", "export", tmp_path / "out", "--json")
    assert done.code == 0, done.err
    assert done.json["rows"]["signoff"] == 1
    assert prep("db", "export", tmp_path / "out").code == 2
    back = tmp_path / "back.db"
    done = prep("db", "import", tmp_path / "out", "--db", back)
    assert done.code == 0, done.err
    assert everything(back) == everything(file)
    assert prep("db", "check", "--db", back).code == 0
    again = prep("db", "export", tmp_path / "again", "--db", back)
    assert again.code == 0
    for part in (tmp_path / "out").iterdir():
        assert part.read_bytes() == (tmp_path / "again" / part.name).read_bytes()
    assert prep("db", "import", tmp_path / "out", "--db", back).code == 2  # nothing is written over
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
    busy: tuple[Run, Path], tmp_path: Path, name: str, change: object, says: str
) -> None:
    import re

    prep, _ = busy
    out = tmp_path / "out"
    assert prep("db", "export", out).code == 0
    if isinstance(change, dict):
        _edit(out, name, change)
    elif change is None:
        (out / name).write_text("")
    else:
        (out / name).write_text(str(change))
    done = prep("db", "import", out, "--db", tmp_path / "new.db")
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
    assert re.search(says, done.err), done.err
    assert not list(tmp_path.glob("new.db*"))


def test_a_copy_is_put_back_and_what_was_there_is_kept(busy: tuple[Run, Path], tmp_path: Path) -> None:
    prep, file = busy
    copy = tmp_path / "copy.db"
    assert prep("db", "backup", copy).code == 0
    before = everything(file)
    assert prep("stock", "receive", "urea", "5 g").code == 0
    after = everything(file)
    done = prep("db", "restore", copy, "--json")
    assert done.code == 0, done.err
    assert everything(file) == before
    assert everything(Path(done.json["kept"])) == after
    assert prep("stock", "receive", "urea", "5 g").code == 0
    assert prep("db", "restore", file).code == 2


@pytest.mark.parametrize("harm", ["truncated", "flipped", "balance", "guard", "foreign", "newer", "text", "missing"])
def test_a_copy_that_is_not_clean_replaces_nothing(busy: tuple[Run, Path], tmp_path: Path, harm: str) -> None:
    prep, file = busy
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
    before = everything(file)
    there = sorted(p.name for p in tmp_path.iterdir() if "copy" not in p.name)
    done = prep("db", "restore", copy)
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1), done
    assert "copy.db" in done.err
    assert everything(file) == before
    assert sorted(p.name for p in tmp_path.iterdir() if "copy" not in p.name) == there


def test_a_damaged_inventory_is_put_aside(busy: tuple[Run, Path], tmp_path: Path) -> None:
    prep, file = busy
    copy = tmp_path / "copy.db"
    assert prep("db", "backup", copy).code == 0
    before = everything(file)
    for end in ("-wal", "-shm"):
        file.with_name(file.name + end).unlink(missing_ok=True)
    file.write_bytes(file.read_bytes()[:30_000])
    assert prep("stock", "list").code == 2
    done = prep("db", "restore", copy, "--json")
    assert done.code == 0, done.err
    assert everything(file) == before
    assert "damaged" in done.json["kept"]


def test_upgrade_says_that_nothing_is_to_do_and_puts_guards_back(busy: tuple[Run, Path]) -> None:
    prep, file = busy
    with sqlite3.connect(file) as other:
        other.execute("DROP TRIGGER guard_movement_delete")
    other.close()
    assert prep("db", "check").code == 1
    done = prep("db", "upgrade", "--json")
    assert done.json == {"before": "0001", "after": "0001", "backup": None}
    assert prep("db", "check").code == 0


def test_upgrade_where_there_is_none(prep: Run, tmp_path: Path) -> None:
    assert prep("db", "upgrade").code == 2
    assert list(tmp_path.iterdir()) == []
    shutil.rmtree(tmp_path)
