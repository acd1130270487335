"""Tables on a terminal: columns where there is room, paragraphs where a narrow one has none."""

import pytest

from prep.reports import terminal

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
