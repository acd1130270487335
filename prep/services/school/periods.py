"""When the school's periods are: from the list it keeps, or from a booking that names the time itself."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import time
from pathlib import Path

from prep.errors import PrepError
from prep.planning.workdays import period_number
from prep.services.inventory import session
from prep.store import table_rows
from prep.wording import Flag

PERIODS = "period_times"
"""The setting that keeps them, such as `P1=09:00-10:00;P2=10:05-11:05`."""
_CLOCK = r"([01]?\d|2[0-3])[:.]([0-5]\d)"
_SPAN = re.compile(rf"{_CLOCK}(?:\s*[-–]\s*{_CLOCK})?")


@dataclass(frozen=True, slots=True)
class LessonTimes:
    """When a lesson begins and, where that is known, ends."""

    begins: time
    ends: time | None = None


def read_span(text: str) -> LessonTimes | None:
    """Read `9:00-10:00`, or `9:00` alone; None for what is no time."""
    found = _SPAN.fullmatch(" ".join(text.split()))
    if found is None:
        return None
    begins = time(int(found[1]), int(found[2]))
    ends = time(int(found[3]), int(found[4])) if found[3] else None
    return None if ends and ends <= begins else LessonTimes(begins, ends)


def read_periods(texts: Iterable[str]) -> dict[str, LessonTimes]:
    """Read `P1=09:00-10:00` and so on. Raises PrepError for what is none."""
    out: dict[str, LessonTimes] = {}
    for text in texts:
        name, _, span = text.partition("=")
        found = read_span(span)
        if not name.strip() or ";" in name or found is None or found.ends is None:
            raise PrepError(Flag("--period"), f' "{text[:40]}": write a period and its times, such as P1=09:00-10:00.')
        out[" ".join(name.split())] = found
    return out


def text_of(periods: Mapping[str, LessonTimes]) -> str:
    """Write the periods as the setting keeps them."""
    return ";".join(f"{name}={one.begins:%H:%M}-{one.ends or one.begins:%H:%M}" for name, one in periods.items())


def times_of(period: str, periods: Mapping[str, LessonTimes]) -> LessonTimes | None:
    """Find when a booking's period is: as it says itself, as the school's list does, or None."""
    if said := read_span(period):
        return said
    by_name = {name.casefold(): one for name, one in periods.items()}
    if found := by_name.get(" ".join(period.casefold().split())):
        return found
    number = period_number(period)
    return next((one for name, one in periods.items() if number and period_number(name) == number), None)


@dataclass(frozen=True, slots=True)
class SchoolPeriods:
    """When a school's periods are, and in which time zone; empty where they are not set."""

    times: dict[str, LessonTimes]
    zone: str


def of_school(db: Path | None) -> SchoolPeriods:
    """Read the school's periods. Raises PrepError."""
    with session.reading(db) as connection:
        settings = table_rows.settings(connection)
    kept = settings.get(PERIODS, "")
    return SchoolPeriods(read_periods(kept.split(";")) if kept else {}, settings.get("time_zone", ""))
