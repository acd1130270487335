"""A table from a spreadsheet, row by row: what is wrong with one row does not keep the others from being read.

Columns are matched by name, by other names for them, or as a person maps them.
"""

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import field
from functools import cache
from itertools import chain, islice
from pathlib import Path

from prep.chemistry.typed_number import point
from prep.errors import PrepError
from prep.records import record
from prep.services.files.csv_file import LONGEST_CELL, CellRow, Cells, Row, read_cells, too_many
from prep.services.files.formula_guard import plain
from prep.wording import Flag, Sentence

_BARE = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_UNIT = re.compile(r"([^(\[/]*[^(\[/\s])\s*(?:\((.+)\)|\[(.+)\]|/\s*(.+))", re.DOTALL)
_MARKS = {";": ",", ",": ".", "\t": ""}
"""What divides the cells -> the decimal mark that then is certain. A comma divides where it is no decimal mark, and a
semicolon where it is one; a tab divides anywhere."""


@record(frozen=True, slots=True)
class WrongRow:
    """A row that cannot be read, by its number, and the sentence that says why."""

    number: int
    says: str


@record(frozen=True, slots=True)
class Table:
    """The rows, and those that cannot be read. `not_read` are the file's other columns."""

    file: str
    rows: tuple[Row, ...]
    wrong: tuple[WrongRow, ...]
    not_read: tuple[str, ...]


@record(frozen=True, slots=True)
class Columns:
    """The columns of a kind of table, and those that it must have; `synonyms` are other names -> column.

    `others` passes over columns that are not known. In `figures` and `quantities` a decimal comma is read as a point;
    in `quantities`, a number without a unit has the unit that the header names, as `Amount (g)` does.
    """

    known: Sequence[str]
    required: Iterable[str] = ()
    synonyms: Mapping[str, str] = field(default_factory=dict)
    others: bool = False
    figures: Iterable[str] = ()
    quantities: Iterable[str] = ()


def read_table(path: Path, columns: Columns, mapped: Mapping[str, str] | None = None) -> Table:
    """Read a CSV file of UTF-8, with comma, semicolon or tab. `mapped` is column of ours -> name in the file.

    Raises PrepError for a file that cannot be read or lacks a required column.
    """
    name, cells = path.name, read_cells(path)
    head = _head(name, cells, columns, mapped or {})
    header, units = head.columns, head.units
    wanted = {*columns.figures, *columns.quantities} & set(header)
    read = {column: _reader(_MARKS[cells.delimiter], units.get(column, "")) for column in wanted}
    rows: list[Row] = []
    wrong: list[WrongRow] = []
    for cell_row in head.below:
        number, line = cell_row.number, cell_row.cells
        if len(line) > len(header) and any(line[len(header) :]):
            wrong.append(WrongRow(number, f"{name}, row {number}: {too_many(line, header)}"))
            continue
        found = dict(zip(header, line, strict=False))
        found.pop("", None)
        column = ""
        try:
            together = "".join(found.values())
            if "'" in together or len(together) > LONGEST_CELL or not together.isprintable():
                for column, cell in found.items():
                    found[column] = _one_line(plain(cell))
            for column, figure in read.items():
                if found.get(column):
                    found[column] = figure(found[column])
        except PrepError as problem:
            said = Sentence(f'{name}, row {number}, column "{column}": ', problem.sentence)
            wrong.append(WrongRow(number, said))
            continue
        rows.append(Row(name, number, found))
    not_read = tuple(called for called, column in zip(head.cells, header, strict=True) if called and not column)
    return Table(name, tuple(rows), tuple(wrong), not_read)


_ABOVE = 10
"""So many rows a sheet may have in all before and with the one that names the columns: a title, a date, a remark."""


@record(frozen=True, slots=True)
class _Head:
    """The row that names the columns: as it stands, ours, the units it names, and the rows below it."""

    cells: Sequence[str]
    columns: list[str]
    units: dict[str, str]
    below: Iterable[CellRow]


