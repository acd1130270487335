"""`prep safety`, `prep label` and the hazards of a make, on a real file."""

import json
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp

from prep.reports.labels import label_pdf as pdf
from prep.reports.labels.sheet_sizes import sheet_named
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.stock.labels import label_of
from tests.cli.conftest import Result, Run
from tests.databases import made_once

pytestmark = pytest.mark.on_file


@pytest.fixture
def school(prep: Run, url: str) -> Run:
    """The invented school's inventory."""
    made_once(url, "invented_school", lambda: assert_done(prep("init", "--from", seed_data() / "school")))
    return prep


def assert_done(result: Result) -> None:
    """Check that a command did what it was asked."""
    assert result.code == 0


def codes_on(file: Path) -> list[str]:
    """QR codes on the first page."""
    page = pypdfium2.PdfDocument(str(file))[0].render(scale=6).to_pil()
    return [found.text for found in zxingcpp.read_barcodes(page)]


def text_of(file: Path) -> str:
    """The text of the first page, on one line."""
    return " ".join(str(pypdfium2.PdfDocument(str(file))[0].get_textpage().get_text_range()).split())


# classify -----------------------------------------------------------------------------------------------


def test_classify_needs_no_inventory(prep: Run) -> None:
    found = prep("safety", "classify", "hydrochloric acid 3 mol/L", "--json").json
    assert found["signal"] == "Warning"
    assert found["pictograms"] == ["GHS07"]
    assert {"class": "Skin Irrit.", "category": "2", "h": "H315"} in found["classes"]
    assert {one["code"] for one in found["statements"]} == {"H315", "H319", "H335"}
    assert found["known"] is True
    assert all(one["text"] for one in found["working"])
    assert any(one.get("rule") == "SCL" and one["source"] for one in found["working"])


def test_a_boiling_point_tells_the_most_flammable_apart(prep: Run) -> None:
    # 29 CFR 1910.1200 Table B.6.1: flash point below 23 C, boiling from 35 C down or not
    ethanal = ("safety", "classify", "ethanal 40 % w/w", "--flash-point", "-20 degC", "--json")
    for boils, category, code in (("35", "1", "H224"), ("36", "2", "H225")):
        found = prep(*ethanal, "--boiling-point", boils).json["classes"]
        assert {"class": "Flam. Liq.", "category": category, "h": code} in found


def test_classify_finds_what_a_school_added_in_its_own_inventory(school: Run, tmp_path: Path) -> None:
    ours = tmp_path / "ours.csv"
    ours.write_text("code,name,formula,form,source\nour-salt,Our salt,NaBrO3,solid,own\n", encoding="utf-8")
    file = tmp_path / "other.db"
    assert school("init", "--db", file).code == 0
    assert school("substance", "import", ours, "--db", file).code == 0
    for typed in ("our salt", "our-salt", "our salt 0.1 mol/L"):
        assert school("safety", "classify", typed).code == 2
        found = school("safety", "classify", typed, "--db", file, "--json").json
        assert (found["known"], found["unknown"]) == (False, ["Our salt"])
    acid = school("safety", "classify", "hydrochloric acid 3 mol/L", "--db", file, "--json").json
    assert acid == school("safety", "classify", "hydrochloric acid 3 mol/L", "--json").json
    assert school("safety", "classify", "hcl-2", "--db", file, "--json").json["classes"] == []


def test_classify_explains_itself_on_the_screen(prep: Run) -> None:
    said = prep("safety", "classify", "NaOH 5 % w/w").out
    assert "DANGER" in said
    assert "H314 Causes severe skin burns and eye damage." in said
    assert "GHS05 corrosion" in said
    assert "WHY" in said
    assert "safety data sheet" in said


def test_what_rests_on_memory_says_check(prep: Run) -> None:
    found = prep("safety", "classify", "acetic acid 2 mol/L", "--json").json
    assert found["check_before_relying"] is True
    assert any(not one["checked"] for one in found["working"])
    assert "Check before relying on it" in prep("safety", "classify", "acetic acid 2 mol/L").out


@pytest.mark.parametrize(
    "arguments",
    [
        ("classify",),
        ("classify", "HCl 3"),
        ("classify", "HCl 300 mol/L"),
        ("classify", "unobtainium 1 mol/L"),
        ("classify", "HCl 1 mol/L", "--density", "heavy"),
        ("classify", "HCl 1 mol/L", "--ph", "sour"),
        ("classify", "HCl 1 mol/L", "--ph", "99"),
        ("classify", "diethyl ether 50 % w/w", "--boiling-point", "35"),
        ("classify", "benedict", "--ph", "9"),
        ("due", "--within", "-3"),
        ("due", "--on", "someday"),
        ("notes", "moon-landing"),
        ("waste", "B9999"),
        ("waste", "blue-bottle", "--showings", "0"),
        ("tested", "ZZZZ"),
        ("rule", "add", "unobtainium"),
        ("rule", "add", "glucose", "--at-most", "little"),
        ("rule", "remove", "1"),
    ],
)
def test_bad_input_is_a_sentence(inventory: Run, arguments: tuple[str, ...]) -> None:
    said = inventory("safety", *arguments)
    assert said.code == 2
    assert said.out == ""
    assert "Traceback" not in said.err


