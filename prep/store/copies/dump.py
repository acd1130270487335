"""A whole database as plain rows, out and in: table by table, parents before children, nothing interpreted."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import BigInteger, Boolean, Connection, Date, Integer, Table, Text, collate, func, select, text

from prep.dates import bounded
from prep.errors import PrepError
from prep.store import bulk
from prep.store.tables import metadata

_PASSING = {"session", "invitation", "token", "submission"}
"""Keys that open the page now: they are never carried out."""


def tables() -> list[Table]:
    """List every table that a dump carries, parents first."""
    known = [table for table in metadata.sorted_tables if table.name not in _PASSING]
    return sorted(known, key=lambda one: one.name == "seal")  # a sealed job takes no more lines


@dataclass(frozen=True, slots=True)
class DumpField:
    """A column of a table: int or str (dates are ISO text, yes and no 1 and 0), and whether it may be empty."""

    name: str
    kind: type
    may_be_empty: bool


def fields(table: Table) -> list[DumpField]:
    """List a table's columns."""
    return [DumpField(c.name, _kind(c), bool(c.nullable)) for c in table.columns]


def count(connection: Connection) -> int:
    """Count the rows of all tables."""
    return sum(int(connection.execute(select(func.count()).select_from(one)).scalar_one()) for one in tables())


def rows(connection: Connection, table: Table) -> Iterator[dict[str, Any]]:
    """Read a table's rows by its key, in one order on every database; dates as ISO text."""
    order: list[Any] = list(table.primary_key.columns)
    if connection.dialect.name == "postgresql":
        order = [collate(key, "C") if isinstance(key.type, Text) else key for key in order]
    result = connection.execution_options(yield_per=bulk.AT_ONCE).execute(select(table).order_by(*order))
    dates = [c.name for c in table.columns if isinstance(c.type, Date)]
    yes_or_no = [c.name for c in table.columns if isinstance(c.type, Boolean)]
    for row in result.mappings():
        made = dict(row)
        made |= {name: int(made[name]) for name in yes_or_no if made[name] is not None}
        for name in dates:
            if made[name] is not None:
                made[name] = made[name].isoformat()
        yield made


def put(connection: Connection, table: Table, lines: Iterable[dict[str, Any]], more: Callable[[int], None]) -> int:
    """Write a table's rows as they were. Raises PrepError naming the row that does not fit the table."""
    columns = [c.name for c in table.columns]
    try:
        total = bulk.insert(connection, table, columns, _fitting(table, columns, lines), more)
    except OverflowError:
        raise PrepError(f"{table.name}: a number in it is larger than any that an inventory holds.") from None
    if connection.dialect.name == "postgresql":
        _advance(connection, table)
    return total


def _fitting(table: Table, columns: list[str], lines: Iterable[dict[str, Any]]) -> Iterator[tuple[Any, ...]]:
    fit: set[tuple[type, ...]] = set()  # patterns of types that were found to fit: there are few
    dates = [c.name for c in table.columns if isinstance(c.type, Date)]
    yes_or_no = [c.name for c in table.columns if isinstance(c.type, Boolean)]
    days: set[str | None] = {None}  # that were found to be dates
    for number, line in enumerate(lines, 1):
        if list(line) != columns:
            if line.keys() != set(columns):
                raise PrepError(f"{table.name}, row {number}: the columns are {', '.join(columns)}.")
            line = {name: line[name] for name in columns}
        pattern = tuple(map(type, line.values()))
        if pattern not in fit:
            _fits(table, line, number)
            fit.add(pattern)
        for name in dates:
            if (day := line[name]) not in days:
                _day(table, name, day, number)
                days.add(day)
        for name in yes_or_no:
            if line[name] not in (None, 0, 1):
                raise PrepError(f'{table.name}, row {number}: "{name}" is 1 (yes) or 0 (no).')
        if yes_or_no:
            line = line | {name: bool(line[name]) for name in yes_or_no if line[name] is not None}
        yield tuple(line.values())


def _fits(table: Table, line: dict[str, Any], number: int) -> None:
    for column in table.columns:
        value = line[column.name]
        if value is None:
            if not column.nullable:
                raise PrepError(f'{table.name}, row {number}: "{column.name}" must not be empty.')
        elif type(value) is not _kind(column):
            raise PrepError(f'{table.name}, row {number}: "{column.name}" holds the wrong kind of value.')


def _day(table: Table, column: str, value: str, number: int) -> None:
    try:
        if bounded(date.fromisoformat(value)).isoformat() == value:
            return
        why = "is no date as year-month-day."
    except ValueError:
        why = "is no date."
    except PrepError as problem:
        why = str(problem)
    raise PrepError(f'{table.name}, row {number}: "{column}" {why}')


def _kind(column: Any) -> type:
    return int if isinstance(column.type, Integer | BigInteger | Boolean) else str


def _advance(connection: Connection, table: Table) -> None:
    """Let the numbers that the server gives go on after those that came in."""
    key = list(table.primary_key.columns)
    if len(key) == 1 and isinstance(key[0].type, Integer):
        name = key[0].name
        connection.execute(
            text(
                f"SELECT setval(pg_get_serial_sequence('{table.name}', '{name}'), "
                f'(SELECT coalesce(max("{name}"), 0) + 1 FROM "{table.name}"), false)'
            )
        )
