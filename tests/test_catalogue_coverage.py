"""What a school's prep room makes, shows and holds in a year, held against what is on file.

tests/data/prep_room_year.csv lists it, each row with how much it is used (5 most; a judgement, common practice, no
source), the CAS number of a substance, and the codes that cover it.
"""

import csv
import re
from collections import Counter
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest

from prep.chemistry.model import StrengthKind
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue

with (Path(__file__).parent / "data" / "prep_room_year.csv").open(encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file))
ASKED = {"5": 1.0, "4": 0.95, "3": 0.8}


@cache
def _on_file() -> OnFile:
    return read_catalogue(seed_data())


@pytest.mark.parametrize("use", ASKED)
@pytest.mark.parametrize("kind", ["substances", "solutions", "demos"])
def test_what_is_used_is_on_file(kind: str, use: str) -> None:
    rows = [row for row in ROWS if row["list"] == kind and row["use"] == use]
    covered = Counter(bool(row["codes"]) for row in rows)
    assert covered[True] >= ASKED[use] * len(rows), [row["name"] for row in rows if not row["codes"]]


def test_each_code_of_the_lists_is_on_file() -> None:
    known = {"substances": _on_file().substances, "solutions": _on_file().solutions, "demos": _on_file().demos}
    for row in ROWS:
        for code in filter(None, row["codes"].split(";")):
            assert code in known[row["list"]], row


def test_a_substance_on_the_list_is_the_one_on_file_by_its_number() -> None:
    """Of several forms (a hydrate, a strength) one has the number of the list."""
    for row in ROWS:
        if row["list"] == "substances" and row["codes"] and re.fullmatch(r"[\d-]+", row["cas"]):
            numbers = {_on_file().substances[code].cas for code in row["codes"].split(";")}
            assert row["cas"] in numbers or any(
                _on_file().substances[code].solute == _on_file().substances[other].solute
                for code in row["codes"].split(";")
                for other in _on_file().substances
                if _on_file().substances[other].cas == row["cas"]
            ), row


def test_a_solution_on_the_list_has_its_strength() -> None:
    """`X, 0.1 mol/L` is covered by one that states 0.1 mol/L (or whose recipe states none)."""
    checked = 0
    for row in ROWS:
        figures = re.findall(r"(\d+(?:\.\d+)?(?:e-\d+)?) mol/L", row["name"])
        if row["list"] != "solutions" or len(figures) != 1 or re.search(r" (to|or) ", row["name"]) or not row["codes"]:
            continue
        strengths = [_on_file().solutions[code].strength for code in row["codes"].split(";")]
        stated = [s.value for s in strengths if s and s.kind is StrengthKind.MOL_PER_L]
        if stated:
            assert Decimal(figures[0]) in stated, row
            checked += 1
    assert checked >= 40
