"""The sheets for the bench: every line printed, a box to tick for each, the deferral at the foot of each page."""

from dataclasses import fields, replace

import pypdfium2
import pytest

from prep.errors import PrepError
from prep.reports.plan.day_sheet import day_sheet, week_sheet
from prep.reports.print_rows import DayRow, LineRow, MakeRow, PrintedBooking, PrintedOrder, TakeRow
from prep.safety.deferral import DEFERRAL

ACID = MakeRow(
    name="Hydrochloric acid",
    amount="500 mL",
    strength="2 mol/L",
    batch="M-3",
    vessel="500 mL volumetric flask",
    use_by="Tue 11 Jan 2028",
    minutes="20 minutes",
    for_="bookings K-1 and K-7",
    keeping="glass, vented cap",
    signal="Danger",
    pictograms=("GHS05", "GHS07"),
    takes=(
        TakeRow("82.8 mL", "hydrochloric acid 37 %", "bottle B-0007, acid cupboard"),
        TakeRow("rest", "water"),
    ),
    steps=("Put about 300 mL of water in first.", "Pour the acid slowly into the water.", "Make up to the mark."),
    cautions=("Acid into water, never water into acid.", "Fumes irritate: fume cupboard."),
    notes=("Let it cool before the mark.",),
    hazards="H314 Causes severe skin burns and eye damage.",
)
SHOW = PrintedBooking(
    period="period 2",
    room="Lab 3",
    teacher="J. Alder",
    demo="Blue bottle",
    showings="3 showings",
    code="K-1",
    gets=(
        TakeRow("750 mL", "potassium hydroxide 0.5 mol/L", "batch M-9"),
        TakeRow("9 g", "dextrose", "bottle B-4"),
    ),
    cautions=("Wear goggles.",),
    short=("dextrose, 12 g: the order comes two days late",),
)
ORDER = PrintedOrder("dextrose 500 g", "1 pack", "booking K-1", late=True)
DAY = DayRow("Mon 11 Jan 2027", (ACID,), (SHOW,), (ORDER,), ("No fume cupboard after 14:00.",), "85 of 240 minutes")


def pages(pdf: bytes) -> list[str]:
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pypdfium2.PdfDocument(pdf)]


def strings(row: object) -> list[str]:
    """Every text in a row and in the rows inside it, less the id of a make, which is for programs."""
    found: list[str] = []
    for field in fields(row):  # type: ignore[arg-type]
        value = getattr(row, field.name)
        if field.name in ("pictograms", "batch"):
            continue
        for part in value if isinstance(value, tuple) else (value,):
            found += [part] if isinstance(part, str) else [] if isinstance(part, bool) else strings(part)
    return found


def test_every_text_of_the_day_is_on_the_sheet() -> None:
    (page,) = pages(day_sheet(DAY, "Wendlemoor School"))
    for text in [*strings(DAY), "Wendlemoor School", "LATE:", "SHORT:", DEFERRAL, "Page 1 of 1"]:
        assert (text.upper() if text == "Danger" else text) in page, text


def boxes(pdf: bytes) -> int:
    """Small squares drawn on the first page."""
    import pypdfium2.raw as raw

    page = pypdfium2.PdfDocument(pdf)[0]
    sizes = []
    for found in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        left, bottom, right, top = found.get_bounds()
        sizes.append((right - left, top - bottom))
    return sum(6 < w < 13 and abs(w - h) < 0.2 for w, h in sizes)


def test_a_box_to_tick_for_each_thing_to_do() -> None:
    make, take, step, booking, got = 1, len(ACID.takes), len(ACID.steps), 1, len(SHOW.gets)
    order, wrong = 1, len(DAY.minds)
    plain = replace(DAY, makes=(replace(ACID, pictograms=()),))
    assert boxes(day_sheet(plain)) == make + take + step + booking + got + order + wrong


def test_it_reads_in_black_and_white() -> None:
    plain = replace(DAY, makes=(replace(ACID, pictograms=()),))
    image = pypdfium2.PdfDocument(day_sheet(plain))[0].render(scale=2).to_pil().convert("RGB")
    colours = {colour for _, colour in image.getcolors(1 << 24) or []}
    assert all(max(colour) - min(colour) < 12 for colour in colours)


