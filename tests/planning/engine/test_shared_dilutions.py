"""An intermediate dilution that several makes of a day need is made once, and all of them draw on it."""

import re
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Measure, Strength, StrengthKind
from prep.chemistry.preparation.vessels import Bench, MeasuredOut
from prep.planning.model import Batch, Booking, Bottle, Calendar, Demo, Horizon, Need, Plan, Snapshot
from prep.planning.plan import make_plan
from prep.reports.plan.document import plan_document
from prep.services.catalogue.on_file import OnFile
from tests.planning.checker import check_plan

TODAY = date(2027, 1, 11)
END = TODAY + timedelta(days=30)
ML = 1_000_000


def _stock(catalogue: OnFile, *wanted: tuple[str, float, int], bottles: tuple[Bottle, ...] = ()) -> Snapshot:
    """Solutions so dilute that the stock of 5 mol/L is first diluted: (strength, mL, day) each."""
    base = catalogue.solutions["hcl-0.1"]
    solutions = {"hcl-5": catalogue.solutions["hcl-5"]}
    demos, bookings = {}, []
    for number, (strength, per, day) in enumerate(wanted):
        code = f"s{number}"
        solutions[code] = replace(
            base,
            code=code,
            name=f"Solution {number}",
            strength=Strength(Decimal(strength), StrengthKind.MOL_PER_L),
            made_from=("hcl-5",),
            solute="hydrochloric-acid",
        )
        demos[code] = Demo(code, code, (Need(code, round(per * ML)),), spare=Decimal(0))
        bookings.append(Booking(f"B{number}", TODAY + timedelta(days=day), "", "", "", code, 1))
    return Snapshot(
        today=TODAY,
        catalogue=Catalogue(catalogue.substances, solutions),
        demos=demos,
        bookings=tuple(bookings),
        bottles=bottles or (Bottle("K1", "hcl-5", 500 * ML),),
        orders=(),
        rules={},
        instruments=catalogue.instruments,
        calendar=Calendar(),
    )


def _plan(stock: Snapshot) -> Plan:
    plan = make_plan(stock, Horizon(TODAY, END))
    assert check_plan(plan_document(plan, stock), stock) == []
    assert all(need.short == 0 for need in plan.requirements)
    return plan


def _alone(stock: Snapshot, batch: Batch) -> MeasuredOut:
    """What the make would take by itself, and what of it would reach the product."""
    bench = Bench(stock.catalogue, stock.instruments)
    option = next(r for r in bench.routes(batch.solution) if r.source == "hcl-5").parts[0].options[0]
    return bench.measured("hcl-5", option.needed(batch.amount), stock.solutions[batch.solution], batch.amount)


def _words(batch: Batch) -> str:
    return " ".join(step.text for step in batch.steps)


def test_two_makes_of_a_day_share_their_intermediate(catalogue: OnFile) -> None:
    stock = _stock(catalogue, ("0.0002", 50, 7), ("0.0002", 50, 7))
    one, two = _plan(stock).batches
    alone = [_alone(stock, batch) for batch in (one, two)]
    together = one.takes[0].amount + two.takes[0].amount
    assert together < sum(one.taken for one in alone)
    assert [batch.takes[0].used for batch in (one, two)] == pytest.approx([one.reaches for one in alone], rel=1e-3)
    assert f"First an intermediate, for this and for {two.id}" in _words(one)
    assert f"keep what is left for {two.id}" in _words(one)
    assert f"Take the intermediate made for {one.id}" in _words(two)
    assert "First an intermediate" not in _words(two)
    assert one.uncertainty_pct is not None
    assert one.uncertainty_pct <= 5


def test_the_figure_read_is_what_leaves_the_bottle_for_all(catalogue: OnFile) -> None:
    plan = _plan(_stock(catalogue, ("0.0002", 50, 7), ("0.0002", 50, 7)))
    drawn = sum(take.amount for take in plan.bottles[0].takes)
    (first,) = (step.text for step in plan.batches[0].steps if step.text.startswith("First an intermediate"))
    figure = re.search(r"measure ([\d.]+) mL", first)
    assert figure is not None
    assert float(figure[1]) == drawn / ML
    assert "bottle K1" in first


def test_makes_of_different_days_do_not_share(catalogue: OnFile) -> None:
    plan = _plan(_stock(catalogue, ("0.0002", 50, 7), ("0.0002", 50, 9)))
    assert len(plan.batches) == 2
    assert not [b for b in plan.batches if "Take the intermediate made for" in _words(b)]


def test_makes_that_need_different_strengths_do_not_share(catalogue: OnFile) -> None:
    stock = _stock(catalogue, ("0.0002", 50, 7), ("0.00001", 50, 7))
    assert not [b for b in _plan(stock).batches if "Take the intermediate made for" in _words(b)]


def test_three_makes_and_two_bottles(catalogue: OnFile) -> None:
    bottles = (Bottle("K1", "hcl-5", 800_000, TODAY + timedelta(days=20)), Bottle("K2", "hcl-5", 500 * ML))
    plan = _plan(_stock(catalogue, *[("0.0002", 50, 7)] * 3, bottles=bottles))
    (first,) = (s.text for b in plan.batches for s in b.steps if s.text.startswith("First an intermediate"))
    assert "bottle K1" in first
    assert "bottle K2" in first


def test_a_found_strength_still_gives_the_products(catalogue: OnFile) -> None:
    found = Strength(Decimal("4.9"), StrengthKind.MOL_PER_L)
    bottles = (Bottle("K1", "hcl-5", 500 * ML, strength=found),)
    plan = _plan(_stock(catalogue, ("0.0002", 50, 7), ("0.0002", 50, 7), bottles=bottles))
    assert [b for b in plan.batches if "Take the intermediate made for" in _words(b)]


def test_one_flask_never_gives_more_than_it_holds(catalogue: OnFile) -> None:
    stock = _stock(catalogue, ("0.0002", 50, 7))
    bench = Bench(stock.catalogue, stock.instruments)
    option = bench.routes("s0")[0].parts[0].options[0]
    found = bench.how("hcl-5", option.needed(50 * ML), stock.solutions["s0"], 50 * ML)
    assert found is not None
    assert found.dilutions
    first = found.dilutions[0]
    for count in range(2, 40):
        together = bench.together([found] * count, Measure.VOLUME)
        if together is None:
            continue
        flask = together[0].dilutions[0].flask.capacity
        assert count * first.then.amount < flask <= count * first.flask.capacity
        assert Fraction(together[0].taken) / Fraction(flask) == Fraction(found.taken) / Fraction(first.flask.capacity)
        assert together[0].reaches == found.reaches
        assert together[0].expanded <= found.tolerance
