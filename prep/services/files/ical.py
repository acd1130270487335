"""The events of a calendar's file (iCalendar, RFC 5545), in the school's own time."""

from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from prep.dates import bounded
from prep.errors import PrepError
from prep.plurals import plural
from prep.records import record
from prep.wording import AtTerminal, Sentence

if TYPE_CHECKING:
    from icalendar import Calendar

MOST_TIMES = 2000
"""How often one event may repeat."""
_LONGEST = 2000  # characters kept of a text; a booking's title is a line


@record(frozen=True, slots=True)
class Event:
    """A dated event, as plain text: `title` such as "Rates x 2", `at` the time of day ("09:15"), or empty.

    One that cannot be taken has its `problem`, a sentence, and `where` it stands in the file; its day is then about
    right. `number` counts the events of the file as they stand there; all days of one that repeats have the same.
    """

    on: date
    at: str
    title: str
    place: str = ""
    notes: str = ""
    cancelled: bool = False
    organiser: str = ""
    categories: tuple[str, ...] = ()
    problem: str = ""
    where: str = ""
    number: int = 0


@record(frozen=True, slots=True)
class Expansion:
    """The days, both included, on which events that repeat are taken."""

    first: date
    last: date


def zone_named(name: str) -> ZoneInfo:
    """Find a time zone by its name in the IANA database. Raises PrepError."""
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, KeyError):
        raise PrepError(f'"{name[:40]}" is no time zone; write its IANA name, such as Europe/London.') from None


_NUMBER, _COUNT = "X-PREP-NUMBER", "X-PREP-COUNT"
"""Where an event of a series keeps its number, and how often it repeats, while it is expanded."""
_MORE = 5
"""So many further events that cannot be taken are named."""


def _never(_: Event) -> bool:
    return False


