"""Reading the days that a person types: the same wherever a command takes one."""

from datetime import date, timedelta

from prep.errors import PrepError

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def read_day(text: str, option: str, today: date) -> date:
    """A day as typed: ISO, `today`, or the next of a weekday. Raises PrepError naming the option."""
    word = text.strip().lower()
    if word == "today":
        return today
    if word in _WEEKDAYS:
        return today + timedelta(days=(_WEEKDAYS.index(word) - today.weekday() - 1) % 7 + 1)
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise PrepError(
            f'{option} "{text[:40]}" is no date; write year-month-day, such as 2027-01-11, or today, or a weekday.'
        ) from None
