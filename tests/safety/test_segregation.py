"""What must not share a place: the published cells, particular pairs, and moves that help."""

import csv
from itertools import combinations
from pathlib import Path

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Solution, Substance
from prep.resources import seed_table
from prep.safety import segregation
from prep.safety.segregation import StoredBottle, between, conflicts, pair_verdict
from prep.safety.solution_hazards import composition_of, hazards_of
from prep.safety.storage_groups import groups_of_solution, groups_of_substance

Substances = dict[str, Substance]
Solutions = dict[str, Solution]


# 49 CFR 177.848(d), read cell by cell: X never together, O only apart.
with (Path(__file__).parent / "data" / "segregation_177_848.csv").open(encoding="utf-8", newline="") as file:
    SEGREGATION = {(r["row_class"], r["col_class"]): r["cell"] for r in csv.DictReader(file)}


def test_storage_pairs_cite_the_cell_of_the_transport_table() -> None:
    dot = {r["group"]: r["dot_class"] for r in seed_table("storage_groups")}
    held = 0
    for r in seed_table("storage_pairs"):
        one, other = dot[r["group_a"]], dot[r["group_b"]]
        if r["dot_cell"] and one and other and one[0].isdigit() and other[0].isdigit():
            assert SEGREGATION[one, other] == SEGREGATION[other, one] == r["dot_cell"], (r["group_a"], r["group_b"])
            held += 1
    assert held > 20


def test_the_pair_table_is_whole() -> None:
    names = [r["group"] for r in seed_table("storage_groups")]
    pairs = {frozenset((r["group_a"], r["group_b"])) for r in seed_table("storage_pairs")}
    assert pairs == {frozenset(p) for p in [*combinations(names, 2), *((n, n) for n in names)]}


# EPA-600/2-80-076 chart; 40 CFR 265 Appendix V
@pytest.mark.parametrize(
    ("one", "other", "verdict"),
    [
        ("acid_inorganic_nonoxidising", "base_caustic", "incompatible"),
        ("acid_inorganic_nonoxidising", "hypochlorite", "incompatible"),
        ("acid_inorganic_oxidising", "acid_organic", "incompatible"),
        ("acid_inorganic_oxidising", "flammable_liquid", "incompatible"),
        ("oxidiser", "flammable_liquid", "incompatible"),
        ("alkali_metal", "water_aqueous", "incompatible"),
        ("acid_inorganic_nonoxidising", "acid_inorganic_oxidising", "separate"),
        ("acid_organic", "flammable_liquid", "separate"),
        ("flammable_liquid", "flammable_liquid", "compatible"),
        ("low_hazard", "oxidiser", "compatible"),
    ],
)
def test_pair_verdicts_in_either_order(one: str, other: str, verdict: str) -> None:
    assert pair_verdict(one, other).verdict == verdict
    assert pair_verdict(other, one) == pair_verdict(one, other)
    if verdict != "compatible":
        assert pair_verdict(one, other).source
        assert pair_verdict(one, other).reason


def bottle(substances: Substances, number: int, code: str, place: str) -> StoredBottle:
    one = substances[code]
    return StoredBottle(f"B{number}", code, place, groups_of_substance(one), one.name, one)


def test_planted_pairs_are_found_worst_first_with_a_move(substances: Substances) -> None:
    kept = [
        bottle(substances, 1, "nitric-acid", "acid cupboard"),
        bottle(substances, 2, "ethanol-96", "acid cupboard"),
        bottle(substances, 3, "acetone", "flammables cabinet"),
        bottle(substances, 4, "sodium-hypochlorite", "shelf 2"),
        bottle(substances, 5, "ammonia", "shelf 2"),
        bottle(substances, 6, "sodium-chloride", "shelf 2"),
        bottle(substances, 7, "phenol-red", "shelf 2"),
        bottle(substances, 8, "sodium-hydroxide", "alkali cupboard"),
    ]
    found = conflicts(kept)
    assert [f.severity for f in found] == ["act", "act"]
    assert {f.about for f in found} == {"acid cupboard", "shelf 2"}
    by_place = {f.about: f for f in found}
    assert by_place["acid cupboard"].cure.startswith("Move B2")
    assert by_place["acid cupboard"].cure.endswith("flammables cabinet.")
    assert by_place["shelf 2"].cure.startswith("Move B5")
    assert "alkali cupboard" in by_place["shelf 2"].cure
    assert all(f.source for f in found)