# The room -----------------------------------------------------------------------------------------------


def test_storage_due_card_and_waste(school: Run) -> None:
    found = school("safety", "storage", "--json").json
    assert {one["severity"] for one in found} == {"act", "note"}
    assert all(one["cure"] for one in found)
    said = school("safety", "storage").out
    assert "Move W9N4 (Potassium permanganate) to OXID." in said
    assert said.index("ACT") < said.index("note")
    due = school("safety", "due", "--on", "2027-01-11", "--within", "14", "--json").json
    assert [one["severity"] for one in due] == sorted(
        (one["severity"] for one in due), key=["stop", "act", "note"].index
    )
    assert school("safety", "tested", "G7P2", "--on", "2026-11-20", "--result", "below 10 ppm").code == 0
    later = school("safety", "due", "--on", "2027-01-11", "--within", "14", "--json").json
    assert {one["about"] for one in due} - {one["about"] for one in later} == {"G7P2"}
    card = school("safety", "notes", "thiosulfate-rate", "--json").json
    assert any("sulfur dioxide" in one["text"] for one in (*card["may_be_made"], *card["keep_apart"]))
    assert card["ask_first"] == ""
    assert "FIRST AID" in school("safety", "notes", "silver-mirror").out
    asked = school("demo", "show", "thermite", "--json").json["ask_first"]
    assert asked
    assert school("safety", "notes", "thermite", "--json").json["ask_first"] == asked
    assert f"Ask first: {asked}" in " ".join(school("safety", "notes", "thermite").out.split())
    waste = school("safety", "waste", "blue-bottle", "--showings", "2", "--json").json
    (stream,) = waste["streams"]
    assert stream["neutralise"]["base"]["value"] == pytest.approx(0.33, rel=1e-3)
    assert "ocal rules" in school("safety", "waste", "blue-bottle").out


def test_a_limit_stops_bookings_and_the_plan(school: Run) -> None:
    assert school("safety", "rule", "add", "glucose", "--room", "L1", "--why", "wasps").code == 0
    stopped = school("book", "add", "blue-bottle", "--on", "2099-01-07", "--room", "L1")
    assert stopped.code == 1
    assert "the school bars D-Glucose in L1 (wasps)" in stopped.err
    shipped, added = school("safety", "rule", "list", "--json").json
    assert (shipped["demo"], added["item"]) == ("sugar-sulfuric", "glucose")
    assert "at most" not in school("safety", "rule", "list").out
    for number in ("2", "1"):
        assert school("safety", "rule", "remove", number).code == 0
    assert "no limits" in school("safety", "rule", "list").out


def test_a_demonstration_is_barred_and_has_a_least_age(school: Run) -> None:
    for group in ("Year 7", "Year 9"):
        assert school("book", "group", "add", group).code == 0
    asked = ("safety", "rule", "add", "blue bottle")
    assert "--at-most is for a substance" in school(*asked, "--at-most", "1 mol/L").err
    assert "not both" in school(*asked, "--group", "y7", "--from-group", "y9").err
    assert "is no age group of the school" in school(*asked, "--from-group", "Year 99").err
    made = school(*asked, "--from-group", "y9", "--why", "warm alkali", "--json").json
    assert (made["item"], made["demo"], made["from_group"]) == ("", "blue-bottle", "Year 9")
    stopped = school("book", "add", "blue-bottle", "--on", "2099-01-07", "--group", "y7")
    assert (stopped.code, "the school bars Blue bottle before Year 9 (warm alkali)" in stopped.err) == (1, True)
    assert school("book", "add", "blue-bottle", "--on", "2099-01-07", "--group", "y9").code == 0
    assert "Blue bottle: barred before Year 9 (warm alkali)." in school("safety", "rule", "list").out
    # A name that a substance has too: the substance, unless the demo is asked for.
    assert school("safety", "rule", "add", "luminol", "--json").json["demo"] is None
    assert school("safety", "rule", "add", "luminol", "--demo", "--json").json["demo"] == "luminol"


def test_hazards_on_what_is_on_file(inventory: Run, tmp_path: Path) -> None:
    found = inventory("solution", "show", "hno3-1", "--json").json["hazards"]
    assert found["signal"] == "Danger"
    assert found["in_words"] == "Skin Corr. 1B H314"
    file = tmp_path / "mine.csv"
    file.write_text("code,name,form\nthird-floor-dye,Third floor dye,solid\n", encoding="utf-8")
    assert inventory("substance", "import", file).code == 0
    shown = inventory("substance", "show", "third-floor-dye", "--json").json["hazards"]
    assert shown["known"] is False
    said = inventory("substance", "show", "third-floor-dye").out
    assert "NOT KNOWN" in said
    assert "Not classified" not in said


