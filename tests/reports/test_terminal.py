"""Tables on a terminal: columns where there is room, paragraphs where a narrow one has none."""

import pytest

from prep.reports import terminal
from prep.reports.stocktake.count_tables import Section
from prep.reports.stocktake.count_view import show_section

HEADERS = ("Bottle", "Holds", "Amount", "At", "Status")
ROWS = [("K7Q2", "Copper(II) sulfate pentahydrate", "218.5 g", "CUPBOARD", "")]


def test_a_row_without_room_is_a_paragraph(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    terminal.table(HEADERS, ROWS, right=(2,))
    assert capsys.readouterr().out.splitlines() == [
        "",
        " K7Q2  Copper(II) sulfate pentahydrate",
        "   Amount: 218.5 g",
        "   At: CUPBOARD",
    ]


def test_with_room_it_has_columns(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    terminal.table(HEADERS, ROWS, right=(2,))
    assert capsys.readouterr().out.splitlines()[1].split() == list(HEADERS)


@pytest.mark.parametrize("columns", ["40", "80"])
def test_a_line_across_stands_before_its_row(
    columns: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    terminal.table(HEADERS, [*ROWS, ("Z9", *ROWS[0][1:])], right=(2,), above={1: "Tue 12 Jan"})
    lines = capsys.readouterr().out.splitlines()
    at = lines.index(" Tue 12 Jan")
    assert lines[at + 1].startswith(" Z9 ")
    assert any(line.startswith(" K7Q2 ") for line in lines[:at])


@pytest.mark.parametrize(("columns", "under"), [("80", True), ("120", False)])
def test_a_column_of_sentences_stands_under_a_narrow_table(
    columns: str, under: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    cause = "perhaps nobody wrote down what a lesson took"
    rows = (("K7Q2", "218.5 g", cause), ("Z9AA", "3 g", ""))
    show_section(Section("flagged", "Flagged", ("Bottle", "Counted", "Likely cause"), rows, (1,), sentences=2))
    lines = capsys.readouterr().out.splitlines()
    assert (f" Likely cause of K7Q2: {cause}" in lines) is under
    assert [line for line in lines if "Z9AA:" in line] == []
    assert ("Likely cause" in lines[1]) is not under


def test_what_several_bottles_have_in_common_is_said_once(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    act = "explosives precursor, restricted, above 3 % w/w (Regulation (EU) 2019/1148, Annex I)"
    rows = (("B2T8", "250 mL", act), ("K7B3", "968 mL", act), ("M9D4", "410 mL", "excise (an act)"))
    heads = ("Bottle", "Left", "Named by")
    show_section(Section("controlled", "Controlled", heads, rows, (1,), sentences=2, several=True))
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines[3:6]] == ["B2T8", "K7B3", "M9D4"]  # a line a bottle
    under = " ".join(" ".join(lines[6:]).split())
    assert under == f"Named by: B2T8, K7B3: {act} M9D4: excise (an act)"
