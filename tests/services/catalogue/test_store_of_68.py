"""A prep room's own list of 68 rows, in the trade's words: every row is taken, or asked about in one sentence.

tests/data/store_of_68.csv is invented; its last column is what a chemist would take each name for.
"""

import csv
from pathlib import Path

import pytest

from prep.errors import PrepError
from prep.services.catalogue.names import choose_with_cas, find_item
from prep.services.catalogue.on_file import OnFile

with (Path(__file__).parents[2] / "data" / "store_of_68.csv").open(encoding="utf-8") as file:
    ROWS = list(csv.DictReader(file))
TAKEN = [row for row in ROWS if row["Means"]]
ASKED = [row for row in ROWS if not row["Means"]]


def test_there_are_68_rows_and_two_are_of_what_is_not_on_file() -> None:
    assert (len(ROWS), [row["Reagent"] for row in ASKED]) == (68, ["Devarda's alloy", "White spirit"])


@pytest.mark.parametrize("row", TAKEN, ids=lambda row: str(row["Reagent"]))
def test_a_row_is_taken_for_what_it_is(catalogue: OnFile, row: dict[str, str]) -> None:
    named = row["Reagent"]
    given = row["CAS No."]
    found = choose_with_cas(named, given, catalogue).item if given else find_item(named, catalogue)
    assert found.code == row["Means"]
    # nor does the CAS number hide that the name alone is not understood
    assert find_item(named, catalogue).code == row["Means"]


@pytest.mark.parametrize("row", ASKED, ids=lambda row: str(row["Reagent"]))
def test_what_is_not_on_file_is_asked_about(catalogue: OnFile, row: dict[str, str]) -> None:
    with pytest.raises(PrepError, match="is neither a substance nor a solution on file"):
        find_item(row["Reagent"], catalogue)