def read_events(
    content: bytes,
    name: str,
    zone: tzinfo | None = None,
    expansion: Expansion | None = None,
    foreign: Callable[[Event], bool] = _never,
) -> tuple[Event, ...]:
    """Read the events of an .ics file by day and time; a time in any zone is turned into the school's `zone`.

    Without one it is turned into the zone that the file names as its own; a date, and a time without a zone, stand
    as they are. Raises PrepError where the file is no calendar, and for the first event that cannot be taken;
    `name` is what the file is called there. One that cannot be taken and is `foreign` to the reader comes with its
    problem instead.
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
    events: list[Event] = []
    number = 0
    for calendar in calendars:
        home = zone or _zone_of(calendar)
        series: dict[str, list[Any]] = {}
        for component in calendar.walk("VEVENT"):
            if expansion and _repeats(component):
                series.setdefault(str(component.get("UID", id(component))), [])
        for component in calendar.walk("VEVENT"):
            number += 1
            try:
                if expansion and (uid := str(component.get("UID", id(component)))) in series:
                    _checked_series(component)
                    component[_NUMBER] = str(number)
                    component.pop(_COUNT, None)  # a file may hold any property
                    series[uid].append(component)
                else:
                    events.append(_event(component, home, number))
            except PrepError as problem:
                events.append(_untaken(component, number, name, problem))
        for parts in filter(None, series.values()):
            try:
                events += _expanded(calendar, parts, home, expansion) if expansion else ()
            except PrepError as problem:
                events.append(_untaken(parts[0], int(parts[0][_NUMBER]), name, problem))
    if wrong := [event for event in events if event.problem and not event.cancelled and not foreign(event)]:
        others = "; ".join(one.where for one in wrong[1 : 1 + _MORE])
        more = f" {plural(len(wrong) - 1, 'more event')} cannot be taken: {others}." if others else ""
        raise PrepError(f"{wrong[0].problem} Nothing was added.{more}")
    return tuple(sorted(events, key=lambda e: (e.on, e.at, e.title)))


def _untaken(component: Any, number: int, name: str, problem: PrepError) -> Event:
    """Keep an event that cannot be taken, by what can be read of it."""
    where = f"event {number}{_called(component)}"
    start = None if component.errors else getattr(component.get("DTSTART"), "dt", None)
    day = start.date() if isinstance(start, datetime) else start if isinstance(start, date) else date.max
    return Event(
        day,
        "",
        _text(component, "SUMMARY"),
        notes=_text(component, "DESCRIPTION"),
        cancelled=_is_cancelled(component),
        problem=Sentence(f"{name}, {where}: ", problem.sentence),
        where=where,
        number=number,
    )


def _is_cancelled(component: Any) -> bool:
    return _text(component, "STATUS").upper() == "CANCELLED"


def _repeats(component: Any) -> bool:
    return any(component.get(part) is not None for part in ("RRULE", "RDATE"))


def _checked_series(component: Any) -> None:
    """Check that an event repeats by days or more, by one rule, and can be read. Raises PrepError."""
    if broken := [str(where) for where, _ in component.errors]:
        raise PrepError(f"its {', '.join(broken)} cannot be read; write it again in the calendar and export.")
    rule = component.get("RRULE")
    if isinstance(rule, list):
        raise PrepError("it repeats by two rules; keep one.")
    if rule is None:
        return
    often = [str(one).upper() for one in rule.get("FREQ", [])]
    within = any(len(rule.get(part, [])) > 1 for part in ("BYHOUR", "BYMINUTE", "BYSECOND"))
    if often not in (["DAILY"], ["WEEKLY"], ["MONTHLY"], ["YEARLY"]) or within:
        raise PrepError("it repeats within a day; a booking repeats by days, weeks, months or years.")


def _expanded(calendar: Any, parts: list[Any], zone: tzinfo | None, span: Expansion) -> list[Event]:
    """Expand one series (RFC 5545, 3.8.5) to its events in a span: its rule, added dates, exceptions and changes."""
    import recurring_ical_events
    from icalendar import Calendar

    alone = Calendar()
    for zones in calendar.walk("VTIMEZONE"):
        alone.add_component(zones)
    for part in parts:
        rule = part.get("RRULE")
        if rule is not None and not rule.get("UNTIL"):
            start = part.get("DTSTART")
            if start is None or isinstance(start, list):
                raise PrepError("it has no start (DTSTART); give its date.")
            last = span.last + timedelta(days=2)  # an end, as a rule that no day ever fits would be searched for ever
            rule["UNTIL"] = [datetime.combine(last, time(), UTC) if isinstance(start.dt, datetime) else last]
            if count := rule.pop("COUNT", None):
                part[_COUNT] = count[0]
        alone.add_component(part)
    counted = next((int(part[_COUNT]) for part in parts if _COUNT in part), None)
    begins = span.first
    if counted is not None:  # a COUNT includes the events before the span
        begins = min(when.date() if isinstance(when := part["DTSTART"].dt, datetime) else when for part in parts)
    try:
        last = span.last if counted is None else _last_counted(alone, begins, span.last, counted)
        found = recurring_ical_events.of(alone).between(begins, last + timedelta(days=1))
    except (ValueError, TypeError, KeyError, OverflowError, recurring_ical_events.InvalidCalendar) as problem:
        raise PrepError(f"how it repeats cannot be read ({_plain(str(problem))[:80]}).") from None
    events = sorted((_event(one, zone, int(one[_NUMBER])) for one in found), key=lambda e: (e.on, e.at))
    if len(events) > MOST_TIMES:
        raise PrepError(f"it repeats more than {MOST_TIMES} times; give it an end.")
    return [event for event in events if span.first <= event.on <= span.last]


def _event(component: Any, zone: tzinfo | None, number: int) -> Event:
    if broken := [str(where) for where, _ in component.errors]:
        raise PrepError(f"its {', '.join(broken)} cannot be read; write it again in the calendar and export.")
    title = _text(component, "SUMMARY")
    if not title:
        raise PrepError("it has no title (SUMMARY); name the demo there.")
    if _repeats(component):
        raise PrepError("it repeats; enter each date as an event of its own.")
    start = _when(component, "DTSTART", zone)
    if start is None:
        raise PrepError("it has no start (DTSTART); give its date.")
    end = _when(component, "DTEND", zone)
    if end is not None and _days(start, end) > 1:
        raise PrepError("it lasts more than a day; enter each day as an event of its own.")
    return Event(
        on=start.date() if isinstance(start, datetime) else start,
        at=f"{start:%H:%M}" if isinstance(start, datetime) else "",
        title=title,
        place=_text(component, "LOCATION"),
        notes=_text(component, "DESCRIPTION"),
        cancelled=_is_cancelled(component),
        organiser=_organiser(component),
        categories=_categories(component),
        number=number,
    )


def _last_counted(calendar: Any, first: date, last: date, count: int) -> date:
    """Find the day of the last of so many: days that are excepted count too (RFC 5545, 3.3.10)."""
    import recurring_ical_events

    excepted = [(part, part.pop("EXDATE")) for part in calendar.walk("VEVENT") if "EXDATE" in part]
    starts = [one["DTSTART"].dt for one in recurring_ical_events.of(calendar).between(first, last + timedelta(days=1))]
    for part, said in excepted:
        part["EXDATE"] = said
    days = sorted(start.date() if isinstance(start, datetime) else start for start in starts)
    return days[count - 1] if len(days) >= count else last


def _organiser(component: Any) -> str:
    """Read the organiser's name (CN), where the calendar gives one; an address is nobody's name."""
    found = component.get("ORGANIZER")
    named = getattr(found, "params", {}).get("CN", "") if found is not None and not isinstance(found, list) else ""
    return _plain(str(named))[:80].strip()


def _categories(component: Any) -> tuple[str, ...]:
    found = component.get("CATEGORIES")
    if found is None:
        return ()
    several = found if isinstance(found, list) else [found]
    return tuple(_plain(str(one))[:80].strip() for some in several for one in getattr(some, "cats", ()))


def _when(component: Any, part: str, zone: tzinfo | None) -> date | datetime | None:
    """Read a date, or a time of day in the school's zone; None where there is none."""
    value = component.get(part)
    if value is None:
        return None
    if isinstance(value, list):
        raise PrepError(f"it has {part} twice; keep one.")
    when = getattr(value, "dt", None)
    if not isinstance(when, date):
        raise PrepError(f"its {part} is no date; write such as 20270111 or 20270111T091500.")
    bounded(when.date() if isinstance(when, datetime) else when)
    if not isinstance(when, datetime):
        return when
    if when.tzinfo is None:
        if named := value.params.get("TZID"):
            raise PrepError(f'its time zone "{str(named)[:40]}" is not known; choose one of the calendar\'s own list.')
        return when
    if zone is None:
        raise PrepError(
            "its time is in a time zone, and the school's is not known; set it first",
            AtTerminal(" (prep plan settings --time-zone Europe/London)"),
            ".",
        )
    return when.astimezone(zone).replace(tzinfo=None)


