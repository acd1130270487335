"""What people enter wrong: each a finding with a cure, or a sentence; never a wrong plan."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import pytest

from prep.chemistry.model import RecipeLine
from prep.errors import PrepError
from prep.findings import Finding
from prep.planning.model import Booking, Bottle, Calendar, Demo, Horizon, Need, Plan, Policy, Snapshot
from prep.planning.plan import make_plan
from prep.reports.plan.document import plan_document
from prep.services.catalogue.on_file import OnFile
from tests.planning.checker import check_plan

TODAY = date(2027, 1, 11)  # a Monday
END = TODAY + timedelta(days=30)
UNIT = 1_000_000
BOOKED = Booking("B1", TODAY + timedelta(days=7), "", "", "", "d", 1)


@pytest.fixture
def stock(catalogue: OnFile) -> Snapshot:
    return Snapshot(
        today=TODAY,
        catalogue=catalogue,
        demos={"d": Demo("d", "D", (Need("hcl-1", 100 * UNIT),))},
        bookings=(BOOKED,),
        bottles=(Bottle("K1", "hydrochloric-acid", 2500 * UNIT),),
        orders=(),
        rules={},
        instruments=catalogue.instruments,
        calendar=Calendar(),
    )


def _plan(stock: Snapshot, policy: Policy | None = None) -> Plan:
    plan = make_plan(stock, Horizon(TODAY - timedelta(days=30), END), policy)
    assert check_plan(plan_document(plan, stock), stock) == []
    return plan


def _one(plan: Plan, code: str) -> Finding:
    (found,) = (f for f in plan.findings if f.code == code)
    assert found.message
    assert found.cure
    return found


ColourChange = Callable[[Snapshot], Snapshot]


def _booked(**changed: object) -> ColourChange:
    return lambda s: replace(s, bookings=(replace(BOOKED, **changed),))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "code"),
    [
        (_booked(on=TODAY - timedelta(days=3)), "booking-past"),
        (_booked(demo="nothing"), "unknown-demo"),
        (_booked(showings=0), "no-showings"),
        (_booked(showings=-2), "no-showings"),
        (_booked(on=TODAY + timedelta(days=5)), "booking-closed"),  # a Saturday
        (lambda s: replace(s, demos={"d": Demo("d", "D", (Need("nothing", UNIT),))}), "unknown-item"),
        (lambda s: replace(s, calendar=Calendar(weekdays=frozenset())), "no-working-day"),
        (
            lambda s: replace(s, calendar=Calendar(closed={TODAY + timedelta(days=n): "x" for n in range(-99, 99)})),
            "no-working-day",
        ),
    ],
)
def test_each_is_one_finding_with_a_cure(stock: Snapshot, change: ColourChange, code: str) -> None:
    plan = _plan(change(stock))
    found = [f for f in plan.findings if f.code == code and f.about != "B1.hcl-1"]
    assert len(found) == 1
    assert found[0].message
    assert found[0].cure


def test_a_closed_day_is_served_all_the_same(stock: Snapshot) -> None:
    plan = _plan(_booked(on=TODAY + timedelta(days=5))(stock))
    assert [need.short for need in plan.requirements] == [0]


def test_without_a_working_day_everything_is_short_and_nothing_is_made(stock: Snapshot) -> None:
    plan = _plan(replace(stock, calendar=Calendar(weekdays=frozenset())))
    assert plan.batches == ()
    assert all(need.short == need.amount and need.why for need in plan.requirements)


def _keeping(stock: Snapshot, days: int) -> Snapshot:
    card = replace(stock.solutions["hcl-1"], shelf_life_days=days)
    return replace(stock, catalogue=replace(stock.catalogue, solutions={**stock.solutions, "hcl-1": card}))


def test_what_keeps_shorter_than_it_should_stand_ready_is_made_on_the_day_and_said(stock: Snapshot) -> None:
    plan = _plan(_keeping(stock, 3), Policy(make_ahead_days=5))
    assert [b.make_on for b in plan.batches] == [BOOKED.on]
    assert _one(plan, "keeps-too-short").about == "hcl-1"


def test_a_weekend_is_longer_than_it_keeps(stock: Snapshot) -> None:
    plan = _plan(_keeping(stock, 1))
    assert [b.make_on for b in plan.batches] == [BOOKED.on]
    assert _one(plan, "keeps-too-short")
    closed = replace(_keeping(stock, 1), calendar=Calendar(closed={BOOKED.on: "closed"}))
    short = _plan(closed)
    assert short.requirements[0].short
    assert any(f.about == "B1.hcl-1" and f.severity == "stop" and f.cure for f in short.findings)


def test_made_ahead_stands_ready_in_time(stock: Snapshot) -> None:
    plan = _plan(stock, Policy(make_ahead_days=5))
    assert [b.make_on for b in plan.batches] == [TODAY + timedelta(days=2)]
    assert [n.ready_by for n in plan.requirements] == [TODAY + timedelta(days=2)]


def test_a_recipe_loop_is_one_sentence(stock: Snapshot) -> None:
    base = replace(stock.solutions["hcl-1"], made_from=(), recipe_nl=UNIT)
    loop = {
        "one": replace(base, code="one", recipe=(RecipeLine("two", 1),)),
        "two": replace(base, code="two", recipe=(RecipeLine("one", 1),)),
    }
    looped = replace(
        stock,
        catalogue=replace(stock.catalogue, solutions={**stock.solutions, **loop}),
        demos={"d": Demo("d", "D", (Need("one", UNIT),))},
    )
    with pytest.raises(PrepError, match="loop"):
        _plan(looped)
