"""CSV that a spreadsheet reads as text: formula cells, delimiters, round trip."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.reports import csvout


# The characters named in the OWASP page "CSV Injection", and their full-width forms.
@pytest.mark.parametrize(
    "cell", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", " =1", "＝1+1", "＠x", "-", "+a", "'=1"]
)
def test_a_formula_is_made_text(cell: str) -> None:
    assert csvout.harmless(cell) == "'" + cell
    assert csvout.plain("'" + cell) == cell


@pytest.mark.parametrize("before", ["\t", "\r", "\n", "x;", "x\t", "x\r\n", "; "])
def test_a_formula_after_what_may_split_a_cell_is_made_text(before: str) -> None:
    assert csvout.harmless(before + "=1").endswith(("'=1", "' =1"))
    assert csvout.plain(csvout.harmless(before + "=1")) == before + "=1"


@pytest.mark.parametrize("cell", ["-5", "+3", "-2.5", "1e-7", "-0,25", "12", "", "'quoted'", "NaOH [aq]", "2-propanol"])
def test_numbers_and_names_stay(cell: str) -> None:
    assert csvout.harmless(cell) == cell
    assert csvout.plain(cell) == cell


@given(st.text(max_size=20))
def test_plain_takes_back_what_harmless_did(cell: str) -> None:
    assert csvout.plain(csvout.harmless(cell)) == cell


_CELLS = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=8)


@given(st.lists(st.lists(_CELLS, min_size=3, max_size=3), max_size=5))
def test_a_reader_of_csv_gets_every_cell_back(rows: list[list[str]]) -> None:
    text = csvout.csv_text(("a", "b", "c"), rows)
    back = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert back[0] == ["a", "b", "c"]
    assert [[csvout.plain(cell) for cell in row] for row in back[1:]] == rows


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_no_delimiter_of_another_country_uncovers_a_formula(delimiter: str) -> None:
    text = csvout.csv_text(("a", "b"), [("x;=1+1", "y; @2"), ("p\t=3", "q,=4")])
    cells = [cell for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@"))]


def test_none_is_empty_and_a_short_row_is_a_fault() -> None:
    assert csvout.csv_text(("a", "b"), [(None, 3)]) == "a,b\r\n,3\r\n"
    with pytest.raises(ValueError, match="1 cells for 2 columns"):
        csvout.csv_text(("a", "b"), [("x",)])


def test_a_file_is_utf8_and_marked_so_where_asked() -> None:
    assert csvout.csv_bytes(("a",), [("µ",)], bom=True) == b"\xef\xbb\xbfa\r\n\xc2\xb5\r\n"
    assert csvout.csv_bytes(("a",), [("=x",)]) == b"a\r\n'=x\r\n"
