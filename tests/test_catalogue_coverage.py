"""What a school's prep room makes, shows and holds in a year, held against what is on file.

tests/data/prep_room_year.csv lists it, each row with how much it is used (5 most; a judgement, common practice, no
source), the CAS number of a substance, and the codes that cover it.
"""

import csv
import re
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from prep.errors import NotOnFile
from prep.services.catalogue import lookup
from tests.catalogue_contents import key_of, on_file, strengths

with (Path(__file__).parent / "data" / "prep_room_year.csv").open(encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file))
ASKED = {"5": 1.0, "4": 0.95, "3": 0.8}


@pytest.mark.parametrize("use", ASKED)
@pytest.mark.parametrize("kind", ["substances", "solutions", "demos"])
def test_what_is_used_is_on_file(kind: str, use: str) -> None:
    rows = [row for row in ROWS if row["list"] == kind and row["use"] == use]
    covered = Counter(bool(row["codes"]) for row in rows)
    assert covered[True] >= ASKED[use] * len(rows), [row["name"] for row in rows if not row["codes"]]


def test_each_code_of_the_lists_ison_file() -> None:
    known = {"substances": on_file().substances, "solutions": on_file().solutions, "demos": on_file().demos}
    for row in ROWS:
        for code in filter(None, row["codes"].split(";")):
            assert code in known[row["list"]], row


def test_a_substance_on_the_list_is_the_one_on_file_by_its_number() -> None:
    """Of several forms (a hydrate, a strength) one has the number of the list."""
    for row in ROWS:
        if row["list"] == "substances" and row["codes"] and re.fullmatch(r"[\d-]+", row["cas"]):
            numbers = {on_file().substances[code].cas for code in row["codes"].split(";")}
            assert row["cas"] in numbers or any(
                on_file().substances[code].solute == on_file().substances[other].solute
                for code in row["codes"].split(";")
                for other in on_file().substances
                if on_file().substances[other].cas == row["cas"]
            ), row


@cache
def _solutes(cas: str) -> frozenset[str]:
    """What is dissolved when a substance of that number is: the same for each of its hydrates."""
    return frozenset(key_of(s) for s in on_file().substances.values() if s.cas == cas)


def _said(name: str) -> tuple[float, float, int] | None:
    """The strengths that a row names, least and most, and whether they are mol/L (0) or per cent (1)."""
    number = r"(\d+(?:\.\d+)?(?:e-\d+)?)"
    for place, unit in enumerate(("mol/L", "%")):
        if found := re.search(rf"{number}(?: (?:to|or|and) {number})? {unit}", name):
            return float(found[1]), float(found[2] or found[1]), place
    return None


def _made_of(row: dict[str, str]) -> list[str]:
    """The solutions on file that hold what the row names, by CAS number and solute, at its strength.

    A molar strength is the row's own; a percentage, of which books differ, within half and double.
    """
    wanted = [_solutes(cas) for cas in row["cas"].split(";")]
    said = _said(row["name"])
    out = []
    for code in on_file().solutions:
        there_are = strengths(code)
        if not all(solutes & there_are.keys() for solutes in wanted):
            continue
        if said:
            low, high, place = said
            slack = 2.0 if place else 1.005
            there = [there_are[solute][place] for solutes in wanted for solute in solutes & there_are.keys()]
            there.append(sum(there))  # a buffer's strength is that of acid and base together
            if not any(low / slack <= one <= high * slack for one in there):
                continue
        out.append(code)
    return out


@pytest.mark.parametrize("use", ASKED)
def test_what_is_made_is_on_file_by_number_solute_and_strength(use: str) -> None:
    rows = [row for row in ROWS if row["list"] == "solutions" and row["use"] == use]
    missing = [row["name"] for row in rows if not (_made_of(row) if row["cas"] else row["codes"])]
    assert len(missing) <= (1 - ASKED[use]) * len(rows), missing


def _held(demo: str) -> set[str]:
    """What a demonstration sets out, down to what its solutions are made from, as the solutes they are."""
    items = [need.item for need in on_file().demos[demo].needs]
    held: set[str] = set()
    while items:
        item = items.pop()
        if (made := on_file().solutions.get(item)) is not None:
            held |= {made.solute} - {""}
            items += [line.item for line in made.recipe]
        elif (substance := on_file().substances.get(item)) is not None:
            held.add(key_of(substance))
    return held


def _not_set_out(row: dict[str, str]) -> list[str]:
    """The substances of a demonstration's row, by number, that none of the demonstrations of its codes sets out."""
    held = set().union(*(_held(code) for code in filter(None, row["codes"].split(";"))))
    return [cas for cas in filter(None, row["cas"].split(";")) if not _solutes(cas) & held]


def test_a_demonstration_of_the_list_sets_out_what_it_is_shown_with() -> None:
    rows = [row for row in ROWS if row["list"] == "demos" and row["codes"]]
    assert [(row["name"], missing) for row in rows if (missing := _not_set_out(row))] == []
    assert [row["name"] for row in rows if not row["cas"]] == ["Burning methane bubbles"]  # gas from the tap
    assert _not_set_out(next(row for row in rows if row["codes"] == "golden-rain") | {"codes": "blue-bottle"})


def test_the_codes_of_the_list_are_those_that_were_found() -> None:
    checked = 0
    for row in ROWS:
        if row["list"] == "solutions" and row["cas"] and row["codes"]:
            assert set(row["codes"].split(";")) & set(_made_of(row)), row
            checked += 1
    assert checked >= 130


def test_a_strength_that_is_not_on_file_is_not_covered() -> None:
    """The judge can say no: to another strength, and to another solute of the same strength."""
    acid = next(row for row in ROWS if row["name"] == "Hydrochloric acid, 2 mol/L")
    assert "hcl-2" in _made_of(acid)
    assert not _made_of(acid | {"name": "Hydrochloric acid, 1.7 mol/L"})
    assert "hcl-2" not in _made_of(acid | {"cas": "7664-93-9"})


OTHERWISE = {"Fehling's A and B": "fehling"}
"""A name that means an entry beside the one that covers the row: the two mixed."""


@pytest.mark.parametrize("kind", ["substance", "solution", "demo"])
def test_each_name_of_the_lists_finds_its_entry(kind: lookup.RecordKind) -> None:
    """Whatever a person writes of the lists, with brackets and several strengths, lists its entry."""
    lost = []
    for row in ROWS:
        codes = set(filter(None, row["codes"].split(";"))) | {OTHERWISE.get(row["name"], "")}
        if row["list"] == f"{kind}s" and row["codes"] and not codes & set(_listed(kind, row["name"])):
            lost.append(row["name"])
    assert lost == []


def _listed(kind: lookup.RecordKind, search: str) -> list[str]:
    try:
        return lookup.searched(on_file(), kind, search).codes
    except NotOnFile:
        return []


def test_a_search_says_that_it_found_only_what_is_near_and_nothing_of_nothing() -> None:
    near = lookup.searched(on_file(), "demo", "Hardness with EDTA")
    assert "hard-water" in near.codes
    assert near.says == 'No demo on file has all of the words "Hardness with EDTA"; the nearest:'
    assert lookup.searched(on_file(), "substance", "Maize (vegetable) oil").codes == ["maize-oil"]
    assert lookup.searched(on_file(), "demo", "golden rain") == lookup.SearchResult(["golden-rain"])
    for nonsense in ("zzz", "sodium unobtainide", "a quantum flux"):
        with pytest.raises(NotOnFile, match="matches"):
            lookup.searched(on_file(), "substance", nonsense)
