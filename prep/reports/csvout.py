"""CSV for a spreadsheet: UTF-8, and no cell that the spreadsheet would run as a formula."""

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

from prep.errors import PrepError

_RUNS = ("=", "+", "-", "@", "\t", "\r")


def harmless(cell: str) -> str:
    """The cell, with an apostrophe before it if a spreadsheet would take it for a formula."""
    if cell.startswith(_RUNS) and not _is_number(cell):
        return "'" + cell
    return cell


def write_rows(path: Path, header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Write a CSV file whole or not at all. Raises PrepError naming the file."""
    draft = path.with_name(path.name + ".part")
    try:
        with draft.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(header)
            writer.writerows([harmless(cell) for cell in row] for row in rows)
        draft.replace(path)
    except OSError as error:
        draft.unlink(missing_ok=True)
        raise PrepError(f"{path}: cannot be written ({error.strerror}).") from None


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True
