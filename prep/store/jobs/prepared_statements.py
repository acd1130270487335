"""Statements of each job as ready text: while others wait for the lock, none is put together out of its parts."""

from collections.abc import Mapping, Sequence
from datetime import date
from enum import Enum
from functools import cache
from typing import Any

from sqlalchemy import Connection, CursorResult, Table


def run(connection: Connection, sql: str, *values: Any) -> CursorResult[*tuple[Any, ...]]:
    """Run a statement in which each value stands as `?`. Dates go in, and on SQLite come out, as ISO text."""
    return connection.exec_driver_sql(_marked(sql, connection.dialect.name), tuple(map(_plain, values)))


def insert(connection: Connection, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Insert rows of the same columns."""
    sql = _marked(_insert(table.name, tuple(rows[0])), connection.dialect.name)
    lot = [tuple(map(_plain, row.values())) for row in rows]
    connection.exec_driver_sql(sql, lot if len(lot) > 1 else lot[0])


def insert_numbered(connection: Connection, table: Table, row: Mapping[str, Any]) -> int:
    """Insert a row and return the number that it was given as its `id`."""
    return int(run(connection, f"{_insert(table.name, tuple(row))} RETURNING id", *row.values()).scalar_one())


def update(connection: Connection, table: Table, code: str, values: Mapping[str, Any]) -> None:
    """Set columns of the row of a code."""
    shown = ", ".join(f'"{name}" = ?' for name in values)
    run(connection, f'UPDATE "{table.name}" SET {shown} WHERE code = ?', *values.values(), code)


def day(value: Any) -> date:
    """Convert a day as `run` reads it, text or date, to a date."""
    return date.fromisoformat(value) if isinstance(value, str) else value


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    return value.value if isinstance(value, Enum) else value


@cache
def _insert(table: str, names: tuple[str, ...]) -> str:
    columns = ", ".join(f'"{name}"' for name in names)
    return f'INSERT INTO "{table}" ({columns}) VALUES ({", ".join("?" * len(names))})'


@cache
def _marked(sql: str, dialect: str) -> str:
    return sql if dialect == "sqlite" else sql.replace("?", "%s")
