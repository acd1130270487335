"""Days: how far away one may lie, what the weekdays are called, and how a person's day is read and written.

The same wherever a command, or a spreadsheet, takes one.
"""

import re
from calendar import monthrange
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from datetime import date, time, timedelta
from difflib import get_close_matches
from enum import StrEnum

from prep.errors import PrepError
from prep.records import record
from prep.wording import AtTerminal, Flag

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
WEEKDAYS = tuple(name[:3] for name in _WEEKDAYS)
"""The short names, Monday first, as the calendar's settings write them."""

MONTHS = "january february march april may june july august september october november december".split()
"""The months' names, January first."""


WEEKDAY_NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_ISO = re.compile(r"(?<![@\w\"-])\d{4}-\d\d-\d\d(?![\w\"-])")


def day(on: date | None) -> str:
    """Write a day as `Mon 11 Jan 2027`; the same in every locale."""
    return "" if on is None else f"{WEEKDAY_NAMES[on.weekday()]} {day_alone(on)}"


def day_alone(on: date) -> str:
    """Write a day as `11 Jan 2027`, for columns."""
    return f"{on.day} {MONTH_NAMES[on.month - 1]} {on.year}"


def in_days(text: str, write: Callable[[date], str] = day) -> str:
    """Rewrite the ISO days in a sentence as `Thu 14 Jan 2027`.

    What follows an option, or stands in quotes, was typed or is to be typed, and stays.
    """

    def said(found: re.Match[str]) -> str:
        before = text[: found.start()].split()
        try:
            return found[0] if before and before[-1].startswith("--") else write(date.fromisoformat(found[0]))
        except ValueError:
            return found[0]

    return _ISO.sub(said, text)


class DayOrder(StrEnum):
    """Which comes first in a day of figures alone, 8/12."""

    DAY_FIRST = "day-first"
    MONTH_FIRST = "month-first"


Order = Callable[[], DayOrder | None]
"""Says the school's order, where it has set one; asked only where a day can be read in two ways."""

FIRST, LAST = date(1950, 1, 1), date(2200, 12, 31)
MOST_DAYS = 36_525
"""A hundred years: the longest that anything keeps or takes to come."""


def bounded(on: date) -> date:
    """Check a day. Raises PrepError for one that is far from any that a prep room means."""
    if not FIRST <= on <= LAST:
        raise PrepError(f"{on} is far away; the years {FIRST.year} to {LAST.year} are accepted.")
    return on


def gone(on: date, today: date) -> date:
    """Check the day of something that was done. Raises PrepError if it is still to come."""
    if on > today:
        raise PrepError(f"{on} is still to come; give the day it was done, {today} or before.")
    return on


@record(frozen=True, slots=True)
class DoneOn:
    """The day on which something was done, written down on `today`. Raises PrepError for a day still to come."""

    on: date
    today: date

    def __post_init__(self) -> None:
        try:
            gone(self.on, self.today)
        except PrepError as problem:
            raise PrepError(Flag("--on"), f" {problem}") from None

    def before(self, day: date | None) -> bool:
        """Tell whether it was done before `day`.

        A day after today was written by a clock that has been set back since: it refuses nothing.
        """
        return day is not None and self.on < day <= self.today

    def since(self, day: date | None, what: str) -> None:
        """Raise PrepError if it was done before `day`, on which `what` happened."""
        if self.before(day):
            raise PrepError(Flag("--on"), f" {self.on} is before {what}, {day}.")


@record(frozen=True, slots=True)
class Deliveries:
    """When a day's deliveries come, and when its periods begin, by their names; empty where the school says nothing."""

    come: time | None = None
    begins: Mapping[str, time] = field(default_factory=dict)

    @classmethod
    def read(cls, come: str, periods: str) -> "Deliveries":
        """Read deliveries and periods from a school's settings: `10:30`, and `P1=09:00-10:00;P2=10:05-11:05`."""
        spans = (one.partition("=") for one in periods.split(";") if one)
        begins = {name.casefold(): time.fromisoformat(span[:5]) for name, _, span in spans}
        return cls(time.fromisoformat(come) if come else None, begins)

    def begin(self, period: str) -> time | None:
        """Find when a booking's period begins: as it says itself, `9:45`, or as the school's list does."""
        if said := re.match(r"\s*([01]?\d|2[0-3])[:.]([0-5]\d)(?!\d)", period):
            return time(int(said[1]), int(said[2]))
        named = self.begins.get(" ".join(period.casefold().split()))
        number = re.search(r"\d+", period)
        if named is not None or number is None:
            return named
        return next((at for name, at in self.begins.items() if re.findall(r"\d+", name) == [number[0]]), None)

    def too_late_for(self, period: str) -> bool:
        """Tell whether what comes on the day comes when the period has begun.

        Never where one of the two is not known.
        """
        begins = self.begin(period) if self.come is not None else None
        return self.come is not None and begins is not None and begins <= self.come


