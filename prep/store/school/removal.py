"""Takes entries of the catalogue off, with the rows that belong to them, before others are written in their place."""

from collections.abc import Iterable
from typing import Any

from sqlalchemy import Connection

from prep.store import tables as t
from prep.store.table_rows import in_parts, table


def substances(connection: Connection, codes: Iterable[str]) -> None:
    """Take substances off, with the steps of their handling."""
    _drop(connection, codes, (t.MethodStepRow, "code"), (t.SubstanceRow, "code"))


def solutions(connection: Connection, codes: Iterable[str]) -> None:
    """Take solutions off, with their recipes and methods."""
    _drop(connection, codes, (t.IngredientRow, "solution"), (t.MethodStepRow, "code"), (t.SolutionRow, "code"))


def demos(connection: Connection, codes: Iterable[str]) -> None:
    """Take demos off, with what they need and leave."""
    _drop(connection, codes, (t.NeedRow, "demo"), (t.LeftoverRow, "demo"), (t.DemoRow, "code"))


def instruments(connection: Connection, codes: Iterable[str]) -> None:
    """Take instruments off."""
    _drop(connection, codes, (t.InstrumentRow, "code"))


def _drop(connection: Connection, codes: Iterable[str], *models: tuple[Any, str]) -> None:
    parts = list(in_parts(codes))
    for model, column in models:
        rows = table(model)
        for part in parts:
            connection.execute(rows.delete().where(rows.c[column].in_(part)))
