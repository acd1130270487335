"""Tables out as CSV (UTF-8, RFC 4180) that no spreadsheet runs as a program.

A cell that a spreadsheet would read as a formula gets an apostrophe in front; `plain` takes it off again.
"""

import re
from collections.abc import Iterable, Sequence

# What starts a formula in the common spreadsheets: the signs and their full-width forms, after white space
# that some of them skip. An apostrophe before one of these is our own mark and is doubled.
_FORMULA = re.compile(r"'*\s*[=+\-@＝＋－＠]")
_NUMBER = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?([eE][+-]?[0-9]{1,3})?")
# A reader set to another country's delimiter splits a cell here, and the second part could be a formula.
_SPLITS = re.compile(r"([;\t\r\n])")
_QUOTED = re.compile(r'[,;"\t\r\n]|^\s|\s$')


def harmless(cell: str) -> str:
    """The cell with an apostrophe wherever a spreadsheet would begin to run it; a plain number stays."""
    return "".join(map(_part_harmless, _SPLITS.split(cell)))


def plain(cell: str) -> str:
    """The cell as it was before `harmless`."""
    return "".join(
        part[1:] if part[:1] == "'" and _part_harmless(part[1:]) == part else part for part in _SPLITS.split(cell)
    )


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """The whole table as text with CRLF line ends; None is an empty cell.

    Raises ValueError where a row has not as many cells as the header (a fault of the caller).
    """
    lines = [",".join(map(_written, header))]
    for row in rows:
        if len(row) != len(header):
            raise ValueError(f"{len(row)} cells for {len(header)} columns: {row!r}")
        lines.append(",".join(map(_written, row)))
    return "\r\n".join(lines) + "\r\n"


def csv_bytes(header: Sequence[str], rows: Iterable[Sequence[object]], *, bom: bool = False) -> bytes:
    """The whole table as a file's content; `bom` puts the mark in front by which spreadsheets know UTF-8."""
    return (("\ufeff" if bom else "") + csv_text(header, rows)).encode("utf-8")


def _part_harmless(part: str) -> str:
    return "'" + part if _FORMULA.match(part) and not _NUMBER.fullmatch(part) else part


def _written(cell: object) -> str:
    text = "" if cell is None else harmless(str(cell).replace("\0", ""))
    return '"' + text.replace('"', '""') + '"' if _QUOTED.search(text) else text
