"""A plan as day sheets and as a calendar: nothing of it is left out, and tasks keep their names."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pypdfium2
import pytest
from icalendar import Calendar

from prep.chemistry.preparation.steps import MakeSheet
from prep.planning.by_day import PlanDays
from prep.planning.model import Booking, Horizon
from prep.reports.calendar import write_tasks
from prep.reports.formatting import in_days, period_text
from prep.reports.plan.day_sheet import week_sheet
from prep.reports.plan.document import day_document
from prep.reports.plan.screen import show_plan
from prep.reports.plan.sheet_rows import day_rows, task_rows, week_of
from prep.services.plan import plan as plan_service
from prep.services.plan import snapshot as plan_snapshot
from prep.services.plan.plan import DrawnPlan


@pytest.fixture(scope="module")
def drawn() -> DrawnPlan:
    return plan_service.sample_plan(None, None, None).cautioned()


def test_a_take_that_the_steps_do_not_name_stands_in_a_list_of_its_own(drawn: DrawnPlan) -> None:
    """Of each take of the sample the steps name item and bottle; where a step draws on nothing, nothing is named."""
    plan, stock = drawn.plan, drawn.snapshot
    batch = next(one for one in plan.batches if one.takes)
    (row,) = day_rows(plan, stock, [batch.make_on])
    made = next(one for one in row.makes if one.batch == batch.id)
    assert all(take.in_steps for take in made.takes)
    assert all(take.what in " ".join(made.steps) for take in made.takes)
    written = batch.sheet.written
    unsaid = replace(written, steps=tuple(replace(step, item="") for step in written.steps))
    blind = replace(batch, sheet=MakeSheet(lambda: unsaid))
    plan = replace(plan, batches=tuple(blind if one.id == batch.id else one for one in plan.batches))
    (row,) = day_rows(plan, stock, [batch.make_on])
    made = next(one for one in row.makes if one.batch == batch.id)
    assert not any(take.in_steps for take in made.takes)


def test_every_make_booking_and_order_stands_on_its_day(drawn: DrawnPlan) -> None:
    plan, stock = drawn.plan, drawn.snapshot
    days = [plan.today + timedelta(days=n) for n in range((plan.horizon.end - plan.today).days + 1)]
    rows = day_rows(plan, stock, days)
    assert [m.batch for row in rows for m in row.makes] == [b.id for b in plan.batches]
    assert all(m.steps and m.takes and m.for_ for row in rows for m in row.makes)
    assert {b.code for row in rows for b in row.bookings} == {
        b.code for b in stock.bookings if b.status == "booked" and b.on >= plan.today
    }
    assert sum(len(row.orders) for row in rows) == len(plan.orders)
    short = {n.booking for n in plan.requirements if n.short}
    assert {b.code for row in rows for b in row.bookings if b.short} == short
    for row, on in zip(rows, days, strict=True):
        minutes = sum(b.minutes for b in plan.batches if b.make_on == on)
        assert row.work == (f"{minutes} of {stock.calendar.minutes(on)} minutes" if minutes else "")


def test_paper_and_calendar_name_a_make_by_what_and_when(drawn: DrawnPlan) -> None:
    """The ids of makes and of orders are for programs and for what is typed, as the line that logs a make."""
    plan, stock = drawn.plan, drawn.snapshot
    kinds = {(take.kind, take.source.to_place) for batch in plan.batches for take in batch.takes}
    assert {("batch", False), ("order", True), ("order", False)} <= kinds
    days = [plan.today + timedelta(days=n) for n in range((plan.horizon.end - plan.today).days + 1)]
    rows = [
        replace(row, makes=tuple(replace(make, log="") for make in row.makes)) for row in day_rows(plan, stock, days)
    ]
    assert "still to be ordered" in {take.from_ for row in rows for make in row.makes for take in make.takes}
    sheets = pypdfium2.PdfDocument(week_sheet(rows, each_day=True))
    printed = "".join(page.get_textpage().get_text_range() for page in sheets)
    told = " ".join(task.description for task in task_rows(plan, stock))
    assert "Hydrochloric acid, 1 mol/L" in printed
    assert [re.findall(r"\S*(?:@20\d\d|order:)\S*", said) for said in (printed, told)] == [[], []]


def test_a_class_set_and_a_trial_run_are_named_in_full(drawn: DrawnPlan, capsys: pytest.CaptureFixture[str]) -> None:
    class_set, tried = (next(b for b in drawn.snapshot.bookings if wanted(b)) for wanted in (_of_item, _has_trials))
    days = [class_set.on, tried.on]
    first, second = day_rows(drawn.plan, drawn.snapshot, days)
    set_out = {row.code: row for row in (*first.bookings, *second.bookings)}
    row = set_out[class_set.code]
    assert (row.demo, row.showings) == ("Hydrochloric acid, 1 mol/L", "x15")
    assert (row.gets[0].amount, row.gets[0].what) == ("50 mL", "Hydrochloric acid, 1 mol/L")
    assert row.cautions == ("A class set, in dropper bottles", "Goggles.")
    assert set_out[tried.code].showings == "x1 and 1 trial run"
    show_plan(drawn.plan, drawn.snapshot, brief=True)
    said = " ".join(capsys.readouterr().out.split())
    assert f"{class_set.code} 3 Feb P5 hcl-1 x15 (" in said
    assert f"{tried.code} 26 Jan P6 {tried.demo} x1 and 1 trial run (" in said
    document = day_document(PlanDays(drawn.plan, drawn.snapshot).of(class_set.on), drawn.plan, drawn.snapshot)
    (found,) = [b for b in document["bookings"] if b["code"] == class_set.code]
    assert (found["item"], found["portion"], found["trials"]) == ("hcl-1", {"value": 50.0, "unit": "mL"}, 0)


def _of_item(booking: Booking) -> bool:
    return bool(booking.item)


def _has_trials(booking: Booking) -> bool:
    return bool(booking.trials)


def test_what_stops_a_booking_is_on_the_first_days_sheet(drawn: DrawnPlan) -> None:
    stops = [f.message for f in drawn.plan.findings if f.severity == "stop"]
    (first,) = day_rows(drawn.plan, drawn.snapshot, [drawn.plan.today])
    assert stops
    assert all(any(mind.startswith(in_days(stop)) for mind in first.minds) for stop in stops)


def test_a_caution_stands_with_its_step_and_is_not_ticked_alone(drawn: DrawnPlan) -> None:
    days = [drawn.plan.today + timedelta(days=n) for n in range(40)]
    makes = [make for row in day_rows(drawn.plan, drawn.snapshot, days) for make in row.makes]
    said = [step for make in makes for step in make.steps if step.startswith("! ")]
    assert said
    assert all(re.search(r"[.] (Measure|Weigh|First|Put|Label)", step) for step in said), said
    assert any(make.hazards.startswith("H3") for make in makes)


def test_a_bare_period_is_not_read_as_part_of_the_date() -> None:
    assert [period_text(p) for p in ("2", "P2", "", "after lunch")] == ["period 2", "P2", "", "after lunch"]


def test_a_booking_is_named_whole_where_its_code_has_a_dot(capsys: pytest.CaptureFixture[str]) -> None:
    sample = plan_snapshot.sample()
    dotted = tuple(replace(b, code=f"2027.{b.code}") for b in sample.snapshot.bookings)
    plan = plan_service.draw_up(replace(sample.snapshot, bookings=dotted), Horizon(sample.start, sample.end)).plan
    snapshot = replace(sample.snapshot, bookings=dotted)
    made = [b for b in plan.batches if b.serves[0].kind == "requirement"]
    booked = {code for need, code in plan.bookings().items() for b in made if need in {s.ref for s in b.serves}}
    rows = day_rows(plan, snapshot, sorted({b.make_on for b in made}))
    named = {for_.partition(" on ")[0] for row in rows for make in row.makes for for_ in make.for_.split(", ")}
    assert booked <= named
    show_plan(plan, snapshot, brief=True)
    said = " ".join(capsys.readouterr().out.split())
    assert f"For: {plan.bookings()[made[0].serves[0].ref]} " in said
    (shared, *_) = [f for f in plan.findings if f.code == "same-bottle"]
    assert re.match(r"Bookings 2027\.B\d+ and 2027\.B\d+ both want", shared.message)


def test_a_week_prints(drawn: DrawnPlan) -> None:
    days = week_of(drawn.plan.today, drawn.plan, drawn.snapshot)
    assert len(days) == 5
    assert week_sheet(day_rows(drawn.plan, drawn.snapshot, days), "Wendlemoor School").startswith(b"%PDF")


def test_a_closed_week_has_no_day(drawn: DrawnPlan) -> None:
    half_term = next(d for d, why in drawn.snapshot.calendar.closed.items() if why == "half term")
    assert week_of(half_term, drawn.plan, replace(drawn.snapshot, bookings=())) == []


def test_the_calendar_has_every_make_and_order(drawn: DrawnPlan) -> None:
    tasks = task_rows(drawn.plan, drawn.snapshot)
    items = {line.item for line in drawn.plan.orders}
    assert len(tasks) == len(drawn.plan.batches) + len(items)
    content = write_tasks(tasks, datetime(2027, 1, 11, tzinfo=UTC))
    read = Calendar.from_ical(content)
    assert {str(e["UID"]) for e in read.walk("VEVENT")} == {task.uid for task in tasks}


def test_a_make_keeps_its_uid_when_its_booking_moves() -> None:
    sample = plan_snapshot.sample()
    horizon = Horizon(sample.start, sample.end)
    plain = plan_service.draw_up(sample.snapshot, horizon)
    batch = next(
        b for b in plain.plan.batches if len(b.serves) == 1 and b.serves[0].kind == "requirement" and b.minutes
    )
    code = plain.plan.bookings()[batch.serves[0].ref]
    moved = replace(
        sample.snapshot,
        bookings=tuple(
            replace(b, on=b.on + timedelta(days=1)) if b.code == code else b for b in sample.snapshot.bookings
        ),
    )
    uids = {t.uid for t in task_rows(plan_service.draw_up(moved, horizon).plan, moved)}
    assert f"make-{batch.solution}-{batch.serves[0].ref}@prep" in uids
