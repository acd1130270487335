"""What a small package may lack, even type over a sheet, and a frame that a black-and-white printer keeps.

Regulation (EC) No 1272/2008, Annex I, 1.5.2 (from memory) and 1.2.1.1 (the frame wide enough to be clearly visible).
"""

from dataclasses import replace

import pypdfium2
import pytest
from PIL import Image

from prep.reports.labels.label_pdf import render
from prep.reports.labels.layout import lay
from prep.reports.labels.sheet_sizes import sheet_named
from prep.safety.clp.small_packages import may_be_left_out
from prep.safety.label_content import LabelContent
from tests.reports.labels.statements import statements

IRRITANT = LabelContent(
    "Sodium carbonate",
    "1 mol/L",
    "K6G7",
    signal="Warning",
    pictograms=("GHS07",),
    h_statements=statements("H319 Causes serious eye irritation."),
    p_statements=statements(
        "P264 Wash hands thoroughly after handling.",
        "P280 Wear protective gloves/protective clothing/eye protection/face protection",
        "P305+P351+P338 IF IN EYES: Rinse cautiously with water for several minutes. Remove contact lenses.",
        "P337+P313 If eye irritation persists: Get medical advice/attention.",
    ),
    hazard_known=True,
)
ALLERGEN = replace(
    IRRITANT,
    h_statements=(*IRRITANT.h_statements, *statements("H317 May cause an allergic skin reaction.")),
    p_statements=(
        *IRRITANT.p_statements,
        *statements("P333+P313 If skin irritation or rash occurs: Get medical advice."),
    ),
)
SMALL = sheet_named("single 44 x 24 mm")


@pytest.mark.parametrize(
    ("h_codes", "p_codes", "hazard", "precautionary"),
    [
        (["H225", "H319"], ["P210", "P305+P351+P338"], {"H225", "H319"}, {"P210", "P305+P351+P338"}),
        (["H314"], ["P280", "P310"], set(), set()),
        (["H317", "H319"], ["P280", "P337+P313"], {"H319"}, {"P337+P313"}),  # the allergy asks for P280
        (["H412"], ["P273"], set(), {"P273"}),
        (["H410", "H302"], ["P273", "P102"], {"H410", "H302"}, {"P273"}),  # P102 belongs to no hazard
        (["H224"], ["P210"], set(), set()),
        (["H360D", "H373"], ["P201", "P314"], {"H373"}, {"P314"}),
    ],
)
def test_what_may_go(h_codes: list[str], p_codes: list[str], hazard: set[str], precautionary: set[str]) -> None:
    found = may_be_left_out(h_codes, p_codes)
    assert (found.hazard, found.precautionary) == (hazard, precautionary)


def said_of(content: LabelContent) -> tuple[str, str]:
    made = render([content], SMALL)
    words = " ".join(pypdfium2.PdfDocument(made.pdf)[0].get_textpage().get_text_range().split())
    return words, " ".join(made.notes)


def test_a_small_bottle_lacks_what_the_rule_names_and_no_more() -> None:
    words, said = said_of(replace(ALLERGEN, capacity_ml=100))
    assert "a small package may lack (Regulation (EC) No 1272/2008, Annex I, 1.5.2)" in said
    assert "H317" in words
    assert "P337" not in words


def test_a_large_bottle_is_told_that_it_may_not() -> None:
    assert "Only a bottle of up to 125 mL" in said_of(replace(ALLERGEN, capacity_ml=500))[1]
    assert "Only a bottle" not in said_of(replace(IRRITANT, capacity_ml=100))[1]


def test_the_type_is_even_over_a_sheet() -> None:
    sheet = sheet_named("A4, 2 x 4")
    salt = LabelContent("Salt", "1 mol/L", "N4T8", hazard_known=True)
    made = render([salt, replace(ALLERGEN, bottle="N5T8")], sheet)
    page = pypdfium2.PdfDocument(made.pdf)[0].get_textpage()

    def height(code: str) -> float:
        place = page.search(code).get_next()
        assert place is not None
        _, low, _, high = page.get_charbox(place[0])
        return float(high - low)

    assert height("Salt") == pytest.approx(height("Sodium carbonate"), rel=0.15)
    alone = lay(salt, sheet, sheet.padding_mm(0))
    assert max(line.size for line in alone.lines) > 11


@pytest.mark.parametrize("code", [f"GHS0{number}" for number in range(1, 10)])
def test_the_frame_stays_in_black_and_white(code: str) -> None:
    made = render([replace(IRRITANT, pictograms=(code,))], sheet_named("single 105 x 74 mm"))
    grey = pypdfium2.PdfDocument(made.pdf)[0].render(scale=8).to_pil().convert("L")
    black = grey.point(lambda value: 0 if value < 128 else 255)
    colour = pypdfium2.PdfDocument(made.pdf)[0].render(scale=8).to_pil().convert("RGB")
    red = [(x, y) for x, y in _places(colour) if _is_red(colour.getpixel((x, y)))]
    assert len(red) > 500
    assert all(black.getpixel(place) == 0 for place in red)
    assert max(grey.getpixel(place) for place in red) < 90  # a ratio of more than 4.5 to the white


def _places(image: Image.Image) -> list[tuple[int, int]]:
    return [(x, y) for y in range(0, image.height, 4) for x in range(0, image.width, 4)]


def _is_red(pixel: object) -> bool:
    assert isinstance(pixel, tuple)
    return bool(pixel[0] > 200 and pixel[1] < 30)
