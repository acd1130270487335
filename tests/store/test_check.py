"""The check finds what somebody changed behind the ledger's back."""

import sqlite3
from hashlib import sha256
from pathlib import Path

import pytest
from sqlalchemy import Connection, Engine, Text, text

from prep.errors import PrepError
from prep.resources import url_of
from prep.store import guards
from prep.store.check import check
from prep.store.database import open_engine, reading, writing
from prep.store.tables import metadata
from tests.databases import BACKENDS, create_tables
from tests.store.conftest import fill_up


def unguard(connection: Connection) -> None:
    guards.drop(connection)


def codes(engine: Engine) -> list[tuple[str, str]]:
    with reading(engine) as connection:
        return [(finding.code, finding.about) for finding in check(connection)]


BROKEN = ("seal", "job 1")


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
    gone = (("no-guard", name) for name in guards.names(engine.dialect.name))
    assert codes(engine) == [("balance", "W"), *gone, BROKEN]
    with writing(engine) as connection:
        guards.create(connection)
    assert codes(engine) == [("balance", "W"), BROKEN]


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
    assert codes(engine) == [("balance", "V"), BROKEN]


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
    assert codes(engine) == [("no-parent", "bottle"), ("record", "bottle V")]


def test_a_movement_whose_balance_is_mended_too_is_found(engine: Engine) -> None:
    with writing(engine) as connection:
        guards.drop(connection)
        connection.execute(text("UPDATE movement SET amount = 900 WHERE bottle = 'V'"))
        connection.execute(text("UPDATE bottle SET balance = 900 WHERE code = 'V'"))
        guards.create(connection)
    assert codes(engine) == [BROKEN]


@pytest.mark.parametrize("url", BACKENDS[:1], indirect=True)
@pytest.mark.parametrize(
    "statement",
    [
        "INSERT OR REPLACE INTO movement (id, job, bottle, amount, reason) SELECT id, job, bottle, 7, '' FROM movement",
        "INSERT OR REPLACE INTO bottle SELECT * FROM bottle",
        "INSERT OR REPLACE INTO seal SELECT * FROM seal",
        "UPDATE OR REPLACE job SET note = 'x'",
        "DELETE FROM bottle",
    ],
)
def test_nothing_on_the_books_is_replaced(engine: Engine, statement: str) -> None:
    with pytest.raises(PrepError, match=r"append-only|no more lines"), writing(engine) as connection:
        connection.execute(text(statement))


def test_a_job_that_is_done_takes_no_more_lines(engine: Engine) -> None:
    for statement in (
        "INSERT INTO movement (job, bottle, amount, reason) VALUES (1, 'V', 5, '')",
        "INSERT INTO change (job, kind, code, field) VALUES (1, 'bottle', 'V', 'lot')",
    ):
        with pytest.raises(PrepError, match="takes no more lines"), writing(engine) as connection:
            connection.execute(text(statement))


def test_a_changed_record_is_found_with_its_field(engine: Engine) -> None:
    for statement, about in (
        ("UPDATE bottle SET status = 'quarantine' WHERE code = 'V'", "bottle V"),
        ("UPDATE bottle SET lot = 'L1' WHERE code = 'W'", "bottle W"),
        ("UPDATE substance SET cas = '7732-18-5'", "substance acid"),
        ("DELETE FROM location WHERE code = 'B'", "location B"),
    ):
        with engine.connect().execution_options(write=True) as connection, connection.begin():
            connection.execute(text(statement))
        assert codes(engine)[-1] in [("record", about), *(("record", f"bottle {one}") for one in "VW")]


@pytest.mark.parametrize("url", BACKENDS[:1], indirect=True)
def test_a_guard_or_an_index_that_says_something_else_is_found(engine: Engine) -> None:
    with writing(engine) as connection:
        connection.execute(text("DROP TRIGGER guard_job_update"))
        connection.execute(text("CREATE TRIGGER guard_job_update BEFORE UPDATE ON job BEGIN SELECT 1; END"))
        connection.execute(text("DROP INDEX ix_movement_job"))
        connection.execute(text("CREATE INDEX ix_mine ON movement (amount)"))
    found = [about for code, about in codes(engine) if code == "altered"]
    assert found == ["index ix_mine", "index ix_movement_job", "trigger guard_job_update"]


@pytest.mark.parametrize("url", BACKENDS[:1], indirect=True)
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE job SET by = CAST(by AS BLOB)",
        "UPDATE movement SET amount = x'37'",
        "UPDATE movement SET amount = amount || char(0) || '9'",
    ],
)
def test_bytes_where_a_text_or_a_number_belongs_are_found(engine: Engine, statement: str) -> None:
    """Joined to a text, as the seals do, bytes look like it; compared with it, as every list does, they are not."""
    table = statement.split()[1]
    with writing(engine) as connection:
        guards.drop(connection)
        connection.execute(text(statement))
        guards.create(connection)
    assert ("bytes", table) in codes(engine)


@pytest.mark.parametrize("url", BACKENDS[:1], indirect=True)
@pytest.mark.parametrize("cell", ["movement.reason", "job.note", 'job."on"', "change.after"])
def test_what_is_hidden_behind_the_end_of_a_text_breaks_the_seal(engine: Engine, cell: str) -> None:
    """C ends a text at its first NUL, and so do functions of SQLite ("NUL characters in strings", sqlite.org)."""
    table, _, column = cell.partition(".")
    with writing(engine) as connection:
        guards.drop(connection)
        connection.execute(text(f"UPDATE {table} SET {column} = {column} || char(0) || 'more'"))
        guards.create(connection)
    assert BROKEN in codes(engine)


def test_a_seal_is_the_digest_of_all_that_its_job_wrote(engine: Engine) -> None:
    """Worked out a second time, row by row: every column by its name, texts with their length, what is empty left out.

    It is what the papers of signed counts hold, so no change of the program may change it.
    """
    with writing(engine) as connection:
        connection.execute(text("UPDATE substance SET name = 'Ätzkali'"))
    with reading(engine) as connection:
        seals = dict(list(connection.exec_driver_sql("SELECT job, digest FROM seal ORDER BY job")))
        before = ""
        for job, digest in seals.items():
            said = before
            for name in ("job", "batch", "change", "movement"):
                types = {c.name: c.type for c in metadata.tables[name].columns}
                chosen = ", ".join(f'"{column}"' for column in types)
                key, order = ("id", "id") if name == "job" else ("job", "bottle" if name == "batch" else "id")
                rows = connection.exec_driver_sql(f'SELECT {chosen} FROM "{name}" WHERE {key} = {job} ORDER BY {order}')
                for row in rows:
                    said += f"{name}:"
                    for column, value in zip(types, row, strict=True):
                        if isinstance(types[column], Text) and value is not None:
                            said += f"{column}={len(value)}:{value};"
                        elif value is not None:
                            said += f"{column}={value};"
            assert digest == sha256(said.encode()).hexdigest()
            before = digest
    assert len(seals) > 1
