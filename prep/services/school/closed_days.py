"""The days on which the room is closed: holidays, half term, training days; added, listed, taken off."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from prep.books import JobKind
from prep.errors import PrepError
from prep.planning.model import Booking
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.store import queries
from prep.wording import AtTerminal

_LONGEST = 400  # days: a longer span is taken for a mistyped year


@dataclass(frozen=True, slots=True)
class ClosedSpan:
    """Closed days one after the other, both ends included, and why."""

    first: date
    last: date
    why: str


@dataclass(frozen=True, slots=True)
class ClosedDays:
    """What was closed, and the bookings that stand on those days."""

    span: ClosedSpan
    bookings: tuple[Booking, ...]


def spans(closed: Mapping[date, str]) -> list[ClosedSpan]:
    """Join closed days to spans, in order.

    >>> spans({date(2027, 2, 15): "half term", date(2027, 2, 16): "half term"})
    [ClosedSpan(first=datetime.date(2027, 2, 15), last=datetime.date(2027, 2, 16), why='half term')]
    """
    out: list[ClosedSpan] = []
    for on, why in sorted(closed.items()):
        if out and out[-1].why == why and out[-1].last + timedelta(days=1) == on:
            out[-1] = ClosedSpan(out[-1].first, on, why)
        else:
            out.append(ClosedSpan(on, on, why))
    return out


def listed(db: Path | None) -> list[ClosedSpan]:
    """List every span that the room is closed."""
    with session.reading(db) as connection:
        return spans(queries.closed(connection))


def add(db: Path | None, first: date, last: date, why: str, by: str, on: date) -> ClosedDays:
    """Close the days from `first` to `last`, and say which bookings stand on them. Raises PrepError."""
    days = _days(first, last)
    printable(why, label="Why it is closed")
    from prep.store import ledger, queries, seeding

    with session.writing(db) as connection:
        seeding.put_closed(connection, dict.fromkeys(days, why))
        ledger.begin(connection, JobKind.SETTINGS, by, on, f"calendar: closed {_said(first, last)}, {why}")
        booked = [b for b in queries.bookings(connection) if b.stands and first <= b.on <= last]
    return ClosedDays(ClosedSpan(first, last, why), tuple(booked))


def remove(db: Path | None, first: date, last: date, by: str, on: date) -> list[ClosedSpan]:
    """Open the closed days from `first` to `last` again; returns what they were. Raises PrepError if there are none."""
    days = _days(first, last)
    from prep.store import ledger, queries, seeding

    with session.writing(db) as connection:
        gone = {day: why for day, why in queries.closed(connection).items() if first <= day <= last}
        if not gone:
            raise PrepError(
                f"The room is not closed {_said(first, last)}", AtTerminal("; see: prep plan closed list", ".")
            )
        seeding.drop_closed(connection, days)
        ledger.begin(connection, JobKind.SETTINGS, by, on, f"calendar: open again {_said(first, last)}")
    return spans(gone)


def _days(first: date, last: date) -> Iterable[date]:
    if last < first:
        raise PrepError(f"The closed days run backwards: {last} is before {first}.")
    if (last - first).days > _LONGEST:
        raise PrepError(f"At most {_LONGEST} days are closed at once; {first} to {last} is longer.")
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def _said(first: date, last: date) -> str:
    return f"on {first}" if first == last else f"from {first} to {last}"
