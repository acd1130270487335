"""A table's rows as a file that can be read again, equal: JSON lines, or CSV that no spreadsheet runs."""

import csv
import json
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from prep.errors import PrepError
from prep.resources import refuse_no_file
from prep.services.files.formula_guard import harmless, plain
from prep.store.copies.dump import DumpField

_CHUNK = 1_000_000  # bytes read at once, about
_WHOLE = re.compile(r"-?[0-9]{1,30}")
Row = dict[str, Any]


def write(path: Path, fields: Sequence[DumpField], rows: Iterable[Row]) -> int:
    """Write rows to a new file and return how many."""
    return _write_csv(path, fields, rows) if path.suffix == ".csv" else _write_json(path, rows)


def read(path: Path, fields: Sequence[DumpField]) -> Iterator[Row]:
    """Read the rows that `write` wrote. Raises PrepError naming the row that cannot be read; for what is no file."""
    refuse_no_file(path)
    try:
        yield from _read_csv(path, fields) if path.suffix == ".csv" else _read_json(path)
    except UnicodeDecodeError:
        raise PrepError(f"{path.name}: not UTF-8 text.") from None
    except OSError as problem:
        raise PrepError(f"{path}: {problem.strerror or 'cannot be read'}.") from None


def _write_json(path: Path, rows: Iterable[Row]) -> int:
    number, encode = 0, json.JSONEncoder(ensure_ascii=False).encode
    with path.open("w", encoding="utf-8", newline="\n") as file:
        for number, row in enumerate(rows, 1):  # noqa: B007
            file.write(encode(row) + "\n")
    return number


def _read_json(path: Path) -> Iterator[Row]:
    with path.open(encoding="utf-8", newline="\n") as file:
        first = 1
        while lines := file.readlines(_CHUNK):
            yield from _parsed(path.name, first, lines)
            first += len(lines)


def _write_csv(path: Path, fields: Sequence[DumpField], rows: Iterable[Row]) -> int:
    """Write rows as CSV in which no spreadsheet runs a formula, with the byte order mark of UTF-8; their number."""
    number = 0
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(field.name for field in fields)
        for number, row in enumerate(rows, 1):  # noqa: B007
            writer.writerow([_cell(row[field.name], field.may_be_empty) for field in fields])
    return number


def _cell(value: Any, may_be_empty: bool) -> Any:
    """Write a value as a cell; an apostrophe marks an empty text where nothing (NULL) may stand as well."""
    if type(value) is not str:
        return value
    return f"{value}'" if may_be_empty and not value.strip("'") else harmless(value)


def _reader(kind: type, may_be_empty: bool) -> Callable[[str], Any]:
    """Choose the reader of the cells of a column that `_cell` wrote."""
    read = _figure if kind is int else plain
    if not may_be_empty:
        return read
    return lambda cell: None if not cell else read(cell) if cell.strip("'") else cell[1:]


def _figure(cell: str) -> int | str:
    """Read a whole number; text where one should be is left for the table to refuse."""
    return int(cell) if _WHOLE.fullmatch(cell) else cell


def _read_csv(path: Path, fields: Sequence[DumpField]) -> Iterator[Row]:
    names = [field.name for field in fields]
    readers = [_reader(field.kind, field.may_be_empty) for field in fields]
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.reader(file, strict=True)
        try:
            if next(reader, []) != names:
                raise PrepError(f"{path.name}, row 1: the columns are {', '.join(names)}, divided by commas.")
            for number, line in enumerate(reader, 2):
                if len(line) != len(names):
                    raise PrepError(f"{path.name}, row {number}: {len(line)} cells, where {len(names)} belong.")
                yield {name: read(cell) for name, read, cell in zip(names, readers, line, strict=True)}
        except csv.Error as problem:
            raise PrepError(
                f"{path.name}, line {reader.line_num}: no table of comma-separated values ({problem})."
            ) from None


def _parsed(name: str, first: int, lines: list[str]) -> list[Row]:
    """Parse the rows of some lines together; one by one only to name the line that cannot be read."""
    try:
        rows = json.loads(f"[{','.join(lines)}]")
        if len(rows) == len(lines) and all(type(row) is dict for row in rows):
            return list(rows)
    except (ValueError, RecursionError):
        pass
    rows = []
    for number, line in enumerate(lines, first):
        try:
            row = json.loads(line)
        except (ValueError, RecursionError):
            raise PrepError(f"{name}, row {number}: this is no line of JSON.") from None
        if type(row) is not dict:
            raise PrepError(f"{name}, row {number}: this is no row of a table.")
        rows.append(row)
    return rows
