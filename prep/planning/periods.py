"""Periods of a school day, by the number they are written with."""

import re

_TIME = re.compile(r"\s*(\d{1,2})[:.](\d{2})(?!\d)")
_NUMBER = re.compile(r"\s*[^\W\d_]*\.?\s*(\d{1,3})(?!\d)")


def period_number(text: str) -> int:
    """The leading number of a period (`P3`, `Period 3`, `3rd` -> 3); a time as hours and minutes (`9:45` -> 945).

    0 where there is none: such a booking has the whole day.
    """
    if not text:
        return 0
    if time := _TIME.match(text):
        return int(time[1]) * 100 + int(time[2])
    found = _NUMBER.match(text)
    return int(found[1]) if found else 0
