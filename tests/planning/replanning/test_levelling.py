"""A day too full: makes that keep go to earlier days, nothing runs short for it, and what cannot move is said."""

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta

from prep.chemistry.catalogue import Catalogue
from prep.planning.model import Booking, Bottle, Calendar, Demo, Horizon, Need, OpenOrder, Plan, Snapshot
from prep.planning.plan import make_plan
from prep.reports.plan.document import plan_document
from prep.services.catalogue.on_file import OnFile
from tests.planning.checker import check_plan

TODAY = date(2027, 1, 11)  # a Monday
END = TODAY + timedelta(days=30)
UNIT = 1_000_000


def _stock(catalogue: OnFile, minutes: int, *, on: int = 10, fresh: bool = False) -> Snapshot:
    """Four solutions of 15 minutes each for one day; everything to make them from is held."""
    solutions = dict(catalogue.solutions)
    base = solutions["hcl-1"]
    plain = replace(base, minutes=15, shelf_life_days=60, made_from=())
    for number in range(4):
        solutions[f"s{number}"] = replace(plain, code=f"s{number}", name=f"Solution {number}")
    return Snapshot(
        today=TODAY,
        catalogue=Catalogue(catalogue.substances, solutions),
        demos={"d": Demo("d", "D", tuple(Need(f"s{n}", 100 * UNIT, fresh=fresh) for n in range(4)))},
        bookings=(Booking("B1", TODAY + timedelta(days=on), "", "", "", "d", 1),),
        bottles=(Bottle("K1", "hydrochloric-acid", 2500 * UNIT),),
        orders=(),
        rules={},
        instruments=catalogue.instruments,
        calendar=Calendar(minutes_per_day=minutes),
    )


def _plan(stock: Snapshot) -> Plan:
    plan = make_plan(stock, Horizon(TODAY, END))
    assert check_plan(plan_document(plan, stock), stock) == []
    return plan


def _minutes(plan: Plan) -> dict[date, int]:
    load: Counter[date] = Counter()
    for batch in plan.batches:
        load[batch.make_on] += batch.minutes
    return dict(load)


def test_what_fits_is_made_as_late_as_may_be(catalogue: OnFile) -> None:
    assert _minutes(_plan(_stock(catalogue, 60))) == {date(2027, 1, 20): 60}


def test_what_does_not_fit_goes_to_the_days_before(catalogue: OnFile) -> None:
    plan = _plan(_stock(catalogue, 30))
    assert _minutes(plan) == {date(2027, 1, 20): 30, date(2027, 1, 19): 30}
    assert "day-too-full" not in {f.code for f in plan.findings}


def test_setting_out_and_clearing_take_their_minutes_of_a_day(catalogue: OnFile) -> None:
    stock = _stock(catalogue, 60)
    shown = Booking("B2", date(2027, 1, 20), "", "", "", "e", 3)
    demos = {**stock.demos, "e": Demo("e", "E", ())}
    busy = replace(stock, demos=demos, bookings=(*stock.bookings, shown))
    assert _minutes(_plan(busy)) == {date(2027, 1, 20): 45, date(2027, 1, 19): 15}
    cancelled = replace(busy, bookings=(*stock.bookings, replace(shown, status="cancelled")))
    assert _minutes(_plan(cancelled)) == {date(2027, 1, 20): 60}


def test_where_no_earlier_day_is_left_it_is_said(catalogue: OnFile) -> None:
    plan = _plan(_stock(catalogue, 20, on=2))
    assert _minutes(plan) == {date(2027, 1, 12): 45, TODAY: 15}
    (full,) = (f for f in plan.findings if f.code == "day-too-full")
    assert full.about == "2027-01-12"
    assert full.cure


def test_what_is_made_fresh_stays_on_its_day(catalogue: OnFile) -> None:
    plan = _plan(_stock(catalogue, 30, fresh=True))
    assert _minutes(plan) == {date(2027, 1, 21): 60}
    assert "day-too-full" in {f.code for f in plan.findings}


def test_nothing_is_moved_before_what_it_is_made_from_is_there(catalogue: OnFile) -> None:
    stock = _stock(catalogue, 15)
    late = replace(
        stock,
        bottles=(),
        orders=(OpenOrder("P1", "hydrochloric-acid", 2500 * UNIT, date(2027, 1, 19)),),
    )
    plan = _plan(late)
    assert min(_minutes(plan)) == date(2027, 1, 19)
    assert all(need.short == 0 for need in plan.requirements)


def test_progress_is_told_and_changes_nothing(catalogue: OnFile) -> None:
    stock = _stock(catalogue, 30)
    told: list[tuple[int, int]] = []
    plan = make_plan(stock, Horizon(TODAY, END), None, lambda done, of: told.append((done, of)))
    assert plan == make_plan(stock, Horizon(TODAY, END))
    assert told
    assert all(0 <= done < of for done, of in told)


def test_a_day_may_have_minutes_of_its_own(catalogue: OnFile) -> None:
    stock = _stock(catalogue, 30)
    last, before = date(2027, 1, 20), date(2027, 1, 19)
    for own, load in (
        ({last: 0}, {before: 30, date(2027, 1, 18): 30}),
        ({last: 45, before: 0}, {last: 45, date(2027, 1, 18): 15}),
        ({last: 60}, {last: 60}),
    ):
        plan = _plan(replace(stock, calendar=replace(stock.calendar, minutes_on=own)))
        assert _minutes(plan) == load
        assert "day-too-full" not in {f.code for f in plan.findings}