def test_the_move_proposed_makes_no_new_conflict(substances: Substances) -> None:
    kept = [
        bottle(substances, 1, "hydrochloric-acid", "a"),
        bottle(substances, 2, "sodium-hydroxide", "a"),
        bottle(substances, 3, "sodium-hypochlorite", "b"),
    ]
    (finding,) = conflicts(kept)
    assert finding.cure == f"Give B1 ({substances['hydrochloric-acid'].name}) a place of its own."
    (finding,) = conflicts(kept, ["a", "b", "empty"])
    assert finding.cure.endswith("to empty.")


def test_a_like_place_that_holds_something_incompatible_is_not_proposed(substances: Substances) -> None:
    kept = [
        bottle(substances, 1, "hydrochloric-acid", "a"),
        bottle(substances, 2, "sodium-hydroxide", "a"),
        bottle(substances, 3, "phosphoric-acid", "b"),
        bottle(substances, 4, "sodium-hypochlorite", "b"),
    ]
    cures = {f.about: f.cure for f in conflicts(kept)}
    assert cures["a"] == f"Give B1 ({substances['hydrochloric-acid'].name}) a place of its own."


def test_what_has_no_data_is_said(substances: Substances) -> None:
    from dataclasses import replace

    soap = replace(substances["washing-up-liquid"], storage_group="", classification="")
    (finding,) = conflicts([StoredBottle("B1", soap.code, "sink", groups_of_substance(soap), soap.name)])
    assert finding.code == "not-known"


def test_dilute_solutions_do_not_cry_wolf(substances: Substances, solutions: Solutions) -> None:
    def stock(number: int, code: str) -> StoredBottle:
        solution = solutions[code]
        made = composition_of(solution, Catalogue(substances, solutions))
        mixture = hazards_of(solution, Catalogue(substances, solutions))
        return StoredBottle(f"S{number}", code, "bench", groups_of_solution(made.components, mixture), solution.name)

    mild = ["hcl-0.1", "naoh-0.1", "agno3-0.02", "kmno4-0.02", "cuso4-0.1", "buffer-7", "h2o2-10vol", "starch-1"]
    assert conflicts([stock(i, code) for i, code in enumerate(mild)]) == ()
    dilute = conflicts([stock(1, "h2so4-2"), stock(2, "naoh-2")])
    assert [f.severity for f in dilute] == ["note"]
    strong = conflicts([stock(1, "hcl-5"), stock(2, "naoh-5")])
    assert [f.severity for f in strong] == ["act"]
    sodium = bottle(substances, 9, "sodium", "bench")
    assert [f.severity for f in conflicts([stock(1, "buffer-7"), sodium])] == ["act"]


def test_weak_acids_count_for_the_gas_they_set_free_only(substances: Substances) -> None:
    citric = bottle(substances, 1, "citric-acid", "x")
    assert between(citric, bottle(substances, 2, "sodium-hypochlorite", "x")).bad
    assert not between(citric, bottle(substances, 2, "sodium-hydroxide", "x")).bad
    assert not between(citric, bottle(substances, 2, "ethanol-96", "x")).bad
    assert not between(bottle(substances, 1, "boric-acid", "x"), bottle(substances, 2, "sodium-hydroxide", "x")).bad


def test_two_bottles_of_one_item_never_conflict(substances: Substances) -> None:
    assert conflicts([bottle(substances, n, "nitric-acid", "x") for n in (1, 2)]) == ()


