"""The shipped rows against the entries of Annex VI, and the notes of its table.

Entries: Regulation (EC) No 1272/2008, Annex VI, Part 3, Table 3, read in the agency's table up to the 23rd adaptation
(Regulation (EU) 2025/1222); each row of harmonised.csv names its index number, act and day of application.
"""

import re
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.chemistry.formula.formulas import anhydrous, counted_as, molar_mass
from prep.chemistry.model import Form, Strength, StrengthKind, Substance
from prep.resources import seed_data, seed_table
from prep.safety.clp.classify import classify, classify_substance
from prep.safety.clp.composition import at_strength, component_of
from prep.safety.clp.harmonised import ClassificationBasis, basis_of, compared, entry_for, entry_of
from prep.safety.clp.label_elements import label_of
from prep.safety.clp.parse import classes_of
from prep.safety.clp.precautions import MOST_P, SEVERE
from prep.safety.hazard_tables import split
from prep.safety.model import MixtureComponent
from prep.services.catalogue.seed import read_catalogue
from prep.services.catalogue.substances import SUBSTANCE_COLUMNS, read_substance
from prep.services.files.csv_file import read_rows

SUBSTANCES = read_catalogue(seed_data()).substances
ENTRIES = {row["index_no"]: row for row in seed_table("harmonised")}


@pytest.mark.parametrize("row", ENTRIES.values(), ids=lambda r: r["index_no"])
def test_an_entry_names_its_act_and_day_and_its_classes_are_known(row: dict[str, str]) -> None:
    assert re.fullmatch(r"\d{3}-\d{3}-\d{2}-[\dX]", row["index_no"])
    if row["celex"] or not row["source"].startswith("from memory"):
        assert re.fullmatch(r"3\d{4}R\d{4}", row["celex"])
        assert date.fromisoformat(row["applies_from"]) <= date(2026, 11, 29)
    assert classes_of(row["classification"])
    own = {one.h_code for one in classes_of(row["classification"])}
    assert set(split(row["minimum"])) <= own


@pytest.mark.parametrize("row", ENTRIES.values(), ids=lambda r: r["index_no"])
def test_label_elements_of_an_entry_follow_the_label_column(row: dict[str, str]) -> None:
    # The label column's logic: Art. 20(3), 26 and 27, and the aquatic statements as Annex VI, 1.1.2.3 has them.
    classes = classes_of(row["classification"])
    label, codes = label_of(classes), {one.h_code for one in classes}
    shown = {one.code for one in label.h_statements}
    left_out = codes - shown
    assert left_out <= {"H318", "H400", "H411", "H412"}
    assert ("H318" in left_out) == ({"H314", "H318"} <= codes)
    assert ("H400" in left_out) == ("H400" in codes and bool(codes & {"H410", "H411", "H412"}))
    assert label.pictograms == tuple(sorted(set(label.pictograms)))
    if "GHS06" in label.pictograms:
        assert "GHS07" not in label.pictograms
    assert all(one.text and one.text != one.code for one in (*label.h_statements, *label.p_statements))
    assert len(label.p_statements) <= (9 if codes & SEVERE else MOST_P)


def test_acute_1_with_a_lesser_long_term_class_is_labelled_h410() -> None:
    # Of the entries that were read none has both, so the table itself does not show how they are labelled.
    both = {
        row["index_no"]: row["source"]
        for row in ENTRIES.values()
        if (codes := {one.h_code for one in classes_of(row["classification"])}) >= {"H400"} and codes & {"H411", "H412"}
    }
    # From memory: Annex VI, Part 3, Table 3, label column.
    assert {index: source.partition(":")[0] for index, source in both.items()} == {"601-096-00-2": "from memory"}
    label = label_of(classes_of(ENTRIES["601-096-00-2"]["classification"]))
    assert [one.code for one in label.h_statements] == ["H226", "H304", "H315", "H317", "H410"]
    assert "GHS09" in label.pictograms


@pytest.mark.parametrize("code", SUBSTANCES)
def test_a_shipped_row_has_every_class_of_its_entry_and_cites_it(code: str) -> None:
    one = SUBSTANCES[code]
    entry, source = entry_for(one), one.sources.get("hazard", "")
    if entry is None:
        assert "Table 3, index" not in source
        assert not one.classification or source
        return
    found = compared(set(classes_of(one.classification)), classes_of(entry.classification))
    missing, more = found.missing, found.more
    assert not missing
    assert set(entry.supplemental) <= set(split(one.supplemental))
    assert entry.index_no in source
    assert entry.celex in source
    assert entry.applies_from in source
    assert source.startswith("from memory") <= bool(more or not entry.read)
    assert ("read in the agency's table" in source) == entry.read


