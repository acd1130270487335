"""A school's own limits stop what breaks them, with a sentence."""

from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry.model import Strength, StrengthKind, Substance
from prep.safety.school_rules import SchoolRule, SubstanceUse, broken

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
