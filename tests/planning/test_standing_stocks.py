"""A stock that stands there anyway comes before the concentrate: common practice, no source."""

from dataclasses import replace
from datetime import date, timedelta

from prep.planning.draws import LinkKind
from prep.planning.model import Booking, Demo, Need
from prep.services.catalogue.on_file import OnFile
from prep.services.plan import plan as plan_service
from tests.planning.test_plan import ML, TODAY, bottle, plan, school


def test_what_a_make_leaves_over_of_a_stock_is_taken_and_not_the_concentrate() -> None:
    """860 mL of molar acid stand there on the day: a tenth of a litre of it, not 8.6 mL of concentrated acid."""
    drawn = plan_service.sample_plan(None, None, None)
    stocks = [b for b in drawn.plan.batches if b.solution == "hcl-1"]
    spare = {b.id: b.left_over for b in stocks}
    (late,) = [b for b in drawn.plan.batches if b.solution == "hcl-0.1" and b.make_on == date(2027, 2, 5)]
    assert [take.item for take in late.takes] == ["hcl-1"]
    assert all(take.kind is LinkKind.BATCH and take.ref in spare for take in late.takes)
    assert "have its strength found" not in " ".join(step.text for step in late.steps)


def test_where_nothing_is_left_over_the_concentrate_is_taken_in_one_step(catalogue: OnFile) -> None:
    stock = school(catalogue, bottle("hydrochloric-acid", 500), item="hcl-0.5", per=100)
    (made,) = plan(stock).batches
    assert [take.item for take in made.takes] == ["hydrochloric-acid"]


def test_each_make_that_finds_enough_of_the_stock_takes_it_not_the_last_alone(catalogue: OnFile) -> None:
    """Of a litre of molar acid 800 mL are over: 100 mL of it make each day's litre of decimolar acid."""
    stock = school(catalogue, bottle("hydrochloric-acid", 500))
    fresh = Demo("e", "E", (Need("hcl-0.1", 100 * ML, fresh=True),), spare=stock.demos["d"].spare)
    days = (TODAY + timedelta(days=n) for n in (8, 9))
    more = tuple(Booking(f"E{n}", day, "", "", "", "e", 1) for n, day in enumerate(days))
    made = plan(replace(stock, demos={**stock.demos, "e": fresh}, bookings=(*stock.bookings, *more)))
    takes = [[take.item for take in one.takes] for one in made.batches if one.solution == "hcl-0.1"]
    assert takes == [["hcl-1"], ["hcl-1"]]


def test_a_stock_comes_before_each_strength_that_the_concentrate_is_sold_in(catalogue: OnFile) -> None:
    """Of a litre of 2 mol/L ammonia 940 mL are over: neither the 28 % nor the 35 % bottle is opened for 50 mL."""
    base = school(catalogue, bottle("ammonia", 500), bottle("ammonia-880", 480, code="K2"), item="ammonia-2", per=60)
    weaker = Demo("e", "E", (Need("ammonia-1", 20 * ML),), spare=base.demos["d"].spare)
    more = Booking("E1", TODAY + timedelta(days=7), "", "", "", "e", 1)
    made = plan(replace(base, demos={**base.demos, "e": weaker}, bookings=(*base.bookings, more)))
    takes = {one.solution: [take.item for take in one.takes] for one in made.batches}
    assert takes == {"ammonia-1": ["ammonia-2"], "ammonia-2": ["ammonia"]}


def test_a_stock_that_is_boiled_on_its_own_is_made_and_not_weighed_into_a_cold_mixture(catalogue: OnFile) -> None:
    """Vogel's Textbook of Quantitative Chemical Analysis: starch is boiled to a paste before it shows iodine."""
    there = ("soluble-starch", "sodium-metabisulfite", "h2so4-1")
    bottles = (bottle(item, 200, code=f"K{n}") for n, item in enumerate(there))
    made = plan(school(catalogue, *bottles, item="clock-b", per=200))
    takes = {one.solution: [take.item for take in one.takes] for one in made.batches}
    assert takes["starch-1"] == ["soluble-starch"]
    assert "soluble-starch" not in takes["clock-b"]