def test_the_week_has_an_overview_and_the_days_that_have_something() -> None:
    days = [DAY, DayRow("Tue 12 Jan 2027"), replace(DAY, day="Wed 13 Jan 2027")]
    first, *rest = pages(week_sheet(days, "Wendlemoor School"))
    assert "Mon 11 Jan 2027 to Wed 13 Jan 2027" in first
    for text in ("Tue 12 Jan 2027", "Hydrochloric acid 2 mol/L, 500 mL", "J. Alder", "1 pack dextrose 500 g"):
        assert text in first
    assert len(rest) == 2
    assert "Day sheet: Mon 11 Jan 2027" in rest[0]
    assert "Day sheet: Wed 13 Jan 2027" in rest[1]
    assert all(DEFERRAL in page and f"of {len(rest) + 1}" in page for page in (first, *rest))


def test_the_week_is_printed_by_itself_too() -> None:
    """For the wall: what comes is on it, an amount stands on one line with its unit."""
    comes = replace(DAY, arrivals=(LineRow("P3 2.5 L of Ethanol", "7"),))
    (page,) = pages(week_sheet([comes], "Wendlemoor School", each_day=False))
    assert "Comes: P3 2.5 L of Ethanol" in page
    name = "Hydrochloric acid of a strength and a name that fill their line, nearly"
    for extra in range(12):
        long = replace(DAY.makes[0], name=name + "y" * extra, strength="")
        (page,) = pages(week_sheet([replace(DAY, makes=(long,))], "Wendlemoor School", each_day=False))
        assert "500 mL" in page, extra


def test_an_empty_day_and_no_day() -> None:
    assert "Nothing to make" in pages(day_sheet(DayRow("Tue 12 Jan 2027")))[0]
    with pytest.raises(PrepError, match="no day to print"):
        week_sheet([])


def test_a_very_full_day_loses_nothing_over_its_pages() -> None:
    steps = tuple(
        f"Step number {i} of many, with enough to say to need a second line on paper, {'so ' * 20}on."
        for i in range(150)
    )
    long = replace(ACID, steps=steps, cautions=("Mind this. " * 700,), signal="", pictograms=("GHS05",))
    days = [replace(DAY, makes=(long,) * 2, minds=("Mind that. " * 600,)), replace(DAY, makes=(ACID,) * 40)]
    for pdf in (day_sheet(days[0]), week_sheet(days)):
        together = " ".join(pages(pdf))
        assert all(f"Step number {i} of many" in together for i in range(150))
        assert together.count("this.") == 700  # what holds for both makes is said once
        assert together.count("that.") == 600


def test_a_make_stands_whole_on_one_page() -> None:
    printed = pages(day_sheet(replace(DAY, makes=tuple(replace(ACID, vessel=f"flask {n}") for n in range(7)))))
    for number in range(7):
        (page,) = (page for page in printed if f"In flask {number};" in page)
        after = page[page.index(f"In flask {number};") :]
        assert after.index("Make up to the mark.") < after.index("Found strength:")


def test_the_overview_says_which_booking_is_short() -> None:
    assert "SHORT: period 2, Lab 3" in pages(week_sheet([DAY]))[0]


def test_markup_and_strange_letters_are_text() -> None:
    odd = replace(ACID, name="NaOH [aq] <b>&amp; CuSO₄·5H₂O", steps=("a → b, 10⁻³ \x07\U0001f9ea", "W" * 400))
    (page,) = pages(day_sheet(DayRow("Mon 11 Jan 2027", (odd,))))
    assert "NaOH [aq] <b>&amp; CuSO4·5H2O" in page
    assert "a -> b, 10−3" in page
    assert "written ? (U+1F9EA)" in page
    assert page.count("W") >= 400


def test_the_same_rows_give_the_same_bytes() -> None:
    assert day_sheet(DAY, "Wendlemoor School") == day_sheet(DAY, "Wendlemoor School")


def test_a_full_working_day_stands_on_one_page() -> None:
    acid = replace(
        ACID, takes=(TakeRow("82.8 mL", "acid", "bottle B-7, ACID", in_steps=True),), cautions=("Goggles.",), h="H314"
    )
    steps = ("Put about 500 mL of distilled water in the 1 L measuring cylinder.",) * 3
    make = replace(acid, steps=(*steps, "Measure 82.8 mL with the 100 mL measuring cylinder: acid, bottle B-7."))
    show = replace(SHOW, short=())
    day = DayRow("Tue 12 Jan 2027", (make,) * 9, (show,) * 4, work="150 of 240 minutes")
    (page,) = pages(day_sheet(day, "Wendlemoor School"))
    assert page.count("82.8 mL") == 9  # the steps say it, with the bottle: no list of what is taken beside them
    assert page.count("Goggles.") == 1
    assert "all makes: Goggles." in page
