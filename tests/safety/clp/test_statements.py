"""Every code of the regulation has its text and what belongs to it; nothing on a label is left open.

Texts: Regulation (EC) No 1272/2008, Annex III and IV, official English text; P103 and P280 as amended by
Regulation (EU) 2019/521; those that statements.csv marks `memory` are from memory of the same annexes.
"""

import pytest

from prep.errors import PrepError
from prep.safety.clp.classify import classify
from prep.safety.clp.label_elements import label_of, text_of
from prep.safety.clp.parse import classes_of
from prep.safety.hazard_tables import keyed, rows, split
from prep.safety.model import HazardClass, MixtureComponent

CODES = [code for row in rows("class_labels") for code in split(row["h_codes"])]


@pytest.mark.parametrize("row", rows("class_labels"), ids=lambda r: f"{r['hazard_class']}{r['category']}{r['route']}")
def test_every_class_has_a_whole_label(row: dict[str, str]) -> None:
    for code in split(row["h_codes"]):
        one = HazardClass(row["hazard_class"], row["category"], code, row["route"])
        label = label_of([one])
        assert [s.code for s in label.h_statements] == [code]
        assert label.p_statements
        for said in (*label.h_statements, *label.p_statements):
            assert said.text != said.code
            assert not set("…<>[]") & set(said.text), said


def test_every_allocated_code_has_its_text() -> None:
    known = keyed("statements", "code")
    for row in rows("statements"):
        for code in split(row["allocated_p"]):
            assert code in known, (row["code"], code)
        said = text_of(row["code"], "nickel sulfate")
        assert not set("…<>[]") & set(said), said
    for row in rows("p_choice"):
        assert set(split(row["p_codes"])) <= set(split(known[row["h_code"]]["allocated_p"])), row["h_code"]


def test_statements_as_the_regulation_words_them_today() -> None:
    assert text_of("P103") == "Read carefully and follow all instructions."
    assert keyed("statements", "code")["P280"]["text"].endswith("face protection/hearing protection/…")
    assert text_of("P280") == "Wear protective gloves/protective clothing/eye protection/face protection"


def test_do_not_breathe_and_avoid_breathing_are_never_printed_together() -> None:
    found = label_of(classes_of("STOT RE 1 H372; STOT SE 3 H335; Resp. Sens. 1 H334"))
    codes = {one.code for one in found.p_statements}
    assert "P260" in codes
    assert "P261" not in codes


@pytest.mark.parametrize(
    ("classification", "wanted"),
    [
        ("Acute Tox. 3 H331", "P304+P340"),
        ("STOT SE 3 H335", "P304+P340"),
        ("Repr. 1B H360D", "P308+P313"),
        ("Carc. 2 H351", "P308+P313"),
    ],
)
def test_first_aid_stands_where_it_belongs(classification: str, wanted: str) -> None:
    assert wanted in {one.code for one in label_of(classes_of(classification)).p_statements}


def test_acute_and_lesser_long_term_hazard_to_water_print_as_one() -> None:
    for long_term in ("1 H410", "2 H411", "3 H412"):
        label = label_of(classes_of(f"Aquatic Acute 1 H400; Aquatic Chronic {long_term}"))
        assert [one.code for one in label.h_statements] == ["H410"]


def test_a_class_that_is_none_is_refused_with_one_sentence() -> None:
    for wrong in ("Skin Corr. 9 H314", "Dangerous H999", "Skin Corr. 1B H315"):
        with pytest.raises(PrepError, match="is not a hazard class"):
            classify([MixtureComponent("x", 10, "", wrong)])  # type: ignore[arg-type]


def test_gas_on_contact_with_acid_and_what_corrodes_the_airways_carry_on() -> None:
    acid = MixtureComponent("nitric acid", 10, "7697-37-2", "Skin Corr. 1A H314", "EUH071")  # type: ignore[arg-type]
    weak = MixtureComponent("nitric acid", 1, "7697-37-2", "Skin Corr. 1A H314", "EUH071")  # type: ignore[arg-type]
    assert [one.code for one in classify([acid]).euh] == ["EUH071"]
    assert not classify([weak]).euh
    ether = MixtureComponent("ether", 5, "60-29-7", "Flam. Liq. 1 H224", "EUH019")  # type: ignore[arg-type]
    assert "EUH019" in {one.code for one in classify([ether]).euh}
