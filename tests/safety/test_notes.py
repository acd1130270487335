"""Spills, fires and what is worn: advice for what stands there and for how strong it is, and no more than that."""

from decimal import Decimal

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Solution, Substance
from prep.safety.clp.classify import NO_VAPOUR, classify_substance
from prep.safety.notes import NeedOnBench, SafetyNotes, notes_for
from prep.safety.solution_hazards import hazards_of, reagents_of

Substances = dict[str, Substance]
Solutions = dict[str, Solution]


@pytest.fixture
def catalogue(substances: Substances, solutions: Solutions) -> Catalogue:
    return Catalogue(substances, solutions)


def notes(catalogue: Catalogue, *codes: str, volume_ml: str = "200") -> SafetyNotes:
    bench = []
    for code in codes:
        if code in catalogue.solutions:
            known = hazards_of(catalogue.solutions[code], catalogue)
        else:
            known = classify_substance(catalogue.substances[code])
        liquid = code in catalogue.solutions or catalogue.substances[code].form != "solid"
        amount = Decimal(volume_ml) if liquid else None
        bench.append(NeedOnBench(code, code, known, reagents_of([code], catalogue), "", amount))
    return notes_for(bench)


def spill(catalogue: Catalogue, *codes: str, volume_ml: str = "200") -> str:
    return " ".join(line.text for line in notes(catalogue, *codes, volume_ml=volume_ml).spill)


def fire(catalogue: Catalogue, *codes: str, volume_ml: str = "200") -> str:
    return " ".join(line.text for line in notes(catalogue, *codes, volume_ml=volume_ml).fire)


# Common practice, no source: what is wiped up and what is neutralised first.
def test_a_dilute_acid_or_alkali_is_wiped_up(catalogue: Catalogue) -> None:
    for weak in ("hcl-0.1", "naoh-0.1", "buffer-4.6"):
        assert "wet cloth" in spill(catalogue, weak), weak
        assert "sprinkle" not in spill(catalogue, weak), weak
    for strong in ("hcl-2", "hno3-1", "acetic-acid"):
        assert "sprinkle sodium hydrogencarbonate" in spill(catalogue, strong), strong
    for strong in ("naoh-0.5", "naoh-2"):
        assert "citric acid" in spill(catalogue, strong), strong
    assert "wet cloth" not in spill(catalogue, "hcl-0.1", "naoh-2")


def test_drops_of_an_indicator_are_neither_acid_nor_fire(catalogue: Catalogue) -> None:
    assert not spill(catalogue, "universal", volume_ml="2")
    assert not fire(catalogue, "universal", volume_ml="2")
    aid = {one.code for one in notes(catalogue, "universal", volume_ml="2").first_aid}
    assert "P303+P361+P353" not in aid


def test_what_holds_acid_and_alkali_is_what_is_left_of_them(catalogue: Catalogue) -> None:
    assert "Acid" not in spill(catalogue, "fehling")  # a drop of acid in strong alkali
    assert "citric acid" in spill(catalogue, "fehling")


def test_solids_are_scooped_up_dry(catalogue: Catalogue) -> None:
    assert "scoop it up dry" in spill(catalogue, "citric-acid")
    assert "sprinkle" not in spill(catalogue, "citric-acid")


def test_weak_bleach_is_wiped_up_with_paper(catalogue: Catalogue) -> None:
    assert "paper towels" not in spill(catalogue, "hypochlorite-1")
    assert "no paper towels" in spill(catalogue, "sodium-hypochlorite")


def test_an_anhydride_is_taken_up_dry(catalogue: Catalogue) -> None:
    for one in ("ethanoic-anhydride", "decanedioyl-dichloride"):
        assert "no water on it" in spill(catalogue, one)
        assert "sprinkle" not in spill(catalogue, one)


@pytest.mark.parametrize(
    ("code", "says", "never"),
    [  # US National Library of Medicine, Hazardous Substances Data Bank, lithium: fire fighting
        ("lithium", "dry graphite", "dry sand"),
        # the rest: common practice, no source
        ("sodium", "dry sand", "much water"),
        ("magnesium-ribbon", "dry sand; never water", "much water"),
        ("aluminium-powder", "dry sand; never water", "much water"),
        ("zinc-powder", "dry sand; never water", "much water"),
        ("sulfur", "sulfur dioxide", "much water"),
        ("red-phosphorus", "kept wet", "dry sand"),
        ("potassium-permanganate", "much water", "dry sand"),
        ("ethanol-96", "no jet of water", "dry sand"),
        ("hexane", "no jet of water", "hardly seen"),
    ],
)
def test_a_fire_is_put_out_with_what_does_not_feed_it(catalogue: Catalogue, code: str, says: str, never: str) -> None:
    said = fire(catalogue, code)
    assert says in said
    assert never not in said


def test_an_oxidiser_beside_a_metal_gets_no_water(catalogue: Catalogue) -> None:
    assert "much water" not in fire(catalogue, "potassium-chlorate", "magnesium-powder")


def test_nothing_that_burns_has_no_advice_on_fire(catalogue: Catalogue) -> None:
    assert not fire(catalogue, "hcl-2", "sodium-chloride")


def test_a_dissolved_salt_is_breathed_as_spray_alone(catalogue: Catalogue) -> None:
    found = notes(catalogue, "cocl2-0.2")
    said = [one.text for one in found.protection]
    assert NO_VAPOUR in said
    assert not any("respiratory protection" in text for text in said)
    dry = [one.text for one in notes(catalogue, "cobalt-chloride-6-water").protection]
    assert NO_VAPOUR not in dry
    assert any("respiratory protection" in text for text in dry)
    fuming = [one.text for one in notes(catalogue, "hydrochloric-acid", "cocl2-0.2").protection]
    assert any("well-ventilated" in text for text in fuming)


def test_alkali_in_more_acid_is_spilt_acid(catalogue: Catalogue) -> None:
    said = spill(catalogue, "vanadate-0.05")
    assert "Acid: sprinkle" in said
    assert "Alkali" not in said
