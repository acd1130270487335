"""Rows of a table file as a person keeps it: CSV with a header, any of three delimiters, with or without BOM.

Every error says the file, the row as a spreadsheet numbers it, and the column.
"""

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TypeVar

from prep.dates import MOST_DAYS, bounded
from prep.errors import PrepError
from prep.records import record
from prep.services.input.checks import printable

T = TypeVar("T")
LONGEST_CELL = 5000
_LARGEST_FILE = 64 * 1024 * 1024
_CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_WHOLE = re.compile(r"[0-9]{1,9}")
_DELIMITERS = ",;\t"
_OTHER_KINDS = (
    (codecs.BOM_UTF16_LE, "this is UTF-16 text"),
    (codecs.BOM_UTF16_BE, "this is UTF-16 text"),
    (b"PK\x03\x04", "this is a spreadsheet's own file"),
    (b"\xd0\xcf\x11\xe0", "this is a spreadsheet's own file"),
)

CLEARED = "-"
"""What a cell says that clears what is on file."""


class RowError(PrepError):
    """What is wrong with a row; its sentence names the file and the row."""


class Row:
    """One row: cells by column name, and readers that raise PrepError naming file, row and column."""

    __slots__ = ("_cells", "file", "number")

    def __init__(self, file: str, number: int, cells: dict[str, str]) -> None:
        self.file, self.number, self._cells = file, number, cells

    def over(self, cells: Mapping[str, str]) -> "Row":
        """Fill what the row leaves blank from `cells`; a cell that is `-` is blank."""
        given = {name: "" if cell == CLEARED else cell for name, cell in self._cells.items() if cell}
        return Row(self.file, self.number, {**cells, **given})

    def with_cells(self, cells: Mapping[str, str]) -> "Row":
        """Write other text into cells of the row."""
        return Row(self.file, self.number, {**self._cells, **cells})

    def wrong(self, column: str, *why: str) -> PrepError:
        """Make the error for a cell of this row."""
        return RowError(f'{self.file}, row {self.number}, column "{column}": ', *why)

    def text(self, column: str, *, required: bool = False) -> str:
        """Read a cell without outer blanks; empty where the column is not in the file."""
        cell = self._cells.get(column, "")
        if required and not cell:
            raise self.wrong(column, "this cell must not be empty.")
        return cell

    def read(self, column: str, reader: Callable[[str], T], *, required: bool = False) -> T | None:
        """Read a cell by a reader whose PrepError then names the cell; None where it is empty."""
        cell = self.text(column, required=required)
        if not cell:
            return None
        try:
            return reader(cell)
        except PrepError as problem:
            raise self.wrong(column, problem.sentence) from None

    def need(self, column: str, reader: Callable[[str], T]) -> T:
        """Read a cell as `read`, which must be filled."""
        value = self.read(column, reader, required=True)
        assert value is not None
        return value

    def line(self, column: str, most: int = 200) -> str:
        """Read a cell that must fit on one line and on a label; empty where it is. Raises PrepError."""
        return self.read(column, lambda text: printable(text, most)) or ""

    def list(self, column: str) -> tuple[str, ...]:
        """Split a cell at its semicolons."""
        return tuple(part.strip() for part in self.text(column).split(";") if part.strip())

    def code(self, column: str) -> str:
        """Read a code: letters, digits, dots, hyphens and underscores."""
        cell = self.text(column, required=True)
        if not _CODE.fullmatch(cell):
            raise self.wrong(column, f'"{cell[:40]}" is no code; use letters, digits, dots and hyphens.')
        return cell

    def one_of(self, column: str, choices: Sequence[str], default: str = "") -> str:
        """Read one of the named words."""
        cell = self.text(column).lower() or default
        if cell not in choices:
            raise self.wrong(column, f'"{cell[:40]}" is not one of: {", ".join(choices)}.')
        return cell

    def yes(self, column: str) -> bool:
        """Read `yes` or `no`; empty is no."""
        return self.one_of(column, ("yes", "no"), "no") == "yes"


def number(text: str) -> Decimal:
    """Read a plain finite decimal number. Raises PrepError."""
    try:
        value = Decimal(text)
    except InvalidOperation:
        raise PrepError(f'"{text[:40]}" is no number; write it with a point, such as 2.5.') from None
    if not value.is_finite() or abs(value) > 10**12:
        raise PrepError(f'"{text[:40]}" is no number that can be used here.')
    return value


def whole(text: str, least: int = 0, most: int = 10_000_000) -> int:
    """Read a whole number from `least` to `most`. Raises PrepError."""
    if not _WHOLE.fullmatch(text) or not least <= int(text) <= most:
        raise PrepError(f'"{text[:40]}" is no whole number from {least} to {most}.')
    return int(text)


def days(text: str) -> int:
    """Read how many days something keeps or takes. Raises PrepError."""
    return whole(text, 0, MOST_DAYS)


def positive(text: str) -> Decimal:
    """Read a number above zero. Raises PrepError."""
    if (value := number(text)) <= 0:
        raise PrepError(f'"{text[:40]}" must be more than zero.')
    return value


def iso_date(text: str) -> date:
    """Read a date as year-month-day. Raises PrepError."""
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
            raise ValueError
        return bounded(date.fromisoformat(text))
    except ValueError:
        raise PrepError(f'"{text[:40]}" is no date; write year-month-day, such as 2027-01-11.') from None


