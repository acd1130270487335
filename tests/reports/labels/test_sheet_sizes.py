"""Sheets of labels: sizes known from the sheets' makers' common formats, and what people write."""

import pytest

from prep.errors import PrepError
from prep.reports.labels.sheet_sizes import PRESETS, LabelSheet, sheet_named


@pytest.mark.parametrize(
    ("name", "width", "height"),
    [
        ("A4, 2 x 7", 99.1, 38.1),
        ("A4, 3 x 8", 70.0, 37.1),
        ("A4, 4 x 10", 52.5, 29.7),
        ("A4, 4 x 11", 48.5, 25.4),
        ("A4, 5 x 13", 38.1, 21.2),
        ("single 60 x 40 mm", 60.0, 40.0),
        ("SINGLE 60×40.5", 60.0, 40.5),
        ("a5, 2 x 4", 74.0, 52.5),
        ("Letter, 3 x 10, margins 4.8 12.7 4.8 12.7, gaps 3.1 0", 66.7, 25.4),
    ],
)
def test_the_size_of_a_label(name: str, width: float, height: float) -> None:
    sheet = sheet_named(name)
    assert sheet.width_mm == pytest.approx(width, abs=0.06)
    assert sheet.height_mm == pytest.approx(height, abs=0.06)


@pytest.mark.parametrize("sheet", PRESETS.values(), ids=lambda s: s.name)
def test_labels_lie_on_the_page_side_by_side(sheet: LabelSheet) -> None:
    corners = [sheet.corner_mm(place) for place in range(sheet.places)]
    assert len(set(corners)) == sheet.places
    assert max(x for x, _ in corners) + sheet.width_mm + sheet.right_mm == pytest.approx(sheet.page_width_mm)
    assert max(y for _, y in corners) + sheet.height_mm + sheet.bottom_mm == pytest.approx(sheet.page_height_mm)
    for place in range(sheet.places):
        (x, y), blank = sheet.corner_mm(place), sheet.padding_mm(place)
        assert min(x + blank.left, y + blank.top) >= 4.5 - 0.01
        assert x + sheet.width_mm - blank.right <= 210 - 4.5 + 0.01
        assert y + sheet.height_mm - blank.bottom <= 297 - 4.5 + 0.01


@pytest.mark.parametrize(
    "text",
    ["", "A4", "A4, 2 by 7", "A9, 2 x 7", "A4, 0 x 7", "single 5 x 5 mm", "single 60 mm", "single 9999 x 60",
     "A4, 40 x 99", "A4, 2 x 7, margins 1 2", "A4, 2 x 7, margins 90 90 110 90", "single nan x 3"],
)  # fmt: skip
def test_what_is_no_sheet_is_a_sentence(text: str) -> None:
    with pytest.raises(PrepError, match=r"\."):
        sheet_named(text)
