"""First expired, first out: what it draws, and that no other assignment serves more."""

from datetime import date, timedelta
from fractions import Fraction

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.planning.draws import LinkKind, Source
from prep.planning.engine.netting import Supply, net
from prep.planning.engine.requirements import Demand

START = date(2027, 1, 11)


def day(offset: int) -> date:
    return START + timedelta(days=offset)


def demand(name: str, on: int, amount: int, **more: object) -> Demand:
    return Demand(name, "x", day(on), day(on), amount, **more)  # type: ignore[arg-type]


def supply(ref: str, amount: int, use_by: int, available: int = 0, **more: object) -> Supply:
    return Supply(Source(LinkKind.BOTTLE, ref), amount, day(available), day(use_by), **more)  # type: ignore[arg-type]


def test_the_bottle_that_goes_off_first_is_used_first() -> None:
    netted = net([demand("a", 1, 30)], [supply("late", 100, 50), supply("soon", 20, 5)])
    draws, left = netted.draws, netted.uncovered
    assert [(d.ref, d.amount) for d in draws] == [("soon", 20), ("late", 10)]
    assert left == []


def test_of_equal_dates_the_opened_and_then_the_nearly_empty_bottle_is_used_first() -> None:
    shelf = [supply("full", 500, 50), supply("rest", 20, 50), supply("opened", 400, 50, opened=True)]
    draws = net([demand("a", 1, 430)], shelf).draws
    assert [(d.ref, d.amount) for d in draws] == [("opened", 400), ("rest", 20), ("full", 10)]


def test_of_bottles_alike_the_smaller_number_is_used_first() -> None:
    """R2 before R10, as codes are counted elsewhere."""
    netted = net([demand("a", 1, 150)], [supply("R10", 100, 9), supply("R2", 100, 9)])
    assert [(d.ref, d.amount) for d in netted.draws] == [("R2", 100), ("R10", 50)]


def test_nothing_out_of_date_on_its_day_serves() -> None:
    netted = net([demand("a", 6, 10)], [supply("gone", 100, 5)])
    draws, left = netted.draws, netted.uncovered
    assert draws == []
    assert left == [(demand("a", 6, 10), 10)]


def test_a_bottle_serves_on_its_last_day() -> None:
    draws = net([demand("a", 5, 10)], [supply("last", 100, 5)]).draws
    assert [d.amount for d in draws] == [10]


def test_an_order_counts_from_the_day_it_is_due() -> None:
    order = Supply(Source(LinkKind.ORDER, "o"), 100, day(3), date.max)
    netted = net([demand("a", 2, 10), demand("b", 3, 10)], [order])
    draws, left = netted.draws, netted.uncovered
    assert [(d.demand.id, d.ref) for d in draws] == [("b", "o")]
    assert [d.id for d, _ in left] == ["a"]


def test_the_earlier_of_two_bookings_gets_the_bottle() -> None:
    left = net([demand("first", 1, 80), demand("second", 2, 80)], [supply("one", 100, 9)]).uncovered
    assert [(d.id, missing) for d, missing in left] == [("second", 60)]


def test_a_weaker_bottle_gives_more_volume_to_a_dilution() -> None:
    weak = supply("weak", 1000, 9, factor=Fraction(4, 5))
    netted = net([demand("d", 1, 100, batch="m", solution="mix")], [weak])
    draws, left = netted.draws, netted.uncovered
    assert [(d.amount, d.covers) for d in draws] == [(125, 100)]
    assert left == []


def test_a_bottle_off_its_strength_does_not_go_to_the_bench_as_it_is() -> None:
    off = supply("off", 1000, 9, factor=Fraction(4, 5), exact=False)
    netted = net([demand("a", 1, 100)], [off])
    draws, left = netted.draws, netted.uncovered
    assert draws == []
    assert left[0][1] == 100


def test_made_fresh_takes_only_what_was_made_on_its_day() -> None:
    old, new = supply("old", 100, 9, since=day(0)), supply("new", 60, 9, 1, since=day(1))
    netted = net([demand("a", 1, 80, fresh=True)], [old, new])
    draws, left = netted.draws, netted.uncovered
    assert [(d.ref, d.amount) for d in draws] == [("new", 60)]
    assert [missing for _, missing in left] == [20]


def test_made_fresh_goes_first_to_those_that_want_it_fresh() -> None:
    old, new = supply("old", 100, 9, since=day(0)), supply("new", 60, 5, since=day(1))
    plain, fresh = demand("a", 1, 50), demand("b", 1, 60, fresh=True)
    netted = net([plain, fresh], [old, new])
    draws, left = netted.draws, netted.uncovered
    assert {(d.demand.id, d.ref) for d in draws} == {("a", "old"), ("b", "new")}
    assert left == []


def test_what_does_not_keep_goes_to_one_period() -> None:
    first, second = demand("b", 1, 40, period="P1"), demand("a", 1, 40, period="P3")
    netted = net([first, second], [supply("made", 50, 1, since=day(1))])
    draws, left = netted.draws, netted.uncovered
    assert [(d.demand.id, d.amount) for d in draws] == [("b", 40)]
    assert [(d.id, missing) for d, missing in left] == [("a", 40)]
    assert net([first, second], [supply("dated on", 80, 2, since=day(1))]).uncovered == []


SUPPLIES = st.lists(st.tuples(st.integers(1, 50), st.integers(0, 12), st.integers(0, 14)), max_size=6)
DEMANDS = st.lists(st.tuples(st.integers(0, 14), st.integers(1, 40)), max_size=7)


@given(SUPPLIES, DEMANDS)
@settings(max_examples=150, deadline=None)
def test_no_assignment_serves_more(bottles: list[tuple[int, int, int]], wants: list[tuple[int, int]]) -> None:
    """Against a maximum flow (networkx), on bottles with a first and a last day."""
    supplies = [supply(f"b{n}", amount, start + life, start) for n, (amount, start, life) in enumerate(bottles)]
    demands = sorted((demand(f"d{n}", on, a) for n, (on, a) in enumerate(wants)), key=lambda d: (d.needed_on, d.id))
    graph = nx.DiGraph()
    graph.add_nodes_from(["source", "sink"])
    for s in supplies:
        graph.add_edge("source", s.ref, capacity=s.amount)
        for d in demands:
            if s.available <= d.needed_on <= s.use_by:
                graph.add_edge(s.ref, d.id, capacity=d.amount)
    for d in demands:
        graph.add_edge(d.id, "sink", capacity=d.amount)
    most = nx.maximum_flow_value(graph, "source", "sink")
    netted = net(demands, supplies)
    draws, left = netted.draws, netted.uncovered
    served = sum(d.covers for d in draws)
    assert served == most
    assert served + sum(missing for _, missing in left) == sum(d.amount for d in demands)
    assert all(s.left >= 0 for s in supplies)