def test_the_column_tells_harmonised_from_self_classified() -> None:
    for row in read_rows(seed_data() / "substances.csv", SUBSTANCE_COLUMNS, ("code",)):
        one = SUBSTANCES[row.text("code")]
        assert row.text("hazard_basis") == basis_of(one), one.code
        assert not one.classification or one.sources["hazard"]
        assert basis_of(one) is not ClassificationBasis.BEHIND
        if basis_of(one) is ClassificationBasis.NONE:
            assert one.sources["hazard"]


def test_a_new_row_takes_its_class_from_the_entry(tmp_path) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "substances.csv"
    head = ",".join(SUBSTANCE_COLUMNS)
    blank = "," * (len(SUBSTANCE_COLUMNS) - 7)
    file.write_text(
        f"{head}\nbenzaldehyde,Benzaldehyde,,100-52-7,C7H6O,benzaldehyde,liquid{blank}\n"
        f"lead-iodide,Lead iodide,,,PbI2,lead-iodide,solid{blank}\n",
        encoding="utf-8",
    )
    first, second = (read_substance(row) for row in read_rows(file, SUBSTANCE_COLUMNS, ("code",)))
    assert first.classification == "Acute Tox. 4 H302"
    assert "605-012-00-5" in first.sources["hazard"]
    assert "Repr. 1A H360Df" in second.classification
    assert "082-001-00-6" in second.sources["hazard"]


def test_metals_go_by_form() -> None:
    zinc = "7440-66-6"
    powder = entry_of(zinc, group="metal_powder")
    assert powder is not None
    assert powder.index_no == "030-001-01-9"
    assert entry_of(zinc, group="metal_solid") is None
    assert entry_of("7647-01-0", Form.GAS).index_no == "017-002-00-2"  # type: ignore[union-attr]
    assert entry_of("7647-01-0", Form.AQUEOUS).index_no == "017-002-01-X"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("code", "wanted"),
    [
        # Acts 32024R2564 (22nd adaptation), 32024R0197 (21st), 32021R0849 (17th), 32008R1272
        ("formic-acid", {"Flam. Liq. 3 H226", "Acute Tox. 3 H331", "Acute Tox. 4 H302", "Eye Dam. 1 H318"}),
        ("hexane", {"STOT RE 1 H372"}),
        ("potassium-chlorate", {"Ox. Sol. 1 H271", "Acute Tox. 3 H301"}),
        ("barium-hydroxide-8-water", {"Skin Corr. 1B H314"}),
        ("oxalic-acid", {"Eye Dam. 1 H318"}),
        ("ethanol-96", {"Eye Irrit. 2 H319"}),
        ("dichloromethane", {"Skin Irrit. 2 H315", "Eye Irrit. 2 H319", "STOT SE 3 H336"}),
    ],
)
def test_rows_that_were_behind(code: str, wanted: set[str]) -> None:
    assert wanted <= {str(one) for one in classify_substance(SUBSTANCES[code]).classes}


def test_harmonised_estimates_by_mouth() -> None:
    # 029-023-00-4: oral ATE 481 mg/kg; 029-020-00-8: 500; 017-004-00-3: 100. 100/ATE = C/ATE (Annex I, 3.1.3.6.1).
    def oral(code: str, pct: str) -> set[str]:
        found = classify([component_of(SUBSTANCES[code], Decimal(pct))])
        return {str(c) for c in found.classes if c.route == "oral"}

    assert oral("copper-sulfate-5-water", "24.05") == {"Acute Tox. 4 H302"}  # 481 / 0.2405 = 2000
    assert oral("copper-sulfate-5-water", "24.04") == set()
    assert oral("potassium-chlorate", "34") == {"Acute Tox. 3 H301"}  # 100 / 0.34 = 294
    assert oral("potassium-chlorate", "33") == {"Acute Tox. 4 H302"}


def test_note_1_counts_the_metal() -> None:
    # Lead compounds, Note 1: Repr. 1A from 0.3 % of lead; lead nitrate is 62.6 % lead.
    nitrate = SUBSTANCES["lead-nitrate"]
    assert any(c.hazard_class == "Repr." for c in classify([component_of(nitrate, Decimal("0.48"))]).classes)
    assert not any(c.hazard_class == "Repr." for c in classify([component_of(nitrate, Decimal("0.47"))]).classes)


