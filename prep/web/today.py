"""The day: what to make, to set out, to order, and what is wrong; the week; why; what if; the calendar."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from fastapi import Response

from prep.chemistry.spelling import key as spelt
from prep.dates import read_day
from prep.errors import NotOnFile, PrepError
from prep.planning.by_day import LineKind, PlanDay, PlanDays
from prep.planning.draws import LinkKind
from prep.planning.model import Batch
from prep.planning.pegging import PeggingLink, why
from prep.planning.workdays import in_order_of_the_day
from prep.plurals import plural
from prep.reports.calendar import write_tasks
from prep.reports.finding_texts import with_cure
from prep.reports.formatting import ItemNames, period_text
from prep.reports.plan.day_sheet import day_sheet, week_sheet
from prep.reports.plan.sheet_rows import day_rows, task_rows, week_of, with_done
from prep.reports.print_rows import DayRow, TaskRow
from prep.services.bookings import bookings
from prep.services.catalogue import lookup
from prep.services.people import people
from prep.services.people.roles import Right, may
from prep.services.plan import day_lines
from prep.services.plan.plan import DrawnPlan
from prep.services.plan.what_if import suppose
from prep.services.school import periods
from prep.services.school.page import school_of
from prep.web.forms import in_words
from prep.web.page_request import At, PageRequest
from prep.web.rights import needs, router

routes = router()
FURTHEST = 370
MOST_CHANGES = 50


def day_of(here: PageRequest, text: str) -> date:
    """Read the day that a page is of. Raises PrepError."""
    on = read_day(text, "the day", here.today) if text else here.today
    if not 0 <= (on - here.today).days <= FURTHEST:
        raise PrepError(f"{on} is not in the plan, which runs from today for a year at most.")
    return on


def heading(makes: int, bookings: int, orders: int, by: str = "") -> str:
    """Describe a day in its heading; `by` is when the first of its makes is wanted, where that is the same day."""
    first = f"{', the first' if makes > 1 else ''} by {by}" if by else ""
    parts = [
        f"make {plural(makes, 'solution')}{first}" if makes else "",
        f"set out for {plural(bookings, 'showing')}" if bookings else "",
        f"order {plural(orders, 'thing')}" if orders else "",
    ]
    said = ", ".join(filter(None, parts))
    return f"{said[:1].upper()}{said[1:]}" if said else "Nothing to make, to set out or to order"


def _wanted_by(here: PageRequest, found: PlanDay) -> str:
    """Find when the first of a day's makes is wanted that day: by the clock where the periods have times."""
    made = {batch.id for batch in found.batches}
    using = {n.booking for n in found.needs if any(s.kind is LinkKind.BATCH and s.ref in made for s in n.served)}
    served = sorted((b for b in found.bookings if b.code in using and b.period), key=in_order_of_the_day)
    if not served:
        return ""
    at = periods.times_of(served[0].period, periods.of_school(here.db).times)
    return f"{at.begins:%H:%M}" if at else period_text(served[0].period)


def _day_values(here: PageRequest, drawn: DrawnPlan, on: date) -> dict[str, Any]:
    drawn = drawn.cautioned([on])
    days = PlanDays(drawn.plan, drawn.snapshot)
    found = days.of(on)
    numbers = day_lines.number(here.db, found, drawn.snapshot).numbers
    (row,) = day_rows(drawn.plan, drawn.snapshot, [on], numbers)
    row = with_done(row, day_lines.done(here.db, on)) if on == here.today else row
    calendar = drawn.snapshot.calendar
    short = {need.id for need in found.needs}
    said = [f for f in found.wrong if f.about not in short]
    minds = [(f.severity, in_words(with_cure(f))) for f in said]
    stops = [mind for severity, mind in minds if severity == "stop"]
    return {
        "on": on,
        "after": next((one for one in days.busy() if one > on), None),
        "row": row,
        "found": found,
        "minds": minds,
        "stops": len(stops),
        "title": heading(len(row.makes), len(row.bookings), len(row.orders), _wanted_by(here, found)),
        "closed": "" if calendar.works(on) else calendar.closed.get(on, "no working day"),
        "deliveries": [one.order.code for one in found.deliveries],
        "discards": [
            *((f"/makes/{one.id}", "Its make") for one in found.destroys),
            *((f"/bottles/{one.code}", "The bottle") for one in found.discards),
        ],
    }


def key_of(here: PageRequest, drawn: DrawnPlan, kind: LineKind, ref: str) -> str:
    """Find the key of a line of the day, before it is done; empty where the day has no such line."""
    lines = PlanDays(drawn.plan, drawn.snapshot).of(here.today).lines()
    return next((line.key for line in lines if line.kind is kind and line.ref == ref), "")


@routes.get("/today", include_in_schema=False)
@needs(Right.SEE_STOCK)
def today(here: At, day: str = "") -> Response:
    """Show what a day has."""
    on = day_of(here, day)
    drawn = here.plan(on)
    values = here.read(drawn, ("day", on), lambda: _day_values(here, drawn, on))
    return here.show("today.html", **values)


@routes.get("/today.pdf", include_in_schema=False)
@needs(Right.SEE_STOCK)
def today_pdf(here: At, day: str = "") -> Response:
    """Print the sheet of a day, as a PDF."""
    on = day_of(here, day)
    drawn = here.plan(on)
    row = here.read(drawn, ("day", on), lambda: _day_values(here, drawn, on))["row"]
    return Response(day_sheet(_for_paper(row), drawn.school), media_type="application/pdf")


