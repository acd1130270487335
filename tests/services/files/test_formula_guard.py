"""Cells that a spreadsheet would run are made text, and are the same again when they are read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.services.files.formula_guard import harmless, plain


# The characters named in the OWASP page "CSV Injection", and their full-width forms.
@pytest.mark.parametrize(
    "cell", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", " =1", "＝1+1", "＠x", "-", "+a", "'=1", '"=1', "'\"@x"]
)
def test_a_formula_is_made_text(cell: str) -> None:
    assert harmless(cell) == "'" + cell
    assert plain("'" + cell) == cell


@pytest.mark.parametrize("before", ["\t", "\r", "\n", "x;", "x\t", "x\r\n", "; "])
def test_a_formula_after_what_may_split_a_cell_is_made_text(before: str) -> None:
    assert harmless(before + "=1").endswith(("'=1", "' =1"))
    assert plain(harmless(before + "=1")) == before + "=1"


@pytest.mark.parametrize("cell", ["-5", "+3", "-2.5", "1e-7", "-0,25", "12", "", "'quoted'", "NaOH [aq]", "2-propanol"])
def test_numbers_and_names_stay(cell: str) -> None:
    assert harmless(cell) == cell
    assert plain(cell) == cell


@given(st.text(max_size=20))
def test_plain_takes_back_what_harmless_did(cell: str) -> None:
    assert plain(harmless(cell)) == cell
