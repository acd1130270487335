"""Tables and sentences on a terminal: readable without colour, 80 columns when the width is not known.

Nothing is taken for markup: square brackets are chemistry here. Sentences and cells are broken at blanks here, as
a plan has two thousand of them, and a library's console takes longer than the plan.
"""

import os
import shutil
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, redirect_stdout
from io import StringIO
from typing import TYPE_CHECKING
from unicodedata import combining, east_asian_width

from prep.dates import day_alone, in_days

if TYPE_CHECKING:
    from prep.chemistry.model import Line

_BETWEEN = "  "
"""Between two columns of a table."""
_NARROW = 60
"""Columns of a terminal below which a table whose words have no room becomes paragraphs."""


def width() -> int:
    """Find the columns to write in: the terminal's, or COLUMNS, or 80."""
    if sys.stdout.isatty():
        return max(40, shutil.get_terminal_size((80, 24)).columns)
    columns = os.environ.get("COLUMNS", "")
    return int(columns) if columns.isdigit() and int(columns) >= 40 else 80


class _Shown(StringIO):
    """What is held back for a pager, written as for the terminal that it goes to."""

    def isatty(self) -> bool:
        return True


@contextmanager
def paged() -> Iterator[None]:
    """Show what is longer than the terminal through the pager (PAGER, else the system's); else print it.

    Where the output is no terminal, it is printed.
    """
    if not (sys.stdout.isatty() and sys.stdin.isatty()):
        yield
        return
    shown, out = _Shown(), sys.stdout
    try:
        with redirect_stdout(shown):
            yield
    finally:
        text = shown.getvalue()
        if text.count("\n") < shutil.get_terminal_size((80, 24)).lines:
            out.write(text)
        else:
            from pydoc import pager

            os.environ.setdefault("LESS", "-FRX")
            pager(text)


def table(
    headers: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    right: Sequence[int] = (),
    above: Mapping[int, str] | None = None,
) -> None:
    """Print rows under headers; `right` are the columns of figures. Cells wrap, nothing is cut; days are in words.

    `above` are lines across the table, each before the row of its number. Where a narrow terminal has no room for the
    words of its columns, each row is a paragraph.
    """
    across = above or {}
    rows = [[in_days(str(cell), day_alone) for cell in row] for row in rows]
    columns = [[str(cell) for cell in column] for column in zip(headers, *rows, strict=True)]
    room = width() - 1 - len(_BETWEEN) * (len(columns) - 1)
    if width() < _NARROW and sum(_longest_words(columns)) > room:
        print()
        for number, row in enumerate(rows):
            if number in across:
                say(across[number], indent=1, hang=2)
            _paragraph(headers, [str(cell) for cell in row])
        return
    widths = _widths(columns, room)
    lines = [""]
    for number, row in enumerate((headers, *rows)):
        if number - 1 in across:
            lines.append(f" {across[number - 1]}")
        cells = [_wrapped(str(cell), wide) for cell, wide in zip(row, widths, strict=True)]
        for at in range(max(map(len, cells))):
            parts = [
                _padded(cell[at] if at < len(cell) else "", wide, column in right)
                for column, (cell, wide) in enumerate(zip(cells, widths, strict=True))
            ]
            lines.append(f" {_BETWEEN.join(parts)}".rstrip())
        if not number:
            lines.append(" " + "\N{BOX DRAWINGS LIGHT HORIZONTAL}" * (sum(widths) + len(_BETWEEN) * (len(widths) - 1)))
    print("\n".join(lines))


def _paragraph(headers: Sequence[str], row: Sequence[str]) -> None:
    """Print a row of a table whose columns have no room: two cells, then the others with their headings."""
    say("  ".join(row[:2]), indent=1, hang=2)
    for header, cell in zip(headers[2:], row[2:], strict=True):
        if cell:
            say(f"{header}: {cell}" if header else cell, indent=3, hang=2)


def _longest_words(columns: Sequence[Sequence[str]]) -> list[int]:
    return [max(cells(word) for cell in column for word in cell.split(" ")) for column in columns]


def _widths(columns: Sequence[Sequence[str]], room: int) -> list[int]:
    """Find how wide each column is: what it holds, or where that is too much, less.

    The widest give way first, by words.
    """
    widths = [max(map(cells, column)) for column in columns]
    least = [min(wide, longest) for wide, longest in zip(widths, _longest_words(columns), strict=True)]
    for floor in (least, [1] * len(widths)):
        while sum(widths) > room:
            loose = [at for at, wide in enumerate(widths) if wide > floor[at]]
            if not loose:
                break
            widest = max(loose, key=lambda at: widths[at])
            widths[widest] -= 1
    return widths


def _wrapped(text: str, wide: int) -> list[str]:
    """Wrap the text of a cell: at blanks, and within a word that is wider than the column."""
    if cells(text) <= wide and "\n" not in text:
        return [text]
    lines = [""]
    for number, word in enumerate(text.replace("\n", " ").split(" ")):
        if number and cells(lines[-1]) + 1 + cells(word) <= wide:
            lines[-1] += f" {word}"
            continue
        if number:
            lines.append("")
        for character in word:
            if lines[-1] and cells(lines[-1]) + cells(character) > wide:
                lines.append("")
            lines[-1] += character
    return lines


def _padded(text: str, wide: int, right: bool) -> str:
    blanks = " " * (wide - cells(text))
    return blanks + text if right else text + blanks


def cells(text: str) -> int:
    """Count the columns that a text takes on a terminal."""
    if text.isascii():
        return len(text)
    return sum(0 if combining(c) else 2 if east_asian_width(c) in "WF" else 1 for c in text)


def say(text: str = "", *, bold: bool = False, indent: int = 0, hang: int = 0, whole: bool = False) -> None:
    """Print a sentence, its days in words, wrapped under its own indent; `hang` indents all but its first line more.

    `whole` leaves it as it is, on one line: a command to copy.
    """
    room = sys.maxsize if whole else width()
    lines = []
    line, empty = " " * indent, True
    for word in (text if whole else in_days(text)).split(" "):
        if not empty and len(line) + 1 + len(word) > room:
            lines.append(line)
            line, empty = " " * (indent + hang), True
        line += word if empty else f" {word}"
        empty = False
    lines.append(line)
    start, end = ("\x1b[1m", "\x1b[0m") if bold and _coloured() else ("", "")
    print(*(f"{start}{line}{end}" for line in lines), sep="\n")


def working(lines: Iterable["Line"], indent: int = 2) -> None:
    """Print how something was worked out, under each line what it rests on."""
    for line in lines:
        say(line.text, indent=indent, hang=2)
        if line.source:
            say(f"[{line.source}]", indent=indent + 2, hang=1)


def note(text: str) -> None:
    """Print a sentence that may be none: then nothing at all."""
    if text:
        say(text)


def _coloured() -> bool:
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
