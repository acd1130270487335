"""Sizes of labels by what the bottle holds: Regulation (EC) No 1272/2008, Annex I, 1.2.1, Table 1.3.

Letters: Regulation (EU) 2024/2865, which sets the height of the small x for each capacity, from 1 January 2028 as
amended by Regulation (EU) 2025/2439.
"""

from dataclasses import replace

import pypdfium2
import pytest

from prep.reports.labels.label_pdf import render, render_large_enough
from prep.reports.labels.layout import lay
from prep.reports.labels.legal_sizes import least_sizes, legal_size, sheets_for
from prep.reports.labels.sheet_choice import pages_said
from prep.reports.labels.sheet_sizes import sheet_named
from prep.safety.label_content import LabelContent
from tests.reports.labels.statements import statements

ACID = LabelContent(
    "Hydrochloric acid",
    "2 mol/L",
    "W9N4",
    signal="Danger",
    pictograms=("GHS05",),
    h_statements=statements("H314 Causes severe skin burns and eye damage."),
    hazard_known=True,
)


@pytest.mark.parametrize(
    ("capacity_ml", "label_mm", "pictogram_mm", "x_height_mm"),
    [
        (500, (52, 74), 10, 1.2),
        (501, (52, 74), 10, 1.4),
        (3000, (52, 74), 10, 1.4),
        (3001, (74, 105), 23, 1.8),
        (50_000, (74, 105), 23, 1.8),
        (50_001, (105, 148), 32, 2.0),
        (500_001, (148, 210), 46, 2.0),
    ],
)
def test_sizes_by_capacity_are_those_of_the_regulation(
    capacity_ml: float, label_mm: tuple[int, int], pictogram_mm: int, x_height_mm: float
) -> None:
    found = legal_size(capacity_ml)
    assert (found.label_mm, found.pictogram_mm, found.x_height_mm) == (label_mm, pictogram_mm, x_height_mm)


def notes(capacity_ml: float | None, sheet: str) -> str:
    return " ".join(render([replace(ACID, capacity_ml=capacity_ml)], sheet_named(sheet)).notes)


def test_a_small_label_on_a_large_bottle_is_warned_of() -> None:
    said = notes(5000, "A4, 4 x 11")
    assert "must be at least 74 x 105 mm" in said
    assert "23 mm along each side" in said
    assert "from 2028" in said


def test_a_label_of_legal_size_is_not() -> None:
    assert "must be" not in notes(2500, "A4, 1 x 2")
    assert "at least" not in notes(None, "A4, 4 x 11")


# Regulation (EC) No 1272/2008, Annex I, Table 1.3: each pictogram by the capacity; the label no smaller than there.
@pytest.mark.parametrize(
    ("capacity_ml", "sheet"),
    [(2_500.0, "single 52 x 74 mm"), (10_000.0, "single 74 x 105 mm"), (10_000.0, "single 105 x 148 mm")],
)
def test_a_label_of_legal_size_has_pictograms_of_legal_size(capacity_ml: float, sheet: str) -> None:
    assert "pictograms must" not in notes(capacity_ml, sheet)


# The same table: up to 3 L the label need only be so large if possible, the pictogram is at least 10 mm in any case.
@pytest.mark.parametrize("capacity_ml", [5.0, 20.0, 60.0, 100.0, 125.0])
def test_pictograms_do_not_shrink_for_the_schools_own_lines(capacity_ml: float) -> None:
    three = replace(
        ACID,
        capacity_ml=capacity_ml,
        pictograms=("GHS03", "GHS05", "GHS06"),
        h_statements=statements(
            "H272 May intensify fire; oxidiser.", *map(str, ACID.h_statements), "H331 Toxic if inhaled."
        ),
        p_statements=statements(
            *(f"P{n} Rinse cautiously with water for several minutes, and call a doctor." for n in range(5))
        ),
        school="A School",
        notes=("HNO3, lot 5",),
    )
    found = render([three], sheet_named("A4, 2 x 7"))
    said = " ".join(found.notes)
    assert "pictograms must" not in said
    assert "statements left out" not in said


