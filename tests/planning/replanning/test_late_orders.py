"""An order that comes too late for a booking is named alike, whether it is wanted itself or goes into a solution."""

from datetime import date, timedelta

import pytest

from prep.planning.model import OpenOrder, Plan
from prep.services.catalogue.on_file import OnFile
from tests.planning.test_false_stops import TODAY, UNIT, one, planned, school

ON = TODAY + timedelta(days=3)
ACID = "hydrochloric-acid"


def said(plan: Plan, code: str) -> list[str]:
    return [f"{found.message} {found.cure}" for found in plan.findings if found.code == code]


@pytest.mark.parametrize("item", [ACID, "hcl-1", "hcl-0.1"])
def test_it_is_proposed_with_the_day_from_which_the_booking_can_be_shown(catalogue: OnFile, item: str) -> None:
    made = planned(school(catalogue, {ON: "d"}, {}, demos=one(item, 100), lead={ACID: 7}))
    (line,) = made.orders
    assert (line.item, line.late, line.arrives) == (ACID, True, date(2027, 1, 18))
    assert "1 need not covered" in line.why
    assert len(said(made, "order-late")) == 1
    assert "Else it can be served from 2027-01-19 on: prep book move B0" in said(made, "runs-out")[0]


@pytest.mark.parametrize("item", [ACID, "hcl-1", "benedict"])
def test_the_booking_is_served_once_it_is_moved_there_and_the_order_is_placed(catalogue: OnFile, item: str) -> None:
    lead = {ACID: 7, "copper-sulfate-5-water": 7, "sodium-carbonate": 8, "trisodium-citrate-2-water": 9}
    made = planned(school(catalogue, {ON: "d"}, {}, demos=one(item, 100), lead=lead))
    placed = tuple(OpenOrder(f"P{n}", one.item, one.amount, one.arrives) for n, one in enumerate(made.orders))
    said_from = said(made, "runs-out")[0].split("served from ")[1][:10]
    then, before = date.fromisoformat(said_from), date.fromisoformat(said_from) - timedelta(days=1)
    plans = [
        planned(school(catalogue, {day: "d"}, {}, placed, demos=one(item, 100), lead=lead)) for day in (then, before)
    ]
    assert [bool(plan.requirements[0].short) for plan in plans] == [False, True]
    assert plans[0].orders == ()


def test_what_is_on_its_way_is_not_asked_for_again(catalogue: OnFile) -> None:
    coming = (OpenOrder("P1", ACID, 500 * UNIT, ON + timedelta(days=1)),)
    made = planned(school(catalogue, {ON: "d"}, {}, coming, demos=one("hcl-1", 100), lead={ACID: 7}))
    assert made.requirements[0].short
    assert made.orders == ()


def test_one_order_serves_what_it_comes_too_late_for_and_what_it_does_not(catalogue: OnFile) -> None:
    later = TODAY + timedelta(days=21)
    made = planned(school(catalogue, {ON: "d", later: "d"}, {}, demos=one("hcl-1", 2000), lead={ACID: 7}))
    (line,) = made.orders
    assert line.amount >= 2 * 2000 * UNIT // 12
    assert [bool(need.short) for need in made.requirements] == [True, False]


def test_nothing_is_ordered_for_what_no_order_serves(catalogue: OnFile) -> None:
    """A make that lacks what cannot be had at all is not helped by an order of its other part."""
    closed = tuple(TODAY + timedelta(days=n) for n in range(60))
    made = planned(school(catalogue, {ON: "d"}, {}, demos=one("hcl-1", 100), lead={ACID: 7}, closed=closed))
    assert made.requirements[0].short
    assert made.orders == ()
