"""Indicators: ranges and colours as tabulated, the share of each form, and dishes that are alike."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.acid_base.indicators import indicator, indicators, same_at_both, shade_at, share_high
from prep.chemistry.acid_base.other_indicators import IndicatorKind, other_indicator, other_indicators
from prep.errors import PrepError
from prep.resources import seed_table


# Alberta Education, Chemistry 30 Data Booklet (updated 2010), acid-base indicators, p. 10.
@pytest.mark.parametrize(
    ("name", "ph", "colour", "state"),
    [
        ("phenolphthalein", 8.2, "colourless", "low"),
        ("phenolphthalein", 9.0, "between colourless and pink", "changing"),
        ("phenolphthalein", 10.0, "pink", "high"),
        ("methyl orange", 3.0, "red", "low"),
        ("methyl orange", 4.5, "yellow", "high"),
        ("Bromothymol-Blue", 6.8, "between yellow and blue", "changing"),
        ("BTB", 7.7, "blue", "high"),
        ("thymol blue", 1.0, "red", "low"),
        ("thymol blue", 5.0, "yellow", "low"),
        ("thymol blue", 10.0, "blue", "high"),
    ],
)
def test_an_indicator_has_its_colour_at_each_ph(name: str, ph: float, colour: str, state: str) -> None:
    shade = shade_at(indicator(name), ph)
    assert (shade.colour, shade.state) == (colour, state)


def test_the_universal_indicator_has_a_colour_for_each_ph() -> None:
    """From memory: L. S. Foster & I. J. Gruntfest, Journal of Chemical Education 14 (1937) 274, of its recipe here."""
    universal = indicator("universal indicator")
    shades = [shade_at(universal, ph).colour for ph in (1, 4, 5, 6, 7, 8, 9, 10, 13)]
    assert shades == ["red", "red", "orange", "yellow", "green", "blue", "indigo", "violet", "violet"]
    assert shade_at(universal, 7.5).colour == "between green and blue"
    assert not same_at_both(universal, 4.0, 7.0).same


def test_half_at_pkin() -> None:
    green = indicator("bromocresol green").changes[0]
    assert green.pkin == 4.89
    assert share_high(green, 4.89) == pytest.approx(0.5)
    assert share_high(green, 5.89) == pytest.approx(10 / 11)
    # The printed pKin of indigo carmine lies below its range: the middle stands in for it.
    assert share_high(indicator("indigo carmine").changes[0], 12.2) == pytest.approx(0.5)


def test_whether_an_indicator_has_one_colour_at_two_phs_is_said() -> None:
    orange = indicator("methyl orange")
    assert same_at_both(orange, 7.0, 4.65).same
    assert "alike" in same_at_both(orange, 7.0, 4.65).sentence
    different = same_at_both(orange, 7.0, 3.0)
    assert not different.same
    assert "yellow at pH 7.00" in different.sentence
    assert not same_at_both(indicator("bromothymol blue"), 7.0, 4.65).same
    assert same_at_both(indicator("bromothymol blue"), 7.00, 7.02).same
    assert not same_at_both(indicator("cresol red"), 0.0, 9.0).same


@given(st.sampled_from(sorted(indicators())), st.floats(0, 14), st.floats(0, 14))
def test_alike_is_mutual_and_certain_with_itself(name: str, one: float, other: float) -> None:
    of = indicator(name)
    assert same_at_both(of, one, one).same
    assert same_at_both(of, one, other).same == same_at_both(of, other, one).same


def test_every_change_of_an_indicator_has_a_range_and_two_colours() -> None:
    for of in indicators().values():
        for change in of.changes:
            assert 0 <= change.ph_low < change.ph_high <= 14
            assert change.colour_low
            assert change.colour_high
            assert change.source
        assert [c.ph_low for c in of.changes] == sorted(c.ph_low for c in of.changes)
    with pytest.raises(PrepError, match="phenolphthalein"):
        indicator("beetroot")


# From memory: Vogel's Textbook of Quantitative Chemical Analysis, 5th ed., redox indicators: formal potential in 1 M
# sulfuric acid; red when reduced, pale blue when oxidised.
def test_a_redox_indicator_has_a_potential_and_no_ph() -> None:
    ferroin = other_indicator("Ferroin indicator")
    assert ferroin is not None
    assert (ferroin.potential_v, ferroin.colour_before, ferroin.colour_after) == (1.06, "red", "pale blue")
    with pytest.raises(PrepError, match="answers to a redox potential, not to pH"):
        indicator("ferroin")
    assert indicator("methyl orange solution") is indicator("methyl orange")


def test_every_other_indicator_says_what_it_answers_to_and_its_source() -> None:
    for one in other_indicators():
        assert one.source
        assert one.kind.answers_to
        assert one.colour_before != one.colour_after
        assert (one.potential_v is not None) == (one.kind is IndicatorKind.REDOX)


def test_every_indicator_that_a_titration_names_is_on_file() -> None:
    named = {row["indicator"] for row in seed_table("titration_ratios")}
    for one in named - {"self (first lasting pink)"}:
        name = one.partition(" at pH")[0].partition(" (")[0]
        if other_indicator(one) is None and other_indicator(name) is None:
            assert indicator(name).changes


@pytest.mark.parametrize(
    ("name", "ph", "colour"),
    [  # common practice, no source
        ("red cabbage extract", 1, "red"),
        ("red cabbage", 8.5, "blue"),
        ("red cabbage", 14, "yellow"),
        ("hydrogencarbonate indicator", 7.4, "yellow"),
        ("bicarbonate indicator", 8.5, "red"),
        ("bicarbonate indicator", 9.4, "purple"),
        ("screened methyl orange", 4.5, "green"),
    ],
)
def test_the_mixtures_a_school_makes_are_on_file(name: str, ph: float, colour: str) -> None:
    assert shade_at(indicator(name), ph).colour == colour
