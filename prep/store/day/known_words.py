"""The codes and names on file, read by the standard library alone: what a shell completes must come at once."""

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

_QUERIES = {
    "bottle": "SELECT code FROM bottle WHERE status <> 'discarded' ORDER BY code",
    "solution": "SELECT code FROM solution ORDER BY code",
    "substance": "SELECT code FROM substance ORDER BY code",
    "demo": "SELECT code FROM demo ORDER BY code",
    "booking": "SELECT code FROM booking WHERE status = 'booked' ORDER BY \"on\", code",
    "order": "SELECT code FROM purchase WHERE status = 'placed' ORDER BY code",
    "place": "SELECT code FROM location ORDER BY walk_order, code",
}


def words(file: Path, kinds: Sequence[str]) -> list[str]:
    """Read the codes of these kinds from a SQLite inventory; none where it cannot be read now."""
    found: list[str] = []
    try:
        with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True, timeout=0.2)) as connection:
            for kind in kinds:
                try:
                    found += [row[0] for row in connection.execute(_QUERIES[kind])]
                except sqlite3.Error:  # an older file lacks this table or column: the other kinds can still be read
                    continue
    except sqlite3.Error:
        return found
    return found
