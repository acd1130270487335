"""Stored databases of released revisions, opened by this program: rows, guards and books after the upgrade.

And an upgrade killed at any moment: the database is the old one or the new one, and whole.
"""

import os
import random
import sqlite3
import time
from contextlib import closing
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from prep.errors import PrepError, Refused
from prep.resources import url_of
from prep.services.inventory import backup, export
from prep.services.stock import changes, listing
from prep.services.stocktake import stocktake
from prep.store import migrate
from prep.store.database import open_engine, reading, writing
from tests.databases import create_tables, everything, kill, made_once
from tests.days import act
from tests.new_stored import DAY
from tests.store.test_migrate import NEXT, NOW, REBUILT, release

DATA = Path(__file__).with_name("data")
STORED = sorted(DATA.glob("revision_*.sql"))
KILLS = int(os.environ.get("PREP_TEST_KILLS", "16")) // 2
KEPT = ("job", "movement", "change", "bottle", "booking", "purchase", "stocktake", "tally", "signoff")


def build(dump: Path, path: Path) -> Path:
    """The stored database as a file."""
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript(dump.read_text(encoding="utf-8"))
    return path


def rows(path: Path, names: dict[str, list[str]]) -> dict[str, list[Any]]:
    """The rows of the columns that the stored revision had."""
    with closing(sqlite3.connect(path)) as raw:
        return {
            table: sorted(raw.execute(f"SELECT {', '.join(columns)} FROM {table}").fetchall(), key=repr)
            for table, columns in names.items()
        }


def columns(path: Path) -> dict[str, list[str]]:
    with closing(sqlite3.connect(path)) as raw:
        return {table: [f'"{row[1]}"' for row in raw.execute(f"PRAGMA table_info({table})")] for table in KEPT}


def schema(path: Path) -> set[tuple[str, ...]]:
    """What the database holds besides rows: tables, indexes, guards."""
    with closing(sqlite3.connect(path)) as raw:
        return set(raw.execute("SELECT type, name, tbl_name FROM sqlite_master WHERE name NOT LIKE 'sqlite_%'"))


def test_the_released_revisions_are_stored() -> None:
    """One is stored when it is released; between two releases a revision may still change."""
    assert next(dump.stem for dump in STORED) == "revision_0001"
    assert all(dump.stem.removeprefix("revision_") <= migrate.HEAD for dump in STORED)


@pytest.mark.parametrize("dump", STORED, ids=lambda dump: dump.stem)
def test_a_stored_database_is_brought_up_to_date_and_works(dump: Path, tmp_path: Path) -> None:
    path = build(dump, tmp_path / "old.db")
    had = columns(path)
    before = rows(path, had)
    backup.upgrade(path)
    after = rows(path, had)
    for table, kept in before.items():
        assert set(kept) <= set(after[table])
        assert kept == after[table] or table in ("job", "change")  # the upgrade writes down what stands there
    assert backup.check(path) == []
    new = open_engine(url_of(tmp_path / "new.db"))
    create_tables(new)
    new.dispose()
    assert schema(path) == schema(tmp_path / "new.db")
    engine = open_engine(url_of(path))
    for guarded in ("job", "movement", "change", "tally"):
        with pytest.raises(PrepError, match="append-only"), writing(engine) as connection:
            connection.execute(text(f"DELETE FROM {guarded}"))
    engine.dispose()
    salt = next(h for h in listing.list_stock(path, "sodium-chloride", None, False, None))
    assert salt.shown == "400 g"
    assert [count.status for count in stocktake.counts(path)] == ["closed"]
    use = min(m.job for m in listing.history(path, salt.code, 100) if m.kind == "use")
    with pytest.raises(Refused, match="signed off"):
        changes.undo(path, use, act("Ada", DAY))
    assert changes.use(path, salt.code, "80 g", "", act("Ada", DAY)).shown == "320 g"
    assert backup.check(path) == []


def _upgrade() -> None:
    engine = open_engine(url_of(None))
    migrate.bring_up(engine)
    engine.dispose()


def test_killed_in_an_upgrade_the_database_is_the_old_or_the_new_one(
    url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    export.export(build(STORED[0], tmp_path / "stored.db"), tmp_path / "stored")
    export.import_(None, tmp_path / "stored")
    before = everything(url)  # of the columns that this version knows
    release(tmp_path, monkeypatch)
    draw = random.Random(3)
    context = get_context("fork")  # the child knows the next release as this process does
    seen = set()
    for _ in range(KILLS):
        made_once(url, "stored", lambda: None)
        child = context.Process(target=_upgrade)
        child.start()
        time.sleep(draw.uniform(0.0, 0.3))
        kill(child, url)
        engine = open_engine(url)
        with reading(engine) as connection:
            seen.add(migrate.revision(connection))
        assert everything(url) == before
        assert [one for one in backup.check(None) if one.about not in REBUILT] == []  # opening it finishes the upgrade
        assert everything(url) == before
        with reading(engine) as connection:
            assert migrate.revision(connection) == NEXT
        engine.dispose()
    assert seen <= {NOW, NEXT}
