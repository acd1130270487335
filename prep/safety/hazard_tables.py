"""The packaged tables of hazards, read once: seed_data/tables/*.csv, every row with its source."""

from collections.abc import Mapping
from decimal import Decimal
from functools import cache

from prep.chemistry import quantities
from prep.chemistry.heat_of_solution import Warmth
from prep.resources import seed_table

Row = dict[str, str]


@cache
def rows(name: str) -> tuple[Row, ...]:
    """Read the rows of seed_data/tables/<name>.csv in their order, cells stripped."""
    return tuple(dict(zip(row, map(str.strip, row.values()), strict=True)) for row in seed_table(name))


@cache
def keyed(name: str, key: str) -> dict[str, Row]:
    """Index the rows of a table by one column; the first of equal keys wins."""
    found: dict[str, Row] = {}
    for row in rows(name):
        found.setdefault(row[key], row)
    return found


@cache
def split(cell: str) -> tuple[str, ...]:
    """Split a cell's list: parts between semicolons."""
    return tuple(part.strip() for part in cell.split(";") if part.strip())


def is_from_memory(source: str) -> bool:
    """Tell whether a source says that what it stands for was written from memory: it is to be checked."""
    return source.startswith("from memory")


def text_of(row: Mapping[str, str], degrees: Decimal | None) -> str:
    """Choose the words of a row of cautions.csv for what warms the whole by so many degC.

    Empty where it warms by nothing. `{name}` stands for the substance. Where the warmth is not known, the words for
    much of it.
    """
    if row["topic"] != "heat" or degrees is None or not row["where_warm"]:
        return row["text"]
    warmth = Warmth.of(degrees)
    if warmth >= Warmth.HOT:
        return row["text"]
    return row["where_warm"].replace("{degrees}", quantities.figures(abs(degrees), 1)) if warmth else ""
