"""iCalendar by RFC 5545: what is written is folded, and reads back."""

import re
from datetime import UTC, date, datetime, timedelta

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.reports.calendar import write_tasks
from prep.reports.print_rows import TaskRow

STAMP = datetime(2027, 1, 4, 8, 30, tzinfo=UTC)
TASKS = [
    TaskRow("make-M-3@prep", date(2027, 1, 8), "Make hydrochloric acid; vented, glass", "82.8 mL\nwater " * 12),
    TaskRow("order-O-1@prep", date(2027, 1, 11), "Order dextrose, 1 × 500 g → today"),
]


def test_tasks_are_read_back_and_lines_are_folded() -> None:
    written = write_tasks(TASKS, STAMP)
    assert written.endswith(b"\r\n")
    assert all(len(line) <= 75 for line in written.split(b"\r\n"))  # RFC 5545, 3.1
    assert not re.search(rb"(?<!\r)\n", written)
    back = icalendar.Calendar.from_ical(written)
    events = back.walk("VEVENT")
    assert [str(e["SUMMARY"]) for e in events] == [t.summary for t in TASKS]
    assert str(events[0]["DESCRIPTION"]) == TASKS[0].description.strip()
    assert [e["DTSTART"].dt for e in events] == [t.on for t in TASKS]
    assert [e["DTEND"].dt for e in events] == [t.on + timedelta(days=1) for t in TASKS]
    assert all(e["DTSTAMP"].dt == STAMP and e["UID"] for e in events)  # both required: RFC 5545, 3.6.1
    assert written == write_tasks(TASKS, STAMP)


@settings(max_examples=60, deadline=None)
@given(summary=st.text(min_size=1, max_size=120), description=st.text(max_size=120))
def test_any_text_comes_back(summary: str, description: str) -> None:
    try:
        (summary + description).encode()
    except UnicodeEncodeError:
        return
    task = TaskRow("u", date(2027, 1, 8), "x" + summary, description)
    (event,) = icalendar.Calendar.from_ical(write_tasks([task], STAMP)).walk("VEVENT")

    def printable(text: str) -> str:
        return "".join(c for c in text if c == "\n" or c.isprintable()).strip()

    assert str(event["SUMMARY"]) == printable("x" + summary)
    assert str(event.get("DESCRIPTION", "")) == printable(description)


def test_faults_of_the_caller_raise() -> None:
    with pytest.raises(ValueError, match="time zone"):
        write_tasks(TASKS, datetime(2027, 1, 4))
    with pytest.raises(ValueError, match="UID"):
        write_tasks([TASKS[0], TASKS[0]], STAMP)
