"""iCalendar by RFC 5545: what is written is folded and read back; what cannot be taken names its event."""

import contextlib
import re
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.errors import PrepError
from prep.reports.calendar_ics import read_events, write_tasks
from prep.reports.rows import EventRow, TaskRow

STAMP = datetime(2027, 1, 4, 8, 30, tzinfo=UTC)
TASKS = [
    TaskRow("make-M-3@prep", date(2027, 1, 8), "Make hydrochloric acid; vented, glass", "82.8 mL\nwater " * 12),
    TaskRow("order-O-1@prep", date(2027, 1, 11), "Order dextrose, 1 × 500 g → today"),
]


def calendar(*events: str, head: str = "") -> bytes:
    inside = "".join(f"BEGIN:VEVENT\n{event}\nEND:VEVENT\n" for event in events)
    text = f"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//t//t//EN\n{head}{inside}END:VCALENDAR\n"
    return text.replace("\n", "\r\n").encode()


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
    rows, wrong = read_events(write_tasks([task], STAMP), "t.ics")

    def printable(text: str) -> str:
        return "".join(c for c in text if c == "\n" or c.isprintable()).strip()

    assert not wrong
    assert rows[0].summary == printable("x" + summary)
    assert rows[0].description == printable(description)


def test_faults_of_the_caller_raise() -> None:
    with pytest.raises(ValueError, match="time zone"):
        write_tasks(TASKS, datetime(2027, 1, 4))
    with pytest.raises(ValueError, match="UID"):
        write_tasks([TASKS[0], TASKS[0]], STAMP)


def test_bookings_are_read_in_the_schools_time() -> None:
    content = calendar(
        "UID:1\nDTSTART;TZID=Europe/Paris:20270621T141500\nSUMMARY:Blue bottle\\, 3 showings\nLOCATION:Lab 3",
        "UID:2\nDTSTART:20270621T071500Z\nSUMMARY:Silver mirror\nSTATUS:CANCELLED",
        "UID:3\nDTSTART;VALUE=DATE:20270620\nDTEND;VALUE=DATE:20270621\nSUMMARY:Elephant's too\n thpaste",
    )
    rows, wrong = read_events(content, "term.ics", ZoneInfo("Europe/London"))
    assert wrong == ()
    assert rows == (
        EventRow("3", date(2027, 6, 20), "", "Elephant's toothpaste"),
        EventRow("2", date(2027, 6, 21), "08:15", "Silver mirror", cancelled=True),
        EventRow("1", date(2027, 6, 21), "14:15", "Blue bottle, 3 showings", "Lab 3"),
    )
    named = calendar("UID:2\nDTSTART:20270621T233000Z\nSUMMARY:x", head="X-WR-TIMEZONE:Australia/Sydney\n")
    assert read_events(named, "t.ics")[0][0].on == date(2027, 6, 22)


@pytest.mark.parametrize(
    ("event", "why"),
    [
        ("UID:1\nDTSTART:20270621T071500Z\nSUMMARY:Odd", "UTC"),
        ("UID:1\nSUMMARY:Odd", "no start"),
        ("UID:1\nDTSTART:20270621T071500\nLOCATION:Odd", "no title"),
        ("UID:1\nDTSTART:20270621T071500\nSUMMARY:Odd\nRRULE:FREQ=WEEKLY;COUNT=3", "repeats"),
        ("UID:1\nDTSTART:2027-06-21 at nine\nSUMMARY:Odd", "cannot be read"),
        ("UID:1\nDTSTART;VALUE=DATE:20270621\nDTEND;VALUE=DATE:20270624\nSUMMARY:Odd", "more than a day"),
        ("UID:1\nDTSTART:20270621T071500\nDTSTART:20270622T071500\nSUMMARY:Odd", "twice|cannot be read"),
    ],
)
def test_an_event_that_cannot_be_taken_is_named_and_the_rest_kept(event: str, why: str) -> None:
    rows, wrong = read_events(calendar("UID:0\nDTSTART:20270621T101500\nSUMMARY:Good", event), "term.ics")
    assert [row.summary for row in rows] == ["Good"]
    assert len(wrong) == 1
    assert re.search(why, wrong[0])
    assert wrong[0].startswith("term.ics, event 2")
    assert "Odd" in wrong[0] or "no title" in wrong[0]


@pytest.mark.parametrize(
    "content", [b"", b"hello", b"\xff\xfe\x00", b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\n", b"a,b\r\n1,2\r\n"]
)
def test_a_file_that_is_no_calendar_is_a_sentence(content: bytes) -> None:
    with pytest.raises(PrepError, match=r"^term\.ics: "):
        read_events(content, "term.ics")


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=60), st.integers(0, 160))
def test_a_damaged_file_never_breaks_the_reader(noise: bytes, at: int) -> None:
    whole = calendar("UID:0\nDTSTART:20270621T101500\nSUMMARY:Good")
    with contextlib.suppress(PrepError):
        read_events(whole[:at] + noise + whole[at:], "term.ics")
