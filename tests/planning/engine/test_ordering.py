"""Packs, order-by dates, and what an order comes too late for."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.planning.draws import LinkKind, Source
from prep.planning.engine.netting import Draw, Supply
from prep.planning.engine.ordering import ItemOrder, LowestBalance, PackCount, fewest_packs, lowest_balance, order
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.model import Calendar, Policy, StockRule
from prep.planning.workdays import Workdays

TODAY = date(2027, 1, 11)  # a Monday
DAYS = Workdays(Calendar(), TODAY - timedelta(days=60), TODAY + timedelta(days=120))
RULE = StockRule("salt", minimum=100, packs=(500, 1000), lead_days=7)
NO_MARGIN = Policy(order_margin_days=0)


def want(days: int, amount: int) -> DemandPart:
    on = TODAY + timedelta(days=days)
    return DemandPart(Demand(f"b{days}.salt", "salt", on, on, amount), amount)


def test_one_pack_that_covers_is_enough() -> None:
    assert fewest_packs(300, [500, 1000]) == [PackCount(500, 1)]
    assert fewest_packs(900, [500, 1000]) == [PackCount(1000, 1)]


def test_a_large_and_a_small_pack_leave_less_over_than_two_large() -> None:
    assert fewest_packs(1200, [500, 1000]) == [PackCount(1000, 1), PackCount(500, 1)]


@given(st.integers(1, 60), st.sets(st.integers(1, 20), min_size=1, max_size=3))
@settings(max_examples=200, deadline=None)
def test_no_other_combination_has_fewer_packs_or_less_left(amount: int, packs: set[int]) -> None:
    chosen = fewest_packs(amount, sorted(packs))
    count, total = sum(one.packs for one in chosen), sum(one.pack * one.packs for one in chosen)
    assert total >= amount
    sizes = sorted(packs)
    for numbers in product(range(count + 1), repeat=len(sizes)):
        brought = sum(s * n for s, n in zip(sizes, numbers, strict=True))
        if brought >= amount:
            assert (sum(numbers), brought) >= (count, total)


def test_without_a_margin_an_order_in_time_is_due_on_the_first_day_of_need() -> None:
    bought = order("salt", "Salt", RULE, NO_MARGIN, [want(14, 300)], LowestBalance(0), TODAY, DAYS)
    (line,) = bought.lines
    assert (line.order_by, line.arrives, line.late) == (date(2027, 1, 18), date(2027, 1, 25), False)
    assert [d.ref for d in bought.draws] == ["order:salt"]


@pytest.mark.parametrize(
    ("margin", "days", "order_by", "arrives"),
    [  # needed on Monday, 25 January, and 7 days on the way
        (0, 14, date(2027, 1, 18), date(2027, 1, 25)),
        (1, 14, date(2027, 1, 15), date(2027, 1, 22)),
        (2, 14, date(2027, 1, 14), date(2027, 1, 21)),
        (9, 14, date(2027, 1, 11), date(2027, 1, 18)),  # today is the first day on which it can be ordered
        (2, 8, date(2027, 1, 11), date(2027, 1, 18)),  # a day too late for the whole margin, but not for the need
    ],
)
def test_an_order_is_there_the_margin_before_the_first_day_of_need(
    margin: int, days: int, order_by: date, arrives: date
) -> None:
    policy = Policy(order_margin_days=margin)
    bought = order("salt", "Salt", RULE, policy, [want(days, 300)], LowestBalance(0), TODAY, DAYS)
    (line,) = bought.lines
    assert (line.order_by, line.arrives, line.late, bought.short) == (order_by, arrives, False, ())
    assert line.needed_on == TODAY + timedelta(days=days)


def test_a_minimum_has_no_margin() -> None:
    lowest = LowestBalance(60, date(2027, 2, 15))
    bought = order("salt", "Salt", RULE, Policy(order_margin_days=5), [], lowest, TODAY, DAYS)
    assert bought.lines[0].order_by == date(2027, 2, 8)


def test_what_is_made_and_used_on_one_day_is_bought_to_be_there_the_day_before_if_it_can_be() -> None:
    on_monday = want(14, 300)
    at_once = [on_monday._replace(demand=replace(on_monday.demand, same_day=True))]
    (line,) = order("salt", "Salt", RULE, NO_MARGIN, at_once, LowestBalance(0), TODAY, DAYS).lines
    assert (line.order_by, line.arrives, line.needed_on) == (date(2027, 1, 15), date(2027, 1, 22), date(2027, 1, 25))
    late = order("salt", "Salt", RULE, NO_MARGIN, at_once, LowestBalance(0), date(2027, 1, 18), DAYS)
    assert (late.lines[0].arrives, late.short) == (date(2027, 1, 25), ())


def test_what_is_needed_before_an_order_placed_today_can_come_stays_short() -> None:
    bought = order("salt", "Salt", RULE, Policy(), [want(2, 50), want(9, 70)], LowestBalance(0), TODAY, DAYS)
    assert [(d.needed_on, missing) for d, missing in bought.short] == [(date(2027, 1, 13), 50)]
    assert [d.demand.needed_on for d in bought.draws] == [date(2027, 1, 20)]
    assert bought.lines[0].late


def test_what_is_lost_either_way_is_not_asked_for_again_where_an_order_is_on_its_way() -> None:
    def on_way(amount: int, days: int) -> list[Supply]:
        due = TODAY + timedelta(days=days)
        return [Supply(Source(LinkKind.ORDER, "P1"), amount, due, date(9999, 12, 31))]

    def bought(*supplies: Supply) -> ItemOrder:
        rule = StockRule("salt", minimum=0, packs=(500,), lead_days=7)
        return order("salt", "Salt", rule, Policy(), [want(2, 50)], LowestBalance(0), TODAY, DAYS, supplies)

    assert bought().lines
    waiting = bought(*on_way(80, 5))
    assert (waiting.lines, [missing for _, missing in waiting.short]) == ((), [50])
    assert bought(*on_way(30, 5)).lines  # it brings too little
    assert bought(*on_way(80, 60)).lines  # a new one comes sooner


def test_an_order_by_date_falls_on_a_working_day() -> None:
    bought = order("salt", "Salt", RULE, NO_MARGIN, [want(13, 10)], LowestBalance(0), TODAY, DAYS)  # a Sunday less 7
    assert bought.lines[0].order_by == date(2027, 1, 15)


def test_below_the_minimum_is_ordered_though_nothing_is_short() -> None:
    shelf = [Supply(Source(LinkKind.BOTTLE, "b"), 150, date.min, date.max)]
    draws = [Draw(Demand("r", "salt", TODAY + timedelta(days=3), TODAY, 80), Source(LinkKind.BOTTLE, "b"), 80, 80)]
    shelf[0].left = 70
    lowest = lowest_balance(shelf, draws, TODAY, TODAY + timedelta(days=30), 100)
    assert lowest == LowestBalance(70, TODAY + timedelta(days=3))
    bought = order("salt", "Salt", RULE, Policy(), [], lowest, TODAY, DAYS)
    assert [(line.packs, line.pack) for line in bought.lines] == [(1, 500)]
    assert "minimum" in bought.lines[0].why


def test_what_goes_out_of_date_counts_as_gone() -> None:
    shelf = [Supply(Source(LinkKind.BOTTLE, "b"), 150, date.min, TODAY + timedelta(days=5))]
    lowest = lowest_balance(shelf, [], TODAY, TODAY + timedelta(days=30), 100)
    assert lowest == LowestBalance(0, TODAY + timedelta(days=6))


def test_enough_is_not_ordered() -> None:
    shelf = [Supply(Source(LinkKind.BOTTLE, "b"), 500, date.min, date.max)]
    lowest = lowest_balance(shelf, [], TODAY, TODAY + timedelta(days=30), 100)
    assert order("salt", "Salt", RULE, Policy(), [], lowest, TODAY, DAYS).lines == ()


def test_a_minimum_that_an_open_order_restores_is_not_ordered_again() -> None:
    shelf = [
        Supply(Source(LinkKind.BOTTLE, "b"), 80, date.min, date.max),
        Supply(Source(LinkKind.ORDER, "P1"), 500, TODAY + timedelta(days=9), date.max),
    ]
    end = TODAY + timedelta(days=30)
    lowest = lowest_balance(shelf, [], TODAY, end, 100)
    assert lowest == LowestBalance(580)
    assert order("salt", "Salt", RULE, Policy(), [], lowest, TODAY, DAYS).lines == ()
    shelf[1].available = end + timedelta(days=5)  # beyond the plan, and on its way all the same
    assert lowest_balance(shelf, [], TODAY, end, 100) == LowestBalance(100)


def test_an_open_order_too_small_for_the_minimum_is_topped_up() -> None:
    shelf = [
        Supply(Source(LinkKind.BOTTLE, "b"), 80, date.min, date.max),
        Supply(Source(LinkKind.ORDER, "P1"), 50, TODAY + timedelta(days=9), date.max),
    ]
    use = Draw(Demand("r", "salt", TODAY + timedelta(days=12), TODAY, 60), Source(LinkKind.BOTTLE, "b"), 60, 60)
    shelf[0].left = 20
    lowest = lowest_balance(shelf, [use], TODAY, TODAY + timedelta(days=30), 100)
    assert lowest == LowestBalance(70, TODAY + timedelta(days=12))  # the first dip ends with P1, the second does not


def test_a_minimum_undercut_today_is_never_late() -> None:
    bought = order("salt", "Salt", RULE, Policy(), [], LowestBalance(20, TODAY), TODAY, DAYS)
    (line,) = bought.lines
    assert (line.late, line.for_minimum, line.below_minimum_on) == (False, True, TODAY)


def test_an_undercut_minimum_does_not_stand_in_for_the_day_of_need() -> None:
    late = order("salt", "Salt", RULE, Policy(), [want(2, 50)], LowestBalance(0, TODAY), TODAY, DAYS).lines[0]
    assert (late.needed_on, late.late, late.for_minimum) == (date(2027, 1, 13), True, False)
    far = order("salt", "Salt", RULE, Policy(), [want(30, 50)], LowestBalance(0, TODAY), TODAY, DAYS).lines[0]
    assert (far.needed_on, far.late, far.for_minimum) == (date(2027, 2, 10), False, True)
    assert far.order_by < TODAY