def _days(start: date | datetime, end: date | datetime) -> int:
    """Count the days that an event touches; the end itself is not part of it."""
    first = start.date() if isinstance(start, datetime) else start
    step = timedelta(microseconds=1) if isinstance(end, datetime) else timedelta(days=1)
    last = end - step
    return ((last.date() if isinstance(last, datetime) else last) - first).days + 1


def _zone_of(calendar: "Calendar") -> tzinfo | None:
    """Find the zone that the calendar names for itself, or that all of its zoned events name; None for none or many."""
    try:
        return zone_named(str(calendar.get("X-WR-TIMEZONE", "")))
    except PrepError:
        sound = [event.get("DTSTART") for event in calendar.walk("VEVENT") if not event.errors]
        starts = [getattr(start, "dt", None) for start in sound]
        named = {str(one.tzinfo): one.tzinfo for one in starts if isinstance(one, datetime) and one.tzinfo}
        named.pop("UTC", None)
        return next(iter(named.values())) if len(named) == 1 else None


def _text(component: Any, part: str) -> str:
    value = component.get(part)
    if isinstance(value, list):
        value = value[0] if value else None
    return _plain("" if value is None else str(value))[:_LONGEST].strip()


def _called(component: Any) -> str:
    said = _text(component, "SUMMARY") or _text(component, "UID")
    return f' "{said[:60]}"' if said else ""


def _plain(text: str) -> str:
    """Remove from a text control characters, which the RFC forbids; a line break stays."""
    return "".join(c for c in text if c == "\n" or c.isprintable()).strip()
