"""Tables out as CSV (UTF-8, RFC 4180) that no spreadsheet runs as a program."""

import re
from collections.abc import Iterable, Sequence

from prep.services.files.formula_guard import harmless

_QUOTED = re.compile(r'[,;"\t\r\n]|^\s|\s$')


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Write the whole table as text with CRLF line ends; None is an empty cell.

    Raises ValueError where a row has not as many cells as the header (a fault of the caller).
    """
    lines = [",".join(map(_written, header))]
    for row in rows:
        if len(row) != len(header):
            raise ValueError(f"{len(row)} cells for {len(header)} columns: {row!r}")
        lines.append(",".join(map(_written, row)))
    return "\r\n".join(lines) + "\r\n"


def csv_bytes(header: Sequence[str], rows: Iterable[Sequence[object]], *, bom: bool = False) -> bytes:
    """Write the whole table as a file's content.

    `bom` puts the mark in front by which spreadsheets know UTF-8.
    """
    return (("\ufeff" if bom else "") + csv_text(header, rows)).encode("utf-8")


def _written(cell: object) -> str:
    text = "" if cell is None else harmless(str(cell).replace("\0", ""))
    return '"' + text.replace('"', '""') + '"' if _QUOTED.search(text) else text