def read_day(text: str, option: str, today: date, order: Order = lambda: None) -> date:
    """Read a day as people write it, the next such where it can be several: tomorrow, monday, 8 dec.

    Raises PrepError. `order` is asked where a day of figures alone can be read in two ways (8/12). The option is
    named in errors.
    """
    return _read(text, option, today, order, ahead=True)


def read_done(text: str | None, option: str, today: date, order: Order = lambda: None) -> DoneOn:
    """Read the day of something done as people write it, the last such where it can be several.

    Raises PrepError.
    """
    return DoneOn(today if text is None else _read(text, option, today, order, ahead=False), today)


def read_use_by(text: str, option: str, today: date, order: Order = lambda: None) -> date:
    """Read a use-by as it stands on a label: a day, or a month, 12/2030, whose last day it is.

    Raises PrepError.
    """
    bare = " ".join(text.replace(",", " ").split()).lower()
    return _last_of_month(bare) or _read(text, option, today, order, ahead=True, forms=f"12/2030, {_FORMS}")


def _last_of_month(bare: str) -> date | None:
    """Find the last day of 12/2030, 2030-12 or dec 2030; None for anything else."""
    month = year = 0
    if found := re.fullmatch(r"(\d{1,2})\s*[/.-]\s*(\d{4})|(\d{4})\s*[/.-]\s*(\d{1,2})", bare):
        month, year = int(found[1] or found[4]), int(found[2] or found[3])
    elif (found := re.fullmatch(r"([a-z]{3,9})\.?\s*(\d{4})", bare)) and (
        named := _named(found[1], MONTHS)
    ) is not None:
        month, year = named + 1, int(found[2])
    if not 1 <= month <= 12 or not FIRST.year <= year <= LAST.year:
        return None
    return date(year, month, monthrange(year, month)[1])


_FORMS = "11 jan, today, tomorrow or a weekday"
_YEAR_FIRST = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})")
"""A day that can be read in one way only, in whatever figures it is written: 2027-03-09, 2027-3-9, 2027/3/9."""


def _read(text: str, option: str, today: date, order: Order, *, ahead: bool, forms: str = _FORMS) -> date:
    words = " ".join(text.replace(",", " ").split()).lower()
    try:
        found = (
            _by_word(words, today, ahead) or _by_month(words, today, ahead) or _by_figures(words, today, order, ahead)
        )
        return bounded(found or date.fromisoformat(words))
    except ValueError:
        raise PrepError(
            option,
            f' "{text[:40]}" is no date; write year-month-day, such as 2027-01-11, or {forms}.{_meant(words)}',
        ) from None
    except PrepError as problem:
        raise PrepError(option, f" {problem}") from None


_NEAR = {"today": 0, "tomorrow": 1, "yesterday": -1}
_WHICH = ("next", "last", "this")
_WORDS = (*_NEAR, *_WEEKDAYS, *MONTHS, *_WHICH, *WEEKDAYS, "in", "ago", "day", "days", "week", "weeks")
_LIKENESS = 0.7
"""The least likeness of a word to the one that it may be meant for (difflib): `mondya` and `monday` have 0.83."""


def _meant(words: str) -> str:
    """Say which day may be meant where a word of it has a slip: ` Near: next monday.`; empty where none is near."""
    typed = words[:40].split()
    meant = [
        one if one in _WORDS or one[:1].isdigit() else next(iter(get_close_matches(one, _WORDS, 1, _LIKENESS)), "")
        for one in typed
    ]
    return f" Near: {' '.join(meant)}." if all(meant) and meant != typed else ""


def _by_word(words: str, today: date, ahead: bool) -> date | None:
    """Read today, tomorrow, in 3 days, 2 weeks ago, monday, next monday, last friday; None for anything else.

    A weekday alone is the next one (or the last, of what was done); `next` is the week after this one.
    """
    if words in _NEAR:
        return today + timedelta(days=_NEAR[words])
    if found := re.fullmatch(r"(in )?(\d{1,4}) (day|week)s?( ago)?", words):
        if bool(found[1]) == bool(found[4]):
            return None
        days = int(found[2]) * (7 if found[3] == "week" else 1)
        return today + timedelta(days=days if found[1] else -days)
    found = re.fullmatch(rf"(?:({'|'.join(_WHICH)})\s+)?([a-z]+)", words)
    weekday = _named(found[2], _WEEKDAYS) if found else None
    if found is None or weekday is None:
        return None
    monday = today - timedelta(days=today.weekday())
    if found[1] in ("next", "this"):
        return monday + timedelta(days=weekday + (7 if found[1] == "next" else 0))
    if found[1] == "last":
        return today - timedelta(days=(today.weekday() - weekday - 1) % 7 + 1)
    if ahead:
        return today + timedelta(days=(weekday - today.weekday() - 1) % 7 + 1)
    return today - timedelta(days=(today.weekday() - weekday) % 7)


