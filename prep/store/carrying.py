"""A whole database as plain rows, out and in: table by table, parents before children, nothing interpreted."""

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from typing import Any

from sqlalchemy import BigInteger, Connection, Date, Integer, Table, func, insert, select, text

from prep.errors import PrepError
from prep.planning.bounds import bounded
from prep.store.tables import metadata

AT_ONCE = 5000
Progress = Callable[[int], None]


def tables() -> list[Table]:
    """Every table, parents first."""
    return list(metadata.sorted_tables)


def count(connection: Connection) -> int:
    """Rows of all tables."""
    return sum(int(connection.execute(select(func.count()).select_from(one)).scalar_one()) for one in tables())


def rows(connection: Connection, table: Table) -> Iterator[dict[str, Any]]:
    """A table's rows by its key; dates as ISO text."""
    order = list(table.primary_key.columns)
    result = connection.execution_options(yield_per=AT_ONCE).execute(select(table).order_by(*order))
    dates = [c.name for c in table.columns if isinstance(c.type, Date)]
    for row in result.mappings():
        made = dict(row)
        for name in dates:
            if made[name] is not None:
                made[name] = made[name].isoformat()
        yield made


def put(connection: Connection, table: Table, lines: Iterable[dict[str, Any]], progress: Progress) -> int:
    """Write a table's rows as they were. Raises PrepError naming the row that does not fit the table."""
    names = [c.name for c in table.columns]
    fit: set[tuple[type, ...]] = set()  # patterns of types that were found to fit: there are few
    total = 0
    waiting: list[dict[str, Any]] = []
    for number, line in enumerate(lines, 1):
        if list(line) != names:
            if line.keys() != set(names):
                raise PrepError(f"{table.name}, row {number}: the columns are {', '.join(names)}.")
            line = {name: line[name] for name in names}
        pattern = tuple(map(type, line.values()))
        if pattern not in fit:
            _fits(table, line, number)
            fit.add(pattern)
        waiting.append(line)
        if len(waiting) == AT_ONCE:
            total += _write(connection, table, waiting, number)
            progress(len(waiting))
            waiting = []
    if waiting:
        total += _write(connection, table, waiting, total + len(waiting))
        progress(len(waiting))
    if connection.dialect.name == "postgresql":
        _advance(connection, table)
    return total


def _fits(table: Table, line: dict[str, Any], number: int) -> None:
    for column in table.columns:
        value = line[column.name]
        if value is None:
            if not column.nullable:
                raise PrepError(f'{table.name}, row {number}: "{column.name}" must not be empty.')
        elif type(value) is not _kind(column):
            raise PrepError(f'{table.name}, row {number}: "{column.name}" holds the wrong kind of value.')


def _write(connection: Connection, table: Table, lines: list[dict[str, Any]], last: int) -> int:
    dates = [c.name for c in table.columns if isinstance(c.type, Date)]
    if connection.dialect.name == "sqlite":  # dates are ISO text there already; the driver's own way is the fastest
        for name in dates:
            for line in lines:
                _day(table, name, line[name], last)
        names = [c.name for c in table.columns]
        quoted = ", ".join(f'"{name}"' for name in names)
        marks = ", ".join("?" * len(names))
        connection.exec_driver_sql(
            f'INSERT INTO "{table.name}" ({quoted}) VALUES ({marks})',
            [tuple(line.values()) for line in lines],
        )
        return len(lines)
    connection.execute(
        insert(table), [line | {name: _day(table, name, line[name], last) for name in dates} for line in lines]
    )
    return len(lines)


def _day(table: Table, column: str, value: Any, last: int) -> date | None:
    if value is None:
        return None
    try:
        return bounded(date.fromisoformat(value))
    except ValueError:
        why = "is no date."
    except PrepError as problem:
        why = str(problem)
    raise PrepError(f'{table.name}, one of the rows up to {last}: "{column}" {why}')


def _kind(column: Any) -> type:
    return int if isinstance(column.type, Integer | BigInteger) else str


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
