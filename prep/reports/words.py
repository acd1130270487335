"""How dates and amounts are written for people."""

from collections.abc import Mapping
from datetime import date

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.planning.model import Snapshot

MIND = "Mind: "
"""Before the step that is to be minded throughout."""
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(on: date | None) -> str:
    """`Mon 11 Jan 2027`; the same in every locale."""
    return "" if on is None else f"{_DAYS[on.weekday()]} {on.day} {_MONTHS[on.month - 1]} {on.year}"


def weekday(on: date) -> str:
    """`Mon`."""
    return _DAYS[on.weekday()]


def short_day(on: date | None) -> str:
    """`11 Jan`."""
    return "" if on is None else f"{on.day} {_MONTHS[on.month - 1]}"


def short_date(on: date | None) -> str:
    """`11 Jan 27`, for columns."""
    return "" if on is None else f"{on.day} {_MONTHS[on.month - 1]} {on.year % 100:02d}"


def period_text(period: str) -> str:
    """`period 2` of a bare number, which after a date would be read as part of it; else as it is."""
    return f"period {period}" if period.isdigit() else period


class Names:
    """Items by their names, and amounts in their units."""

    def __init__(self, snapshot: Snapshot) -> None:
        self._names: Mapping[str, str] = {
            **{code: s.name for code, s in snapshot.substances.items()},
            **{code: s.name for code, s in snapshot.solutions.items()},
        }
        self._mass = {c for c, s in snapshot.substances.items() if s.measure is Measure.MASS}

    def of(self, item: str) -> str:
        """The item's name, or its code where it has none."""
        return self._names.get(item, item)

    def amount(self, item: str, base: int) -> str:
        """An amount of the item, such as `250 mL` or `12.5 g`."""
        return quantities.show(base, Measure.MASS if item in self._mass else Measure.VOLUME)
