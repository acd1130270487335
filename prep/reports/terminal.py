"""Tables and sentences on a terminal: readable without colour, 80 columns when the width is not known.

Nothing is taken for markup: square brackets are chemistry here. Sentences are broken at blanks by `say`, as a
plan has two thousand of them and a console or textwrap takes longer than the plan; tables are rich's.
"""

import os
import shutil
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console


def width() -> int:
    """Columns to write in: the terminal's, or COLUMNS, or 80."""
    if sys.stdout.isatty():
        return max(40, shutil.get_terminal_size((80, 24)).columns)
    columns = os.environ.get("COLUMNS", "")
    return int(columns) if columns.isdigit() and int(columns) >= 40 else 80


def console() -> "Console":
    """A rich console without markup, emoji or guessing."""
    from rich.console import Console

    return Console(file=sys.stdout, markup=False, emoji=False, highlight=False, width=width())


def table(headers: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int] = ()) -> None:
    """Print rows under headers; `right` are the columns of figures. Cells wrap, nothing is cut."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    out = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for number, header in enumerate(headers):
        out.add_column(Text(header), justify="right" if number in right else "left", overflow="fold")
    for row in rows:
        out.add_row(*(Text(cell) for cell in row))
    console().print(out)


def say(text: str = "", *, bold: bool = False, indent: int = 0, hang: int = 0, whole: bool = False) -> None:
    """Print a sentence, wrapped under its own indent; `hang` indents what follows its first line more.

    `whole` leaves it on one line: a command to copy.
    """
    room = sys.maxsize if whole else width()
    lines = []
    line, empty = " " * indent, True
    for word in text.split(" "):
        if not empty and len(line) + 1 + len(word) > room:
            lines.append(line)
            line, empty = " " * (indent + hang), True
        line += word if empty else f" {word}"
        empty = False
    lines.append(line)
    start, end = ("\x1b[1m", "\x1b[0m") if bold and _coloured() else ("", "")
    print(*(f"{start}{line}{end}" for line in lines), sep="\n")


def _coloured() -> bool:
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
