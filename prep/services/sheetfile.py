"""A table from a spreadsheet, row by row: what is wrong with one row does not keep the others from being read.

Columns are matched by name, by other names for them, or as a person maps them.
"""

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from prep.errors import PrepError
from prep.services.tablefile import Row, read_text

_COMMA = re.compile(r"^(\D*)([0-9]+),([0-9]+)(?![0-9.,])(.*)$", re.DOTALL)


def point(text: str, *, sure: bool = False) -> str:
    """A number written with a decimal comma, with a point.

    Raises PrepError where the comma may be a thousand's, unless it is `sure` to be none.
    """
    if not (found := _COMMA.match(text)):
        return text
    before, whole, part, rest = found.groups()
    if len(part) == 3 and whole.lstrip("0") and not sure:
        raise PrepError(
            f'"{text[:40]}" may be {whole}.{part} or {whole}{part}; write it with a point, or without a comma.'
        )
    return f"{before}{whole}.{part}{rest}"


@dataclass(frozen=True, slots=True)
class Table:
    """The rows, and a sentence for each row (by number) that is none. `delimiter` is the file's."""

    file: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    wrong: tuple[tuple[int, str], ...]
    delimiter: str


def read_table(
    path: Path,
    columns: Sequence[str],
    required: Iterable[str] = (),
    mapped: Mapping[str, str] | None = None,
    synonyms: Mapping[str, str] | None = None,
    others: bool = False,
    figures: Iterable[str] = (),
) -> Table:
    """A CSV file: UTF-8 with or without BOM; comma, semicolon or tab.

    `mapped` is column of ours -> name in the file; `synonyms` other names -> column; `others` passes over
    columns that are not known; `figures` are columns in which a decimal comma is read as a point (with certainty
    where semicolons or tabs divide the cells). Raises PrepError for a file that cannot be read or lacks a required
    column.
    """
    text, name = read_text(path), path.name
    if not text.strip():
        raise PrepError(f"{name}: the file is empty; its first row must name the columns.")
    first = text.splitlines()[0]
    delimiter = max(",;\t", key=lambda d: first.count(d))
    try:
        cells = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as problem:
        raise PrepError(f"{name}: not readable as a table of comma-separated values ({problem}).") from None
    header = _header(name, cells[0], columns, mapped or {}, synonyms or {}, others)
    if missing := [column for column in required if column not in header]:
        there = ", ".join(c.strip()[:30] for c in cells[0] if c.strip())
        raise PrepError(
            f'{name}, row 1: the column "{missing[0]}" is missing (there are: {there[:300]}); name it with '
            f"--map {missing[0]}=NAME, or rename it."
        )
    numbers = set(figures)
    rows: list[Row] = []
    wrong: list[tuple[int, str]] = []
    for number, line in enumerate(cells[1:], 2):
        stripped = [cell.strip() for cell in line]
        if not any(stripped):
            continue
        if problem_ := _problem(stripped, header):
            wrong.append((number, f"{name}, row {number}: {problem_}"))
            continue
        found = {column: cell for column, cell in zip(header, stripped, strict=False) if column}
        try:
            for column in numbers & found.keys():
                found[column] = point(found[column], sure=delimiter != ",")
        except PrepError as unclear:
            wrong.append((number, f'{name}, row {number}, column "{column}": {unclear}'))
            continue
        rows.append(Row(name, number, found))
    return Table(name, tuple(c for c in header if c), tuple(rows), tuple(wrong), delimiter)


def _header(
    name: str,
    cells: Sequence[str],
    columns: Sequence[str],
    mapped: Mapping[str, str],
    synonyms: Mapping[str, str],
    others: bool,
) -> list[str]:
    in_file = [cell.strip().lower() for cell in cells]
    for column, called in mapped.items():
        if column not in columns:
            raise PrepError(f"--map {column[:40]}: there is no such column; there are {', '.join(columns)}.")
        if called.strip().lower() not in in_file:
            raise PrepError(f'--map {column}={called[:40]}: {name} has no column "{called[:40]}".')
    back = {called.strip().lower(): column for column, called in mapped.items()}
    header: list[str] = []
    for called in in_file:
        column = back.get(called) or _ours(called, columns, synonyms)
        if column in mapped and called not in back:
            column = ""  # another column was mapped to it
        if called and not column and not others:
            raise PrepError(
                f'{name}, row 1: the column "{called[:40]}" is not known; the columns are {", ".join(columns)}.'
            )
        if column and column in header:
            raise PrepError(f'{name}, row 1: the column "{column}" stands twice.')
        header.append(column)
    return header


def _ours(called: str, columns: Sequence[str], synonyms: Mapping[str, str]) -> str:
    plain = called.replace(" ", "_").replace("-", "_")
    for spelling in (called, plain):
        if spelling in columns:
            return spelling
        if spelling in synonyms:
            return synonyms[spelling]
    return ""


def _problem(cells: Sequence[str], header: Sequence[str]) -> str:
    if any(cells[len(header) :]):
        return (
            f"{len(cells)} cells, but the header names {len(header)} columns; put a cell with a comma in it "
            "between quotation marks."
        )
    for column, cell in zip(header, cells, strict=False):
        if len(cell) > 5000 or not cell.isprintable():
            return f'column "{column or "?"}": the cell is not plain text.'
    return ""
