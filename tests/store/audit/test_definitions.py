"""The check compares the tables themselves: a rule taken out of one lets in what no row betrays."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Engine, text

from prep.store.audit import definitions
from prep.store.check import check
from prep.store.database import open_engine, path_of, reading, writing
from tests.databases import BACKENDS, create_tables


def made(url: str) -> Engine:
    """An inventory whose tables the migrations made, as every school's are."""
    engine = open_engine(url)
    create_tables(engine)
    return engine


def named(engine: Engine) -> list[str]:
    with reading(engine) as connection:
        return [finding.about for finding in check(connection) if finding.code == "altered"]


def test_what_the_migrations_make_is_what_the_program_knows(url: str) -> None:
    engine = made(url)
    assert named(engine) == []
    engine.dispose()


REWRITTEN = {
    "a check": ("bottle", "CHECK (balance >= 0)", "CHECK (1)"),
    "a key": ("movement", "FOREIGN KEY(job) REFERENCES job (id)", "CHECK (1)"),
    "what must not be empty": ("job", "note TEXT NOT NULL", "note TEXT"),
    "a blank within a text": ("bottle", "'in service'", "'inservice'"),
}


@pytest.mark.parametrize("what", REWRITTEN)
def test_a_rule_rewritten_in_the_file_is_found(tmp_path: Path, what: str) -> None:
    engine = made(f"sqlite:///{tmp_path / 'a.db'}")
    table, before, after = REWRITTEN[what]
    path = path_of(engine)
    assert path
    with closing(sqlite3.connect(path, isolation_level=None)) as raw:
        raw.execute("PRAGMA writable_schema = ON")
        changed = "UPDATE sqlite_master SET sql = replace(sql, ?, ?) WHERE name = ? AND instr(sql, ?) > 0"
        assert raw.execute(changed, (before, after, table, before)).rowcount == 1
    assert named(engine) == [f"table {table}"]
    engine.dispose()


def test_tables_and_views_that_are_not_ours_are_named_and_the_figures_of_analyze_are_not(tmp_path: Path) -> None:
    engine = made(f"sqlite:///{tmp_path / 'a.db'}")
    with closing(sqlite3.connect(tmp_path / "a.db", isolation_level=None)) as raw:
        raw.execute("ANALYZE")
        raw.execute("CREATE TABLE other (x)")
        raw.execute("CREATE VIEW seen AS SELECT * FROM job")
    assert named(engine) == ["table other", "view seen"]
    with closing(sqlite3.connect(tmp_path / "a.db", isolation_level=None)) as raw:
        raw.execute("ALTER TABLE alembic_version ADD COLUMN note TEXT")
    assert named(engine) == ["table alembic_version", "table other", "view seen"]
    engine.dispose()


LOOSENED = {
    "a check": ("bottle", "ALTER TABLE bottle DROP CONSTRAINT ck_bottle_balance_not_below_zero"),
    "a key": ("movement", "ALTER TABLE movement DROP CONSTRAINT fk_movement_job"),
    "what must not be empty": ("job", "ALTER TABLE job ALTER note DROP NOT NULL"),
}


@pytest.mark.parametrize("what", LOOSENED)
@pytest.mark.parametrize("url", BACKENDS[1:], indirect=True)
def test_a_rule_dropped_on_a_server_is_found(url: str, what: str) -> None:
    engine = made(url)
    table, statement = LOOSENED[what]
    with writing(engine) as connection:
        connection.execute(text(statement))
        connection.execute(text("CREATE TABLE somebodys (x int)"))
    assert named(engine) == [f"table {table}"]
    engine.dispose()


def test_clauses_are_the_same_in_any_order_and_spelling() -> None:
    one = "CREATE TABLE a (\n\tcode TEXT NOT NULL, \"full\" BIGINT, CONSTRAINT ck CHECK (x IN ('a, b', 'c (d')))"
    other = "create table [a] (CONSTRAINT ck CHECK (x in ('a, b','c (d')), `code` text not null, full bigint)"
    assert definitions.clauses(one) == definitions.clauses(other)
    assert len(definitions.clauses(one)) == 3
