"""Labels as a printer and a phone see them: every line there, the QR readable, nothing cut in silence."""

import re
import subprocess
import sys
from dataclasses import replace
from datetime import date

import pypdfium2
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.errors import PrepError
from prep.reports.labels.label_pdf import render
from prep.reports.labels.layout import AID, CHECK, HARMLESS, SHORT_CHECK, UNKNOWN
from prep.reports.labels.sheet_sizes import PRESETS, LabelSheet, sheet_named
from prep.safety.label_content import LabelContent
from tests.reports.labels.statements import statements

P_LONG = "P305+P351+P338 IF IN EYES: Rinse cautiously with water for several minutes."
ACID = LabelContent(
    name="Hydrochloric acid",
    strength="2 mol/L",
    bottle="B-0142",
    made_by="A. Rowan",
    made_on=date(2027, 1, 11),
    use_by=date(2028, 1, 11),
    keeping="glass, vented cap",
    signal="Danger",
    hazard_known=True,
    pictograms=("GHS05", "GHS07"),
    h_statements=statements("H314 Causes severe skin burns and eye damage.", "H335 May cause respiratory irritation."),
    p_statements=statements("P280 Wear protective gloves and eye protection.", P_LONG),
    school="Wendlemoor School, prep room",
    notes=("Found 1.98 mol/L by titration",),
)
BIG = sheet_named("single 105 x 74 mm")


def text_of(pdf: bytes, page: int = 0) -> str:
    """The words of a page, lines joined by single blanks."""
    return " ".join(pypdfium2.PdfDocument(pdf)[page].get_textpage().get_text_range().split())


def codes_of(pdf: bytes, page: int = 0, scale: float = 5) -> list[tuple[str, float, float]]:
    """Each QR code on a page as printed at 360 dpi: text, and its middle in fractions of the page."""
    image = pypdfium2.PdfDocument(pdf)[page].render(scale=scale).to_pil().convert("L")
    width, height = image.size
    found = []
    for code in zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode):
        corners = (code.position.top_left, code.position.bottom_right)
        found.append((code.text, sum(c.x for c in corners) / 2 / width, sum(c.y for c in corners) / 2 / height))
    return found


def ink_of(pdf: bytes, page: int = 0) -> set[str]:
    """Colours on the page: red only where a pictogram is."""
    image = pypdfium2.PdfDocument(pdf)[page].render(scale=3).to_pil().convert("RGB")
    counted = image.getcolors(1 << 24) or []
    return {"red" for count, (r, g, b) in counted if r > 200 and g < 60 and b < 60 and count > 50}


@pytest.mark.parametrize("sheet", [BIG, *PRESETS.values()][:6], ids=lambda s: s.name)
def test_every_line_is_there_where_there_is_room(sheet: LabelSheet) -> None:
    result = render([ACID], sheet, start_at=min(3, sheet.places))
    words = text_of(result.pdf)
    required = ["Hydrochloric acid", "2 mol/L", "B-0142", "Made 11 Jan 2027 by A. Rowan", "DANGER"]
    required += ["Use by 11 Jan 2028", "H314", "H335"]
    if not result.notes:
        required += [
            ACID.school,
            "Keep: glass, vented cap",
            *map(str, (*ACID.p_statements, *ACID.h_statements)),
            *ACID.notes,
        ]
    for line in required:
        assert line in words
    assert "rules prevail" in words
    assert ink_of(result.pdf) == {"red"}
    assert not result.notes or sheet.width_mm * sheet.height_mm < 70 * 38


def test_a_large_label_says_all_and_the_whole_deferral() -> None:
    result = render([replace(ACID, check=True)], BIG)
    assert result.notes == ()
    assert AID in text_of(result.pdf)
    assert CHECK in text_of(result.pdf)


@pytest.mark.parametrize("code", ["B-0142", "UI-1", "x", "ACID-2027-STORE-ROOM-SHELF-3-NUMBER-17"])
@pytest.mark.parametrize("name", ["single 105 x 74 mm", "A4, 2 x 7", "A4, 3 x 8"])
def test_the_qr_reads_as_the_bottles_code(code: str, name: str) -> None:
    result = render([replace(ACID, bottle=code)], sheet_named(name))
    assert code in text_of(result.pdf)
    assert [text for text, _, _ in codes_of(result.pdf)] == [code]


def test_a_whole_sheet_of_small_labels_reads() -> None:
    sheet = sheet_named("A4, 4 x 10")
    plain = LabelContent("Sodium chloride", "1 mol/L", made_by="J. Alder", made_on=date(2027, 1, 11))
    result = render([replace(plain, bottle=f"S-{i}") for i in range(1, 41)], sheet)
    assert len(pypdfium2.PdfDocument(result.pdf)) == 1
    assert {text for text, _, _ in codes_of(result.pdf)} == {f"S-{i}" for i in range(1, 41)}


def test_a_small_label_drops_precautions_before_hazards_and_says_so() -> None:
    dropped_p = dropped_h = 0
    for width in range(100, 40, -4):
        result = render([ACID], sheet_named(f"single {width} x {width * 0.45:.1f} mm"))
        words, said = text_of(result.pdf), " ".join(result.notes)
        for always in ("Hydrochloric acid", "2 mol/L", "DANGER", "B-0142", "Use by 11 Jan 2028"):
            assert always in words
        assert ink_of(result.pdf) == {"red"}
        p_there = P_LONG in words
        h_there = all(str(h) in words for h in ACID.h_statements)
        assert p_there == ("precautionary statements left out" not in said)
        assert h_there == ("hazard statements" not in said)
        assert h_there or not p_there
        dropped_p += not p_there
        dropped_h += not h_there
        if not p_there:
            assert f"the label is {width:.1f} x" in said
            assert said.startswith("B-0142: ")
    assert dropped_p > dropped_h > 0
    with pytest.raises(PrepError, match=r"30.0 x 20.0 mm is too small for its name"):
        render([ACID], sheet_named("single 30 x 20 mm"))


