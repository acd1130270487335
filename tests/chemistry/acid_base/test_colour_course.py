"""The course of a titration against textbook tables and figures of practice."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.chemistry.acid_base.colour_course import (
    ColourPassage,
    CourseMark,
    WatchedVessel,
    at_once,
    course,
    passages,
    through,
)
from prep.chemistry.acid_base.endpoints import Dropper
from prep.chemistry.acid_base.equilibrium import Mixture, mixture_of
from prep.chemistry.acid_base.indicators import indicator
from prep.chemistry.acid_base.species import Component, of_formula

FINE = Dropper(30, 20)


def of(*parts: tuple[str, float]) -> Mixture:
    return mixture_of([Component(of_formula(formula), strength, True) for formula, strength in parts])


STRONG_ACID, STRONG_BASE = of(("HCl", 0.1)), of(("NaOH", 0.1))


@pytest.mark.parametrize(
    ("added", "ph"),
    [(0.0, 1.00), (10.0, 1.37), (24.0, 2.69), (26.0, 11.29), (40.0, 12.36)],
)
def test_strong_acid_by_strong_base(added: float, ph: float) -> None:
    """25.00 mL of 0.1 mol/L. From memory: D. C. Harris, Quantitative Chemical Analysis (without activities)."""
    vessel = WatchedVessel(STRONG_ACID, 25.0, STRONG_BASE)
    assert vessel.ph(added) == pytest.approx(ph, abs=0.13)


def test_drops_of_strong_acid_that_water_takes() -> None:
    """25 mL of pure water falls below pH 2.5 with about 25 drops of 0.1 mol/L: common practice, no source."""
    vessel = WatchedVessel(of(), 25.0, STRONG_ACID, dropper=FINE)
    volume = vessel.volume_to(2.5)
    assert volume is not None
    drops = vessel.mark(volume).drops
    assert drops is not None
    assert drops.count == pytest.approx(25, abs=2)
    assert drops.fewest < drops.count < drops.most


def test_an_acetate_buffer_keeps_its_colour() -> None:
    """0.1 + 0.1 mol/L shows no change of thymol blue at 300 drops: common practice, no source."""
    buffer = of(("CH3COOH", 0.1), ("CH3COONa", 0.1))
    found = course(WatchedVessel(buffer, 25.0, STRONG_ACID, indicator("thymol blue"), FINE), 300 / 30)
    assert found.passages == ()
    assert (found.start.colour, found.end.colour) == ("yellow", "yellow")


def test_ten_times_the_strength_has_ten_times_the_capacity() -> None:
    """Van Slyke: the capacity of a pair is in proportion to its total concentration."""
    volumes = [
        WatchedVessel(of(("CH3COOH", c), ("CH3COONa", c)), 25.0, of(("HCl", 1.0))).volume_to(4.2) or 0.0
        for c in (0.01, 0.1)
    ]
    assert volumes[1] / volumes[0] == pytest.approx(10, rel=0.12)


def test_every_band_of_a_universal_indicator_is_passed_in_order() -> None:
    vessel = WatchedVessel(STRONG_ACID, 25.0, STRONG_BASE, indicator("universal indicator"), FINE)
    found = passages(vessel, 40.0)
    assert [one.before for one in found] == ["red", "orange", "yellow", "green", "blue", "indigo"]
    volumes = [mark.volume_ml for one in found for mark in (one.begins, one.ends) if mark]
    assert volumes == sorted(volumes)
    assert found[-1].after == "violet"


@settings(max_examples=25, deadline=None)
@given(st.floats(0.01, 0.5), st.floats(0.01, 0.5), st.floats(5, 50))
def test_ph_rises_and_every_mark_lies_on_the_curve(acid: float, base: float, dish_ml: float) -> None:
    of_ = indicator("bromothymol blue")
    vessel = WatchedVessel(of(("HCl", acid)), dish_ml, of(("NaOH", base)), of_, FINE, 5.0)
    found = course(vessel, 2 * dish_ml * acid / base)
    levels = [moment.ph for moment in found.moments]
    assert levels == sorted(levels)
    (change,) = found.passages
    assert change.begins is not None
    assert change.ends is not None
    assert vessel.ph(change.begins.volume_ml) == pytest.approx(of_.changes[0].ph_low, abs=0.01)
    assert vessel.ph(change.ends.volume_ml) == pytest.approx(of_.changes[0].ph_high, abs=0.01)
    assert change.ends.fewest_ml < change.ends.volume_ml < change.ends.most_ml


def test_bands_that_one_drop_goes_through_are_named_together() -> None:
    """A strong acid meets a strong alkali: pH 4 to 10 lies within a fraction of a drop of 0.05 mL."""

    def passage(before: str, after: str, begins: float | None, ends: float | None) -> ColourPassage:
        first, last = (None if ml is None else CourseMark(ml, None, ml, ml) for ml in (begins, ends))
        return ColourPassage(before, after, first, last)

    slow, last = passage("red", "orange", 0.8, 3.4), passage("violet", "black", 5.012, None)
    quick = [passage("orange", "yellow", 4.98, 4.99), passage("yellow", "green", 4.99, 5.0)]
    more = passage("green", "blue", 5.0, 5.02)
    grouped = at_once([slow, *quick, more, last], 0.05)
    assert grouped == ((slow,), (*quick, more), (last,))
    assert [through(one) for one in grouped] == [
        "red to orange",
        "orange through yellow and green to blue",
        "violet to black",
    ]
    assert through(quick) == "orange through yellow to green"
    assert at_once([slow, *quick], 0.001) == ((slow,), (quick[0],), (quick[1],))
