"""The count sheet of a stock-take, in walking order: on paper, and as CSV to fill in and send back."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from prep.errors import PrepError
from prep.reports.csv_table import csv_bytes
from prep.reports.pdf.pages import MM, WIDTH, Paper, build, gap
from prep.reports.print_rows import CountRow
from prep.safety.deferral import DEFERRAL

COLUMNS = ("location", "code", "name", "measure", "book", "tare", "count", "counter", "note")
FOUND_LINES = 3  # blank lines at each location for bottles that are not on the books
HELP = (
    "Write the amount with its unit (250 mL, 12.5 g), or the weight of bottle and contents, marked G; 0 for an "
    "empty bottle; L7 for one that is seven tenths full; FULL for one that was never opened; NF for one not found; "
    "? for a label that cannot be read."
)
_FOOT = f"Counted by ______________________ on ____________. {DEFERRAL}"


def count_csv(rows: Sequence[CountRow]) -> bytes:
    """Write the sheet as CSV, `count` and `counter` (who counted it) empty, in the order of `rows`."""
    table = ((r.location, r.code, r.name, r.measure, r.book, r.tare, "", "", r.note) for r in rows)
    return csv_bytes(COLUMNS, table, bom=True)


def count_pdf(rows: Sequence[CountRow], title: str, school: str = "", how: str = HELP) -> bytes:
    """Write the sheet as PDF, in the order of `rows`, a heading a location; without book amounts it is blind.

    `how` says what may be written into the box for the count. Raises PrepError where there is nothing to count.
    """
    if not rows:
        raise PrepError("there is nothing to count here; name a location that has bottles.")
    blind = not any(row.book for row in rows)
    weighed = any(row.tare for row in rows)

    def story(paper: Paper) -> list[Any]:
        parts = [paper.text(title, 15, bold=True), gap(4)]
        if school:
            parts.append(paper.text(school, 9))
        signs = [[paper.text(f"{blank}:", 8) for blank in ("Counted by", "Date", "Checked by", "Balance used")]]
        kind = "Blind count: book amounts are not shown. " if blind else ""
        parts += [gap(4), paper.table(signs, [WIDTH / 4] * 4, pad=3, height=9 * MM), gap(4)]
        parts += [paper.text(kind + how, 8), gap(2)]
        for location, group in groupby(rows, key=lambda row: row.location):
            parts += _location(paper, location, list(group), blind, weighed)
        return parts

    return build(title, story, _FOOT)


def _location(paper: Paper, location: str, rows: Sequence[CountRow], blind: bool, weighed: bool) -> list[Any]:
    place = f"Item, at {location}" if location else "Item"  # in the head, which stands on every page
    from reportlab.platypus import CondPageBreak

    columns = [("", 6 * MM), ("Code", 22 * MM), (place, 0.0), ("Goes by", 19 * MM)]
    columns += [] if blind else [("On the books", 22 * MM)]
    columns += [("Tare", 17 * MM)] if weighed else []
    columns += [("Count", 30 * MM), ("Note", 28 * MM)]
    rest = WIDTH - sum(width for _, width in columns)
    cells = [[paper.text(head, 8, bold=True) for head, _ in columns]]
    for row in rows:
        book = [] if blind else [paper.text(row.book, 9, right=True)]
        tare = [paper.text(row.tare, 9, right=True)] if weighed else []
        code, name = paper.text(row.code, 9, bold=True), paper.text(row.name, 9)
        cells.append([paper.tick(), code, name, paper.text(row.measure, 8), *book, *tare, "", paper.text(row.note, 8)])
    for _ in range(FOUND_LINES):
        blank = [""] * len(columns)
        blank[2] = paper.text("not on the books:", 7)
        cells.append(blank)
    table = paper.table(cells, [width or rest for _, width in columns], header=True, pad=3)
    table.setStyle(_boxes(len(columns), len(cells)))
    heading = paper.heading(f"{location or 'No location'}: {len(rows)} on the list")
    return [CondPageBreak(45 * MM), gap(8), heading, gap(2), table]


def _boxes(columns: int, rows: int) -> list[tuple[Any, ...]]:
    """Draw a thick frame round the column that is written in, and leave height to write."""
    from reportlab.lib.colors import black

    count = columns - 2
    return [
        ("BOX", (count, 1), (count, rows - 1), 1.4, black),
        ("TOPPADDING", (0, 1), (-1, -1), 4.5),
        ("BOTTOMPADDING", (0, 1), (-1, -1), 6.5),
    ]
