"""Takes over what is sound of a damaged copy: every row that can be read, and whose parents can."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

from sqlalchemy import Connection

from prep.store import guards
from prep.store.copies import dump


def copy_sound_rows(copy: Path, connection: Connection) -> dict[str, int]:
    """Copy every row that can be read into a new inventory, less the seals; returns how many of each table.

    The guards are off afterwards, and foreign keys are looked at when the transaction ends.
    """
    rows: dict[str, int] = {}
    with closing(sqlite3.connect(copy)) as source:
        source.text_factory = lambda raw: raw.decode("utf-8", "replace")
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        guards.drop(connection)
        for table in dump.tables():
            names = [c.name for c in table.columns]
            rows[table.name] = 0
            for row in _sound(source, table.name, names) if table.name != "seal" else ():
                marks = ", ".join("?" * len(names))
                columns = ", ".join(f'"{name}"' for name in names)
                with suppress(Exception):  # a row that the table's own rules refuse is damaged, too
                    connection.exec_driver_sql(
                        f'INSERT OR IGNORE INTO "{table.name}" ({columns}) VALUES ({marks})', row
                    )
                    rows[table.name] += 1
    return rows


def _sound(source: sqlite3.Connection, table: str, names: list[str]) -> Iterator[tuple[Any, ...]]:
    """Read the rows of a damaged table that can be read, from both ends towards the damage."""
    columns = ", ".join(f'"{name}"' for name in names)
    seen: set[int] = set()
    for way in ("ASC", "DESC"):
        with suppress(sqlite3.Error):
            for number, *row in source.execute(
                f'SELECT rowid, {columns} FROM "{table}" NOT INDEXED ORDER BY rowid {way}'
            ):
                if number in seen:
                    return
                seen.add(number)
                yield tuple(row)


def drop_orphans(connection: Connection) -> int:
    """Take away rows whose parents are lost; returns how many."""
    gone = 0
    while bad := connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall():
        for table, number, *_ in bad:
            connection.exec_driver_sql(f'DELETE FROM "{table}" WHERE rowid = ?', (number,))
            gone += 1
    return gone
