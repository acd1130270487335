"""Orders on their way: those that are overdue, and those that come on the day of use, are named with their bookings."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from prep.dates import Deliveries
from prep.findings import Finding, Severity
from prep.planning.model import Demo, Need, OpenOrder, Plan
from prep.planning.overdue import comes_on_the_day, waiting
from prep.services.catalogue.on_file import OnFile
from tests.planning.test_false_stops import TODAY, UNIT, one, planned, school

WEDNESDAY = TODAY + timedelta(days=2)


def drawn_up(catalogue: OnFile, item: str, due: date, period: str = "P2") -> Plan:
    """One booking on Wednesday, all of which rests on an order of milk powder."""
    order = OpenOrder("P1", "milk-powder", 500 * UNIT, due)
    demo = {"d": Demo("d", "D", (Need(item, 20 * UNIT, fresh=True),), Decimal(0))}
    stock = school(catalogue, {WEDNESDAY: "d"}, {}, (order,), demos=demo)
    return planned(replace(stock, bookings=(replace(stock.bookings[0], period=period),)))


def said(plan: Plan, code: str) -> list[Finding]:
    return [found for found in plan.findings if found.code == code]


def test_an_order_due_on_the_day_of_use_is_counted_on_and_said_with_booking_and_period(catalogue: OnFile) -> None:
    plan = drawn_up(catalogue, "milk-powder", WEDNESDAY)
    assert not any(need.short for need in plan.requirements)
    (found,) = said(plan, "order-on-the-day")
    assert (found.severity, found.about) == (Severity.ACT, "P1")
    assert "2027-01-13, the day of use itself; B0 (P2) rests on it" in found.message
    assert "only if it comes before P2" in found.message
    assert "prep book move B0 --to DATE" in found.cure


def test_it_is_said_too_where_the_order_is_first_made_into_something_that_day(catalogue: OnFile) -> None:
    plan = drawn_up(catalogue, "milk-4", WEDNESDAY, "")
    assert [batch.make_on for batch in plan.batches] == [WEDNESDAY]
    (found,) = said(plan, "order-on-the-day")
    assert "B0 rests on it" in found.message
    assert "before the first lesson" in found.message


def test_an_order_that_comes_the_day_before_says_nothing(catalogue: OnFile) -> None:
    before = WEDNESDAY - timedelta(days=1)
    plan = drawn_up(catalogue, "milk-4", before)
    assert waiting(plan.requirements, plan.batches) == {"P1": ("B0",)}
    assert comes_on_the_day([OpenOrder("P1", "milk-powder", 1, before)], plan.requirements, plan.batches) == {}
    assert said(plan, "order-on-the-day") == []


def test_what_stands_ready_the_day_before_is_not_served_by_what_comes_on_the_day(catalogue: OnFile) -> None:
    order = OpenOrder("P1", "milk-powder", 500 * UNIT, WEDNESDAY)
    plan = planned(school(catalogue, {WEDNESDAY: "d"}, {}, (order,), demos=one("milk-powder", 20)))
    assert [need.short for need in plan.requirements] == [20 * UNIT]
    assert said(plan, "order-on-the-day") == []


def test_an_overdue_order_is_named_by_its_days_and_its_bookings_and_not_replaced(catalogue: OnFile) -> None:
    for days, by in ((3, "3 days ago"), (1, "1 day ago")):
        plan = drawn_up(catalogue, "milk-4", TODAY - timedelta(days=days))
        (found,) = said(plan, "order-overdue")
        assert (found.severity, found.about) == (Severity.ACT, "P1")
        assert f"{by}; B0 waits for it" in found.message
        assert [line.item for line in plan.orders] == []
        assert said(plan, "order-on-the-day") == []


@pytest.mark.parametrize("item", ["milk-powder", "milk-4"])
@pytest.mark.parametrize(
    ("period", "served"), [("P1", False), ("9:45", False), ("P5", True), ("14:10", True), ("assembly", True)]
)
def test_a_delivery_on_the_day_counts_only_for_the_lessons_that_begin_after_it(
    catalogue: OnFile, item: str, period: str, served: bool
) -> None:
    times = Deliveries.read("10:30", "P1=09:00-10:00;P5=14:10-15:10")
    order = OpenOrder("P1", "milk-powder", 500 * UNIT, WEDNESDAY)
    demo = {"d": Demo("d", "D", (Need(item, 20 * UNIT, fresh=True),), Decimal(0))}
    stock = school(catalogue, {WEDNESDAY: "d"}, {}, (order,), demos=demo)
    plan = planned(replace(stock, bookings=(replace(stock.bookings[0], period=period),), deliveries=times))
    assert (not any(need.short for need in plan.requirements)) is served
    if served:
        (found,) = said(plan, "order-on-the-day")
        assert found.severity is (Severity.ACT if period == "assembly" else Severity.NOTE)


def test_what_came_the_day_before_serves_the_first_period(catalogue: OnFile) -> None:
    times = Deliveries.read("10:30", "P1=09:00-10:00")
    order = OpenOrder("P1", "milk-powder", 500 * UNIT, WEDNESDAY - timedelta(days=1))
    demo = {"d": Demo("d", "D", (Need("milk-4", 20 * UNIT, fresh=True),), Decimal(0))}
    stock = school(catalogue, {WEDNESDAY: "d"}, {}, (order,), demos=demo)
    plan = planned(replace(stock, bookings=(replace(stock.bookings[0], period="P1"),), deliveries=times))
    assert not any(need.short for need in plan.requirements)
