"""Tables out as CSV (UTF-8, RFC 4180) that no spreadsheet runs as a program.

A cell that a spreadsheet would read as a formula gets an apostrophe in front; `plain` takes it off again.
"""

import contextlib
import os
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TextIO

from prep.errors import PrepError

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


def write_rows(
    target: Path | TextIO, header: Sequence[str], rows: Iterable[Sequence[object]], *, bom: bool = False
) -> None:
    """Write a table to a file (whole or not at all) or to an open text stream.

    `bom` puts the byte order mark in front by which spreadsheets know UTF-8. Raises PrepError where the file
    cannot be written.
    """
    text = ("\ufeff" if bom else "") + csv_text(header, rows)
    if isinstance(target, Path):
        write_file(target, text.encode("utf-8"))
    else:
        target.write(text)


def write_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all: a failure leaves the older file as it was. Raises PrepError."""
    try:
        if path.exists() and not path.is_file() and not path.is_dir():
            path.write_bytes(content)  # a device or a pipe is written straight
            return
        beside = path.with_name(f".{path.name}.{os.getpid()}.part")
        try:
            beside.write_bytes(content)
            beside.replace(path)
        finally:
            with contextlib.suppress(OSError, ValueError):
                beside.unlink()
    except (OSError, ValueError) as problem:
        why = getattr(problem, "strerror", None) or "that is no name for a file"
        raise PrepError(f"{path}: cannot be written ({why}); name a file in a folder you may write to.") from None


def _part_harmless(part: str) -> str:
    return "'" + part if _FORMULA.match(part) and not _NUMBER.fullmatch(part) else part


def _written(cell: object) -> str:
    text = "" if cell is None else harmless(str(cell).replace("\0", ""))
    return '"' + text.replace('"', '""') + '"' if _QUOTED.search(text) else text
