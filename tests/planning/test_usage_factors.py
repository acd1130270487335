"""What demos really use, and when their figures want changing."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from prep.planning.usage_factors import LearnedUsage, UsageRecord, findings, learn

ML = 1_000_000


def records(*ratios: float, demo: str = "clock", item: str = "iodate-0.02", measured: bool = True) -> list[UsageRecord]:
    return [
        UsageRecord(demo, f"B{n}", item, 100 * ML, round(ratio * 100 * ML), date(2031, 5, n + 1), measured)
        for n, ratio in enumerate(ratios)
    ]


def of_item(found: tuple[LearnedUsage, ...], item: str = "iodate-0.02") -> LearnedUsage:
    return next(one for one in found if one.item == item)


def test_a_steady_excess_wants_a_change() -> None:
    one = of_item(learn(records(1.30, 1.25, 1.35)))
    assert (one.n, one.mean) == (3, 1.3)
    assert one.standard_error == pytest.approx(0.05 / 3**0.5)
    assert one.wants_change
    assert one.factor == Decimal("1.3")
    assert [line.text for line in one.lines] == [
        "clock, iodate-0.02: used / planned has the mean 1.3 over 3 bookings, standard error 0.029",
        "the figure wants changing: multiply it by 1.3",
    ]


@pytest.mark.parametrize(
    ("ratios", "why"),
    [
        ((1.5, 1.5), "too few"),
        ((1.08, 1.09, 1.07, 1.08), "it stands"),
        ((1.1, 1.1, 1.1), "it stands"),  # a tenth is not more than a tenth
        ((0.9, 0.9, 0.9), "it stands"),
        ((1.0, 2.0, 1.0), "chance"),
        ((0.2, 1.0, 0.9), "chance"),
    ],
)
def test_the_figure_stands_when_there_is_too_little_to_say(ratios: tuple[float, ...], why: str) -> None:
    one = of_item(learn(records(*ratios)))
    assert not one.wants_change
    assert one.factor == 1
    assert why in one.lines[-1].text
    assert findings([one]) == ()


def test_identical_records_have_no_spread_and_are_believed() -> None:
    one = of_item(learn(records(0.5, 0.5, 0.5)))
    assert one.standard_error == 0
    assert one.wants_change
    (note,) = findings([one])
    assert (note.severity, note.code, note.about) == ("note", "demo-figures", "clock/iodate-0.02")
    assert note.cure == "Multiply its figure for iodate-0.02 by 0.5."


def test_what_is_never_used_is_to_be_taken_off() -> None:
    (note,) = findings(learn(records(0, 0, 0)))
    assert "take iodate-0.02 off" in note.cure


def test_one_record_has_no_standard_error() -> None:
    one = of_item(learn(records(2.0)))
    assert one.standard_error is None
    assert not one.wants_change


def test_what_was_booked_as_planned_teaches_nothing() -> None:
    assert learn(records(1, 1, 1, measured=False)) == ()
    mixed = [*records(1.4, 1.4, 1.4), *records(1, 1, 1, 1, measured=False)]
    assert of_item(learn(mixed)).mean == 1.4


def test_nothing_planned_is_left_out() -> None:
    assert learn([UsageRecord("d", "B", "x", 0, 5, date(2031, 5, 1))]) == ()


def test_a_demo_as_a_whole_counts_each_booking_once() -> None:
    found = learn([*records(1.2, 1.2, 1.2), *records(1.0, 1.0, 1.0, item="starch-1"), *records(2.0, demo="zinc")])
    assert [(one.demo, one.item, one.n) for one in found] == [
        ("clock", "", 3),
        ("clock", "iodate-0.02", 3),
        ("clock", "starch-1", 3),
        ("zinc", "", 1),
        ("zinc", "iodate-0.02", 1),
    ]
    assert found[0].mean == pytest.approx(1.1)
    assert [note.about for note in findings(found)] == ["clock/iodate-0.02"]


def test_the_thresholds_can_be_set() -> None:
    assert of_item(learn(records(1.06, 1.06), least=2, margin=Fraction(1, 20))).wants_change


@given(st.lists(st.tuples(st.integers(1, 10**9), st.integers(0, 10**9)), min_size=1, max_size=20))
def test_what_wants_changing_is_far_off_and_not_by_chance(amounts: list[tuple[int, int]]) -> None:
    found = learn(
        [UsageRecord("d", f"B{n}", "x", planned, used, date(2031, 5, 1)) for n, (planned, used) in enumerate(amounts)]
    )
    one = of_item(found, "x")
    assert one.n == len(amounts)
    assert one.mean == pytest.approx(sum(u / p for p, u in amounts) / len(amounts))
    if one.wants_change:
        assert one.n >= 3
        assert abs(one.mean - 1) > 0.0999
        assert one.standard_error is not None
        assert abs(one.mean - 1) > 1.999 * one.standard_error
    reverse = learn(
        [UsageRecord("d", f"B{n}", "x", planned, used, date(2031, 5, 1)) for n, (planned, used) in enumerate(amounts)][
            ::-1
        ]
    )
    assert [(r.item, r.mean, r.wants_change) for r in reverse] == [(r.item, r.mean, r.wants_change) for r in found]
