"""Bookings from a calendar's events: the title names the demo, the place is the room, the organiser the teacher."""

import re
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from prep.errors import Misspelt, NotOnFile, PrepError
from prep.planning.model import Booking
from prep.services.bookings import bookings
from prep.services.bookings.bookable import names_of
from prep.services.bookings.booking_import import ImportedBookings, ImportOptions, SortedRows, taken_in
from prep.services.bookings.requests import BookableNames, BookingRequest, WantedBooking, coded, find_demo_in
from prep.services.files.csv_file import read_bytes
from prep.services.files.ical import Event, Expansion, read_events, zone_named
from prep.services.files.imports import Fate
from prep.services.input.act import Act
from prep.services.inventory import session
from prep.store import table_rows
from prep.wording import Sentence

if TYPE_CHECKING:
    from sqlalchemy import Connection

HORIZON = timedelta(days=400)
"""Events that repeat are taken so far ahead."""
_TIMES = re.compile(r"(.*\S)\s*[x×]\s*(\d{1,4})")
_TIMES_AND_MORE = re.compile(r"(.*\S)\s+[x×]\s*(\d{1,4})\b(?!\s*[A-Za-z]*\s*(?:m?L|g)\b)(.+)")
_AROUND = " :,;/()[]-–—"
_SAID = re.compile(r"^\s*(teacher|period|showings|group|class|note)\s*:\s*(.*\S)\s*$", re.IGNORECASE | re.MULTILINE)


def import_calendar(db: Path | None, path: Path, how: ImportOptions, act: Act) -> ImportedBookings:
    """Add a booking for every event of an .ics file, or none if one is wrong.

    An event that is booked already (same day, time, room and demo) is passed over, so that a calendar may be read
    again; so is one that is cancelled or past, or that nobody marks as a demonstration: a title of which no word names
    one, without notes for the prep room, whatever else is the matter with it. One that repeats is taken date by date,
    as far ahead as HORIZON.
    Its notes may say "Teacher: A. Hollis", and so period, showings and group; else the organiser is the teacher,
    and an age group of the school in the title or as a category is the group. Raises PrepError for a file that is no
    calendar; Refused as `taken_in`.
    """
    content = read_bytes(path)
    with session.reading(db) as connection:
        zone = table_rows.settings(connection).get("time_zone")
        ahead = Expansion(act.on, act.on + HORIZON)
        events = read_events(
            content,
            path.name,
            zone_named(zone) if zone else None,
            ahead,
            lambda _: True,
        )

    def work(connection: "Connection") -> SortedRows:
        on_file, names = bookings.every(connection), names_of(connection)
        there = {_same(b) for b in on_file if b.stands}
        wanted: list[WantedBooking] = []
        passed: list[Fate] = []
        wrong: list[Fate] = []
        for event in events:
            count = event.number
            of = f'"{event.title[:60]}"' + ("" if event.on == date.max else f" on {event.on}")
            said = f"{path.name}, event {count} {of}"
            if event.cancelled or event.on < act.on:
                passed.append(Fate(path.name, count, f"{of}: {'cancelled' if event.cancelled else 'past'}", False))
                continue
            try:
                if _is_foreign(event, names):
                    passed.append(Fate(path.name, count, f"{of}: no demonstration on file", False))
                    continue
                if event.problem:
                    wrong.append(Fate(path.name, count, event.problem, True))
                    continue
                booking = names.booking(_request(event, names))
            except PrepError as problem:
                wrong.append(Fate(path.name, count, Sentence(f"{said}: ", problem.sentence), True))
                continue
            if _same(booking) in there:
                passed.append(Fate(path.name, count, f"{of}: booked already", False))
                continue
            there.add(_same(booking))
            wanted.append(WantedBooking(booking, said, path.name, count))
        return SortedRows(coded(wanted, {b.code for b in on_file}), tuple(passed), tuple(wrong))

    return taken_in(db, work, how, act)


def _request(event: Event, names: BookableNames) -> BookingRequest:
    notes = {key.lower(): text for key, text in _SAID.findall(event.notes)}
    title, showings = _title(event, notes)
    title, titled = _apart(title, names)
    group = notes.get("group", notes.get("class", titled))
    return BookingRequest(
        demo=title,
        on=event.on,
        showings=showings,
        period=notes.get("period", event.at),
        room=event.place,
        teacher=notes.get("teacher", event.organiser),
        group=group or next(filter(None, (_group(one, names) for one in event.categories)), ""),
        note=notes.get("note", ""),
    )


def _is_foreign(event: Event, names: BookableNames) -> bool:
    """Tell whether an event is no booking: it names no demo, nor nearly one, and carries no note for prep."""
    notes = {key.lower(): text for key, text in _SAID.findall(event.notes)}
    title, _ = _title(event, notes)
    title, _ = _apart(title, names)
    if notes or _TIMES.fullmatch(event.title.strip()):
        return False
    try:
        find_demo_in(names.on_file.demos, title)
    except Misspelt:  # nearly a demo's name: a booking, to be told
        return False
    except NotOnFile:
        return True
    except PrepError:
        return False
    return False


def _apart(title: str, names: BookableNames) -> tuple[str, str]:
    """Split a title into the demo and the age group before or after it: "Year 9: Blue bottle"."""
    words = title.split()
    if names.any_group or _is_demo(title, names):
        return title, ""
    for many in range(1, min(4, len(words))):
        for said, left in ((words[:many], words[many:]), (words[-many:], words[:-many])):
            demo = " ".join(left).strip(_AROUND)
            if (group := _group(" ".join(said).strip(_AROUND), names)) and _is_demo(demo, names):
                return demo, group
    return title, ""


def _is_demo(title: str, names: BookableNames) -> bool:
    try:
        return bool(find_demo_in(names.on_file.demos, title))
    except PrepError:
        return False


def _group(text: str, names: BookableNames) -> str:
    """Find the age group that a category names; empty where it names none, as most do."""
    try:
        return names.group(text)
    except PrepError:
        return ""


def _title(event: Event, notes: dict[str, str]) -> tuple[str, int]:
    found = _TIMES.fullmatch(event.title.strip())
    if found is None and (inside := _TIMES_AND_MORE.fullmatch(event.title.strip())):  # "blue bottle x2 (Year 8)"
        return _counted(f"{inside[1]} {inside[3].strip(_AROUND)}", inside[2])
    title, text = (found[1], found[2]) if found else (event.title.strip(), notes.get("showings", "1"))
    return _counted(title, text)


def _counted(title: str, text: str) -> tuple[str, int]:
    if not text.isdecimal() or not 1 <= int(text) <= 1000:
        raise PrepError(f'"{text[:20]}" is no number of showings; write 1 to 1000.')
    return title, int(text)


def _same(b: Booking) -> tuple[object, ...]:
    return b.on, b.period, b.room, b.demo
