"""Tables and sentences on a terminal: readable without colour, 80 columns when the width is not known.

Everything goes through `Text` or markup=False: square brackets are chemistry here, not markup.
"""

import os
import sys
from collections.abc import Sequence
from typing import IO, TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console


def console(file: IO[str] | None = None) -> "Console":
    """A console without markup, emoji or guessing; 80 wide when not a terminal."""
    from rich.console import Console

    out = file or sys.stdout
    width = None if out.isatty() else int(os.environ.get("COLUMNS") or 80)
    return Console(file=out, markup=False, emoji=False, highlight=False, width=width, soft_wrap=False)


def table(
    headers: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int] = (), title: str = ""
) -> None:
    """Print rows under headers; `right` are the columns of figures. Cells wrap, nothing is cut."""
    from rich import box
    from rich.table import Table
    from rich.text import Text

    out = Table(box=box.SIMPLE_HEAD, title=Text(title) if title else None, title_justify="left", pad_edge=False)
    for number, header in enumerate(headers):
        out.add_column(Text(header), justify="right" if number in right else "left", overflow="fold")
    for row in rows:
        out.add_row(*(Text(cell) for cell in row))
    console().print(out)


def say(text: str = "", *, style: str = "", indent: int = 0) -> None:
    """Print a sentence, wrapped under its own indent."""
    from rich.padding import Padding
    from rich.text import Text

    console().print(Padding(Text(text, style=style), (0, 0, 0, indent)))
