"""Label elements: published texts, precedence rules, the labels of pure substances."""

import csv
from pathlib import Path

import pytest

from prep.resources import seed_table
from prep.safety.clp.label_elements import label_of, text_of
from prep.safety.clp.parse import classes_of
from prep.safety.clp.precautions import MOST_P, SEVERE
from prep.safety.hazard_tables import keyed, split
from prep.safety.model import HazardClass

with (Path(__file__).parents[1] / "data" / "substance_labels.csv").open(encoding="utf-8") as file:
    LABELS = list(csv.DictReader(file))


def pictograms(*written: str) -> tuple[str, ...]:
    return label_of(classes_of("; ".join(written))).pictograms


# Most rows rest on memory of Annex VI (column confidence); the pictogram rules are what is tested.
@pytest.mark.parametrize("row", LABELS, ids=lambda r: r["name"])
def test_a_pure_substance_has_the_label_of_its_classes(row: dict[str, str]) -> None:
    label = label_of(classes_of(row["classification"]))
    assert label.signal == row["signal"]
    assert label.pictograms == split(row["pictograms"])
    assert {one.code for one in label.h_statements} == set(split(row["h_codes"]))


# CLP Annex III and IV, official English text, version of 2025-09-01.
@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("H314", "Causes severe skin burns and eye damage."),
        ("H318", "Causes serious eye damage."),
        ("H225", "Highly flammable liquid and vapour."),
        ("H272", "May intensify fire; oxidiser."),
        ("H335", "May cause respiratory irritation."),
        ("H350i", "May cause cancer by inhalation."),
        ("H360FD", "May damage fertility. May damage the unborn child."),
        ("H410", "Very toxic to aquatic life with long lasting effects."),
        ("EUH031", "Contact with acids liberates toxic gas."),
        ("EUH019", "May form explosive peroxides."),
        (
            "P305+P351+P338",
            "IF IN EYES: Rinse cautiously with water for several minutes. Remove contact lenses, if present and "
            "easy to do. Continue rinsing.",
        ),
        ("P301+P330+P331", "IF SWALLOWED: Rinse mouth. Do NOT induce vomiting."),
        (
            "P210",
            "Keep away from heat, hot surfaces, sparks, open flames and other ignition sources. No smoking.",
        ),
        ("P273", "Avoid release to the environment."),
    ],
)
def test_statements_read_as_published(code: str, text: str) -> None:
    assert text_of(code) == text


def test_gaps_are_filled_or_left_out() -> None:
    assert text_of("H350") == "May cause cancer."
    assert text_of("H373") == "May cause damage to organs through prolonged or repeated exposure."
    assert text_of("H370") == "Causes damage to organs."
    assert text_of("EUH208", "formaldehyde") == "Contains formaldehyde. May produce an allergic reaction."
    assert text_of("P302+P352") == "IF ON SKIN: Wash with plenty of water"
    printed = {code for row in seed_table("p_choice") for code in split(row["p_codes"])}
    printed |= {row["code"] for row in seed_table("statements") if row["kind"] == "H"}
    for code in printed:
        assert not set("<>…") & set(text_of(code)), code


# CLP Article 26(1)(a)-(d); (c) and (d) also 29 CFR 1910.1200 C.2.1.3-4.
def test_the_skull_takes_the_exclamation_mark_away_altogether() -> None:
    assert pictograms("Acute Tox. 3 H301", "Skin Irrit. 2 H315", "STOT SE 3 H335") == ("GHS06",)


def test_corrosion_takes_it_away_for_skin_and_eyes_only() -> None:
    assert pictograms("Eye Dam. 1 H318", "Skin Irrit. 2 H315") == ("GHS05",)
    assert pictograms("Eye Dam. 1 H318", "Acute Tox. 4 H302") == ("GHS05", "GHS07")
    assert pictograms("Skin Corr. 1B H314", "STOT SE 3 H335") == ("GHS05", "GHS07")
    # the literal text: GHS05 for corrosion of metals does the same
    assert pictograms("Met. Corr. 1 H290", "Eye Irrit. 2 H319") == ("GHS05",)


def test_respiratory_allergy_takes_it_away_for_skin_allergy_and_irritation() -> None:
    assert pictograms("Resp. Sens. 1 H334", "Skin Sens. 1 H317", "Eye Irrit. 2 H319") == ("GHS08",)
    assert pictograms("Resp. Sens. 1 H334", "Acute Tox. 4 H302") == ("GHS07", "GHS08")
    assert pictograms("Carc. 2 H351", "Skin Sens. 1 H317") == ("GHS07", "GHS08")


