"""The check finds what somebody changed behind the ledger's back."""

import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import Connection, Engine, text

from prep.errors import PrepError
from prep.store import guards
from prep.store.check import check
from prep.store.engine import open_engine, reading, url_of, writing
from tests.databases import BACKENDS, create_tables
from tests.store.conftest import fill_up


def unguard(connection: Connection) -> None:
    for name in guards.names(connection.dialect.name):
        where = (
            f" ON {name.removeprefix('guard_').rpartition('_')[0]}" if connection.dialect.name == "postgresql" else ""
        )
        connection.execute(text(f"DROP TRIGGER {name}{where}"))


def codes(engine: Engine) -> list[tuple[str, str]]:
    with reading(engine) as connection:
        return [(finding.code, finding.about) for finding in check(connection)]


def test_clean_books_give_no_finding(engine: Engine) -> None:
    assert codes(engine) == []


def test_a_tampered_balance_is_found_with_both_figures(engine: Engine) -> None:
    with writing(engine) as connection:
        connection.execute(text("UPDATE bottle SET balance = 999 WHERE code = 'V'"))
    with reading(engine) as connection:
        (found,) = check(connection)
    assert (found.severity, found.code, found.about) == ("stop", "balance", "V")
    assert "0.999 µL" in found.message
    assert "1 µL" in found.message


def test_a_tampered_movement_is_found_and_so_are_the_dropped_guards(engine: Engine) -> None:
    with writing(engine) as connection:
        unguard(connection)
        connection.execute(text("UPDATE movement SET amount = amount + 1 WHERE bottle = 'W'"))
    assert codes(engine) == [("balance", "W"), *(("no-guard", name) for name in guards.names(engine.dialect.name))]
    with writing(engine) as connection:
        guards.create(connection)
    assert codes(engine) == [("balance", "W")]


@pytest.mark.parametrize("url", BACKENDS[1:], indirect=True)
def test_a_server_has_more_ways_round_the_guards(engine: Engine) -> None:
    """A table emptied as a whole is refused; a guard that is switched off is as good as none."""
    with pytest.raises(PrepError, match="append-only"), writing(engine) as connection:
        connection.execute(text("TRUNCATE movement"))
    with writing(engine) as connection:
        connection.execute(text("ALTER TABLE change DISABLE TRIGGER guard_change_delete"))
    assert codes(engine) == [("no-guard", "guard_change_delete")]
    with writing(engine) as connection:
        guards.create(connection)
    assert codes(engine) == []


def test_a_deleted_movement_is_found(engine: Engine) -> None:
    with writing(engine) as connection:
        unguard(connection)
        connection.execute(text("DELETE FROM movement WHERE bottle = 'V'"))
        guards.create(connection)
    assert codes(engine) == [("balance", "V")]


def test_a_missing_table_is_found(engine: Engine) -> None:
    with writing(engine) as connection:
        connection.execute(text("DROP TABLE closed"))
    assert codes(engine) == [("no-table", "closed")]


def test_a_row_without_its_parent_is_found(tmp_path: Path) -> None:
    engine = open_engine(url_of(tmp_path / "a.db"))  # PostgreSQL lets nobody make such a row
    create_tables(engine)
    fill_up(engine)
    engine.dispose()
    raw = sqlite3.connect(tmp_path / "a.db")
    with raw:
        raw.execute("UPDATE bottle SET location = 'nowhere' WHERE code = 'V'")
    raw.close()
    assert codes(engine) == [("no-parent", "bottle")]
