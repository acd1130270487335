"""A list of bookings: on the screen, as JSON, and to take away as CSV, PDF or a calendar."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, time
from typing import Any

from prep.dates import day
from prep.planning.booking_answer import BookingAnswer
from prep.planning.model import Booking
from prep.planning.set_out import how_often
from prep.plurals import plural
from prep.reports import terminal
from prep.reports.bookings.answers import booking_document, short_state
from prep.reports.calendar import write_tasks
from prep.reports.csv_table import csv_bytes
from prep.reports.print_rows import TaskRow
from prep.services.school.periods import LessonTimes, times_of

_COLUMNS = (
    "code date period room teacher group demo item showings trials state state_on ready_by place note name".split()
)


def listed_document(answer: BookingAnswer, *, states: bool) -> dict[str, Any]:
    """Write a booking of the list as JSON, with how far it is."""
    document = booking_document(answer.booking)
    if not states:
        return document
    return document | {
        "can_be_served": answer.can_be_shown,
        "state": answer.state.value,
        "state_on": answer.state_on.isoformat() if answer.state_on else None,
        "ready_by": answer.ready_by.isoformat() if answer.ready_by else None,
        "place": answer.place,
    }


_ROOMY = 100
"""Columns of a terminal that has room for the age groups' own."""


def show_list(found: Sequence[BookingAnswer], *, states: bool) -> None:
    """Print the list as a table, each day once; a narrow one has the age group beside what is booked."""
    beside = terminal.width() < _ROOMY
    head = ["Code", "When", "Where", "Teacher", "Group", "What", "How far"]
    rows: list[list[str]] = []
    days: dict[int, str] = {}
    for at, one in enumerate(found):
        b = one.booking
        if not at or b.on != found[at - 1].booking.on:
            days[at] = day(b.on)
        what = f"{b.what} {how_often(b)}" + (f", {b.group}" if b.group and beside else "")
        group = "" if beside else b.group
        rows.append([b.code, b.period, b.room, b.teacher, group, what, _state(one, states)])
    used = [n for n, name in enumerate(head) if name not in ("Group", "How far") or any(row[n] for row in rows)]
    terminal.table([head[n] for n in used], [[row[n] for n in used] for row in rows], above=days)
    terminal.say(f"{plural(len(found), 'booking')}.")


def _state(one: BookingAnswer, states: bool) -> str:
    if states:
        return short_state(one)
    return "" if one.booking.stands else one.booking.status


@dataclass(frozen=True, slots=True)
class ListHead:
    """Of which school a list is, when its periods are, in which time zone, and what its codes are called."""

    school: str = ""
    periods: Mapping[str, LessonTimes] = field(default_factory=dict)
    zone: str = ""
    names: Mapping[str, str] = field(default_factory=dict)

    def called(self, booking: Booking) -> str:
        """Name what is booked."""
        return self.names.get(booking.what, booking.what)


def content(kind: str, found: Sequence[BookingAnswer], head: ListHead) -> bytes:
    """Write the list as a file's content: `csv`, `pdf` or `ics`."""
    return {"csv": _csv, "pdf": _pdf, "ics": _ics}[kind](found, head)


def _csv(found: Sequence[BookingAnswer], head: ListHead) -> bytes:
    rows = []
    for one in found:
        document = listed_document(one, states=True) | {"name": head.called(one.booking)}
        rows.append(["" if document[name] is None else document[name] for name in _COLUMNS])
    return csv_bytes(_COLUMNS, rows, bom=True)


def _pdf(found: Sequence[BookingAnswer], head: ListHead) -> bytes:
    from prep.reports.pdf.pages import WIDTH, Paper, build, gap

    days = [one.booking.on for one in found]
    title = f"Bookings {day(min(days))} to {day(max(days))}" if days else "Bookings"
    shares = (0.15, 0.08, 0.08, 0.13, 0.09, 0.19, 0.08, 0.2)

    def story(paper: Paper) -> list[Any]:
        heads = ("Day", "Period", "Room", "Teacher", "Group", "Demo", "Shown", "How far")
        rows: list[list[Any]] = [[paper.text(head, 8, bold=True) for head in heads]]
        for one in found:
            b = one.booking
            what = f"{head.called(b)} ({b.code})"
            cells = (day(b.on), b.period, b.room, b.teacher, b.group, what, how_often(b), short_state(one))
            rows.append([paper.text(cell, 8) for cell in cells])
        top = [paper.text(title, 15, bold=True)]
        if head.school:
            top.append(paper.text(head.school, 9))
        return [*top, gap(6), paper.table(rows, [WIDTH * share for share in shares], header=True)]

    return build(title, story)


def _ics(found: Sequence[BookingAnswer], head: ListHead) -> bytes:
    tasks = [
        TaskRow(
            f"{b.code}@booking.prep",
            b.on,
            ", ".join(filter(None, (f"{head.called(b)} {how_often(b)}", b.period, b.room, b.group))),
            "\n".join(filter(None, (b.teacher, short_state(one), b.note))),
            at.begins if at else None,
            at.ends if at else None,
            b.set_out or b.room,
        )
        for one in found
        for b in (one.booking,)
        for at in (times_of(b.period, head.periods),)
    ]
    first = min((task.on for task in tasks), default=datetime(2000, 1, 1, tzinfo=UTC).date())
    return write_tasks(tasks, datetime.combine(first, time(), UTC), head.school or "Bookings", head.zone)
