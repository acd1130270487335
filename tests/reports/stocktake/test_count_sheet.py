"""The count sheet: walking order kept, blind when it should be, CSV that a spreadsheet cannot run."""

import csv
import io
from dataclasses import replace

import pypdfium2
import pytest

from prep.errors import PrepError
from prep.reports.print_rows import CountRow
from prep.reports.stocktake.count_sheet import COLUMNS, count_csv, count_pdf
from prep.safety.deferral import DEFERRAL

ROWS = [
    CountRow("Salts B", "B-31", "Copper(II) sulfate 5-water", "weight", "88.5 g", "212.4 g", "opened 3 Oct"),
    CountRow("Salts B", "B-32", "=HYPERLINK(1)", "weight", "5 g"),
    CountRow("Acids", "B-7", "Hydrochloric acid 37 %", "level", "1.4 L"),
]


def words(pdf: bytes) -> list[str]:
    return [" ".join(p.get_textpage().get_text_range().split()) for p in pypdfium2.PdfDocument(pdf)]


def test_every_bottle_in_walking_order_with_its_book_amount() -> None:
    (page,) = words(count_pdf(ROWS, "Count: end of term", "Wendlemoor School"))
    order = ["Count: end of term", "Wendlemoor School", "Counted by:", "Salts B: 2 on the list", "B-31", "88.5 g"]
    order += [
        "212.4 g",
        "opened 3 Oct",
        "B-32",
        "=HYPERLINK(1)",
        "not on the books",
        "Acids: 1 on the list",
        "B-7",
    ]
    assert sorted(order, key=page.index) == order
    assert DEFERRAL in page


def test_a_blind_sheet_shows_no_amount() -> None:
    (page,) = words(count_pdf([replace(row, book="") for row in ROWS], "Count"))
    assert "Blind count" in page
    assert "On the books" not in page
    assert "88.5" not in page


def test_a_long_sheet_repeats_its_header_and_numbers_its_pages() -> None:
    rows = [replace(ROWS[0], code=f"B-{i}", name="A long name " * 30) for i in range(60)]
    pages = words(count_pdf(rows, "Count"))
    assert len(pages) > 3
    assert all(f"Page {i} of {len(pages)}" in page for i, page in enumerate(pages, 1))
    assert all("On the books" in page for page in pages)
    assert all(any(f" B-{i} " in page for page in pages) for i in range(60))


def test_the_csv_has_every_row_and_an_empty_count() -> None:
    content = count_csv(ROWS)
    assert content.startswith(b"\xef\xbb\xbflocation,code,")  # marked as UTF-8
    rows = list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))
    assert tuple(rows[0]) == COLUMNS
    assert [row["code"] for row in rows] == ["B-31", "B-32", "B-7"]
    assert {row["count"] for row in rows} == {""}
    assert rows[1]["name"] == "'=HYPERLINK(1)"


def test_nothing_to_count_is_a_sentence() -> None:
    with pytest.raises(PrepError, match="nothing to count"):
        count_pdf([], "Count")