# Makes --------------------------------------------------------------------------------------------------


def test_the_sheet_of_a_strong_dilution(inventory: Run) -> None:
    said = " ".join(inventory("make", "hcl-2", "--volume", "1 L").out.split())
    assert "hazards: Not classified as hazardous." in said
    for words in ("goggles", "Add the acid to the water", "fume cupboard", "grows warm", "safety data sheet"):
        assert words in said
    found = inventory("make", "hcl-5", "--volume", "500 mL", "--json").json["hazards"]
    assert found["signal"] == "Warning"
    assert found["h"] == ["H315", "H319", "H335"]
    assert found["pictograms"] == ["GHS07"]
    assert found["known"] is True
    assert found["check_before_relying"] is False


def test_the_sample_plan_says_the_hazards_of_every_make(prep: Run) -> None:
    plan = prep("plan", "--sample", "--json").json
    for batch in plan["batches"]:
        assert {"signal", "h", "pictograms", "known", "check_before_relying", "says"} <= set(batch["hazards"])
        if not batch["hazards"]["known"]:
            assert "ot known" in batch["hazards"]["says"]
    said = prep("plan", "--sample", "--steps").out
    assert "Hazards: Danger: H314" in said
    if not all(batch["hazards"]["known"] for batch in plan["batches"]):
        assert "ot known: no hazard data for" in " ".join(said.split())


def test_a_make_is_logged_with_its_label(inventory: Run, tmp_path: Path) -> None:
    made = inventory(
        *("make", "hcl-5", "--volume", "500 mL", "--log", "--bottles", "2", "--by", "R. Vane"),
        *("--label", "new.pdf", "--sheet", "A4, 2 x 4", "--start", "3", "--json"),
    )
    assert made.code == 0, made.err
    assert sorted(codes_on(tmp_path / "new.pdf")) == sorted(made.json["bottles"])
    said = text_of(tmp_path / "new.pdf")
    school = "Wendlemoor School"
    for words in ("Hydrochloric acid", "WARNING", "H315", "by R. Vane", "Use by", school, "Keep: in glass"):
        assert words in said
    again = inventory("label", "--batch", made.json["job"], "--out", "again.pdf", "--json").json
    assert [one["bottle"] for one in again["labels"]] == made.json["bottles"]


@pytest.mark.parametrize(
    "arguments",
    [
        ("--label", "x.pdf"),
        ("--log", "--label", "no/such/x.pdf"),
        ("--log", "--label", "x.pdf", "--sheet", "B0"),
        ("--log", "--label", "x.pdf", "--start", "99"),
    ],
)
def test_nothing_is_made_when_the_label_cannot_be(inventory: Run, arguments: tuple[str, ...]) -> None:
    before = inventory("stock", "list", "--json").json
    said = inventory("make", "hcl-1", "--volume", "500 mL", *arguments)
    assert said.code == 2
    assert inventory("stock", "list", "--json").json == before


# Labels -------------------------------------------------------------------------------------------------


def test_labels_of_bottles(school: Run, tmp_path: Path) -> None:
    said = school("label", "K6G7", "r6m3", "--sheet", "A4, 2 x 7", "--start", "5", "--out", "two.pdf")
    assert said.code == 0
    assert "2 labels in two.pdf." in said.out
    assert sorted(codes_on(tmp_path / "two.pdf")) == ["K6G7", "R6M3"]
    text = text_of(tmp_path / "two.pdf")
    assert "0.985 mol/L (found)" in text
    assert "DANGER" in text


def test_what_a_small_label_leaves_out_is_said(school: Run) -> None:
    said = school("label", "W4J6", "--sheet", "A4, 4 x 11", "--out", "one.pdf")
    assert "W4J6: precautionary statements left out" in said.out


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("ZZZZ",),
        ("Z8N4",),  # discarded
        ("--batch", "99"),
        ("K6G7", "--start", "0"),
        ("K6G7", "--sheet", "napkin"),
        ("K6G7", "--out", "no/such/folder.pdf"),
    ],
)
def test_no_label_is_a_sentence(school: Run, arguments: tuple[str, ...], tmp_path: Path) -> None:
    said = school("label", *arguments)
    assert said.code == (1 if arguments == ("Z8N4",) else 2)
    assert "Traceback" not in said.err
    assert not list(tmp_path.glob("*.pdf"))


def test_every_solution_prints_on_a_common_sheet(catalogue: OnFile) -> None:
    from dataclasses import replace

    said = [
        replace(label_of(code, catalogue), bottle="K6G7", school="Wendlemoor School") for code in catalogue.solutions
    ]
    made = pdf.render(said, sheet_named("A4, 2 x 4"))
    document = pypdfium2.PdfDocument(made.pdf)
    text = " ".join(" ".join(str(page.get_textpage().get_text_range()).split()) for page in document)
    for one in said:
        assert one.name.split(",")[0].split()[0] in text
    assert text.count("Hazards not known") == sum(not one.hazard_known for one in said)
    assert json.dumps(made.notes)
