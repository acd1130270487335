"""Working days: the week, less the days the room is closed; and the periods of a day, by their numbers."""

import re
from bisect import bisect_left, bisect_right
from collections.abc import Callable
from datetime import date, timedelta
from functools import cache

from prep.planning.model import Booking, Calendar

_TIME = re.compile(r"\s*(\d{1,2})[:.](\d{2})(?!\d)")
_NUMBER = re.compile(r"\s*[^\W\d_]*\.?\s*(\d{1,3})(?!\d)")


class Workdays:
    """The working days from `first` to `last`, both included, for fast look-ups.

    `last_before` and `next_from` answer None when there is no such day in the span: a calendar with no
    working day is a finding, never a guess.
    """

    def __init__(self, calendar: Calendar, first: date, last: date) -> None:
        self.calendar = calendar
        self.days = tuple(
            day for offset in range((last - first).days + 1) if calendar.works(day := first + timedelta(days=offset))
        )
        self._set = frozenset(self.days)
        self.last_before = cache(self._last_before)

    def __contains__(self, day: date) -> bool:
        return day in self._set

    def _last_before(self, day: date) -> date | None:
        """Find the last working day before `day`."""
        at = bisect_left(self.days, day)
        return self.days[at - 1] if at else None

    def last_to(self, day: date) -> date | None:
        """Find the last working day on or before `day`."""
        at = bisect_right(self.days, day)
        return self.days[at - 1] if at else None

    def next_from(self, day: date) -> date | None:
        """Find the first working day on or after `day`."""
        at = bisect_left(self.days, day)
        return self.days[at] if at < len(self.days) else None


def period_number(text: str) -> int:
    """Read the leading number of a period (`P3`, `Period 3`, `3rd` -> 3); a time `9:45` gives 945.

    0 where there is none: such a booking has the whole day.
    """
    if not text:
        return 0
    if time := _TIME.match(text):
        return int(time[1]) * 100 + int(time[2])
    found = _NUMBER.match(text)
    return int(found[1]) if found else 0


def by_number(code: str) -> tuple[int, str]:
    """Tell where a code of letters and a number stands among others of its letters: P2 before P10."""
    return len(code), code


def in_order_of_the_day(booking: Booking) -> tuple[int, str, str, int, str]:
    """Tell where a booking stands in its day: by its period as a number (P2 before P10), its room and its code."""
    return period_number(booking.period), booking.period, booking.room, len(booking.code), booking.code


class OrdinalDays:
    """The last working day on or before a day, as ordinals, each looked up once; 0 = none."""

    def __init__(self, last_workday: Callable[[date], date | None]) -> None:
        self._ask = last_workday
        self._known: dict[int, int] = {}

    def last(self, day: int) -> int:
        known = self._known.get(day)
        if known is None:
            found = self._ask(date.fromordinal(day)) if day > 0 else None
            known = self._known[day] = found.toordinal() if found is not None else 0
        return known

    def between(self, early: int, late: int) -> list[int]:
        """List the working days from `early` to `late`, the latest first."""
        out: list[int] = []
        day = self.last(late)
        while day and day >= early:
            out.append(day)
            day = self.last(day - 1)
        return out
