"""The sheets of a booking and of a demonstration: what each must say, and that each is a page."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest

from prep.errors import PrepError
from prep.reports.demo.sheets import KINDS, sheet
from prep.services.catalogue import lookup
from prep.services.demos.demo_file import read_text_demo as demo_of_text
from prep.services.demos.packing import packing_of
from prep.services.demos.safety_notes import notes_of
from prep.services.demos.sheets import DemoSheets, bench_of, sheets
from prep.services.inventory.init import sample_inventory
from prep.services.safety.waste import waste_of


@pytest.fixture(scope="module")
def school() -> Iterator[Path]:
    with sample_inventory() as made:
        path = made.path
        yield path


@pytest.fixture(scope="module")
def titration(school: Path) -> DemoSheets:
    return sheets(school, "strong-acid-titration", 8)


@pytest.fixture(scope="module")
def booked(school: Path) -> DemoSheets:
    return sheets(school, "B2")


def read(kind: str, found: DemoSheets) -> tuple[str, int]:
    document = pypdfium2.PdfDocument(sheet(kind, found))
    pages = range(len(document))
    return " ".join(" ".join(document[page].get_textpage().get_text_range() for page in pages).split()), len(document)


@pytest.mark.parametrize(
    ("kind", "says"),
    [
        ("lesson", ("Blue bottle", "Hazards", "H315", "Controls", "Clearing up", "Signature", "S2", "R. Dunmore")),
        ("setting-out", ("Pour out", "330 mL", "4.5 mL", "Set out by", "Mind: Hold the stopper in")),
        ("packing", ("Packing list", "1 x 500 mL", "Comes back", "Carried by", "flask 500 mL")),
        ("safety", ("On the bench", "First aid", "Spill", "Clearing up")),
        ("waste", ("Waste", "Where it went", "ask before anything goes down a drain")),
    ],
)
def test_what_a_booking_s_sheets_say(booked: DemoSheets, kind: str, says: tuple[str, ...]) -> None:
    text, pages = read(kind, booked)
    assert [one for one in says if one not in text] == []
    assert pages == 1


@pytest.mark.parametrize("kind", KINDS)
def test_every_sheet_is_one_page_and_defers(titration: DemoSheets, kind: str) -> None:
    text, pages = read(kind, titration)
    assert pages == 1
    assert "data sheets, the school's own risk assessment, local rules and licensed practice prevail" in text


@pytest.mark.parametrize("kind", ["lesson", "setting-out", "safety"])
def test_who_must_allow_it_stands_on_the_sheet(school: Path, kind: str) -> None:
    text, _ = read(kind, sheets(school, "thermite"))
    assert "Ask first: " in text


def test_the_pupils_guess_and_the_teacher_has_the_answer(titration: DemoSheets) -> None:
    (asked, _), (answered, _) = read("pupils", titration), read("teacher", titration)
    assert "pink to colourless: 25 mL" in answered
    assert "pink" not in asked
    assert "Why do I expect this?" in asked


def test_what_may_not_be_carried_together_stands_on_the_packing_list(school: Path) -> None:
    found = sheets(school, "permanganate-glycerol")
    assert found.packing.apart
    assert "Not in one tray" in read("packing", found)[0]


def packed(found: DemoSheets) -> dict[str, tuple[str, str]]:
    """Map each thing that is no bottle of chemicals to its number and what is said of it."""
    return {one.name: (one.number, one.note) for one in found.packing.things}


def test_droppers_waste_bottle_and_goggles_are_packed_too(school: Path) -> None:
    """What a person carries over: common practice, no source."""
    on_file = lookup.known(school)
    read_demo = demo_of_text(
        'name = "x"\ncaution = "Goggles; gloves; behind a screen. Fume cupboard."\n[[vessel]]\nname = "cup"\n'
        '[[vessel.contains]]\nitem = "hcl-2"\namount = "5 mL"\n'
        '[[vessel.contains]]\nitem = "bromothymol-blue-0.05"\namount = "3 drops"\n'
        '[[vessel.add]]\nitem = "naoh-2"\nfrom = "fine-dropper"\nuntil = "20 drops"\n'
        '[[leftover]]\nwhat = "salt water"\ngoes = "neutralise"\n',
        "x",
        on_file,
    )
    assert read_demo.demo is not None, read_demo.mistakes
    demo = read_demo.demo
    reckoned = lookup.reckoned(demo, on_file).demo
    found = packing_of(reckoned, 2, notes_of(reckoned, on_file), waste_of(reckoned, 2, on_file), on_file)
    things = {one.name: (one.number, one.note) for one in found.things}
    assert things["cup"] == ("1", "empty")
    assert things["fine-tipped dropper"] == ("1", "for Sodium hydroxide, 2 mol/L")
    assert things["waste bottle, labelled: neutralise"][0] == "1 x 30 mL"
    assert things["goggles"][1] == "for all who stand at it"
    assert {"gloves", "safety screen", "eye-wash bottle", "for a spill"} <= set(things)
    assert "sodium hydrogencarbonate" in things["for a spill"][1]
    drops = {one.name: one.bottles for one in found.bottles}
    assert drops["Bromothymol blue indicator, 0.05 %"] == "1 x 30 mL, dropping bottle"
    assert drops["Sodium hydroxide, 2 mol/L"] == "1 x 30 mL"
    assert found.needed_there == ("A fume cupboard is needed there.",)


def test_each_set_of_a_practical_has_its_own_things(titration: DemoSheets) -> None:
    things = packed(titration)
    assert things["burette"][0] == things["conical flask"][0] == "8"
    assert things["pipette filler"] == ("", "as the cautions ask")
    assert "dropping bottle" not in things  # they are carried full
    (indicator,) = [one.bottles for one in titration.packing.bottles if one.name.startswith("Phenolphthalein")]
    assert indicator == "8 x 30 mL, dropping bottle"


def test_every_packing_list_is_a_page(school: Path) -> None:
    for code in ("thiosulfate-rate", "oscillator", "halogen-displacement", "sugar-sulfuric"):
        assert read("packing", sheets(school, code, 1))[1] == 1, code


def test_what_water_sets_on_fire_is_carried_under_oil_and_apart_from_the_water(school: Path) -> None:
    found = sheets(school, "alkali-metals")
    assert [one.bottles for one in found.packing.bottles if one.name == "Sodium"] == [
        "a jar that closes, under mineral oil"
    ]
    assert [
        one for one in found.packing.apart if one.startswith("Lithium and Sodium and Potassium apart from the water")
    ]
    assert [one.bottles for one in sheets(school, "calcium-water").packing.bottles if one.name == "Calcium"] == [
        "a jar that closes"
    ]


def test_without_a_curve_there_are_boxes_by_vessel_and_the_answer_says_what_is_seen(school: Path) -> None:
    found = sheets(school, "halogenoalkanes")
    asked, answered = read("pupils", found)[0], read("teacher", found)[0]
    assert "What I expect" in asked
    assert "one clouds in seconds" not in asked
    assert "What is to be seen: In alcohol at the same warmth: one clouds in seconds" in answered
    assert "What I expect" not in answered


def test_each_tray_of_a_class_practical_has_its_amounts(titration: DemoSheets) -> None:
    """A tray's share is what a single set takes, what stays in its burette with it."""
    assert titration.trays[0] == (
        "8 trays, one for each set: 140 mL Hydrochloric acid, 0.1 mol/L; 120 mL Sodium hydroxide, 0.1 mol/L; "
        "3 mL Phenolphthalein indicator, 0.1 %."
    )
    assert "8 trays, one for each set: 140 mL" in read("setting-out", titration)[0]


