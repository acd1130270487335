"""What the room holds and measures with, read by the standard library alone: a calculation must come at once."""

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from decimal import Decimal, InvalidOperation
from pathlib import Path

from prep.chemistry.model import Instrument, InstrumentKind
from prep.records import record

_HELD = "SELECT DISTINCT item, strength FROM bottle WHERE status <> 'discarded' AND balance > 0"
_NAMES = "SELECT code, name, other_names FROM substance"
_INSTRUMENTS = (
    "SELECT code, name, kind, capacity, tolerance, resolution, grade, count, source FROM instrument "
    "WHERE count > 0 ORDER BY position"
)


@record(frozen=True, slots=True)
class RoomContents:
    """What is held: each item with the strength on a bottle of it, if any; the names on file; the instruments."""

    held: tuple[tuple[str, str | None], ...]
    names: frozenset[tuple[str, str, str]]
    instruments: tuple[Instrument, ...]

    @property
    def items(self) -> frozenset[str]:
        """The codes of which something is held."""
        return frozenset(item for item, _ in self.held)

    def strengths(self, items: Sequence[str]) -> list[str]:
        """List the strengths on the bottles of these items, as they are stored."""
        return sorted({strength for item, strength in self.held if item in items and strength})


def read(file: Path) -> RoomContents | None:
    """Read what the room holds from a SQLite inventory; None where it has another shape, or cannot be read now."""
    try:
        with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True, timeout=0.2)) as connection:
            held = tuple(connection.execute(_HELD))
            names = frozenset(connection.execute(_NAMES))
            owned = [_instrument(row) for row in connection.execute(_INSTRUMENTS)]
    except (sqlite3.Error, ValueError, InvalidOperation):
        return None
    return RoomContents(held, names, tuple(owned))


def _instrument(row: tuple[str, str, str, str, str, str, str, int, str]) -> Instrument:
    code, name, kind, capacity, tolerance, resolution, grade, count, source = row
    figures = (Decimal(capacity), Decimal(tolerance), Decimal(resolution))
    return Instrument(code, name, InstrumentKind(kind), *figures, grade, count, source)
