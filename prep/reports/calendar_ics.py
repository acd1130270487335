"""iCalendar (RFC 5545): make tasks and order-by dates out, bookings in."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, Any

from prep.errors import PrepError
from prep.reports.rows import EventRow, TaskRow

if TYPE_CHECKING:
    from icalendar import Calendar

_LONGEST = 2000  # characters kept of a text; a booking's summary is a line


def write_tasks(tasks: Sequence[TaskRow], stamp: datetime, name: str = "Prep room") -> bytes:
    """A calendar of all-day events, one a task, lines folded and ended as the RFC asks.

    `stamp` is when it was written (with a time zone; the RFC's DTSTAMP), so the same input gives the same
    bytes. A task keeps its UID when it moves. Raises ValueError for a stamp without a time zone or two tasks
    with one UID (faults of the caller).
    """
    from datetime import UTC

    from icalendar import Calendar, Event

    if stamp.tzinfo is None:
        raise ValueError("the stamp needs a time zone")
    if len({task.uid for task in tasks}) < len(tasks):
        raise ValueError("two tasks have one UID")
    calendar = Calendar()
    calendar.add("prodid", "-//prep//prep room//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", _plain(name))
    for task in tasks:
        event = Event()
        event.add("uid", _plain(task.uid))
        event.add("dtstamp", stamp.astimezone(UTC).replace(microsecond=0))
        event.add("dtstart", task.on)
        event.add("dtend", task.on + timedelta(days=1))
        event.add("summary", _plain(task.summary))
        if task.description:
            event.add("description", _plain(task.description))
        event.add("transp", "TRANSPARENT")  # an all-day task leaves the day free for other events
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def read_events(content: bytes, name: str, zone: tzinfo | None = None) -> tuple[tuple[EventRow, ...], tuple[str, ...]]:
    """The events of an .ics file by date, and one sentence for each event that cannot be taken as it stands.

    Dates and times are as the event writes them; one written in UTC is turned into `zone`, or the zone that
    the file names. Raises PrepError where the file is no calendar at all; `name` is what it is called there.
    """
    from icalendar import Calendar

    try:
        content.decode("utf-8")
        calendars = Calendar.from_ical(content, multiple=True)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError) as problem:
        why = "not UTF-8" if isinstance(problem, UnicodeDecodeError) else _plain(str(problem))[:80]
        raise PrepError(f"{name}: not readable as an iCalendar file ({why}); export the calendar as .ics.") from None
    if not calendars:
        raise PrepError(f"{name}: holds no calendar; export the calendar as .ics.")
    events: list[EventRow] = []
    wrong: list[str] = []
    number = 0
    for calendar in calendars:
        home = zone or _zone_of(calendar)
        for component in calendar.walk("VEVENT"):
            number += 1
            try:
                events.append(_event(component, home))
            except PrepError as problem:
                wrong.append(f"{name}, event {number}{_called(component)}: {problem}")
    return tuple(sorted(events, key=lambda e: (e.on, e.at, e.uid, e.summary))), tuple(wrong)


def _event(component: Any, zone: tzinfo | None) -> EventRow:
    if broken := [str(where) for where, _ in component.errors]:
        raise PrepError(f"its {', '.join(broken)} cannot be read; write it again in the calendar and export.")
    summary = _text(component, "SUMMARY")
    if not summary:
        raise PrepError("it has no title (SUMMARY); name the demo there.")
    if any(component.get(repeat) is not None for repeat in ("RRULE", "RDATE")):
        raise PrepError("it repeats; enter each date as an event of its own.")
    start = _when(component, "DTSTART", zone)
    if start is None:
        raise PrepError("it has no start (DTSTART); give its date.")
    end = _when(component, "DTEND", zone)
    if end is not None and _days(start, end) > 1:
        raise PrepError("it lasts more than a day; enter each day as an event of its own.")
    return EventRow(
        uid=_text(component, "UID"),
        on=start.date() if isinstance(start, datetime) else start,
        at=f"{start:%H:%M}" if isinstance(start, datetime) else "",
        summary=summary,
        location=_text(component, "LOCATION"),
        description=_text(component, "DESCRIPTION"),
        cancelled=_text(component, "STATUS").upper() == "CANCELLED",
    )


def _when(component: Any, part: str, zone: tzinfo | None) -> date | datetime | None:
    """A date, or a time of day in the school's zone."""
    value = component.get(part)
    if value is None:
        return None
    if isinstance(value, list):
        raise PrepError(f"it has {part} twice; keep one.")
    when = getattr(value, "dt", None)
    if not isinstance(when, date):
        raise PrepError(f"its {part} is no date; write such as 20270111 or 20270111T091500.")
    if not isinstance(when, datetime) or when.tzinfo is None:
        return when
    in_utc = when.utcoffset() == timedelta(0) and "TZID" not in value.params
    if not in_utc:
        return when.replace(tzinfo=None)
    if zone is None:
        raise PrepError("its time is in UTC and the file names no time zone; set the school's time zone.")
    return when.astimezone(zone).replace(tzinfo=None)


def _days(start: date | datetime, end: date | datetime) -> int:
    """Days that an event touches; the end itself is not part of it."""
    first = start.date() if isinstance(start, datetime) else start
    step = timedelta(microseconds=1) if isinstance(end, datetime) else timedelta(days=1)
    last = end - step
    return ((last.date() if isinstance(last, datetime) else last) - first).days + 1


def _zone_of(calendar: "Calendar") -> tzinfo | None:
    """The zone that the calendar names for itself, where there is such a zone."""
    from zoneinfo import ZoneInfo

    try:
        return ZoneInfo(str(calendar.get("X-WR-TIMEZONE", "")))
    except (ValueError, OSError, KeyError):
        return None


def _text(component: Any, part: str) -> str:
    value = component.get(part)
    if isinstance(value, list):
        value = value[0] if value else None
    return _plain("" if value is None else str(value))[:_LONGEST].strip()


def _called(component: Any) -> str:
    said = _text(component, "SUMMARY") or _text(component, "UID")
    return f' "{said[:60]}"' if said else ""


def _plain(text: str) -> str:
    """Text without control characters, which the RFC forbids; a line break stays."""
    return "".join(c for c in text if c == "\n" or c.isprintable()).strip()