def test_bottles_of_one_item_are_asked_of_once(substances: Substances, monkeypatch: pytest.MonkeyPatch) -> None:
    """Findings and moves are those of each item; how many bottles there are changes the codes named, no more."""
    asked: list[tuple[str, str]] = []
    judge = segregation.verdict_of
    monkeypatch.setattr(segregation, "verdict_of", lambda a, b: asked.append((a.name, b.name)) or judge(a, b))
    codes = ["hydrochloric-acid", "sodium-hydroxide", "ethanol-96", "sodium-chloride"]
    few = [bottle(substances, number, code, "x") for number, code in enumerate(codes)]
    many = [bottle(substances, 10 * number + n, code, "x") for number, code in enumerate(codes) for n in range(9)]
    one_each = conflicts(few, ["x", "y"])
    pairs, asked[:] = len(asked), []
    of_many = conflicts(many, ["x", "y"])
    assert len(asked) == pairs
    assert [(f.severity, f.code, f.about) for f in of_many] == [(f.severity, f.code, f.about) for f in one_each]
    assert "(B0, B1, B2, B3, B4, B5, B6, B7, B8 and B10, B11," in of_many[0].message


def test_a_move_goes_where_nothing_is_wrong_and_never_beside_what_it_feeds(substances: Substances) -> None:
    """Common practice, no source: syrup goes to the sugar, not to the salts that burn it."""
    rooms = {
        "A": ("potassium-permanganate", "glycerol"),
        "B": ("nitric-acid",),
        "C": ("sodium-nitrite",),
        "D": ("potassium-chlorate", "sulfur"),
        "E": ("sodium-chloride", "sucrose"),
    }
    held = [
        bottle(substances, number, code, place)
        for number, (place, code) in enumerate((place, code) for place, codes in rooms.items() for code in codes)
    ]
    cures = {finding.about: finding.cure for finding in conflicts(held, [*rooms, "F"])}
    assert cures["A"].endswith("(Glycerol) to E.") or "Potassium permanganate" in cures["A"]
    assert not any("(Sulfur) to A." in cure or "(Glycerol) to D." in cure for cure in cures.values())


# Common practice, no source: one bottle that many must not stand beside is moved, not the many.
def test_the_one_that_clashes_with_many_is_moved(substances: Substances) -> None:
    beside = ("benzoic-acid", "salicylic-acid", "glycerol", "urea", "sodium-sulfite", "ammonium-chloride")
    kept = [bottle(substances, n, code, "shelf") for n, code in enumerate(("sodium-hypochlorite", *beside), 1)]
    kept.append(bottle(substances, 20, "sodium-hydroxide", "alkali cupboard"))
    cures = {one.cure for one in conflicts(kept) if one.severity == "act"}
    assert cures == {f"Give B1 ({substances['sodium-hypochlorite'].name}) a place of its own."}


def test_what_a_place_is_rid_of_bars_nobody_from_it(substances: Substances) -> None:
    kept = [
        bottle(substances, 1, "hydrochloric-acid", "acids"),
        bottle(substances, 2, "sulfuric-acid", "acids"),
        bottle(substances, 3, "sodium-hydroxide", "acids"),
        bottle(substances, 4, "potassium-hydroxide", "alkalis"),
        bottle(substances, 5, "ammonia", "alkalis"),
        bottle(substances, 6, "phosphoric-acid", "alkalis"),
    ]
    cures = {one.cure for one in conflicts(kept) if one.severity == "act"}
    assert [(cure[:7], cure.rpartition(" ")[2]) for cure in sorted(cures)] == [
        ("Move B3", "alkalis."),
        ("Move B6", "acids."),
    ]


def test_no_acid_is_sent_to_a_cupboard_of_alkalis(substances: Substances) -> None:
    kept = [
        bottle(substances, 1, "citric-acid", "shelf"),
        bottle(substances, 2, "sodium-sulfide-9-water", "shelf"),
        bottle(substances, 3, "sodium-hydroxide", "alkali cupboard"),
    ]
    (found,) = (one for one in conflicts(kept) if one.severity == "act")
    assert not found.cure.startswith("Move B1")