def read_rows(path: Path, columns: Iterable[str], required: Iterable[str] = ()) -> Iterator[Row]:
    """Read the rows of a CSV file whose header names some of `columns` and all of `required`.

    Raises PrepError for a file that cannot be read, is not UTF-8, has an unknown or doubled column, a row
    with too many cells, or an unclosed quotation mark.
    """
    columns, name = tuple(columns), path.name
    cells = read_cells(path)
    first, header = cells.first, [cell.lower() for cell in cells.header]
    while not header[-1]:
        header.pop()
    for index, column in enumerate(header):
        if column not in columns:
            raise PrepError(
                f'{name}, row {first}: the column "{column[:40]}" is not known; the columns are {", ".join(columns)}.'
            )
        if column in header[:index]:
            raise PrepError(f'{name}, row {first}: the column "{column}" stands twice.')
    if missing := [column for column in required if column not in header]:
        raise PrepError(f'{name}, row {first}: the column "{missing[0]}" is missing.')
    for row in cells.rows:
        number, line = row.number, row.cells
        if any(line[len(header) :]):
            raise PrepError(f"{name}, row {number}: {too_many(line, header)}")
        if not all(map(str.isprintable, line)) or max(map(len, line)) > LONGEST_CELL:
            column = next(c for c, cell in zip(header, line, strict=False) if not _is_plain(cell))
            raise PrepError(f'{name}, row {number}, column "{column}": the cell is not plain text.')
        yield Row(name, number, dict(zip(header, line, strict=False)))


def _is_plain(cell: str) -> bool:
    return len(cell) <= LONGEST_CELL and cell.isprintable()


@record(frozen=True, slots=True)
class CellRow:
    """The cells of a row of a file, and its number there."""

    number: int
    cells: list[str]


@record(frozen=True, slots=True)
class Cells:
    """A CSV file: its header, which is row `first`, and the rows after it that are not blank, with their numbers."""

    delimiter: str
    first: int
    header: list[str]
    rows: Iterator[CellRow]


def read_cells(path: Path) -> Cells:
    """Read a CSV file's cells, without outer blanks.

    The delimiter is what a first line such as `sep=;` says, else the comma, semicolon or tab that the header holds
    most of; that line is not numbered, as spreadsheets do not show it. Raises PrepError, also while the rows are read.
    """
    text, name = read_text(path), path.name
    if said := re.match(r'"?sep=(.)"?[ \t]*(?:\r\n|\r|\n|$)', text, re.IGNORECASE):
        delimiter, text = said[1], text[said.end() :]
        if delimiter not in _DELIMITERS:
            raise PrepError(f'{name}: its cells are divided by "{delimiter}"; use commas, semicolons or tabs.')
    if not said:
        header = re.sub(r'"[^"]*"', "", text[:20_000]).lstrip("\r\n").splitlines() or [""]
        delimiter = max(_DELIMITERS, key=header[0].count)
    rows = _rows(name, text, delimiter)
    first = next(rows, None)
    if first is None:
        raise PrepError(f"{name}: the file is empty; its first row must name the columns.")
    return Cells(delimiter, first.number, first.cells, rows)


def _rows(name: str, text: str, delimiter: str) -> Iterator[CellRow]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for number, line in enumerate(reader, 1):
            cells = list(map(str.strip, line))
            if any(cells):
                yield CellRow(number, cells)
    except csv.Error as problem:
        raise PrepError(
            f"{name}, line {reader.line_num}: not readable as a table of comma-separated values ({problem})."
        ) from None


def too_many(cells: Sequence[str], header: Sequence[str]) -> str:
    """Write the sentence for a row that is longer than the header."""
    return (
        f"{len(cells)} cells, but the header names {len(header)} columns; put a cell in which such a mark as "
        "divides them stands between quotation marks."
    )


def read_text(path: Path) -> str:
    """Read a file's UTF-8 text, without its byte order mark. Raises PrepError."""
    name, content = path.name, read_bytes(path)
    for sign, kind in _OTHER_KINDS:
        if content.startswith(sign):
            raise PrepError(f"{name}: {kind}; save the sheet as CSV UTF-8.")
    if b"\0" in content[:2]:
        raise PrepError(f"{name}: this is UTF-16 text; save the sheet as CSV UTF-8.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = content.count(b"\n", 0, problem.start) + 1
        raise PrepError(f"{name}, line {line}: not UTF-8 text; save the sheet as CSV UTF-8.") from None


def read_bytes(path: Path) -> bytes:
    """Read a file's bytes. Raises PrepError for one that cannot be read, or is larger than 64 MB."""
    try:
        with path.open("rb") as file:
            content = file.read(_LARGEST_FILE + 1)  # a limit, as a path may name a device that never ends
        if len(content) > _LARGEST_FILE:
            raise PrepError(f"{path.name}: the file is larger than 64 MB, which is no table of this kind.")
        return content
    except FileNotFoundError:
        raise PrepError(f"{path}: there is no such file.") from None
    except (OSError, ValueError) as problem:
        raise PrepError(f"{path}: {getattr(problem, 'strerror', None) or 'cannot be read'}.") from None
