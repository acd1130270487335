"""What is put out: whole drops, and millilitres that a person can measure; never less than is needed."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.model import Measure
from prep.planning.model import Booking, Demo, DemoKind, Need
from prep.planning.set_out import each_of, in_all, minutes_of, sensible, total_of, vessels_of

ML = 1_000_000
NEED = Need("x", 2 * ML, "flask")


@pytest.mark.parametrize(
    ("ml", "put_out"), [(2.66, 3), (0.11, 0.5), (5.5, 6), (49.9, 50), (136, 140), (1088, 1090), (25, 25), (250, 250)]
)
def test_millilitres_are_sensible(ml: float, put_out: float) -> None:
    assert sensible(round(ml * ML), Measure.VOLUME) == put_out * ML


@pytest.mark.parametrize(("g", "put_out"), [(13.2, 14), (0.165, 0.165), (66, 66), (3.404, 3.41), (345, 350)])
def test_grams_are_rounded_up(g: float, put_out: float) -> None:
    assert sensible(round(g * ML), Measure.MASS) == round(put_out * ML)


def test_one_drop_is_one_drop() -> None:
    assert each_of(Need("x", 50_000, "flask", drops=1), Measure.VOLUME) == "1 drop"


@given(st.integers(0, 10**11))
def test_never_less_than_is_needed_and_little_more(base: int) -> None:
    assert base <= sensible(base, Measure.VOLUME) <= base * 1.1 + ML
    assert base <= sensible(base, Measure.MASS) <= base * 1.1


@given(st.integers(1, 40), st.integers(1, 20), st.sampled_from([0, 10, 25]))
def test_drops_are_whole_and_enough(drops: int, showings: int, spare: int) -> None:
    need = Need("x", drops * 50_000, "tube", drops=drops)
    said = in_all(need, Demo("d", "D", (need,), Decimal(spare) / 100), showings, Measure.VOLUME)
    if said.endswith((" drop", " drops")):
        assert int(said.split()[0]) >= drops * showings * (100 + spare) / 100 - 1e-9
    else:
        assert drops * showings * (100 + spare) > 100 * 100


@pytest.mark.parametrize(
    ("vessel", "said"),
    [
        ("test tube", "each test tube"),
        ("glass tube 1 m", "each glass tube 1 m"),
        ("test tubes", "in test tubes"),
        ("beakers 100 mL", "in beakers 100 mL"),
        ("", ""),
    ],
)
def test_what_is_divided_among_vessels_does_not_go_into_each(vessel: str, said: str) -> None:
    assert vessels_of(replace(NEED, vessel=vessel)) == said


def test_two_drops_and_a_tenth_to_spare_are_three() -> None:
    need = Need("x", 100_000, "flask", drops=2)
    assert in_all(need, Demo("d", "D", (need,)), 1, Measure.VOLUME) == "3 drops"


def test_what_stays_in_the_bottle_makes_it_a_volume() -> None:
    need = Need("x", 600_000, "dropping bottle", dead=2 * ML, drops=12)
    assert in_all(need, Demo("d", "D", (need,)), 1, Measure.VOLUME) == "3 mL"


def test_each_set_of_a_class_has_its_own_rest_and_what_is_shared_counts_once() -> None:
    need = replace(NEED, dead=ML)
    shown, done = (Demo("d", "D", (need,), Decimal(0), kind=kind) for kind in DemoKind)
    assert (total_of(need, shown, 8), total_of(need, done, 8)) == (17 * ML, 24 * ML)
    assert total_of(replace(need, shared=True), shown, 8) == 3 * ML


def test_what_goes_on_until_a_colour_says_how_much_that_is() -> None:
    need = replace(NEED, until="colour changed", drops=40)
    assert each_of(need, Measure.VOLUME) == "40 drops (2 mL), until colour changed"
    assert each_of(replace(need, per_showing=0, drops=0), Measure.VOLUME) == "until colour changed"


def test_setting_out_takes_its_minutes_and_each_further_showing_some_more() -> None:
    one = Booking("B1", date(2027, 1, 11), "P1", "Lab", "A. Teacher", "d", 1)
    assert minutes_of([one]) == 10
    assert minutes_of([one, replace(one, showings=3)]) == 24
