"""Bookings from a calendar's events: the title names the demo, the place is the room."""

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from prep.errors import PrepError
from prep.planning.model import Booking
from prep.services.bookings import bookings
from prep.services.bookings.requests import Wanted, coded
from prep.services.files.csv_file import read_bytes
from prep.services.files.ical import Event, read_events, zone_named
from prep.services.inventory import session

_TIMES = re.compile(r"(.*\S)\s*[x×]\s*(\d{1,4})")
_SAID = re.compile(r"^\s*(teacher|period|showings|group)\s*:\s*(.*\S)\s*$", re.IGNORECASE | re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Imported:
    """What was added, and the titles of events that were booked already or are cancelled."""

    added: tuple[Booking, ...]
    passed_over: tuple[str, ...]


def import_calendar(db: Path | None, path: Path, today: date, dry_run: bool, even_closed: bool = False) -> Imported:
    """Add a booking for every event of an .ics file, or none if one is wrong. Raises PrepError naming the event.

    An event that is booked already (same day, time, room and demo) is passed over, so that a calendar may be read
    again; so is one that is cancelled or past. Its notes may say "Teacher: A. Hollis", and so period, showings and
    age group.
    """
    content = read_bytes(path)
    with session.reading(db) if dry_run else session.writing(db) as connection:
        from prep.store import queries

        zone = queries.settings(connection).get("time_zone")
        events = read_events(content, path.name, zone_named(zone) if zone else None)
        on_file = bookings.every(connection)
        there = {_same(b) for b in on_file if b.status == "booked"}
        wanted: list[Wanted] = []
        passed: list[str] = []
        for count, event in enumerate(events, 1):
            said = f'{path.name}, event {count} "{event.title[:60]}" on {event.on}'
            if event.cancelled or event.on < today:
                passed.append(f"{said}: {'cancelled' if event.cancelled else 'past'}")
                continue
            notes = {key.lower(): text for key, text in _SAID.findall(event.notes)}
            try:
                title, showings = _title(event, notes)
                demo = bookings.find_demo(connection, title).code
            except PrepError as problem:
                raise PrepError(f"{said}: {problem}") from None
            period, teacher = notes.get("period", event.at), notes.get("teacher", "")
            booking = Booking("", event.on, period, event.place, teacher, demo, showings)
            if _same(booking) in there:
                passed.append(f"{said}: booked already")
                continue
            there.add(_same(booking))
            wanted.append(Wanted(booking, notes.get("group", ""), said))
        added = coded(wanted, {b.code for b in on_file})
        bookings.put(connection, added, today, even_closed, dry_run)
    return Imported(tuple(one.booking for one in added), tuple(passed))


def _title(event: Event, notes: dict[str, str]) -> tuple[str, int]:
    found = _TIMES.fullmatch(event.title.strip())
    title, text = (found[1], found[2]) if found else (event.title.strip(), notes.get("showings", "1"))
    if not text.isdecimal() or not 1 <= int(text) <= 1000:
        raise PrepError(f'"{text[:20]}" is no number of showings; write 1 to 1000.')
    return title, int(text)


def _same(b: Booking) -> tuple[object, ...]:
    return b.on, b.period, b.room, b.demo
