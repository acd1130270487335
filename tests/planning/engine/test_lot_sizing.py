"""Batching: a published lot-sizing example, an exact MILP of the same model, and what must always hold."""

import random
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.planning.engine.lot_sizing import BatchSchedule, Costs, MadeLot, Want, batch
from prep.planning.model import Calendar
from prep.planning.workdays import Workdays
from tests.planning.engine.lot_sizing_milp import TODAY, Case, allowed_days, cost_of, least_cost, random_case

ML = 1_000_000
SIZES = tuple(n * ML for n in (50, 100, 250, 500, 1000, 2000))
WEEKS = Workdays(Calendar(), TODAY - timedelta(days=30), TODAY + timedelta(days=400))


def _day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


def _want(name: str, ml: int, needed: int, lead: int = 1, **more: object) -> Want:
    return Want(name, ml * ML, _day(needed), _day(needed - lead), **more)  # type: ignore[arg-type]


def _solve(case: Case) -> BatchSchedule:
    return batch(
        case.wants,
        shelf_life_days=case.shelf_life_days,
        sizes=case.sizes,
        last_workday=case.last_workday,
        today=case.today,
        costs=case.costs,
    )


def _plan(*wants: Want, shelf: int = 30, costs: Costs | None = None) -> BatchSchedule:
    return batch(wants, shelf_life_days=shelf, sizes=SIZES, last_workday=WEEKS.last_to, today=TODAY, costs=costs)


# Published ------------------------------------------------------------------------------------------------


def test_wagner_and_whitin_1958() -> None:
    # Wagner & Whitin, "Dynamic Version of the Economic Lot Size Model", Management Science 5 (1958) 89-96, the
    # twelve-period example: least cost 864, orders in periods 1, 3, 5, 8, 10 and 11.
    demand = (69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56)
    set_up = (85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114)
    first = date(2026, 1, 1)
    periods = [first + timedelta(days=n) for n in range(12)]
    price = dict(zip(periods, set_up, strict=True))
    wants = [Want(f"{n:02}", d, on, on) for n, (d, on) in enumerate(zip(demand, periods, strict=True), 1)]
    costs = Costs(Fraction(0), Fraction(0), Fraction(1), price.__getitem__)
    found = batch(
        wants,
        shelf_life_days=365,
        sizes=None,
        last_workday=lambda day: min(day, periods[-1]) if day >= first else None,
        today=first,
        costs=costs,
    )
    assert cost_of(found, wants, costs) == 864
    assert [(b.make_on - first).days + 1 for b in found.batches] == [1, 3, 5, 8, 10, 11]
    assert [b.amount for b in found.batches] == [98, 97, 121, 112, 67, 135]


def test_a_constant_set_up_weighed_day_by_day_is_the_same_as_not() -> None:
    rng = random.Random(5)
    for _ in range(100):
        case = random_case(rng)
        held = case.costs.held + Fraction(1, 100)
        flat = Costs(Fraction(15), case.costs.wasted, held)
        by_day = Costs(Fraction(0), case.costs.wasted, held, lambda _: 15)
        one = _solve(Case(case.wants, case.shelf_life_days, case.sizes, case.days, TODAY, flat))
        two = _solve(Case(case.wants, case.shelf_life_days, case.sizes, case.days, TODAY, by_day))
        assert cost_of(one, case.wants, flat) == cost_of(two, case.wants, by_day)


# Exact MILP -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(20))
def test_equal_cost_to_an_exact_milp(seed: int) -> None:
    # HiGHS on the same model, from its statement: 20 x 15 random cases.
    rng = random.Random(seed)
    for _ in range(15):
        case = random_case(rng)
        found = _solve(case)
        cost, unmet, _ = least_cost(case)
        assert float(cost_of(found, case.wants, case.costs)) == pytest.approx(cost, abs=1e-6), case
        assert {u.id for u in found.unmet} == unmet


# What must always hold ------------------------------------------------------------------------------------

_cases = st.integers(0, 2**32).map(lambda seed: random_case(random.Random(seed), most_wants=9, span=25))


