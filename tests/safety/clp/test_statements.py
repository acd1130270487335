"""Every code of the regulation has its text and what belongs to it; nothing on a label is left open.

Texts: Regulation (EC) No 1272/2008, Annex III and IV, official English text; P103 and P280 as amended by
Regulation (EU) 2019/521; those that statements.csv marks `memory` are from memory of the same annexes.
"""

from decimal import Decimal

import pytest

from prep.errors import PrepError
from prep.resources import seed_table
from prep.safety.clp.classify import classify
from prep.safety.clp.label_elements import label_of, text_of
from prep.safety.clp.parse import classes_of, supplemental_of
from prep.safety.hazard_tables import keyed, split
from prep.safety.model import HazardClass, MixtureComponent

CODES = [code for row in seed_table("class_labels") for code in split(row["h_codes"])]


@pytest.mark.parametrize(
    "row", seed_table("class_labels"), ids=lambda r: f"{r['hazard_class']}{r['category']}{r['route']}"
)
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
    for row in seed_table("statements"):
        for code in split(row["allocated_p"]):
            assert code in known, (row["code"], code)
        said = text_of(row["code"], "nickel sulfate")
        assert not set("…<>[]") & set(said), said
    for row in seed_table("p_choice"):
        assert set(split(row["p_codes"])) <= set(split(known[row["h_code"]]["allocated_p"])), row["h_code"]


# Annex III (hazard and supplemental statements) and Annex IV (precautionary statements), all codes of the two.
ANNEXES = """
H200 H201 H202 H203 H204 H205 H206 H207 H208 H220 H221 H222 H223 H224 H225 H226 H228 H229 H230 H231 H232 H240 H241 H242
H250 H251 H252 H260 H261 H270 H271 H272 H280 H281 H290 H300 H301 H302 H304 H310 H311 H312 H314 H315 H317 H318 H319 H330
H331 H332 H334 H335 H336 H340 H341 H350 H350i H351 H360 H360F H360D H360FD H360Fd H360Df H361 H361f H361d H361fd H362
H370 H371 H372 H373 H300+H310 H300+H330 H310+H330 H300+H310+H330 H301+H311 H301+H331 H311+H331 H301+H311+H331 H302+H312
H302+H332 H312+H332 H302+H312+H332 H400 H410 H411 H412 H413 H420
EUH014 EUH018 EUH019 EUH029 EUH031 EUH032 EUH044 EUH066 EUH070 EUH071 EUH201 EUH201A EUH202 EUH203 EUH204 EUH205 EUH206
EUH207 EUH208 EUH209 EUH209A EUH210 EUH211 EUH212 EUH380 EUH381 EUH401 EUH430 EUH431 EUH440 EUH441 EUH450 EUH451
P101 P102 P103 P201 P202 P210 P211 P212 P220 P222 P223 P230 P231 P232 P233 P234 P235 P240 P241 P242 P243 P244 P250 P251
P260 P261 P262 P263 P264 P270 P271 P272 P273 P280 P282 P283 P284 P231+P232 P301 P302 P303 P304 P305 P306 P308 P310 P311
P312 P313 P314 P315 P320 P321 P330 P331 P332 P333 P334 P335 P336 P337 P338 P340 P342 P351 P352 P353 P360 P361 P362 P363
P364 P370 P371 P372 P373 P375 P376 P377 P378 P380 P381 P390 P391 P301+P310 P301+P312 P301+P330+P331 P302+P334 P302+P352
P303+P361+P353 P304+P340 P305+P351+P338 P306+P360 P308+P311 P308+P313 P332+P313 P333+P313 P336+P315 P337+P313 P342+P311
P361+P364 P362+P364 P370+P376 P370+P378 P370+P380+P375 P371+P380+P375 P302+P335+P334 P370+P372+P380+P373
P401 P402 P403 P404 P405 P406 P407 P410 P411 P412 P413 P420 P402+P404 P403+P233 P403+P235 P410+P403
P410+P412 P501 P502 P503
""".split()


@pytest.mark.parametrize("code", ANNEXES)
def test_every_code_of_the_annexes_has_its_text_and_a_hazard_its_precautions(code: str) -> None:
    said = text_of(code, "nickel sulfate")
    assert said != code
    assert len(said) > 6
    if code.startswith("H") and "+" not in code:
        assert [one for one in split(keyed("statements", "code")[code]["allocated_p"]) if one], code


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


@pytest.mark.parametrize(("long_term", "checked"), [("1 H410", True), ("2 H411", True), ("3 H412", False)])
def test_what_is_printed_for_both_says_where_it_is_from(long_term: str, checked: bool) -> None:
    part = MixtureComponent("x", Decimal(60), "", f"Aquatic Acute 1 H400; Aquatic Chronic {long_term}", source="Art. 1")
    (label,) = [one for one in classify([part]).reasoning if one.rule == "W-lab"]
    assert label.checked == checked
    assert label.source.startswith("from memory") != checked


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


