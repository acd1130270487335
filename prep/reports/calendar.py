"""iCalendar (RFC 5545): make tasks and order-by dates out."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from prep.reports.print_rows import TaskRow


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


def _plain(text: str) -> str:
    """Text without control characters, which the RFC forbids; a line break stays."""
    return "".join(c for c in text if c == "\n" or c.isprintable()).strip()