def _check(case: Case, found: BatchSchedule) -> None:
    wants = {w.id: w for w in case.wants}
    served: Counter[str] = Counter()
    parts: Counter[str] = Counter()
    for made in found.batches:
        assert made.make_on in case.days
        assert made.make_on >= case.today
        total = sum(part.amount for part in made.serves)
        assert made.left_over == made.amount - total >= 0
        if case.sizes is None:
            assert made.left_over == 0
        else:
            assert made.amount in case.sizes
        for part in made.serves:
            want = wants[part.id]
            assert made.make_on in allowed_days(case, want)
            served[part.id] += part.amount
            parts[part.id] += 1
        dates = [wants[part.id].needed_on for part in made.serves]
        assert (made.first_use, made.last_use) == (min(dates), max(dates))
        assert {wants[part.id].needed_on for part in made.serves if wants[part.id].fresh} <= {made.make_on}
    unmet = {u.id: u for u in found.unmet}
    for want in case.wants:
        if want.id in unmet:
            assert unmet[want.id].amount == want.amount
            assert unmet[want.id].reason
            assert not allowed_days(case, want)
            assert want.id not in served
        else:
            assert served[want.id] == want.amount
            if case.sizes is None:
                assert parts[want.id] == 1
    assert found.wasted == sum(b.left_over for b in found.batches)
    assert [b.make_on for b in found.batches] == sorted(b.make_on for b in found.batches)


@settings(max_examples=300, deadline=None)
@given(_cases, st.booleans())
def test_every_batch_is_possible_and_nothing_is_lost(case: Case, by_rank: bool) -> None:
    if by_rank:
        case = Case(case.wants, case.shelf_life_days, case.sizes, case.days, case.today, None)  # type: ignore[arg-type]
    found = _solve(case)
    _check(case, found)
    assert _solve(case) == found
    shuffled = list(case.wants)
    random.Random(1).shuffle(shuffled)
    assert _solve(Case(tuple(shuffled), case.shelf_life_days, case.sizes, case.days, case.today, case.costs)) == found


@pytest.mark.parametrize("seed", range(6))
def test_without_costs_fewest_then_least_waste(seed: int) -> None:
    rng = random.Random(1000 + seed)
    for _ in range(8):
        case = replace(random_case(rng), costs=Costs(Fraction(10_000), Fraction(1), Fraction(0)))
        found = _solve(replace(case, costs=None))  # type: ignore[arg-type]
        cost, _, _ = least_cost(case)
        assert len(found.batches) * 10_000 + found.wasted == pytest.approx(cost, abs=1e-3)


# By hand --------------------------------------------------------------------------------------------------


def _shape(made: MadeLot) -> tuple[date, int, list[str]]:
    return made.make_on, made.amount // ML, [part.id for part in made.serves]


def test_one_make_for_the_week_if_it_keeps() -> None:
    # TODAY is a Monday; wants on Tuesday, Wednesday and Friday.
    wants = (_want("tue", 200, 1), _want("wed", 200, 2), _want("fri", 90, 4))
    assert [_shape(b) for b in _plan(*wants).batches] == [(_day(0), 500, ["tue", "wed", "fri"])]
    # Kept for three days only, Friday's is made later; with what the first leaves over, two of 250 mL do.
    assert [_shape(b) for b in _plan(*wants, shelf=3).batches] == [
        (_day(0), 250, ["tue", "wed"]),
        (_day(1), 250, ["wed", "fri"]),
    ]


def test_costs_decide_between_a_make_and_waste() -> None:
    wants = (_want("tue", 260, 1), _want("wed", 245, 2))
    fewest = _plan(*wants)
    assert [_shape(b) for b in fewest.batches] == [(_day(0), 1000, ["tue", "wed"])]
    costs = Costs.per_litre(15, Fraction(100), Fraction(0))
    thrifty = _plan(*wants, costs=costs)
    # 15 + 49.5 minutes in one make against 30 + 4.5 in two.
    assert [_shape(b) for b in thrifty.batches] == [(_day(0), 500, ["tue", "wed"]), (_day(1), 50, ["wed"])]
    assert cost_of(thrifty, wants, costs) == Fraction(345, 10)


