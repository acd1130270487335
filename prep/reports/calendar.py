"""iCalendar (RFC 5545): make tasks and order-by dates out."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from prep.reports.print_rows import TaskRow


def write_tasks(tasks: Sequence[TaskRow], stamp: datetime, name: str = "Prep room", zone: str = "") -> bytes:
    """Write a calendar of events, one a task; all day unless the task has a time.

    Lines are folded and ended as the RFC asks. A time is the school's own: of its time `zone`, or floating (RFC
    5545, 3.3.5) where that is not set.

    `stamp` is when it was written (with a time zone; the RFC's DTSTAMP), so the same input gives the same
    bytes. A task keeps its UID when it moves. Raises ValueError for a stamp without a time zone or two tasks
    with one UID (faults of the caller).
    """
    from icalendar import Calendar, Event

    if stamp.tzinfo is None:
        raise ValueError("the stamp needs a time zone")
    if len({task.uid for task in tasks}) < len(tasks):
        raise ValueError("two tasks have one UID")
    calendar = Calendar()
    calendar.add("prodid", "-//prep//prep room//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", _plain(name))  # RFC 7986, 5.1
    for task in tasks:
        event = Event()
        event.add("uid", _plain(task.uid))
        event.add("dtstamp", stamp.astimezone(UTC).replace(microsecond=0))
        if task.begins:
            event.add("dtstart", _at(task.on, task.begins, zone))
            if task.ends:
                event.add("dtend", _at(task.on, task.ends, zone))
        else:
            event.add("dtstart", task.on)
            event.add("dtend", task.on + timedelta(days=1))
            event.add("transp", "TRANSPARENT")  # an all-day task leaves the day free for other events
        event.add("summary", _plain(task.summary))
        if task.place:
            event.add("location", _plain(task.place))
        if task.description:
            event.add("description", _plain(task.description))
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _at(on: date, clock: time, zone: str) -> datetime:
    """Place a time of day on a day, in UTC where the zone is known, so that no zone's rules need go with it."""
    local = datetime.combine(on, clock)
    if not zone:
        return local

    return local.replace(tzinfo=ZoneInfo(zone)).astimezone(UTC)


def _plain(text: str) -> str:
    """Strip control characters, which the RFC forbids, from a text; a line break stays."""
    return "".join(c for c in text if c == "\n" or c.isprintable()).strip()
