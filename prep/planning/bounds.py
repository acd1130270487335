"""How far away a day may lie, so that a slip in a year is found at once and no reckoning leaves the calendar."""

from datetime import date

from prep.errors import PrepError

FIRST, LAST = date(1950, 1, 1), date(2200, 12, 31)
MOST_DAYS = 36_525
"""A hundred years: the longest that anything keeps or takes to come."""


def bounded(on: date) -> date:
    """The day itself. Raises PrepError for one that is far from any that a prep room means."""
    if not FIRST <= on <= LAST:
        raise PrepError(f"{on} is far away; the years {FIRST.year} to {LAST.year} are accepted.")
    return on