def test_of_one_set_alone_the_list_is_not_told_again_as_its_tray(school: Path) -> None:
    assert not any("for each set" in line for line in sheets(school, "strong-acid-titration", 1).trays)


def test_the_trial_runs_and_each_set_s_rest_are_set_out(school: Path) -> None:
    eight, one = sheets(school, "strong-acid-titration", 8), sheets(school, "strong-acid-titration", 1)
    assert (one.bench[0].total, eight.bench[0].total) == ("140 mL", "1.09 L")  # 15 mL stay in each burette


def test_a_sheet_that_is_none_is_a_sentence(titration: DemoSheets) -> None:
    with pytest.raises(PrepError, match="is no sheet; there are lesson"):
        sheet("poster", titration)


def test_the_lesson_sheet_sets_out_as_many_portions_as_are_predicted(titration: DemoSheets) -> None:
    acid, alkali, indicator = titration.bench
    assert (acid.each, alkali.each, indicator.each) == ("110 mL", "4 x 25 mL", "4 x 3 drops")
    (vessel,) = titration.prediction.vessels
    assert vessel.portions == 4
    assert vessel.contents[0].startswith("25 mL of Sodium hydroxide")
    assert vessel.textbook_ml == 27.5
    assert "4 x 25 mL" in read("lesson", titration)[0]
    assert "one of 4 such portions" in read("teacher", titration)[0]


def test_four_vessels_stand_on_a_page_in_whole_millilitres(school: Path) -> None:
    found = sheets(school, "ph-curves", 1)
    text, pages = read("teacher", found)
    assert (pages, read("pupils", found)[1]) == (1, 1)
    assert "0 14 28 42 56 70" in text
    assert "Colour" not in text  # there is no indicator


def test_a_trial_run_and_the_note_for_the_prep_room_stand_on_the_sheets(school: Path) -> None:
    found = sheets(school, "B104")
    for kind in ("lesson", "setting-out", "packing"):
        text = read(kind, found)[0]
        assert "1 showing and 1 trial run" in text
        assert "Note: tried with the prep room first" in text
    assert "Note:" not in read("pupils", found)[0]
    assert "3 showings;" in read("lesson", sheets(school, "B104", 3))[0]


def test_the_setting_out_card_tells_what_goes_in_from_what_stands_in(school: Path, titration: DemoSheets) -> None:
    on_file = lookup.known(school)
    demo = demo_of_text(
        'name = "x"\n[[vessel]]\nname = "cup"\n[[vessel.contains]]\nitem = "hcl-0.1"\namount = "5 mL"\n'
        '[[vessel.add]]\nitem = "naoh-0.1"\nfrom = "fine-dropper"\nuntil = "20 drops"\n',
        "x",
        on_file,
    ).demo
    assert demo is not None
    inside, added = bench_of(demo, 1, on_file)
    assert (inside.dropper, added.dropper) == ("", "fine-tipped dropper")
    text, pages = read("setting-out", replace(titration, demo=demo, bench=(inside, added)))
    assert text.count("added from the fine-tipped dropper") == 1
    assert pages == 1