def test_note_3_counts_chromate_ions() -> None:
    # Potassium chromate, Note 3: Skin Sens. 1 from 0.5 % CrO4, which is 0.837 % K2CrO4.
    chromate = SUBSTANCES["potassium-chromate"]
    limit = Decimal("0.5") * molar_mass("K2CrO4") / molar_mass("CrO4")
    at, under = (component_of(chromate, limit + d) for d in (Decimal("0.001"), Decimal("-0.001")))
    assert any(c.h_code == "H317" for c in classify([at]).classes)
    assert not any(c.h_code == "H317" for c in classify([under]).classes)


def test_note_11_adds_boron_compounds() -> None:
    acid, borax = SUBSTANCES["boric-acid"], SUBSTANCES["borax"]
    parts = [component_of(acid, Decimal("0.2")), component_of(borax, Decimal("0.2"))]
    assert classify(parts).in_words == "Repr. 1B H360FD"
    for part in parts:
        assert not any(c.hazard_class == "Repr." for c in classify([part]).classes)


# One liquid, one class ----------------------------------------------------------------------------------

SALTS = sorted({one.solute for one in SUBSTANCES.values() if one.form is Form.SOLID and one.formula})
PAIRS = [
    (a, b)
    for solute in SALTS
    for a in SUBSTANCES.values()
    for b in SUBSTANCES.values()
    if a.solute == b.solute == solute and a.code < b.code and a.form is b.form is Form.SOLID
    if anhydrous(a.formula) == anhydrous(b.formula)
]


@pytest.mark.parametrize(("one", "other"), PAIRS, ids=lambda s: s.code)
@given(pct=st.decimals("0.05", "30", places=2))
@settings(max_examples=10, deadline=None)
def test_equal_moles_of_a_salt_make_one_liquid(one: Substance, other: Substance, pct: Decimal) -> None:
    mine = component_of(one, pct)
    same = component_of(other, counted_as(pct, one.formula, other.formula))
    assert mine.formula == same.formula
    assert round(mine.pct, 6) == round(same.pct, 6)
    assert classify([mine]).in_words == classify([same]).in_words


def test_copper_sulfate_is_as_severe_by_either_name() -> None:
    half = (Strength(Decimal("0.5"), StrengthKind.MOL_PER_L), Decimal("1.07"))
    by_name, by_formula = (
        classify([at_strength(SUBSTANCES[code], half[0], density_g_ml=half[1]).component])
        for code in ("copper-sulfate", "copper-sulfate-5-water")
    )
    assert by_name.signal == by_formula.signal == "Danger"
    assert {c.h_code for c in by_name.classes} == {"H318", "H400", "H411"} == {c.h_code for c in by_formula.classes}


# More never lowers, less never raises --------------------------------------------------------------------

_ORDER = {"1A": 0, "1": 0, "1B": 1, "1C": 2, "2": 3, "3": 4, "4": 5, "": 0}
_FAMILY = {"Skin Corr.": "skin", "Skin Irrit.": "skin", "Eye Dam.": "eye", "Eye Irrit.": "eye"}


def severity(parts: list[MixtureComponent]) -> dict[tuple[str, str], int]:
    """The gravest of each family of classes; corrosion of skin implies damage to eyes."""
    worst: dict[tuple[str, str], int] = {}
    for one in classify(parts).classes:
        family = (_FAMILY.get(one.hazard_class, one.hazard_class), one.route)
        rank = _ORDER[one.category] + (10 if one.hazard_class in ("Skin Irrit.", "Eye Irrit.") else 0)
        if (one.hazard_class, one.category) == ("Skin Corr.", "1"):
            rank = _ORDER["1C"]  # by the pH alone: which of the three is not known
        if one.hazard_class == "STOT SE" and one.category == "3":
            family = ("STOT SE 3", one.h_code)
        worst[family] = min(rank, worst.get(family, 99))
        if one.hazard_class == "Skin Corr.":
            worst["eye", ""] = 0
    return worst


HAZARDOUS = sorted(
    code for code, s in SUBSTANCES.items() if s.classification and s.formula and classes_of(s.classification)
)


@given(
    code=st.sampled_from(HAZARDOUS), pct=st.decimals("0.01", "40", places=2), more=st.decimals("0.01", "10", places=2)
)
@settings(max_examples=120, deadline=None)
def test_more_of_a_hazardous_component_never_lowers_a_class(code: str, pct: Decimal, more: Decimal) -> None:
    less, greater = (severity([component_of(SUBSTANCES[code], p)]) for p in (pct, pct + more))
    for family, rank in less.items():
        assert greater.get(family, 99) <= rank, (family, rank, greater)


LADDER = [Decimal(pct) for pct in ("0.1", "0.5", "1", "3", "5", "10", "25", "60")]


