"""A school's own limits stop what breaks them, with a sentence."""

from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry.model import Strength, StrengthKind, Substance
from prep.safety.school_rules import SchoolRule, SubstanceUse, broken, is_younger

Substances = dict[str, Substance]
TWO = Strength(Decimal(2), StrengthKind.MOL_PER_L)
ACID = SubstanceUse(
    "K7", "hcl-2", "Hydrochloric acid, 2 mol/L", ("hydrochloric-acid",), TWO, room="lab 1", group="year 8"
)


def limit(value: str, kind: StrengthKind = StrengthKind.MOL_PER_L, **more: str) -> SchoolRule:
    return SchoolRule("hydrochloric-acid", Strength(Decimal(value), kind), **more)


def test_at_the_limit_is_allowed_and_above_it_is_not() -> None:
    assert broken([ACID], [limit("2")]) == ()
    (finding,) = broken([ACID], [limit("1", group="year 8", why="under 14")])
    assert (finding.severity, finding.code) == ("stop", "too-strong")
    assert finding.message == (
        "K7: Hydrochloric acid, 2 mol/L at 2 mol/L is above the school's 1 mol/L for year 8 (under 14)."
    )


def test_a_rule_for_another_room_or_group_does_not_apply() -> None:
    assert broken([ACID], [limit("1", room="lab 2"), limit("1", group="year 12")]) == ()
    assert len(broken([ACID], [limit("1", room="lab 1")])) == 1


def test_a_room_or_group_written_another_way_is_the_same() -> None:
    for rule in (limit("1", room="Lab  1"), limit("1", group="YEAR 8 "), limit("1", room="LAB 1", group="Year 8")):
        assert len(broken([ACID], [rule])) == 1


def test_what_is_barred_is_stopped_by_item_or_solute() -> None:
    for item in ("hcl-2", "hydrochloric-acid"):
        (finding,) = broken([ACID], [SchoolRule(item)])
        assert (finding.severity, finding.code) == ("stop", "barred")
    assert broken([ACID], [SchoolRule("sodium")]) == ()


def test_another_unit_is_converted(substances: Substances) -> None:
    use = SubstanceUse(
        "K7", "hcl-2", "acid", ("hydrochloric-acid",), TWO, substance=substances["hydrochloric-acid"]
    )  # 2 mol/L is 7.06 % w/w
    (finding,) = broken([use], [limit("7", StrengthKind.PCT_W_W)])
    assert "at about 7.06 % w/w is above the school's 7 % w/w" in finding.message
    assert broken([use], [limit("7.1", StrengthKind.PCT_W_W)]) == ()


def test_what_cannot_be_judged_is_said() -> None:
    blind = SubstanceUse("K7", "hcl", "acid", ("hydrochloric-acid",))
    (finding,) = broken([blind], [limit("1")])
    assert (finding.severity, finding.code) == ("act", "strength-not-known")
    (finding,) = broken([ACID], [limit("7", StrengthKind.PCT_W_W)])
    assert finding.code == "strength-not-known"


@pytest.mark.parametrize("strength_of", ["CuSO4", ""])
def test_a_strength_by_mass_counts_what_the_card_counts(substances: Substances, strength_of: str) -> None:
    # 100 g/L / 159.6 g/mol = 0.6266 mol/L of CuSO4; counted as the pentahydrate it would pass as 0.4005
    ten = Strength(Decimal(10), StrengthKind.PCT_W_V)
    blue = SubstanceUse(
        "K7",
        "cuso4-10",
        "copper sulfate",
        ("copper-sulfate", "copper-sulfate-5-water"),
        ten,
        substance=substances["copper-sulfate-5-water"],
        strength_of=strength_of,
    )
    rule = SchoolRule("copper-sulfate", Strength(Decimal("0.5"), StrengthKind.MOL_PER_L))
    (finding,) = broken([blue], [rule])
    assert (finding.severity, finding.code) == ("stop", "too-strong")
    assert "at about 0.627 mol/L is above the school's 0.5 mol/L" in finding.message
    assert broken([blue], [replace(rule, at_most=Strength(Decimal("0.63"), StrengthKind.MOL_PER_L))]) == ()
    # A limit for the salt as it is bought counts that salt: 10 % w/v of CuSO4 is 15.64 % w/v of CuSO4.5H2O.
    by_mass = SchoolRule("copper-sulfate-5-water", Strength(Decimal(15), StrengthKind.PCT_W_V))
    (finding,) = broken([blue], [by_mass])
    assert "at about 15.6 % w/v" in finding.message
    assert broken([blue], [replace(by_mass, item="copper-sulfate")]) == ()


WHOOSH = SubstanceUse("K7", "", "Whoosh bottle", room="lab 1", group="year 8", demo="whoosh-bottle")


def test_a_demonstration_is_barred_as_such() -> None:
    rule = SchoolRule("", demo="whoosh-bottle")
    for narrowed in (rule, replace(rule, room="Lab 1"), replace(rule, group="Year 8")):
        (finding,) = broken([ACID, WHOOSH], [narrowed])
        assert (finding.severity, finding.code) == ("stop", "barred")
        assert finding.message.startswith("K7: the school bars Whoosh bottle")
    assert broken([WHOOSH], [SchoolRule("", demo="golden-rain"), SchoolRule("whoosh-bottle")]) == ()
    assert broken([ACID], [SchoolRule("", demo="hcl-2")]) == ()


@pytest.mark.parametrize("group", ["Year 7", "year 8", "Staff children"])
def test_a_least_age_bars_every_group_before_it(group: str) -> None:
    rule = SchoolRule("", demo="whoosh-bottle", from_group="Year 9", why="flame")
    (finding,) = broken([replace(WHOOSH, group=group)], [rule], ["Year 7", "Year 8", "Year 9", "Year 10"])
    assert finding.message == "K7: the school bars Whoosh bottle before Year 9 (flame)."
    assert finding.severity == "stop"


@pytest.mark.parametrize("group", ["Year 9", "YEAR 9", "Year 10", "Year 13"])
def test_a_least_age_leaves_its_own_group_and_older_ones_alone(group: str) -> None:
    rule = SchoolRule("", demo="whoosh-bottle", from_group="Year 9")
    assert broken([replace(WHOOSH, group=group)], [rule], ["Year 10", "Year 9", "Year 7"]) == ()


def test_a_booking_for_nobody_in_particular_is_asked_for_its_group() -> None:
    rule = SchoolRule("", demo="whoosh-bottle", from_group="Year 9")
    (finding,) = broken([replace(WHOOSH, group="")], [rule])
    assert (finding.severity, finding.code) == ("act", "group-not-known")
    assert "before Year 9; the booking names no age group" in finding.message


def test_groups_without_numbers_go_by_the_order_of_the_list() -> None:
    order = ["Lower", "Middle", "Upper"]
    assert is_younger("Lower", "Upper", order)
    assert not is_younger("Upper", "Middle", order)
    assert not is_younger("upper ", "Upper", [])