def test_a_want_larger_than_any_vessel_takes_the_fewest_and_no_more_than_it_needs() -> None:
    found = _plan(_want("big", 4500, 3), _want("small", 400, 3))
    assert [b.amount // ML for b in found.batches] == [2000, 2000, 1000]
    assert found.wasted == 100 * ML
    assert [b.amount // ML for b in _plan(_want("big", 2100, 3)).batches] == [2000, 100]


def test_what_a_batch_leaves_over_serves_the_next_wants() -> None:
    wants = [_want(name, 600, day) for name, day in (("mon", 7), ("tue", 8), ("wed", 9))]
    found = batch(
        wants, shelf_life_days=30, sizes=tuple(n * ML for n in (500, 1000)), last_workday=WEEKS.last_to, today=TODAY
    )
    assert [[(part.id, part.amount // ML) for part in b.serves] for b in found.batches] == [
        [("mon", 600), ("tue", 400)],
        [("tue", 200), ("wed", 600)],
    ]
    assert found.wasted == 200 * ML


def test_a_size_that_costs_more_is_passed_by_where_a_larger_one_costs_less() -> None:
    sizes = {50 * ML: Fraction(20), 100 * ML: Fraction(20)}
    dear, cheap = (
        Costs(Fraction(15), Fraction(w) / ML, Fraction(0), extra=sizes) for w in (Fraction(1, 5), Fraction(1, 100))
    )
    assert [b.amount // ML for b in _plan(_want("x", 80, 3), costs=cheap).batches] == [250]
    assert [b.amount // ML for b in _plan(_want("x", 80, 3), costs=dear).batches] == [100]


def test_fresh_wants_are_made_on_the_day_together_with_plain_ones_that_can_wait_for_it() -> None:
    found = _plan(_want("a", 100, 2), _want("f", 100, 2, fresh=True), _want("g", 50, 2, fresh=True))
    assert [_shape(b) for b in found.batches] == [(_day(1), 100, ["a"]), (_day(2), 250, ["f", "g"])]
    found = _plan(_want("a", 100, 3), _want("b", 40, 2, lead=0), _want("f", 100, 2, fresh=True))
    assert [_shape(b) for b in found.batches] == [(_day(2), 250, ["b", "f", "a"])]


def test_with_a_cost_of_holding_a_later_want_that_is_ready_sooner_loses_no_other() -> None:
    wants = (_want("tue", 100, 1, lead=0), _want("thu", 100, 3, lead=3))
    found = _plan(*wants, costs=Costs.per_litre(15, Fraction(0), Fraction(1)))
    assert {part.id for made in found.batches for part in made.serves} == {"tue", "thu"}


def test_closures_move_a_make_earlier() -> None:
    closed = Workdays(Calendar(closed={_day(2): "sports day"}), _day(-9), _day(30))
    found = batch([_want("thu", 100, 3)], shelf_life_days=5, sizes=SIZES, last_workday=closed.last_to, today=TODAY)
    assert found.batches[0].make_on == _day(1)


@pytest.mark.parametrize(
    ("want", "shelf", "code", "said"),
    [
        (_want("x", 50, -1), 9, "too-late", "which is past"),
        (_want("x", 50, 0), 9, "no-working-day", "no working day is left before 2026-03-02"),
        (_want("x", 50, 7, lead=3), 2, "out-of-date", "it keeps for 2 days"),
        (_want("x", 50, 6, fresh=True), 9, "not-fresh", "is no working day, and it is to be made fresh"),
        (_want("x", 50, 3, not_before=_day(4)), 9, "too-late", "comes on 2026-03-06 only"),
        (_want("x", 50, 3, fresh=True, not_before=_day(4)), 9, "too-late", "comes on 2026-03-06 only"),
    ],
)
def test_what_cannot_be_met_is_returned_with_the_reason(want: Want, shelf: int, code: str, said: str) -> None:
    found = _plan(want, _want("ok", 50, 3), shelf=shelf)
    assert [b.serves[0].id for b in found.batches] == ["ok"]
    assert [(u.id, u.code) for u in found.unmet] == [("x", code)]
    assert said in found.unmet[0].reason


def test_a_calendar_without_working_days_meets_nothing() -> None:
    found = batch([_want("x", 50, 3)], shelf_life_days=9, sizes=SIZES, last_workday=lambda _: None, today=TODAY)
    assert found.batches == ()
    assert found.unmet[0].code == "no-working-day"
    assert batch([], shelf_life_days=9, sizes=SIZES, last_workday=lambda _: None, today=TODAY).batches == ()


@pytest.mark.parametrize("sizes", [(), (0, 5), (5, 5), (9, 3)])
def test_sizes_that_are_no_sizes_are_an_error(sizes: tuple[int, ...]) -> None:
    with pytest.raises(ValueError, match="ascend"):
        batch([], shelf_life_days=9, sizes=sizes, last_workday=WEEKS.last_to, today=TODAY)


def test_no_amount_and_no_cost_below_zero() -> None:
    with pytest.raises(ValueError, match="is no want"):
        _plan(_want("x", 0, 3))
    with pytest.raises(ValueError, match="below 0"):
        Costs(Fraction(-1), Fraction(0), Fraction(0))
