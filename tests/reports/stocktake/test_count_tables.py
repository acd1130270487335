"""The tables of a count's report: what stands in their columns."""

import pypdfium2

from prep.reports.stocktake.count_tables import PrintedCount, document, report_pdf, sections
from prep.stocktake.report import report
from tests.stocktake.test_report import END, G, moved, stood


def test_what_went_between_schools_has_columns_where_there_is_any() -> None:
    alone = report([stood("B1", "zinc", 100 * G, moved("use", -10 * G))], END)
    given = report([stood("B1", "zinc", 100 * G, moved("use", -10 * G), moved("transfer", -30 * G))], END)
    (one,), (other,) = ([s for s in sections(made) if s.slug == "turnover"] for made in (alone, given))
    assert "Passed on" not in one.headers
    row = dict(zip(other.headers, other.text[0], strict=True))
    assert (row["Opening"], row["Used"], row["Passed on"], row["Closing"]) == ("100 g", "10 g", "30 g", "60 g")
    assert document(given)["turnover"][0]["passed_on"] == {"value": 30.0, "unit": "g"}


def test_the_signature_stands_by_the_seal_however_long_the_tables_are() -> None:
    made = report([stood(f"B{n}", f"item {n}", 100 * G, moved("use", -10 * G)) for n in range(120)], END)
    paper = PrintedCount("Count C1", "Invented School", ["Seal of the books: d1a1"], sections(made), "seal d1a1")
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(report_pdf(made, paper))]
    assert len(pages) > 3
    assert ["Signed off by" in page for page in pages] == [True] + [False] * (len(pages) - 1)
    assert "Seal of the books: d1a1" in pages[0]