def test_without_a_sheet_named_the_labels_are_as_large_as_the_bottles_ask_for() -> None:
    """Regulation (EC) No 1272/2008, Annex I, 1.2.1.4 and 1.5.2: 52 x 74 mm from 125 mL to 3 L, 74 x 105 mm above."""

    def places(*capacities_ml: float) -> int:
        made = [LabelContent(name="Acid", bottle="A1B2", capacity_ml=ml, pictograms=("GHS05",)) for ml in capacities_ml]
        return sheets_for(made)[0].places

    assert places(100) == 14
    assert places(100, 1000) == 8
    assert places(1000, 5000) < 8
    harmless = LabelContent(name="Salt", bottle="A1B2", capacity_ml=1000)
    assert [sheet.name for sheet in sheets_for([harmless])] == ["A4, 2 x 7"]


def test_the_sheet_chosen_is_one_on_which_nothing_is_too_small() -> None:
    content = LabelContent(
        name="Sulfuric acid",
        bottle="A1B2",
        capacity_ml=1000,
        signal="Danger",
        pictograms=("GHS05",),
        h_statements=statements("H314 Causes severe skin burns and eye damage."),
    )
    made = render_large_enough([content])
    sheet = made.sheet
    assert sheet.name == "A4, 2 x 4"
    assert made.notes == ()


SEVERE = replace(
    ACID,
    h_statements=statements("H314 Causes severe skin burns and eye damage.", "H335 May cause respiratory irritation."),
    pictograms=("GHS05", "GHS07"),
    p_statements=statements(
        "P261 Avoid breathing dust/fume/gas/mist/vapours/spray.",
        "P280 Wear protective gloves/protective clothing/eye protection/face protection.",
        "P301+P330+P331 IF SWALLOWED: Rinse mouth. Do NOT induce vomiting.",
        "P303+P361+P353 IF ON SKIN (or hair): Take off immediately all contaminated clothing. Rinse skin with water.",
        "P304+P340 IF INHALED: Remove person to fresh air and keep comfortable for breathing.",
        "P305+P351+P338 IF IN EYES: Rinse cautiously with water for several minutes. Remove contact lenses, if "
        "present and easy to do. Continue rinsing.",
        "P310 Immediately call a POISON CENTER/doctor.",
    ),
)
MILD = replace(
    ACID,
    signal="Warning",
    h_statements=statements("H319 Causes serious eye irritation."),
    pictograms=("GHS07",),
    p_statements=SEVERE.p_statements[5:6],
)


# Regulation (EU) 2024/2865: the small x is 1.2 mm high up to 0.5 L; Annex I, 1.5.2 lets a small package lack some.
@pytest.mark.parametrize(("content", "sheet"), [(MILD, "A4, 2 x 7"), (SEVERE, "A4, 2 x 4")])
@pytest.mark.parametrize("capacity_ml", [25.0, 125.0])
def test_a_small_bottle_gets_the_sheet_on_which_its_letters_are_large_enough(
    content: LabelContent, sheet: str, capacity_ml: float
) -> None:
    made = render_large_enough([replace(content, capacity_ml=capacity_ml)])
    assert made.sheet.name == sheet
    assert not any("must" in note or "more than a bottle" in note for note in made.notes)


def test_on_a_sheet_that_is_named_small_letters_are_warned_of() -> None:
    said = " ".join(render([replace(SEVERE, capacity_ml=25.0)], sheet_named("A4, 2 x 7")).notes)
    assert "from 2028 its smallest letter x must be 1.2 mm high" in said


def test_what_a_small_package_may_lack_goes_before_letters_are_too_small() -> None:
    full = replace(
        MILD, capacity_ml=100.0, p_statements=(*SEVERE.p_statements[4:6], *statements("P264 Wash hands.")) * 4
    )
    said = " ".join(render([full], sheet_named("A4, 2 x 7")).notes)
    assert "that a small package may lack" in said
    assert "must" not in said


