"""Every limit exactly at its value and just under it; rules one by one; what is not known."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.model import Form, Strength, StrengthKind, Substance
from prep.errors import PrepError
from prep.resources import seed_table
from prep.safety.clp.classify import classify, classify_substance
from prep.safety.clp.composition import at_strength, component_of
from prep.safety.hazard_tables import split
from prep.safety.model import Classification, MixtureComponent

LEAST = Decimal("0.0001")


def mix(pct: str | Decimal, classification: str, cas: str = "", **more: object) -> Classification:
    return classify([MixtureComponent("x", Decimal(pct), cas, classification)], **more)  # type: ignore[arg-type]


def names(found: Classification) -> set[str]:
    return {str(one) for one in found.classes}


# Entries for one strength or form, limits above a value, and those that a graver class covers are checked below.
_APART = {"007-004-00-1", "007-030-00-3", "612-001-00-9", "607-001-00-0", "017-006-00-4"}
SPECIFIC = [
    r
    for r in seed_table("limits")
    if r["kind"] == "SCL" and r["hazard_class"] != "Repr." and r["index_no"] not in _APART and r["cas"]
]


# Regulation (EC) No 1272/2008, Annex VI, Part 3, Table 3, read in the agency's table.
@pytest.mark.parametrize("row", SPECIFIC, ids=lambda r: f"{r['name']} {r['hazard_class']} {r['category']}")
def test_a_specific_limit_applies_from_its_value_on(row: dict[str, str]) -> None:
    cas, lower = split(row["cas"])[0], Decimal(row["lower_pct"])
    at = mix(lower, "not classified", cas)
    under = mix(lower - LEAST, "not classified", cas)
    code = row["h_code"]
    if row["hazard_class"].startswith("EUH"):
        assert [one.code for one in at.euh] == [code]
        assert not under.euh
        return
    wanted = f"{row['hazard_class']} {row['category']} {code}"
    assert wanted in names(at)
    assert wanted not in names(under)
    if row["upper_pct"]:
        assert wanted not in names(mix(row["upper_pct"], "not classified", cas))


GENERIC = [
    ("Skin Corr. 1A H314", "5", "Skin Corr. 1A H314"),
    ("Skin Corr. 1B H314", "5", "Skin Corr. 1B H314"),
    ("Skin Corr. 1C H314", "5", "Skin Corr. 1C H314"),
    ("Skin Corr. 1 H314", "5", "Skin Corr. 1 H314"),
    ("Skin Corr. 1B H314", "1", "Skin Irrit. 2 H315"),
    ("Skin Corr. 1B H314", "3", "Eye Dam. 1 H318"),
    ("Skin Corr. 1B H314", "1", "Eye Irrit. 2 H319"),
    ("Skin Irrit. 2 H315", "10", "Skin Irrit. 2 H315"),
    ("Eye Dam. 1 H318", "3", "Eye Dam. 1 H318"),
    ("Eye Dam. 1 H318", "1", "Eye Irrit. 2 H319"),
    ("Eye Irrit. 2 H319", "10", "Eye Irrit. 2 H319"),
    ("STOT SE 3 H335", "20", "STOT SE 3 H335"),
    ("STOT SE 3 H336", "20", "STOT SE 3 H336"),
    ("Muta. 1B H340", "0.1", "Muta. 1B H340"),
    ("Muta. 2 H341", "1", "Muta. 2 H341"),
    ("Carc. 1A H350", "0.1", "Carc. 1A H350"),
    ("Asp. Tox. 1 H304", "10", "Asp. Tox. 1 H304"),
    # from memory: the numbers below stand in CLP tables that were not read
    ("Carc. 2 H351", "1", "Carc. 2 H351"),
    ("Repr. 1B H360FD", "0.3", "Repr. 1B H360FD"),
    ("Repr. 2 H361d", "3", "Repr. 2 H361d"),
    ("Resp. Sens. 1 H334", "1", "Resp. Sens. 1 H334"),
    ("Resp. Sens. 1A H334", "0.1", "Resp. Sens. 1A H334"),
    ("Skin Sens. 1 H317", "1", "Skin Sens. 1 H317"),
    ("Skin Sens. 1A H317", "0.1", "Skin Sens. 1A H317"),
    ("Skin Sens. 1B H317", "1", "Skin Sens. 1B H317"),
    ("STOT SE 1 H370", "10", "STOT SE 1 H370"),
    ("STOT SE 1 H370", "1", "STOT SE 2 H371"),
    ("STOT SE 2 H371", "10", "STOT SE 2 H371"),
    ("STOT RE 1 H372", "10", "STOT RE 1 H372"),
    ("STOT RE 1 H372", "1", "STOT RE 2 H373"),
    ("STOT RE 2 H373", "10", "STOT RE 2 H373"),
    ("Lact. H362", "0.3", "Lact. H362"),
    ("Aquatic Acute 1 H400", "25", "Aquatic Acute 1 H400"),
    ("Aquatic Chronic 1 H410", "25", "Aquatic Chronic 1 H410"),
    ("Aquatic Chronic 1 H410", "2.5", "Aquatic Chronic 2 H411"),
    ("Aquatic Chronic 1 H410", "0.25", "Aquatic Chronic 3 H412"),
    ("Aquatic Chronic 2 H411", "25", "Aquatic Chronic 2 H411"),
    ("Aquatic Chronic 2 H411", "2.5", "Aquatic Chronic 3 H412"),
    ("Aquatic Chronic 3 H412", "25", "Aquatic Chronic 3 H412"),
    ("Aquatic Chronic 4 H413", "25", "Aquatic Chronic 4 H413"),
]


# 29 CFR 1910.1200 (2024 rule) Appendix A tables, and CLP Annex I where noted.
@pytest.mark.parametrize(("own", "lower", "wanted"), GENERIC)
def test_a_generic_limit_applies_from_its_value_on(own: str, lower: str, wanted: str) -> None:
    assert wanted in names(mix(lower, own))
    assert wanted not in names(mix(Decimal(lower) - LEAST, own))


# 29 CFR 1910.1200 Tables A.1.1 and A.1.2: point estimates and the upper end of each category.
@pytest.mark.parametrize(
    ("own", "pct", "wanted"),
    [
        ("Acute Tox. 4 H302", "25", "Acute Tox. 4 H302"),  # 500/0.25 = 2000
        ("Acute Tox. 3 H301", "5", "Acute Tox. 4 H302"),  # 100/0.05 = 2000
        ("Acute Tox. 2 H300", "0.25", "Acute Tox. 4 H302"),  # 5/0.0025 = 2000
        ("Acute Tox. 4 H312", "55", "Acute Tox. 4 H312"),  # 1100/0.55 = 2000
        ("Acute Tox. 3 H311", "15", "Acute Tox. 4 H312"),  # 300/0.15 = 2000
        ("Acute Tox. 4 H332", "30", "Acute Tox. 4 H332"),  # mist 1.5/0.3 = 5
        ("Acute Tox. 3 H331", "50", "Acute Tox. 3 H331"),  # mist 0.5/0.5 = 1
    ],
)
def test_the_toxicity_estimate_is_held_against_the_upper_end(own: str, pct: str, wanted: str) -> None:
    assert wanted in names(mix(pct, own))
    assert wanted not in names(mix(Decimal(pct) - LEAST, own))


def test_nitric_acid_fumes_by_its_harmonised_estimate() -> None:
    # break points of 13.25 % and 26.5 % from ATE 2.65 mg/L (from memory: Regulation (EU) 2020/1182)
    own = "Ox. Liq. 3 H272; Acute Tox. 3 H331; Skin Corr. 1A H314"
    assert "Acute Tox. 4 H332" in names(mix("13.25", own, "7697-37-2"))
    assert "Acute Tox. 4 H332" not in names(mix("13.24", own, "7697-37-2"))
    assert "Acute Tox. 3 H331" in names(mix("26.5", own, "7697-37-2"))
    assert "Acute Tox. 3 H331" not in names(mix("26.49", own, "7697-37-2"))


def test_unknown_ingredients_above_a_tenth_make_the_rest_stronger() -> None:
    known = MixtureComponent("a", Decimal(24), "", "Acute Tox. 4 H302")
    assert "Acute Tox. 4 H302" not in names(classify([known, MixtureComponent("b", Decimal(10))]))
    found = classify([known, MixtureComponent("b", Decimal(11))])  # (100-11)/(24/500) = 1854
    assert "Acute Tox. 4 H302" in names(found)
    assert any("11 % of the mixture" in note for note in found.notes)


def test_what_has_no_hazard_data_is_not_known_and_never_harmless() -> None:
    found = classify(
        [MixtureComponent("mystery", Decimal("0.05")), MixtureComponent("salt", Decimal(5), "", "not classified")]
    )
    assert not found.known
    assert found.unknown == ("mystery",)
    assert found.in_words == "not known (no hazard data for mystery)"
    salt = classify([MixtureComponent("salt", Decimal(5), "", "not classified")])
    assert salt.in_words == "not classified"
    unrecorded = Substance("s", "Soap", "", "soap", Form.LIQUID)
    assert classify_substance(unrecorded).in_words == "not known (no hazard data for Soap)"


@pytest.mark.parametrize(("flash", "wanted"), [("22.9", "2 H225"), ("23", "3 H226"), ("60", "3 H226"), ("60.1", "")])
def test_flammable_liquids_by_flash_point(flash: str, wanted: str) -> None:
    # 29 CFR 1910.1200 Table B.6.1
    found = classify([], flash_point_c=Decimal(flash))
    assert names(found) == ({f"Flam. Liq. {wanted}"} if wanted else set())


def test_the_lowest_boiling_are_category_1() -> None:
    assert names(classify([], flash_point_c=Decimal(-45), boiling_point_c=Decimal(35))) == {"Flam. Liq. 1 H224"}
    assert names(classify([], flash_point_c=Decimal(-45), boiling_point_c=Decimal(36))) == {"Flam. Liq. 2 H225"}


@pytest.mark.parametrize(
    ("pct", "wanted"),
    [("96", "2 H225"), ("70", "2 H225"), ("50", "2 H225"), ("40", "3 H226"), ("20", "3 H226"), ("3.9", "")],
)
def test_ethanol_in_water_by_the_table(pct: str, wanted: str) -> None:
    found = mix(pct, "Flam. Liq. 2 H225", "64-17-5")
    burns = {one for one in names(found) if one.startswith("Flam.")}
    assert burns == ({f"Flam. Liq. {wanted}"} if wanted else set())


@pytest.mark.parametrize(
    ("cas", "own", "pct", "wanted"),
    [
        # from memory: Astbury et al., IChemE Symposium Series 150 (2004); UN 2789 above 80 %, UN 2790 below
        ("67-56-1", "2 H225", "3", ""),
        ("67-56-1", "2 H225", "5", "3 H226"),
        ("67-56-1", "2 H225", "70", "2 H225"),
        ("67-63-0", "2 H225", "5", "3 H226"),
        ("67-63-0", "2 H225", "70", "2 H225"),
        ("67-64-1", "2 H225", "1", "3 H226"),
        ("67-64-1", "2 H225", "10", "2 H225"),
        ("64-19-7", "3 H226", "80", ""),
        ("64-19-7", "3 H226", "90", "3 H226"),
    ],
)
def test_other_liquids_in_water_by_their_tables(cas: str, own: str, pct: str, wanted: str) -> None:
    burns = {one for one in names(mix(pct, f"Flam. Liq. {own}", cas)) if one.startswith("Flam.")}
    assert burns == ({f"Flam. Liq. {wanted}"} if wanted else set())


def test_nitric_acid_has_an_entry_of_its_own_above_70_pct() -> None:
    # index 007-030-00-3 up to 70 %, 007-004-00-1 above; both by Regulation (EU) 2020/1182
    weak = "Ox. Liq. 3 H272; Acute Tox. 3 H331; Skin Corr. 1A H314"
    assert names(mix("64.9", weak, "7697-37-2")) == {"Acute Tox. 3 H331", "Skin Corr. 1A H314"}
    assert "Ox. Liq. 3 H272" in names(mix("65", weak, "7697-37-2"))
    assert "Skin Corr. 1B H314" in names(mix("5", weak, "7697-37-2"))
    assert names(mix("71", weak, "7697-37-2")) == {"Ox. Liq. 3 H272", "Acute Tox. 1 H330", "Skin Corr. 1A H314"}
    assert "Ox. Liq. 2 H272" in names(mix("99", weak, "7697-37-2"))


def test_formic_acid_by_its_own_limits() -> None:
    # index 607-001-00-0 as amended by Regulation (EU) 2024/2564
    own = "Flam. Liq. 3 H226; Acute Tox. 3 H331; Acute Tox. 4 H302; Skin Corr. 1A H314; Eye Dam. 1 H318"
    assert "Flam. Liq. 3 H226" not in names(mix("85", own, "64-18-6"))
    assert "Flam. Liq. 3 H226" in names(mix("85.1", own, "64-18-6"))
    assert names(mix("5", own, "64-18-6")) == {"Skin Irrit. 2 H315", "Eye Irrit. 2 H319"}
    assert "Skin Corr. 1B H314" in names(mix("10", own, "64-18-6"))
    assert "Acute Tox. 4 H302" in names(mix("50", own, "64-18-6"))  # 500 / 0.5 = 1000


def test_perchloric_acid_by_its_own_limits() -> None:
    own = "Ox. Liq. 1 H271; Skin Corr. 1A H314"  # index 017-006-00-4
    assert "Ox. Liq. 1 H271" not in names(mix("50", own, "7601-90-3"))
    assert "Ox. Liq. 1 H271" in names(mix("50.1", own, "7601-90-3"))
    assert names(mix("9", own, "7601-90-3")) == {"Skin Irrit. 2 H315", "Eye Irrit. 2 H319"}


def test_acetic_acid_in_water_burns_only_when_strong() -> None:
    # from memory: UN 2789 above 80 %, UN 2790 below
    own = "Flam. Liq. 3 H226; Skin Corr. 1A H314"
    assert "Flam. Liq. 3 H226" not in names(mix("80", own, "64-19-7"))
    assert "Flam. Liq. 3 H226" in names(mix("81", own, "64-19-7"))


def test_dissolved_oxidisers_and_corrosion_of_metals_are_not_predicted() -> None:
    found = mix("10", "Ox. Sol. 2 H272; Met. Corr. 1 H290")
    assert names(found) == set()


def test_an_oxidiser_among_solids_keeps_its_class_until_it_is_tested() -> None:
    # Annex I, 2.14.2: oxidising solids are classified by test; UN GHS 2.14.4, without a test an expert's judgement.
    chlorate = MixtureComponent("chlorate", Decimal(50), "", "Ox. Sol. 1 H271; Acute Tox. 3 H301")
    sulfur = MixtureComponent("sulfur", Decimal(50), "", "Skin Irrit. 2 H315")
    assert "Ox. Sol. 1 H271" in names(classify([chlorate, sulfur]))
    liquid = MixtureComponent("oil", Decimal(50), "", "not classified", form=Form.LIQUID)
    assert "Ox. Sol. 1 H271" not in names(classify([chlorate, liquid]))
    assert "Ox. Sol. 1 H271" not in names(classify([chlorate]))  # the other half is water
    nitrate = MixtureComponent("nitrate", Decimal(50), "", "Ox. Sol. 3 H272")
    assert "Ox. Sol. 1 H271" in names(classify([nitrate, chlorate]))  # the severest of two


def test_a_share_below_its_cut_off_is_left_out_of_the_sum() -> None:
    corrosive = "Skin Corr. 1B H314"
    parts = [MixtureComponent("a", Decimal("4.5"), "", corrosive), MixtureComponent("b", Decimal("0.9"), "", corrosive)]
    assert "Skin Corr. 1B H314" not in names(classify(parts))
    parts[1] = MixtureComponent("b", Decimal("1"), "", corrosive)
    assert "Skin Corr. 1B H314" in names(classify(parts))


def test_the_tenfold_weight_adds_corrosives_to_irritants() -> None:
    parts = [
        MixtureComponent("a", Decimal(1), "", "Skin Corr. 1B H314"),
        MixtureComponent("b", Decimal(5), "", "Skin Irrit. 2 H315; Eye Irrit. 2 H319"),
    ]
    assert {"Skin Irrit. 2 H315", "Eye Irrit. 2 H319"} <= names(classify(parts))


def test_extreme_ph_where_nothing_else_is_known() -> None:
    acid = MixtureComponent("oxalic acid", Decimal("0.9"), "144-62-7", "Acute Tox. 4 H302", group="acid_organic")
    assert names(classify([acid], ph=Decimal(2))) == {"Skin Corr. 1 H314"}
    assert names(classify([acid], ph=Decimal("2.01"))) == set()
    alkali = MixtureComponent("barium hydroxide", Decimal("0.9"), "", "Acute Tox. 4 H302", group="base_caustic")
    assert names(classify([alkali], ph=Decimal("11.5"))) == {"Skin Corr. 1 H314"}
    assert names(classify([alkali], ph=Decimal("11.49"))) == set()
    assert names(classify([], ph=Decimal(1))) == {"Skin Corr. 1 H314"}
    lime = MixtureComponent("lime", Decimal("0.17"), "", "Skin Irrit. 2 H315; Eye Dam. 1 H318", group="base_caustic")
    found = classify([lime], ph=Decimal("12.4"))
    assert names(found) == {"Eye Dam. 1 H318"}  # Annex I, 3.3.3.1.2: what damages eyes undiluted says nothing else
    assert "12.4" in found.notes[0]
    mild = MixtureComponent("soda", Decimal("0.17"), "", "Skin Irrit. 2 H315; Eye Irrit. 2 H319", group="base_caustic")
    assert names(classify([mild], ph=Decimal("12.4"))) == set()


def test_a_specific_limit_for_one_letter_of_reproduction() -> None:
    # from memory: lead compounds, suspected infertility from 2.5 %
    own = "Repr. 1A H360Df"
    assert "Repr. 1A H360D" in names(mix("2.4", own, "10099-74-8"))
    assert "Repr. 1A H360Df" in names(mix("2.5", own, "10099-74-8"))
    both = [
        MixtureComponent("a", Decimal(1), "", "Repr. 1B H360D"),
        MixtureComponent("b", Decimal(1), "", "Repr. 1B H360F"),
    ]
    assert "Repr. 1B H360FD" in names(classify(both))


def test_allergens_too_little_to_classify_are_named() -> None:
    # from memory: CLP Table 3.4.6
    assert [e.code for e in mix("0.1", "Skin Sens. 1 H317").euh] == ["EUH208"]
    assert not mix("0.099", "Skin Sens. 1 H317").euh
    assert [e.code for e in mix("0.01", "Skin Sens. 1A H317").euh] == ["EUH208"]
    assert not mix("1", "Skin Sens. 1 H317").euh
    assert [e.code for e in mix("0.001", "Skin Sens. 1 H317", "10101-97-0").euh] == ["EUH208"]


def test_what_rests_on_memory_says_so() -> None:
    own = "Skin Corr. 1B H314; STOT SE 3 H335"
    seen = classify([MixtureComponent("hydrochloric acid", Decimal(20), "7647-01-0", own, source="CLP Annex VI")])
    assert not seen.check_before_relying
    recalled = classify(
        [MixtureComponent("hydrochloric acid", Decimal(20), "7647-01-0", own, source="from memory: CLP")]
    )
    assert recalled.check_before_relying
    assert mix("26", "Aquatic Chronic 2 H411").check_before_relying  # the sums of Table 4.1.2 were not read
    assert any(reason.rule == "SCL" and "20 %" in reason.text for reason in seen.reasoning)


def test_percentages_that_cannot_be() -> None:
    with pytest.raises(PrepError, match="add up to 110"):
        classify([MixtureComponent("a", Decimal(60)), MixtureComponent("b", Decimal(50))])
    with pytest.raises(PrepError, match="is not a hazard class"):
        mix("5", "Very Nasty 1 H999")


ACID = Substance(
    "hydrochloric-acid",
    "Hydrochloric acid, 36 %",
    "HCl",
    "hydrochloric-acid",
    Form.AQUEOUS,
    cas="7647-01-0",
    assay_pct=Decimal(36),
    density_g_ml=Decimal("1.18"),
    classification="Skin Corr. 1B H314; STOT SE 3 H335",
)


def test_a_concentrate_is_classified_at_its_assay() -> None:
    assert classify_substance(ACID).in_words == "Skin Corr. 1B H314; STOT SE 3 H335"
    peroxide = Substance(
        "p",
        "Hydrogen peroxide, 30 %",
        "H2O2",
        "hydrogen-peroxide",
        Form.AQUEOUS,
        cas="7722-84-1",
        assay_pct=Decimal(30),
        classification="Ox. Liq. 1 H271; Acute Tox. 4 H332; Acute Tox. 4 H302; Skin Corr. 1A H314",
    )
    found = names(classify_substance(peroxide))
    assert found == {"Eye Dam. 1 H318", "Acute Tox. 4 H302", "Acute Tox. 4 H332"}


def test_a_sourced_entry_does_not_vouch_for_one_from_memory() -> None:
    solid = replace(ACID, form=Form.SOLID, sources={"hazard": "CLP Annex VI"})
    for sourced in (replace(ACID, sources={"hazard": "CLP Annex VI"}), solid):
        assert not classify_substance(sourced).check_before_relying
        recalled = replace(sourced, sources={"hazard": "from memory: CLP Annex VI"})
        assert recalled == sourced
        assert classify_substance(recalled).check_before_relying


def test_strengths_become_percentages_by_density() -> None:
    # CRC Handbook, Concentrative Properties of Aqueous Solutions: 6 mol/L is about 20 % w/w
    found = at_strength(ACID, Strength(Decimal(6), StrengthKind.MOL_PER_L))
    made, working = found.component, found.working
    assert made.pct == pytest.approx(Decimal("19.95"), abs=Decimal("0.1"))
    assert working
    assert names(classify([made])) == {"Skin Irrit. 2 H315", "Eye Irrit. 2 H319", "STOT SE 3 H335"}


def test_bleach_is_counted_as_active_chlorine() -> None:
    bleach = Substance("b", "Bleach", "NaOCl", "b", Form.AQUEOUS, cas="7681-52-9", classification="not classified")
    made = component_of(bleach, Decimal("5.249"))
    assert made.pct == pytest.approx(Decimal(5), abs=Decimal("0.001"))
    assert "active chlorine" in made.name


_OWN = st.sampled_from([own for own, _, _ in GENERIC] + ["Acute Tox. 3 H301", "Acute Tox. 4 H332"])
_ORDER = {"Danger": 2, "Warning": 1, "": 0}


@given(st.lists(st.tuples(_OWN, st.integers(1, 3000)), min_size=1, max_size=3), st.integers(2, 9))
def test_dilution_never_makes_the_signal_word_worse(parts: list[tuple[str, int]], times: int) -> None:
    def at(divisor: int) -> Classification:
        return classify(
            [MixtureComponent(str(i), Decimal(n) / 100 / divisor, "", own) for i, (own, n) in enumerate(parts)]
        )

    assert _ORDER[at(times).signal] <= _ORDER[at(1).signal]
