"""Bookings from a calendar's events: the title names the demo, the place is the room."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from prep.errors import PrepError
from prep.planning.model import Booking
from prep.services import booking as bookings
from prep.services import session

_TIMES = re.compile(r"(.*\S)\s*[x×]\s*(\d{1,4})")
_SAID = re.compile(r"^\s*(teacher|period|showings)\s*:\s*(.*\S)\s*$", re.IGNORECASE | re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Event:
    """A calendar's event, as plain text: `title` such as "Rates x 2"; `notes` may say "Teacher: A. Hollis"."""

    on: date
    at: str
    title: str
    place: str = ""
    notes: str = ""
    cancelled: bool = False


@dataclass(frozen=True, slots=True)
class Imported:
    """What was added, and the titles of events that were booked already or are cancelled."""

    added: tuple[Booking, ...]
    passed_over: tuple[str, ...]


def import_events(db: Path | None, events: Sequence[Event], name: str, today: date, dry_run: bool) -> Imported:
    """Add a booking for every event, or none if one is wrong. Raises PrepError naming the event.

    An event that is booked already (same day, time, room and demo) is passed over, so that a calendar may be read
    again; so is one that is cancelled or past.
    """
    with session.writing(db) as connection:
        from prep.services.governing import refuse_bookings
        from prep.store import seeding

        there = {_same(b) for b in bookings.every(connection) if b.status == "booked"}
        first = bookings.next_code(connection)
        number = int(first[1:])
        added: list[Booking] = []
        passed: list[str] = []
        for count, event in enumerate(events, 1):
            said = f'{name}, event {count} "{event.title[:60]}" on {event.on}'
            if event.cancelled or event.on < today:
                passed.append(f"{said}: {'cancelled' if event.cancelled else 'past'}")
                continue
            try:
                title, showings = _title(event)
                wanted = _booking(event, bookings.find_demo(connection, title).code, showings)
            except PrepError as problem:
                raise PrepError(f"{said}: {problem}") from None
            if _same(wanted) in there:
                passed.append(f"{said}: booked already")
                continue
            there.add(_same(wanted))
            added.append(replace(wanted, code=f"B{number}"))
            number += 1
        refuse_bookings(connection, added)
        if not dry_run:
            seeding.put_bookings(connection, added)
    return Imported(tuple(added), tuple(passed))


def _title(event: Event) -> tuple[str, int]:
    found = _TIMES.fullmatch(event.title.strip())
    notes = {key.lower(): text for key, text in _SAID.findall(event.notes)}
    title, text = (found[1], found[2]) if found else (event.title.strip(), notes.get("showings", "1"))
    if not text.isdigit() or not 1 <= int(text) <= 1000:
        raise PrepError(f'"{text[:20]}" is no number of showings; write 1 to 1000.')
    return title, int(text)


def _booking(event: Event, demo: str, showings: int) -> Booking:
    notes = {key.lower(): text for key, text in _SAID.findall(event.notes)}
    parts = (notes.get("period", event.at), event.place, notes.get("teacher", ""))
    if any(len(text) > 80 or (text and not text.isprintable()) for text in parts):
        raise PrepError("its period, room and teacher are at most 80 printable characters each.")
    period, room, teacher = parts
    return Booking("", event.on, period, room, teacher, demo, showings)


def _same(b: Booking) -> tuple[object, ...]:
    return b.on, b.period, b.room, b.demo
