"""A plan by its days: nothing of it is left out, and the day it is drawn up has all that is to be acted on."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pypdfium2
import pytest

from prep.planning.by_day import LineKind, PlanDays
from prep.planning.draws import LinkKind
from prep.planning.plan import make_plan
from prep.reports.plan.day_sheet import day_sheet
from prep.reports.plan.screen import show_plan
from prep.reports.plan.sheet_rows import day_rows
from prep.services.plan import day_lines
from prep.services.plan import plan as plan_service
from prep.services.plan.plan import DrawnPlan


@pytest.fixture(scope="module")
def drawn() -> DrawnPlan:
    return plan_service.sample_plan(None, None, None)


def test_every_make_booking_and_order_stands_on_one_day(drawn: DrawnPlan) -> None:
    plan, days = drawn.plan, PlanDays(drawn.plan, drawn.snapshot)
    found = [days.of(on) for on in days.busy()]
    assert not any(one.empty for one in found)
    assert [b for one in found for b in one.batches] == list(plan.batches)
    assert sorted(n.id for one in found for n in one.needs) == sorted(n.id for n in plan.requirements)
    assert {line.id for one in found for line in one.orders} == {line.id for line in plan.orders}
    assert all(one.minutes == sum(b.minutes for b in one.batches) for one in found)
    assert days.of(plan.horizon.end + timedelta(days=60)).empty


def test_today_has_all_that_is_to_be_acted_on_and_another_day_only_its_own(drawn: DrawnPlan) -> None:
    plan, days = drawn.plan, PlanDays(drawn.plan, drawn.snapshot)
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
    assert PlanDays(overdue, stock).of(plan.today).orders == overdue.orders
    own = replace(stock, calendar=replace(stock.calendar, minutes_on={plan.today: 30}))
    assert PlanDays(make_plan(own, plan.horizon), own).of(plan.today).limit == 30


def test_what_must_not_be_kept_has_a_line_that_destroys_it_on_the_day_it_is_made(drawn: DrawnPlan) -> None:
    plan, days = drawn.plan, PlanDays(drawn.plan, drawn.snapshot)
    never = [batch for batch in plan.batches if drawn.snapshot.solutions[batch.solution].unstable]
    assert never
    for batch in never:
        day = days.of(batch.make_on)
        assert batch in day.destroys
        assert [line.kind for line in day.lines() if line.ref == batch.id] == [LineKind.MAKE, LineKind.DISCARD]


def test_a_batch_of_the_plan_is_named_by_its_day_and_its_users_by_their_names(drawn: DrawnPlan) -> None:
    plan = drawn.plan
    chained = [batch for batch in plan.batches if any(take.kind is LinkKind.BATCH for take in batch.takes)]
    assert chained
    said = " ".join(step.text for batch in plan.batches for step in batch.steps)
    assert "made today" in said
    assert not re.search(r"@20\d\d", said)
    rows = day_rows(plan, drawn.snapshot, PlanDays(plan, drawn.snapshot).busy())
    said = " ".join(make.for_ for row in rows for make in row.makes)
    assert not re.search(r"@20\d\d", said)
    assert "and 5 other makes" in said


def test_a_full_day_of_ten_makes_and_four_bookings_is_one_page_of_paper(drawn: DrawnPlan) -> None:
    on = date(2027, 1, 12)
    days = PlanDays(drawn.plan, drawn.snapshot)
    found = days.of(on)
    assert (len(found.batches), len(found.bookings)) == (10, 4)
    (row,) = day_rows(drawn.plan, drawn.snapshot, [on], day_lines.of_sample(found).numbers)
    assert len(pypdfium2.PdfDocument(day_sheet(row, "Wendlemoor School"))) == 1


@pytest.mark.parametrize("on", [date(2027, 1, 26), date(2027, 1, 27), date(2027, 2, 5)])
def test_a_day_that_runs_a_few_lines_over_is_set_on_one_page(drawn: DrawnPlan, on: date) -> None:
    (row,) = day_rows(
        drawn.plan, drawn.snapshot, [on], day_lines.of_sample(PlanDays(drawn.plan, drawn.snapshot).of(on)).numbers
    )
    assert len(pypdfium2.PdfDocument(day_sheet(row, "Wendlemoor School"))) == 1
    assert not any("allowed by" in mind for mind in row.minds)  # that is not wrong
    said = " ".join(line for booking in row.bookings for line in booking.cautions)
    assert ("Allowed by the employer's adviser on 8 Jan." in said) == (on.day in (27, 5))


def test_what_the_day_s_bookings_take_is_made_first_and_each_make_after_its_stocks(drawn: DrawnPlan) -> None:
    """What is wanted today comes before what is made for tomorrow, whatever their names; a make follows its stock."""
    plan = drawn.plan
    by_id = {batch.id: batch for batch in plan.batches}
    needs = {need.id: need for need in plan.requirements}

    def today(ref: str) -> bool:
        batch = by_id[ref]
        users = [share.ref for share in batch.serves]
        return any(
            today(user) if user in by_id else needs[user].needed_on == batch.make_on
            for user in users
            if user not in by_id or by_id[user].make_on == batch.make_on
        )

    mixed = 0
    for on in {batch.make_on for batch in plan.batches}:
        day = [batch for batch in plan.batches if batch.make_on == on]
        wanted = [today(batch.id) for batch in day]
        assert wanted == sorted(wanted, reverse=True), on
        mixed += len(set(wanted)) == 2
        seen: set[str] = set()
        for batch in day:
            assert all(take.ref in seen for take in batch.takes if by_id.get(take.ref) in day), batch.id
            seen.add(batch.id)
    assert mixed > 2


def test_what_a_make_leaves_over_is_never_said_to_be_more(drawn: DrawnPlan, capsys: pytest.CaptureFixture[str]) -> None:
    """996 mL is no litre to count on."""
    batch = replace(drawn.plan.batches[0], left_over=996 * 10**6)
    show_plan(replace(drawn.plan, batches=(batch,)), drawn.snapshot, brief=True)
    assert "Left over: 990 mL" in capsys.readouterr().out
