"""Batching: a published lot-sizing example, an exact MILP of the same model, and what must always hold."""

import random
from bisect import bisect_left
from collections import Counter
from datetime import date, timedelta
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from prep.planning.engine.lot_sizing import Batched, Batching, Costs, Want, batch
from prep.planning.model import Calendar
from prep.planning.workdays import Workdays
from tests.planning.engine.lot_sizing_milp import TODAY, Case, allowed_days, least_cost, random_case

ML = 1_000_000
SIZES = tuple(n * ML for n in (50, 100, 250, 500, 1000, 2000))
WEEKS = Workdays(Calendar(), TODAY - timedelta(days=30), TODAY + timedelta(days=400))


def _day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


def _want(name: str, ml: int, needed: int, lead: int = 1, **more: object) -> Want:
    return Want(name, ml * ML, _day(needed), _day(needed - lead), **more)  # type: ignore[arg-type]


def _solve(case: Case) -> Batching:
    return batch(
        case.wants,
        shelf_life_days=case.shelf_life_days,
        sizes=case.sizes,
        last_workday=case.last_workday,
        today=case.today,
        costs=case.costs,
    )


def _plan(*wants: Want, shelf: int = 30, costs: Costs | None = None) -> Batching:
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
    found = batch(
        [Want(f"{n:02}", d, on, on) for n, (d, on) in enumerate(zip(demand, periods, strict=True), 1)],
        shelf_life_days=365,
        sizes=None,
        last_workday=lambda day: min(day, periods[-1]) if day >= first else None,
        today=first,
        costs=Costs(Fraction(0), Fraction(0), Fraction(1), price.__getitem__),
    )
    assert found.cost == 864
    assert [(b.make_on - first).days + 1 for b in found.batches] == [1, 3, 5, 8, 10, 11]
    assert [b.amount for b in found.batches] == [98, 97, 121, 112, 67, 135]


def test_a_constant_set_up_weighed_day_by_day_is_the_same_as_not() -> None:
    rng = random.Random(5)
    for _ in range(100):
        case = random_case(rng)
        flat = Costs(Fraction(15), case.costs.wasted, case.costs.held)
        by_day = Costs(Fraction(0), case.costs.wasted, case.costs.held, lambda _: 15)
        one = _solve(Case(case.wants, case.shelf_life_days, case.sizes, case.days, TODAY, flat))
        two = _solve(Case(case.wants, case.shelf_life_days, case.sizes, case.days, TODAY, by_day))
        assert one.cost == two.cost


# Exact MILP -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(20))
def test_equal_cost_to_an_exact_milp(seed: int) -> None:
    # HiGHS on the same model, from its statement: 20 x 16 random cases.
    rng = random.Random(seed)
    for _ in range(16):
        case = random_case(rng)
        found = _solve(case)
        cost, unmet, _ = least_cost(case)
        assert found.cost is not None
        assert float(found.cost) == pytest.approx(cost, abs=1e-6), case
        assert {u.id for u in found.unmet} == unmet


# What must always hold ------------------------------------------------------------------------------------

_cases = st.integers(0, 2**32).map(lambda seed: random_case(random.Random(seed), most_wants=9, span=25))


def _check(case: Case, found: Batching) -> None:
    wants = {w.id: w for w in case.wants}
    served: Counter[str] = Counter()
    parts: Counter[str] = Counter()
    for made in found.batches:
        assert made.make_on in case.days
        assert made.make_on >= case.today
        total = sum(amount for _, amount in made.serves)
        assert made.left_over == made.amount - total >= 0
        if case.sizes is None:
            assert made.left_over == 0
        else:
            assert made.amount == min(s for s in case.sizes if s >= total)
        for name, amount in made.serves:
            want = wants[name]
            assert made.make_on in allowed_days(case, want)
            served[name] += amount
            parts[name] += 1
        dates = [wants[name].needed_on for name, _ in made.serves]
        assert (made.first_use, made.last_use) == (min(dates), max(dates))
        assert len({wants[name].needed_on for name, _ in made.serves if wants[name].fresh}) <= 1
    unmet = {u.id: u for u in found.unmet}
    for want in case.wants:
        if want.id in unmet:
            assert unmet[want.id].amount == want.amount
            assert unmet[want.id].reason
            assert not allowed_days(case, want)
            assert want.id not in served
        else:
            assert served[want.id] == want.amount
            if case.sizes is None or want.amount <= case.sizes[-1]:
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


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 2**32).map(lambda seed: random_case(random.Random(seed), most_wants=8)))
def test_without_costs_fewest_then_least_waste_then_freshest(case: Case) -> None:
    found = batch(
        case.wants,
        shelf_life_days=case.shelf_life_days,
        sizes=case.sizes,
        last_workday=case.last_workday,
        today=case.today,
    )
    assert found.cost is None
    assert (len(found.batches), found.wasted, found.held) == _by_trying_all(case)


