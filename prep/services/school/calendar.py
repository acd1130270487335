"""Reads the settings files: working weekdays, closed spans, minutes a day and of single days."""

import tomllib
from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from prep.dates import bounded, weekday_named
from prep.errors import PrepError
from prep.planning.model import Calendar

CALENDAR_KEYS = ("weekdays", "closed", "minutes_per_day", "minutes_on")


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file's table. Raises PrepError."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise PrepError(f"{path}: there is no such file.") from None
    except OSError as problem:
        raise PrepError(f"{path}: {problem.strerror or 'cannot be read'}.") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise PrepError(f"{path.name}: not readable as TOML ({problem}).") from None


def read_calendar(path: Path) -> Calendar:
    """Read weekdays, minutes_per_day, [[closed]] spans and [minutes_on] of a TOML file. Raises PrepError."""
    return calendar_of(read_toml(path), path.name)


def calendar_of(settings: Mapping[str, Any], file: str, base: Calendar | None = None) -> Calendar:
    """Make the calendar that a settings table describes, on top of `base`. Raises PrepError."""
    base = base or Calendar()
    weekdays = base.weekdays
    if "weekdays" in settings:
        given = settings["weekdays"]
        if not isinstance(given, list) or not given:
            raise PrepError(f'{file}: weekdays is a list such as ["mon", "tue"].')
        weekdays = weekdays_of([str(name) for name in given], file)
    closed = dict(base.closed)
    spans = settings.get("closed", [])
    if not isinstance(spans, list) or not all(isinstance(span, dict) and "from" in span for span in spans):
        raise PrepError(f'{file}: each [[closed]] needs "from" and may have "to" and "why".')
    for span in spans:
        where = f"{file}: a closed span"
        first = a_date(span, "from", where)
        last = a_date(span, "to", where) or first
        if first is None or last is None or last < first or (last - first).days > 400:
            raise PrepError(f"{where} must run from one date to a later one, written 2027-02-15.")
        for offset in range((last - first).days + 1):
            closed[first + timedelta(days=offset)] = str(span.get("why", "closed"))
    minutes = settings.get("minutes_per_day", base.minutes_per_day)
    if not isinstance(minutes, int) or isinstance(minutes, bool) or not 0 < minutes <= 1440:
        raise PrepError(f"{file}: minutes_per_day must be from 1 to 1440.")
    return Calendar(weekdays, closed, minutes, {**base.minutes_on, **_minutes_on(settings, file)})


def weekdays_of(names: Sequence[str], where: str) -> frozenset[int]:
    """Read weekdays by their names (0 = Monday). Raises PrepError, beginning with where they stand."""
    found = {name: weekday_named(name) for name in names}
    if unknown := [name for name, number in found.items() if number is None]:
        raise PrepError(where, f': "{unknown[0][:40]}" is no weekday; write mon to sun.')
    return frozenset(number for number in found.values() if number is not None)


def _minutes_on(settings: Mapping[str, Any], file: str) -> dict[date, int]:
    given = settings.get("minutes_on", {})
    wanted = f'{file}: [minutes_on] has lines such as "2027-01-12" = 0, each from 0 to 1440.'
    if not isinstance(given, dict):
        raise PrepError(wanted)
    out = {}
    for text, minutes in given.items():
        try:
            on = date.fromisoformat(text)
        except ValueError:
            raise PrepError(wanted) from None
        if not isinstance(minutes, int) or isinstance(minutes, bool) or not 0 <= minutes <= 1440:
            raise PrepError(wanted)
        out[on] = minutes
    return out


def a_date(settings: Mapping[str, Any], key: str, file: str) -> date | None:
    """Read a date of a settings table, None where it is not given. Raises PrepError for anything else."""
    value = settings.get(key)
    if value is None:
        return None
    if not isinstance(value, date) or isinstance(value, datetime):
        raise PrepError(f"{file}: {key} must be a date, written {key} = 2027-01-11 without quotation marks.")
    try:
        return bounded(value)
    except PrepError as problem:
        raise PrepError(f"{file}: {key} ", problem.sentence) from None
