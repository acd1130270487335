"""The lists for a regulator on paper: no code, number or date is broken where the page has room for it."""

import pypdfium2
import pytest

from prep.reports.register_lists import ListTable

pytestmark = pytest.mark.on_file


def test_no_code_is_broken_on_paper() -> None:
    header = ("Job", "Date", "What", "Bottle", "Item", "Amount", "Unit", "By", "Why")
    why = "a long reason in many words, such as a technician writes beside what was taken for a lesson"
    rows = tuple(
        (
            str(1000 + n),
            "2026-11-16",
            "standardise",
            f"M8B{n}",
            "potassium-permanganate",
            "-1203.75",
            "mL",
            "R. Vane",
            why,
        )
        for n in range(1, 6)
    )
    page = pypdfium2.PdfDocument(ListTable("Movements", header, rows).pdf())[0].get_textpage().get_text_range()
    words = page.split()
    for wanted in ("M8B3", "1003", "2026", "Nov", "-1203.75", "potassium-permanganate", "standardise", "Amount"):
        assert wanted in words, wanted