def _for_paper(row: DayRow) -> DayRow:
    """Leave out of a sheet that is printed from the page what is to be typed at a terminal."""
    makes = tuple(replace(make, log="") for make in row.makes)
    return replace(row, makes=makes, minds=tuple(map(in_words, row.minds)))


@routes.get("/week", include_in_schema=False)
@needs(Right.SEE_STOCK)
def week(here: At, day: str = "") -> Response:
    """Show seven days: makes, showings, orders."""
    first = day_of(here, day)
    drawn = here.plan(first + timedelta(days=7))
    rows = here.read(drawn, ("week", first), lambda: _week_rows(drawn, first))
    made, out, orders = (sum(len(getattr(row, part)) for _, row, _ in rows) for part in ("makes", "bookings", "orders"))
    title = heading(made, out, orders)
    return here.show("week.html", title=title, first=first, after=first + timedelta(days=7), rows=rows)


def _week_rows(drawn: DrawnPlan, first: date) -> list[Any]:
    days = week_of(first, drawn.plan, drawn.snapshot)
    found = PlanDays(drawn.plan, drawn.snapshot)
    return list(zip(days, day_rows(drawn.plan, drawn.snapshot, days), [found.of(on) for on in days], strict=True))


@routes.get("/week.pdf", include_in_schema=False)
@needs(Right.SEE_STOCK)
def week_pdf(here: At, day: str = "", sheets: str = "") -> Response:
    """Print a week as its page has it, and with `sheets` each day's sheet after it, as a PDF.

    Raises PrepError where the week has no working day.
    """
    first = day_of(here, day)
    drawn = here.plan(first + timedelta(days=7))
    days = week_of(first, drawn.plan, drawn.snapshot)
    if not days:
        raise PrepError("That week has no working day.")
    rows = [_for_paper(row) for row in day_rows(drawn.cautioned(days).plan, drawn.snapshot, days)]
    return Response(week_sheet(rows, drawn.school, each_day=sheets == "1"), media_type="application/pdf")


@routes.get("/why/{ref:path}", include_in_schema=False)
@needs(Right.SEE_STOCK)
def why_page(here: At, ref: str) -> Response:
    """Explain one line of the plan by the chain behind it."""
    drawn = here.plan()
    link: PeggingLink = why(drawn.plan, drawn.snapshot, ref)
    placed = {order.code for order in drawn.snapshot.orders}
    return here.show("why.html", link=link, names=ItemNames(drawn.snapshot), placed=placed)


@routes.get("/what-if", include_in_schema=False)
@needs(Right.SEE_STOCK)
def what_if(here: At, change: str = "") -> Response:
    """Show what a change would do to the plan; nothing is written."""
    drawn = here.plan()
    found, problem = None, ""
    changes = [line.strip() for line in change.splitlines() if line.strip()]
    if changes:
        try:
            if len(changes) > MOST_CHANGES or len(change) > MOST_CHANGES * 100:
                raise PrepError(f"That is more than {MOST_CHANGES} changes of a line each; look at a part of them.")
            found = suppose(drawn.snapshot, drawn.plan, drawn.plan.horizon, changes, drawn.policy)
        except PrepError as wrong:
            problem = wrong.sentence
    names = ItemNames(found.snapshot if found else drawn.snapshot)
    bookings = {b.code: b for b in (found.snapshot if found else drawn.snapshot).bookings}
    return here.show("what_if.html", 422 if problem else 200, change=change, found=found, problem=problem,
                     names=names, bookings=bookings)  # fmt: skip


def batch_of(drawn: DrawnPlan, ref: str) -> Batch:
    """Find a make of the plan. Raises PrepError where it is not in it any more."""
    found = next((batch for batch in drawn.plan.batches if batch.id == ref), None)
    if found is None:
        raise PrepError(
            "There is no such make in the plan: it is made already, or what it was for has changed. See today."
        )
    return found


# The calendar --------------------------------------------------------------------------------------


@routes.get("/feed/{secret}.ics", include_in_schema=False)
@needs(Right.ANYONE)
def feed(here: At, secret: str) -> Response:
    """Send somebody's calendar, by its secret address: their showings, and a technician's makes and orders."""
    person = people.of_feed(here.db, secret)
    if person is None:
        raise NotOnFile("There is no calendar at this address.")
    rows = list(_events(here, person.name)) if may(person.roles, Right.BOOK) else []
    if may(person.roles, Right.WORK):
        drawn = here.plan()
        rows += task_rows(drawn.plan, drawn.snapshot)
    stamp = datetime.combine(here.today, time(), UTC)
    text = write_tasks(rows, stamp, school_of(here.db) or "Prep room", periods.of_school(here.db).zone)
    return Response(text, media_type="text/calendar; charset=utf-8")


def _events(here: PageRequest, name: str) -> Iterator["TaskRow"]:
    names = lookup.names(here.db)
    listed = periods.of_school(here.db).times
    which = bookings.BookingFilter(here.today - timedelta(days=28), None, name)
    for b in bookings.list_bookings(here.db, which):
        if spelt(b.teacher) == spelt(name):
            where = " ".join(filter(None, (b.period, b.room)))
            at = periods.times_of(b.period, listed)
            clock = (at.begins, at.ends) if at else (None, None)
            yield TaskRow(
                f"booking-{b.code}@prep", b.on, f"{names.get(b.what, b.what)} {where}".strip(), b.note, *clock
            )