def _can_be(one: Substance, pct: Decimal) -> bool:
    """Whether a liquid can hold so much: no more of it than dissolves, and than there is room for."""
    dissolves = one.solubility_g_per_100g
    return component_of(one, pct).pct <= 100 and (dissolves is None or pct <= 100 * dissolves / (100 + dissolves))


def test_no_class_is_lowered_up_a_ladder_of_any_component() -> None:
    """Every hazardous substance of the list, rung by rung: the limits of all classes lie between rungs."""
    for code in HAZARDOUS:
        there = [pct for pct in LADDER if _can_be(SUBSTANCES[code], pct)]
        rungs = [severity([component_of(SUBSTANCES[code], pct)]) for pct in there]
        for low, high, pct in zip(rungs, rungs[1:], there[1:], strict=False):
            fallen = {family: rank for family, rank in low.items() if high.get(family, 99) > rank}
            assert not fallen, (code, pct, fallen, high)


@given(
    codes=st.lists(st.sampled_from(HAZARDOUS), min_size=2, max_size=3, unique=True),
    pct=st.decimals("0.1", "15", places=2),
    factor=st.sampled_from([Decimal("0.5"), Decimal("0.1"), Decimal("0.03")]),
)
@settings(max_examples=80, deadline=None)
def test_dilution_never_raises_a_class(codes: list[str], pct: Decimal, factor: Decimal) -> None:
    strong = [component_of(SUBSTANCES[code], pct) for code in codes]
    weak = [component_of(SUBSTANCES[code], pct * factor) for code in codes]
    before = severity(strong)
    for family, rank in severity(weak).items():
        assert before.get(family, 99) <= rank, (family, rank, before)


# An entry's label, worked out a second time from Regulation (EC) No 1272/2008: the symbols of Annex V, the signal words
# of the label tables of Annex I, and Articles 20(3), 26(1) and 27.
_SYMBOLS = {
    "GHS01": "H200 H201 H202 H203 H204 H240 H241",
    "GHS02": "H206 H207 H208 H220 H222 H223 H224 H225 H226 H228 H241 H242 H250 H251 H252 H260 H261",
    "GHS03": "H270 H271 H272",
    "GHS04": "H280 H281",
    "GHS05": "H290 H314 H318",
    "GHS06": "H300 H301 H310 H311 H330 H331",
    "GHS07": "H302 H312 H332 H315 H317 H319 H335 H336 H420",
    "GHS08": "H304 H334 H340 H341 H350 H350i H351 H370 H371 H372 H373 H360 H360D H360Df H360F H360FD H360Fd H361 H361d "
    "H361f H361fd",
    "GHS09": "H400 H410 H411",
}
_WARN = set(
    "H204 H226 H252 H280 H281 H290 H302 H312 H332 H315 H317 H319 H335 H336 H341 H351 H361 H361d H361f H361fd H371 H373 "
    "H400 H410 H420".split()
)
_WARN_BY_CLASS = {"Flam. Gas 2 H221", "Flam. Sol. 2 H228", "Ox. Liq. 3 H272", "Ox. Sol. 3 H272", "Water-react. 3 H261"}
_NO_SIGNAL = {"H362", "H411", "H412", "H413"}


@pytest.mark.parametrize("row", ENTRIES.values(), ids=lambda r: r["index_no"])
def test_an_entrys_label_is_that_worked_out_a_second_time(row: dict[str, str]) -> None:
    classes = [one.strip() for one in row["classification"].split(";")]
    codes = {one.split()[-1] for one in classes}
    used = {symbol: codes & set(of.split()) for symbol, of in _SYMBOLS.items()}
    if used["GHS06"]:
        used["GHS07"] = set()
    if used["GHS05"]:
        used["GHS07"] -= {"H315", "H319"}
    if "H334" in codes:
        used["GHS07"] -= {"H315", "H317", "H319"}
    warning = {one for one in classes if one in _WARN_BY_CLASS or one.split()[-1] in _WARN}
    danger = {one for one in classes if one not in warning and one.split()[-1] not in _NO_SIGNAL}
    shown = codes - ({"H318"} if "H314" in codes else set())
    if "H400" in codes and codes & {"H410", "H411", "H412"}:  # H410 for H411 and H412: from memory
        shown = shown - {"H400", "H411", "H412"} | {"H410"}
    label = label_of(classes_of(row["classification"]))
    assert label.pictograms == tuple(sorted(symbol for symbol, of in used.items() if of))
    assert label.signal == ("Danger" if danger else "Warning" if warning else "")
    assert {one.code for one in label.h_statements} == shown