def test_bottles_of_two_sizes_have_even_letters_on_one_sheet() -> None:
    """Letters of 1.2 mm up to 0.5 L and 1.4 mm above: on one sheet all as the larger bottle asks, where they fit."""
    alike = [replace(SEVERE, bottle=code, capacity_ml=ml) for code, ml in (("K6G7", 250.0), ("W9N4", 1000.0))]
    page = pypdfium2.PdfDocument(render_large_enough(alike).pdf)[0].get_textpage()
    found = [page.get_charbox(at) for at in range(page.count_chars()) if page.get_text_range(at, 1) == "v"]
    # v is as high as x, and is in the statements
    heights = {round(box[3] - box[1], 1) for box in found if box}
    assert len(found) >= 4
    assert min(heights) >= 1.4 * 72 / 25.4 - 0.1


# Regulation (EC) No 1272/2008, Annex I, Table 1.3: 10 mm along each side, 16 mm if possible, up to 3 L.
@pytest.mark.parametrize(
    ("sheet", "number", "side_mm"), [("A4, 2 x 3", 2, 16), ("A4, 2 x 4", 7, 10), ("A4, 2 x 2", 7, 16)]
)
def test_pictograms_are_of_sixteen_millimetres_where_that_is_possible(sheet: str, number: int, side_mm: int) -> None:
    content = replace(SEVERE, capacity_ml=500.0, p_statements=SEVERE.p_statements[:number])
    on = sheet_named(sheet)
    laid = lay(content, on, on.padding_mm(0), 0, least_sizes(content, on))
    sides = [one.box.width * 25.4 / 72 / 2**0.5 for one in laid.pictures]
    assert min(sides) >= side_mm - 0.05
    assert not laid.notes


def _stock(*capacities_ml: float) -> list[LabelContent]:
    return [replace(MILD, bottle=f"A{at}B", capacity_ml=ml) for at, ml in enumerate(capacities_ml)]


# The same table: 52 x 74 mm up to 3 L, 74 x 105 mm above; each bottle of a batch of several sizes by its own.
def test_a_batch_of_several_sizes_takes_no_large_sheets_for_small_bottles() -> None:
    made = render_large_enough(_stock(*[100.0] * 20, 10_000.0, *[1000.0] * 8))
    assert [(group.sheet.name, len(group.contents)) for group in made.groups] == [
        ("A4, 2 x 7", 20),
        ("A4, 2 x 2", 1),
        ("A4, 2 x 4", 8),
    ]
    assert not made.notes
    file = pypdfium2.PdfDocument(made.pdf)
    assert len(file) == 4
    assert "A4, 2 x 4" in file[3].get_textpage().get_text_range()
    assert pages_said(made.groups) == [
        'Pages 1 to 2 are for the sheet "A4, 2 x 7".',
        'Page 3 is for the sheet "A4, 2 x 2".',
        'Page 4 is for the sheet "A4, 2 x 4".',
    ]


def test_a_few_bottles_go_where_larger_labels_leave_places_but_small_packages_do_not() -> None:
    """A label of full size may be larger than a bottle of up to 125 mL (Annex I, 1.5.2)."""
    assert [len(group.contents) for group in render_large_enough(_stock(1000.0, 10_000.0)).groups] == [2]
    assert [len(group.contents) for group in render_large_enough(_stock(100.0, 10_000.0)).groups] == [1, 1]


def test_a_label_that_would_lack_a_statement_gets_a_larger_sheet() -> None:
    """Only a package of up to 125 mL may lack some (Annex I, 1.5.2)."""
    many = replace(SEVERE, capacity_ml=500.0, p_statements=SEVERE.p_statements * 5)
    assert "statements left out" in " ".join(render([many], sheet_named("A4, 2 x 4")).notes)
    made = render_large_enough([many])
    assert made.sheet.name == "A4, 2 x 2"
    assert not any("left out" in note for note in made.notes)
