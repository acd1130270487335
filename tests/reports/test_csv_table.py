"""CSV that a spreadsheet reads as text: delimiters, round trip."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.reports import csv_table
from prep.services.files.formula_guard import plain

_CELLS = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=8)


@given(st.lists(st.lists(_CELLS, min_size=3, max_size=3), max_size=5))
def test_a_reader_of_csv_gets_every_cell_back(rows: list[list[str]]) -> None:
    text = csv_table.csv_text(("a", "b", "c"), rows)
    back = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert back[0] == ["a", "b", "c"]
    assert [[plain(cell) for cell in row] for row in back[1:]] == rows


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_no_delimiter_of_another_country_uncovers_a_formula(delimiter: str) -> None:
    text = csv_table.csv_text(("a", "b"), [("x;=1+1", "y; @2"), ("p\t=3", "q,=4")])
    cells = [cell for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter) for cell in row]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "@"))]


def test_none_is_empty_and_a_short_row_is_a_fault() -> None:
    assert csv_table.csv_text(("a", "b"), [(None, 3)]) == "a,b\r\n,3\r\n"
    with pytest.raises(ValueError, match="1 cells for 2 columns"):
        csv_table.csv_text(("a", "b"), [("x",)])


def test_a_file_is_utf8_and_marked_so_where_asked() -> None:
    assert csv_table.csv_bytes(("a",), [("µ",)], bom=True) == b"\xef\xbb\xbfa\r\n\xc2\xb5\r\n"
    assert csv_table.csv_bytes(("a",), [("=x",)]) == b"a\r\n'=x\r\n"
