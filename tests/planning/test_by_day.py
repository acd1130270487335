"""A plan by its days: nothing of it is left out, and the day it is drawn up has all that is to be acted on."""

from dataclasses import replace
from datetime import timedelta

import pytest

from prep.planning.by_day import Days
from prep.planning.plan import make_plan
from prep.services.plan import plan as plan_service
from prep.services.plan.plan import DrawnPlan


@pytest.fixture(scope="module")
def drawn() -> DrawnPlan:
    return plan_service.sample_plan(None, None, None)


def test_every_make_booking_and_order_stands_on_one_day(drawn: DrawnPlan) -> None:
    plan, days = drawn.plan, Days(drawn.plan, drawn.snapshot)
    found = [days.of(on) for on in days.busy()]
    assert not any(one.empty for one in found)
    assert [b for one in found for b in one.batches] == list(plan.batches)
    assert sorted(n.id for one in found for n in one.needs) == sorted(n.id for n in plan.requirements)
    assert {line.id for one in found for line in one.orders} == {line.id for line in plan.orders}
    assert all(one.minutes == sum(b.minutes for b in one.batches) for one in found)
    assert days.of(plan.horizon.end + timedelta(days=60)).empty


def test_today_has_all_that_is_to_be_acted_on_and_another_day_only_its_own(drawn: DrawnPlan) -> None:
    plan, days = drawn.plan, Days(drawn.plan, drawn.snapshot)
    acts = [f for f in plan.findings if f.severity in ("stop", "act")]
    assert list(days.of(plan.today).findings) == acts
    short = [need for need in plan.requirements if need.short]
    assert short
    for on in {need.needed_on for need in short}:
        other = days.of(on)
        assert other.on != plan.today
        stops = {("stop", need.id) for need in short if need.needed_on == on}
        assert {(f.severity, f.about) for f in other.findings} == stops


def test_an_order_that_should_have_gone_out_is_for_today_and_a_day_has_its_own_minutes(drawn: DrawnPlan) -> None:
    plan, stock = drawn.plan, drawn.snapshot
    (first, *_) = plan.orders
    overdue = replace(plan, orders=(replace(first, order_by=plan.today - timedelta(days=5)),))
    assert Days(overdue, stock).of(plan.today).orders == overdue.orders
    own = replace(stock, calendar=replace(stock.calendar, minutes_on={plan.today: 30}))
    assert Days(make_plan(own, plan.horizon), own).of(plan.today).limit == 30