def test_start_position_and_the_next_page() -> None:
    sheet = sheet_named("A4, 2 x 7")
    result = render([replace(ACID, bottle=f"B-{i}") for i in (1, 2, 3)], sheet, start_at=13)
    assert len(pypdfium2.PdfDocument(result.pdf)) == 2
    first = {text: (x, y) for text, x, y in codes_of(result.pdf)}
    second = {text: (x, y) for text, x, y in codes_of(result.pdf, 1)}
    assert set(first) == {"B-1", "B-2"}
    assert first["B-1"][0] < 0.5 < first["B-2"][0]
    assert min(y for _, y in first.values()) > 0.8
    assert second["B-3"][0] < 0.5
    assert second["B-3"][1] < 0.2


@pytest.mark.parametrize("start", [0, -1, 15])
def test_a_place_off_the_sheet_is_a_sentence(start: int) -> None:
    with pytest.raises(PrepError, match="places 1 to 14"):
        render([ACID], sheet_named("A4, 2 x 7"), start_at=start)


def test_unknown_hazards_never_look_harmless() -> None:
    unknown = LabelContent("Universal indicator", bottle="UI-1")
    for name in ("single 105 x 74 mm", "A4, 5 x 13"):
        words = text_of(render([unknown], sheet_named(name)).pdf)
        assert UNKNOWN in words
        assert HARMLESS not in words
    assert HARMLESS in text_of(render([replace(unknown, hazard_known=True)], BIG).pdf)


def test_the_check_line_is_never_dropped() -> None:
    tight = render([replace(ACID, check=True)], sheet_named("single 50 x 27 mm"))
    assert tight.notes
    assert re.search("|".join((CHECK, SHORT_CHECK)), text_of(tight.pdf))


LONG = "2,4-dinitrophenylhydrazinium tetrakis(pentafluorophenyl)borate in propan-2-ol and water " * 2


@pytest.mark.parametrize("name", [LONG, "A" * 180, "Copper(II) sulfate " * 8])
@pytest.mark.parametrize("sheet", ["single 105 x 74 mm", "A4, 2 x 7", "A4, 3 x 8"])
def test_a_long_name_is_whole(name: str, sheet: str) -> None:
    words = text_of(render([replace(ACID, name=name)], sheet_named(sheet)).pdf)
    assert re.sub(r"\s", "", name) in re.sub(r"\s", "", words)


def test_letters_that_the_font_lacks_are_written_otherwise_or_refused() -> None:
    odd = replace(ACID, name="CuSO₄·5H₂O [aq] <b> ± 5 µL, β → α, 10⁻³, Łódź", notes=("&amp; [b] \x00\u202etxt",))
    words = text_of(render([odd], BIG).pdf)
    assert "CuSO4·5H2O [aq] <b> ± 5 µL, beta -> alpha, 10−3, Łódź" in words
    assert "&amp; [b] txt" in words
    with pytest.raises(PrepError, match=r"U\+10FFFD|U\+1F9EA"):
        render([replace(ACID, name="\U0001f9ea acid")], BIG)
    noted = render([replace(ACID, keeping="\U0001f9ea")], BIG)
    assert "written with ?" in noted.notes[0]


@settings(max_examples=40, deadline=None)
@given(
    name=st.text(st.characters(codec="latin-1", exclude_categories=["Cc", "Cf", "Zs"]), min_size=1, max_size=60),
    width=st.integers(25, 110),
    height=st.integers(18, 90),
)
def test_any_name_on_any_label_is_whole_or_refused(name: str, width: int, height: int) -> None:
    sheet = sheet_named(f"single {width} x {height} mm")
    try:
        result = render([replace(ACID, name=name)], sheet)
    except PrepError:
        with pytest.raises(PrepError, match="too small"):
            render([replace(ACID, name=name)], sheet)
        return
    page = pypdfium2.PdfDocument(result.pdf)[0].get_textpage()
    for index in range(page.count_chars()):
        left, bottom, right, top = page.get_charbox(index)
        assert left >= 0
        assert bottom >= 0
        assert right <= width * 72 / 25.4 + 0.1
        assert top <= height * 72 / 25.4 + 0.1


def test_precautions_that_the_regulation_prints_without_a_stop_do_not_run_into_each_other() -> None:
    said = statements("P302+P352 IF ON SKIN: Wash with plenty of water", "P310 Immediately call a POISON CENTER/doctor")
    words = text_of(render([replace(ACID, p_statements=said)], BIG).pdf)
    assert "plenty of water. P310" in words
    assert "doctor." in words


def test_nothing_to_print_no_name_or_a_wrong_pictogram_is_a_sentence() -> None:
    for contents, why in (
        ([], "no label to print"),
        ([replace(ACID, name="  ")], "has no name"),
        ([replace(ACID, pictograms=("GHS5",))], "GHS01"),
    ):
        with pytest.raises(PrepError, match=why):
            render(contents, BIG)


def test_the_same_labels_give_the_same_bytes_in_another_process() -> None:
    here = render([ACID], BIG).pdf
    code = (
        "import hashlib, sys; sys.path.insert(0, sys.argv[1]); import test_label_pdf as t;"
        "print(hashlib.sha256(t.render([t.ACID], t.BIG).pdf).hexdigest())"
    )
    import hashlib
    from pathlib import Path

    done = subprocess.run(
        [sys.executable, "-c", code, str(Path(__file__).parent)], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == hashlib.sha256(here).hexdigest()
