"""Working days: the week, less the days the room is closed."""

from bisect import bisect_left, bisect_right
from datetime import date, timedelta
from functools import cache

from prep.planning.model import Calendar


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
        """The last working day before `day`."""
        at = bisect_left(self.days, day)
        return self.days[at - 1] if at else None

    def last_to(self, day: date) -> date | None:
        """The last working day on or before `day`."""
        at = bisect_right(self.days, day)
        return self.days[at - 1] if at else None

    def next_from(self, day: date) -> date | None:
        """The first working day on or after `day`."""
        at = bisect_left(self.days, day)
        return self.days[at] if at < len(self.days) else None
