"""Days: how far away one may lie, what the weekdays are called, and how a person's day is read.

The same wherever a command, or a spreadsheet, takes one.
"""

import re
from dataclasses import dataclass
from datetime import date, timedelta

from prep.errors import PrepError

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
WEEKDAYS = tuple(name[:3] for name in _WEEKDAYS)
"""The short names, Monday first, as the calendar's settings write them."""

FIRST, LAST = date(1950, 1, 1), date(2200, 12, 31)
MOST_DAYS = 36_525
"""A hundred years: the longest that anything keeps or takes to come."""


def bounded(on: date) -> date:
    """The day itself. Raises PrepError for one that is far from any that a prep room means."""
    if not FIRST <= on <= LAST:
        raise PrepError(f"{on} is far away; the years {FIRST.year} to {LAST.year} are accepted.")
    return on


def gone(on: date, today: date) -> date:
    """The day itself, of something that was done. Raises PrepError if it is still to come."""
    if on > today:
        raise PrepError(f"{on} is still to come; give the day it was done, {today} or before.")
    return on


@dataclass(frozen=True, slots=True)
class Done:
    """The day on which something was done, written down on `today`. Raises PrepError for a day still to come."""

    on: date
    today: date

    def __post_init__(self) -> None:
        try:
            gone(self.on, self.today)
        except PrepError as problem:
            raise PrepError(f"--on {problem}") from None

    def before(self, day: date | None) -> bool:
        """Whether it was done before `day`.

        A day after today was written by a clock that has been set back since: it stands in nobody's way.
        """
        return day is not None and self.on < day <= self.today

    def since(self, day: date | None, what: str) -> None:
        """Raises PrepError if it was done before `day`, on which `what` happened."""
        if self.before(day):
            raise PrepError(f"--on {self.on} is before {what}, {day}.")


def read_day(text: str, option: str, today: date) -> date:
    """A day as typed: ISO, `today`, or the next of a weekday. Raises PrepError naming the option."""
    if (weekday := _weekday(text)) is not None:
        return today + timedelta(days=(weekday - today.weekday() - 1) % 7 + 1)
    return _day(text, option, today)


def read_done(text: str | None, option: str, today: date) -> Done:
    """The day of something done as typed: ISO, `today`, or the last of a weekday; else today. Raises PrepError."""
    if text is None:
        return Done(today, today)
    if (weekday := _weekday(text)) is not None:
        return Done(today - timedelta(days=(today.weekday() - weekday) % 7), today)
    return Done(_day(text, option, today), today)


def _weekday(text: str) -> int | None:
    word = text.strip().lower()
    return _WEEKDAYS.index(word) if word in _WEEKDAYS else None


def _day(text: str, option: str, today: date) -> date:
    if text.strip().lower() == "today":
        return today
    try:
        return bounded(date.fromisoformat(text.strip()))
    except ValueError:
        raise PrepError(
            f'{option} "{text[:40]}" is no date; write year-month-day, such as 2027-01-11, or today, or a weekday.'
        ) from None
    except PrepError as problem:
        raise PrepError(f"{option} {problem}") from None


def day_of_cell(text: str) -> date:
    """A date as year-month-day (with midnight, as some sheets write it) or day.month.year. Raises PrepError."""
    bare = re.sub(r"[ T]00:00(:00)?$", "", text)
    if found := re.fullmatch(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", bare):
        bare = f"{found[3]}-{int(found[2]):02d}-{int(found[1]):02d}"
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", bare):
            raise ValueError
        return bounded(date.fromisoformat(bare))
    except ValueError:
        unclear = "is no date that says which is the day and which the month"
        what = unclear if re.fullmatch(r"\d{1,2}[/-]\d{1,2}[/-]\d{2,4}", bare) else "is no date"
        raise PrepError(
            f'"{text[:40]}" {what}; write year-month-day or day.month.year, such as 2027-01-11 or 11.01.2027.'
        ) from None
