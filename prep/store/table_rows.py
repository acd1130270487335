"""Rows of the tables, before anything is made of them: what every reader of the store begins with."""

import json
from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Table, func, select

from prep.store.tables import SettingRow

AT_ONCE = 500
"""As many values as one statement names; older SQLite takes no more than 999."""


def table(model: Any) -> Table:
    """Find the SQLAlchemy table of a table model."""
    found: Table = model.__table__
    return found


def by_number(code: ColumnElement[str]) -> tuple[ColumnElement[Any], ...]:
    """Order by codes of letters and a number as people count: P2 before P10."""
    return func.length(code), code


def in_parts(codes: Iterable[str]) -> Iterator[list[str]]:
    """Split codes, in order, into lists as long as a statement may name at once."""
    wanted = sorted(set(codes))
    for start in range(0, len(wanted), AT_ONCE):
        yield wanted[start : start + AT_ONCE]


def all_rows(connection: Connection, model: Any, *order: str) -> list[Row[Any]]:
    """Read every row of a table, in the order of the columns named."""
    source = table(model)
    return list(connection.execute(select(source).order_by(*(source.c[name] for name in order))))


def settings(connection: Connection) -> dict[str, Any]:
    """Read every setting by key."""
    return {row.key: json.loads(row.value) for row in all_rows(connection, SettingRow, "key")}