def _by_month(words: str, today: date, ahead: bool) -> date | None:
    """Read 8 dec, 8th December 2026, dec 8, tue 8 dec; the next such (or the last) where no year is written."""
    bare = re.sub(r"^([a-z]{3,9})\.? (?=\d)", lambda m: m[0] if _named(m[1], _WEEKDAYS) is None else "", words)
    found = re.fullmatch(r"(\d{1,2})(?:st|nd|rd|th|\.)? ?([a-z]{3,9})\.?(?: (\d{4}|\d{2}))?", bare)
    day, name, year = found.groups() if found else (None, None, None)
    if found is None:
        found = re.fullmatch(r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?(?: (\d{4}))?", bare)
        name, day, year = found.groups() if found else (None, None, None)
    month = _named(name, MONTHS) if name else None
    return None if month is None or day is None else _dated(int(day), month + 1, year, today, ahead)


def _by_figures(words: str, today: date, order: Order, ahead: bool) -> date | None:
    """Read 2026-12-8; 8.12. or 8.12.2026, the day first; 8/12 or 8-12-2026 in the school's order.

    The order counts where it can be read in two ways.
    """
    if found := _YEAR_FIRST.fullmatch(words):
        return date(int(found[1]), int(found[3]), int(found[4]))
    if found := re.fullmatch(r"(\d{1,2})\.(\d{1,2})\.?(\d{4}|\d{2})?", words):
        return _dated(int(found[1]), int(found[2]), found[3], today, ahead)
    found = re.fullmatch(r"(\d{1,2})[/-](\d{1,2})(?:[/-](\d{4}|\d{2}))?", words)
    if found is None:
        return None
    first, second, year = int(found[1]), int(found[2]), found[3]
    if first <= 12 and second <= 12 and first != second:
        said = order()
        if said is None:
            raise PrepError(
                f'"{words}" can be read in two ways, {first} {MONTHS[second - 1]} or {second} {MONTHS[first - 1]}; '
                f"write such as {first} {MONTHS[second - 1]}, or set the school's order",
                AtTerminal(": prep usual --dates day-first"),
                ".",
            )
        day_first = said is DayOrder.DAY_FIRST
    else:
        day_first = second <= 12
    return _dated(*((first, second) if day_first else (second, first)), year, today, ahead)


def _dated(day: int, month: int, year: str | None, today: date, ahead: bool) -> date:
    """Find the day of that year; without one the next such day, or the last.

    Raises ValueError where there is none.
    """
    if year is not None:
        return date(int(year) + (2000 if len(year) == 2 else 0), month, day)
    if (day, month) == (29, 2):
        raise ValueError
    found = date(today.year, month, day)
    if ahead and found < today:
        return found.replace(year=today.year + 1)
    return found.replace(year=today.year - 1) if not ahead and found > today else found


def _named(word: str | None, names: Sequence[str]) -> int | None:
    """Find which of the names a word is, in full or its first three letters or more."""
    if not word or len(word) < 3:
        return None
    return next((at for at, name in enumerate(names) if name.startswith(word)), None)


def weekday_named(word: str) -> int | None:
    """Find the weekday (0 = Monday) by its name, three letters of it or more, or a plural; None where it is none."""
    plain = word.strip().lower()
    found = _named(plain, _WEEKDAYS)
    return _named(plain.removesuffix("s"), _WEEKDAYS) if found is None else found


def short_words(on: date) -> str:
    """Write the day as a sentence says it: `3 Feb`."""
    return f"{on.day} {MONTHS[on.month - 1][:3].capitalize()}"


def use_by_of_cell(text: str, order: DayOrder | None = None) -> date:
    """Read a use-by of a list of bottles: a day as `day_of_cell` reads it, or a month, 12/2030.

    Raises PrepError.
    """
    return _last_of_month(" ".join(text.split()).lower()) or day_of_cell(text, order)


def day_of_cell(text: str, order: DayOrder | None = None) -> date:
    """Read a date as year-month-day (with midnight, as some sheets write it) or day.month.year.

    With the school's `order` 7/12/2026 is read too, and 31/12/2026 without it. Raises PrepError.
    """
    bare = re.sub(r"[ T]00:00(:00)?$", "", text)
    found = re.fullmatch(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})", bare)
    if found and order is None and (int(found[1]) > 12) is not (int(found[2]) > 12):  # one of the two is no month
        order = DayOrder.DAY_FIRST if int(found[1]) > 12 else DayOrder.MONTH_FIRST
    if order and found:
        month, day = (found[1], found[2]) if order is DayOrder.MONTH_FIRST else (found[2], found[1])
        bare = f"{found[3]}-{int(month):02d}-{int(day):02d}"
    if found := re.fullmatch(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", bare):
        bare = f"{found[3]}-{int(found[2]):02d}-{int(found[1]):02d}"
    if found := _YEAR_FIRST.fullmatch(bare):
        bare = f"{found[1]}-{int(found[3]):02d}-{int(found[4]):02d}"
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