def test_a_code_that_the_regulation_no_longer_has_is_never_printed_without_a_word() -> None:
    gone = keyed("deleted_statements", "code")
    assert not set(gone) & set(keyed("statements", "code"))
    assert not set(gone) & set(ANNEXES)
    for code, row in gone.items():
        assert text_of(code) == "(no longer in the regulation)"
        assert set(split(row["now"])) <= set(ANNEXES), code
        with pytest.raises(PrepError, match="no longer in the regulation"):
            supplemental_of(code)


@pytest.mark.parametrize("code", [code for code in ANNEXES if code.startswith("EUH")])
def test_every_supplemental_statement_is_read(code: str) -> None:
    assert supplemental_of(f"EUH031; {code}") == ("EUH031", code)
    for wrong in ("EUH999", "H314", "P280", "EUH31"):
        with pytest.raises(PrepError, match="is not a supplemental statement"):
            supplemental_of(wrong)


# Regulation (EC) No 1272/2008, consolidated text of 2025-09-01, Annex I, Tables 2.6.2, 2.11.2, 3.1.3, 3.3.5, 3.10.2 and
# 4.1.4: the classes, their signal word and statement, and every precautionary statement that belongs to them.
_FLAMMABLE = "P210 P233 P240 P241 P242 P243 P280 P303+P361+P353 P370+P378 P403+P235 P501"
_SWALLOWED = "P264 P270 P301+P310 P321 P330 P405 P501"
_WATER = "P273 P391 P501"
LABEL_TABLES = [
    ("Flam. Liq. 1", "Danger", "H224", _FLAMMABLE),
    ("Flam. Liq. 2", "Danger", "H225", _FLAMMABLE),
    ("Flam. Liq. 3", "Warning", "H226", _FLAMMABLE),
    ("Self-heat. 1", "Danger", "H251", "P235 P280 P407 P413 P420"),
    ("Self-heat. 2", "Warning", "H252", "P235 P280 P407 P413 P420"),
    ("Acute Tox. 2", "Danger", "H300", _SWALLOWED),
    ("Acute Tox. 3", "Danger", "H301", _SWALLOWED),
    ("Acute Tox. 4", "Warning", "H302", "P264 P270 P301+P312 P330 P501"),
    ("Acute Tox. 1", "Danger", "H310", "P262 P264 P270 P280 P302+P352 P310 P321 P361+P364 P405 P501"),
    ("Acute Tox. 3", "Danger", "H311", "P280 P302+P352 P312 P321 P361+P364 P405 P501"),
    ("Acute Tox. 4", "Warning", "H312", "P280 P302+P352 P312 P321 P362+P364 P501"),
    ("Eye Dam. 1", "Danger", "H318", "P280 P305+P351+P338 P310"),
    ("Eye Irrit. 2", "Warning", "H319", "P264 P280 P305+P351+P338 P337+P313"),
    ("Asp. Tox. 1", "Danger", "H304", "P301+P310 P331 P405 P501"),
    ("Aquatic Acute 1", "Warning", "H400", _WATER),
    ("Aquatic Chronic 1", "Warning", "H410", _WATER),
    ("Aquatic Chronic 2", "", "H411", _WATER),
    ("Aquatic Chronic 3", "", "H412", "P273 P501"),
    ("Aquatic Chronic 4", "", "H413", "P273 P501"),
]


@pytest.mark.parametrize(("hazard", "signal", "code", "precautions"), LABEL_TABLES)
def test_label_elements_are_those_of_the_tables_of_annex_i(
    hazard: str, signal: str, code: str, precautions: str
) -> None:
    label = label_of(classes_of(f"{hazard} {code}"))
    assert label.signal == signal
    assert [one.code for one in label.h_statements] == [code]
    assert set(split(keyed("statements", "code")[code]["allocated_p"])) == set(precautions.split())
    assert {one.code for one in label.p_statements} <= set(precautions.split())


# The same, Annex V, Part 1: the pictograms of the physical hazards.
PHYSICAL_PICTOGRAMS = {
    "GHS01": "Unst. Expl. H200; Expl. 1.1 H201; Expl. 1.4 H204; Self-react. A H240; Org. Perox. A H240",
    "GHS01;GHS02": "Self-react. B H241; Org. Perox. B H241",
    "GHS02": "Flam. Gas 1A H220; Flam. Gas 1B H221; Flam. Liq. 3 H226; Flam. Sol. 2 H228; Self-react. F H242; "
    "Pyr. Liq. 1 H250; Pyr. Sol. 1 H250; Self-heat. 2 H252; Water-react. 3 H261; Org. Perox. F H242",
    "GHS03": "Ox. Gas 1 H270; Ox. Liq. 3 H272; Ox. Sol. 3 H272",
    "": "Expl. 1.5 H205; Flam. Gas 2 H221",
}


@pytest.mark.parametrize("pictograms", PHYSICAL_PICTOGRAMS)
def test_physical_hazards_have_the_pictograms_of_annex_v(pictograms: str) -> None:
    for one in PHYSICAL_PICTOGRAMS[pictograms].split("; "):
        assert label_of(classes_of(one)).pictograms == split(pictograms), one