def _head(name: str, cells: Cells, columns: Columns, mapped: Mapping[str, str]) -> _Head:
    """Find the row that names the columns, the first with all that are required. Raises PrepError."""
    top = [CellRow(cells.first, list(cells.header)), *islice(cells.rows, _ABOVE - 1)]
    problems: list[tuple[int, PrepError]] = []
    for at, row in enumerate(top):
        try:
            header, units = _header(f"{name}, row {row.number}", row.cells, columns, mapped)
            _none_missing(f"{name}, row {row.number}", row.cells, header, columns)
            return _Head(row.cells, header, units, chain(top[at + 1 :], cells.rows))
        except PrepError as problem:
            problems.append((sum(map(bool, row.cells)), problem))
    raise next((problem for filled, problem in problems if filled > 1), problems[0][1])


def _none_missing(row: str, cells: Sequence[str], header: Sequence[str], columns: Columns) -> None:
    if missing := [column for column in columns.required if column not in header]:
        there = ", ".join(c[:30] for c in cells if c)
        raise PrepError(
            f'{row}: the column "{missing[0]}" is missing (there are: {there[:300]}); name it with ',
            Flag("--map"),
            f" {missing[0]}=NAME, or rename it.",
        )


def _header(
    row1: str, cells: Sequence[str], wanted: Columns, mapped: Mapping[str, str]
) -> tuple[list[str], dict[str, str]]:
    """Match our columns to the file's, empty where it is none of ours; and read the units that the header names."""
    columns, synonyms = wanted.known, wanted.synonyms
    in_file = [_spelled(cell) for cell in cells]
    back: dict[str, str] = {}
    for column, called in mapped.items():
        if column not in columns:
            raise PrepError(Flag("--map"), f" {column[:40]}: there is no such column; there are {', '.join(columns)}.")
        if (spelled := _spelled(called)) not in in_file:
            there = ", ".join(cell[:30] for cell in cells if cell)
            raise PrepError(
                Flag("--map"), f' {column}={called[:40]}: {row1} has no column "{called[:40]}" ({there[:300]}).'
            )
        if spelled in back:
            raise PrepError(Flag("--map"), f': "{called[:40]}" cannot be both {back[spelled]} and {column}.')
        back[spelled] = column
    header: list[str] = []
    units: dict[str, str] = {}
    for called, typed in zip(in_file, cells, strict=True):
        column = back.get(called) or _ours(called, columns, synonyms)
        if found := _UNIT.fullmatch(typed):
            bare = column or _ours(_spelled(found[1]), columns, synonyms)
            if bare in wanted.quantities:
                column, units[bare] = bare, found[2] or found[3] or found[4]
        if column in mapped and called not in back:
            column = ""  # --map gave this column of ours to another column of the file
        if called and not column and not wanted.others:
            raise PrepError(
                f'{row1}: the column "{called[:40]}" is not known; ',
                "rename it, remove it, or name those that count with ",
                Flag("--map"),
                f". The columns are {', '.join(columns)}.",
            )
        if column and column in header:
            first = cells[header.index(column)]
            both = f'"{first[:40]}" and "{typed[:40]}" would both be it; rename one, or '
            raise PrepError(f'{row1}: the column "{column}" stands twice ({both}', Flag("--map"), f" {column}=NAME).")
        header.append(column)
    return header, units


def _ours(called: str, columns: Sequence[str], synonyms: Mapping[str, str]) -> str:
    plain_ = called.replace(" ", "_").replace("-", "_")
    for spelling in (called, plain_, re.sub(r"[\W_]+", "_", called).strip("_")):
        if spelling in columns:
            return spelling
        if spelling in synonyms:
            return synonyms[spelling]
    parts = {_ours(part.strip(), columns, synonyms) for part in called.split("/")} - {""} if "/" in called else set()
    return parts.pop() if len(parts) == 1 else ""


def _spelled(called: str) -> str:
    """Normalise a column's name for comparing: one spelling of its accents, any case, any blanks."""
    return " ".join(unicodedata.normalize("NFKC", called).casefold().split())


def _reader(mark: str, unit: str) -> Callable[[str], str]:
    @cache
    def read(cell: str) -> str:
        figure = point(cell, mark)
        return f"{figure} {unit}" if unit and _BARE.fullmatch(figure) else figure

    return read


def _one_line(cell: str) -> str:
    """Turn line breaks, tabs and hard blanks of a cell into blanks. Raises PrepError for what is no text."""
    line = cell if cell.isprintable() else " ".join(cell.split())
    if len(line) > LONGEST_CELL or not line.isprintable():
        bad = next((f" (it holds U+{ord(c):04X})" for c in line if not c.isprintable()), "")
        raise PrepError(f"the cell is not plain text{bad}.")
    return line