def _by_trying_all(case: Case) -> tuple[int, int, int]:
    """The best (makes, waste, time held) over every way to cut the date order into runs."""
    largest = case.sizes[-1] if case.sizes else None
    pieces = []
    for want in case.wants:
        days = allowed_days(case, want)
        if days:
            count = -(-want.amount // largest) if largest else 1
            pieces += [(want, want.amount // count + (k < want.amount % count), days) for k in range(count)]
    pieces.sort(key=lambda p: (p[0].needed_on if p[0].fresh else date.min, p[0].needed_on, p[2][-1], p[0].id))
    if not pieces:
        return 0, 0, 0
    assume(len(pieces) <= 10)
    best: tuple[int, int, int] | None = None
    for cuts in product((False, True), repeat=len(pieces) - 1):
        runs = [[pieces[0]]]
        for piece, cut in zip(pieces[1:], cuts, strict=True):
            if cut:
                runs.append([piece])
            else:
                runs[-1].append(piece)
        score = _score(runs, case)
        if score is not None and (best is None or score < best):
            best = score
    assert best is not None
    return best


def _score(runs: list, case: Case) -> tuple[int, int, int] | None:  # type: ignore[type-arg]
    waste = held = 0
    for run in runs:
        if len({(p[0].fresh, p[0].needed_on if p[0].fresh else None) for p in run}) > 1:
            return None
        total = sum(p[1] for p in run)
        if case.sizes is not None:
            if total > case.sizes[-1]:
                return None
            waste += case.sizes[bisect_left(case.sizes, total)] - total
        days = set.intersection(*(set(p[2]) for p in run))
        if not days:
            return None
        held += sum(p[1] * (p[0].needed_on - max(days)).days for p in run)
    return len(runs), waste, held


# By hand --------------------------------------------------------------------------------------------------


def _shape(made: Batched) -> tuple[date, int, list[str]]:
    return made.make_on, made.amount // ML, [name for name, _ in made.serves]


def test_one_make_for_the_week_if_it_keeps() -> None:
    # TODAY is a Monday; wants on Tuesday, Wednesday and Friday.
    wants = (_want("tue", 200, 1), _want("wed", 200, 2), _want("fri", 90, 4))
    assert [_shape(b) for b in _plan(*wants).batches] == [(_day(0), 500, ["tue", "wed", "fri"])]
    # Kept for three days only, Friday's is made on the last day that serves it.
    assert [_shape(b) for b in _plan(*wants, shelf=3).batches] == [
        (_day(0), 500, ["tue", "wed"]),
        (_day(3), 100, ["fri"]),
    ]


def test_costs_decide_between_a_make_and_waste() -> None:
    wants = (_want("tue", 260, 1), _want("wed", 245, 2))
    fewest = _plan(*wants)
    assert [_shape(b) for b in fewest.batches] == [(_day(0), 1000, ["tue", "wed"])]
    thrifty = _plan(*wants, costs=Costs.per_litre(15, Fraction(100), Fraction(0)))
    # 15 + 49.5 minutes in one make against 30 + 24.5 in two.
    assert [_shape(b) for b in thrifty.batches] == [(_day(0), 500, ["tue"]), (_day(1), 250, ["wed"])]
    assert thrifty.cost == Fraction(545, 10)


def test_a_want_larger_than_any_vessel_is_split_evenly() -> None:
    found = _plan(_want("big", 4500, 3), _want("small", 400, 3))
    assert [b.amount // ML for b in found.batches] == [2000, 2000, 2000]
    assert [dict(b.serves).get("big", 0) // ML for b in found.batches] == [1500, 1500, 1500]
    assert found.wasted == 1_100 * ML


def test_fresh_wants_are_made_on_the_day_by_themselves() -> None:
    found = _plan(_want("a", 100, 2), _want("f", 100, 2, fresh=True), _want("g", 50, 2, fresh=True))
    assert [_shape(b) for b in found.batches] == [(_day(1), 100, ["a"]), (_day(2), 250, ["f", "g"])]


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
    assert [b.serves[0][0] for b in found.batches] == ["ok"]
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