def test_one_signal_word_and_no_redundant_statement() -> None:
    label = label_of(classes_of("Skin Corr. 1B H314; Eye Dam. 1 H318; STOT SE 3 H335"))
    assert label.signal == "Danger"
    assert [one.code for one in label.h_statements] == ["H314", "H335"]
    both = label_of(classes_of("Aquatic Acute 1 H400; Aquatic Chronic 1 H410"))
    assert [one.code for one in both.h_statements] == ["H410"]
    third = label_of(classes_of("Aquatic Acute 1 H400; Aquatic Chronic 3 H412"))
    assert [one.code for one in third.h_statements] == ["H410"]
    assert label_of(classes_of("Aquatic Chronic 2 H411")).signal == ""


def test_precautions_are_few_and_allocated_to_a_hazard_present() -> None:
    allocated = {row["code"]: split(row["allocated_p"]) for row in seed_table("statements")}
    for row in LABELS:
        label = label_of(classes_of(row["classification"]))
        allowed = {p for one in classes_of(row["classification"]) for p in allocated[one.h_code]}
        assert len(label.p_statements) <= (
            9 if {c.h_code for c in classes_of(row["classification"])} & SEVERE else MOST_P
        )
        assert {one.code for one in label.p_statements} <= allowed, row["name"]
        assert bool(label.p_statements) == bool(label.h_statements)


# CLP Art. 28(3): no more than six, "unless necessary to reflect the nature and the severity of the hazards".
@pytest.mark.parametrize(
    "also", [(), ("STOT SE 3 H335", "Aquatic Acute 1 H400"), ("Acute Tox. 4 H302", "Skin Sens. 1 H317")]
)
def test_a_corrosive_keeps_what_to_do_on_skin_in_eyes_and_whom_to_call(also: tuple[str, ...]) -> None:
    codes = {one.code for one in label_of(classes_of("; ".join(("Skin Corr. 1B H314", *also)))).p_statements}
    assert codes >= {"P280", "P301+P330+P331", "P303+P361+P353", "P305+P351+P338", "P310"}
    assert ("P304+P340" in codes) == ("STOT SE 3 H335" in also)
    assert len(codes) <= 8


# CLP Art. 28(1) to (3): what is redundant is left out, and six are the norm, not a reason to leave first aid out.
@pytest.mark.parametrize("row", [*LABELS, *seed_table("harmonised")], ids=lambda r: r["name"][:40])
def test_first_aid_of_a_severe_hazard_is_never_cut_for_the_number(row: dict[str, str]) -> None:
    label = label_of(classes_of(row["classification"]))
    printed, shown = {one.code for one in label.h_statements}, {one.code for one in label.p_statements}
    choice = keyed("p_choice", "h_code")
    asked = {code: set(split(choice[code]["p_codes"])) for code in printed}
    everything = set().union(*asked.values())
    assert "P304+P340" in shown or "P304+P340" not in everything
    assert shown & {"P308+P313", "P308+P311"} or not everything & {"P308+P313", "P308+P311"}
    for code in printed & {"H314", "H318"}:
        assert "P305+P351+P338" in shown, code
    if "H314" in printed:
        assert shown >= {"P303+P361+P353", "P301+P330+P331", "P310"}
    if printed & {"H300", "H301", "H304"}:
        assert "P301+P310" in shown or shown >= {"P301+P330+P331", "P310"}
    if printed & {"H310", "H311"}:
        assert shown & {"P302+P352", "P303+P361+P353"}
    assert len(shown) <= 6 or printed & SEVERE
    assert not {"P260", "P261"} <= shown
    assert not {"P310", "P311"} <= shown


def test_every_class_has_its_statement_text_and_every_table_row_its_source() -> None:
    texts = {row["code"] for row in seed_table("statements")}
    for row in seed_table("class_labels"):
        if "CLP" in row["regimes"].split() and row["hazard_class"].startswith(
            ("Skin", "Eye", "Acute", "STOT", "Flam. L")
        ):
            assert set(split(row["h_codes"])) & texts
    for table in (
        "acute_toxicity class_labels classification_rules cautions counted_as flash_points generic_limits "
        "inhalation_form label_precedence limits never_mix p_choice statements "
        "special_aid storage_groups storage_pairs"
    ).split():
        for row in seed_table(table):
            assert row["source"], (table, row)
            assert row["confidence"] in ("seen", "memory"), (table, row)
            assert not row["source"].startswith("from memory") or row["confidence"] == "memory", (table, row)


def test_a_class_knows_its_route() -> None:
    assert classes_of("Acute Tox. 3 H311") == (HazardClass("Acute Tox.", "3", "H311", "dermal"),)
