"""Bookings of a file: all of its rows, or none and why each that is wrong is wrong."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.errors import PrepError, Refused
from prep.planning.booking_answer import BookingAnswer
from prep.planning.model import Booking
from prep.services.bookings import answers
from prep.services.bookings.bookable import names_of
from prep.services.bookings.bookings import RULES, check, every, put
from prep.services.bookings.requests import WantedBooking, booking_rows, booking_table, coded, same
from prep.services.files.imports import Fate, ImportReport
from prep.services.input.act import Act
from prep.services.input.progress import More, Watcher, nobody, steps
from prep.services.inventory import session

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class ImportOptions:
    """How a file of bookings is read: columns of ours by their names there; only looked at; even on closed days."""

    mapped: Mapping[str, str] | None = None
    dry_run: bool = False
    even_closed: bool = False


@dataclass(frozen=True, slots=True)
class ImportedBookings:
    """Bookings of a file that were added, with their answers, what was passed over and why, and the wrong rows.

    Where a row is wrong nothing is added, and `held_back` are those that are right. `minds` are the rows whose item's
    name had to be chosen or mended.
    """

    answers: tuple[BookingAnswer, ...]
    passed_over: tuple[Fate, ...] = ()
    wrong: tuple[Fate, ...] = ()
    minds: tuple[Fate, ...] = ()
    held_back: tuple[Fate, ...] = ()

    @property
    def added(self) -> tuple[Booking, ...]:
        """The bookings without their answers."""
        return tuple(one.booking for one in self.answers)

    @property
    def report(self) -> ImportReport:
        """What became of the rows that were not added, as of any other file."""
        every = (*self.passed_over, *self.held_back, *self.wrong)
        return ImportReport(tuple(sorted(every, key=lambda fate: fate.row)), None, ())


def import_bookings(
    db: Path | None, path: Path, how: ImportOptions, act: Act, watcher: Watcher = nobody
) -> ImportedBookings:
    """Add every booking of a CSV file that is not booked yet or, if a row is wrong, none.

    Raises PrepError for a file that is no table of bookings; Refused for a row that breaks a rule of the school.
    """
    table = booking_table(path, how.mapped)

    def work(connection: "Connection") -> SortedRows:
        rows = booking_rows(table, names_of(connection))
        if not (rows.wanted or rows.wrong):
            raise PrepError(f"{path.name}: there is no booking in it.")
        there = every(connection)
        taken = {b.code for b in there}
        booked = Counter(same(b) for b in there if b.stands)
        new: list[WantedBooking] = []
        passed: list[Fate] = []
        wrong = list(rows.wrong)
        for row in rows.wanted:
            if booked[same(row.booking)] > 0:
                booked[same(row.booking)] -= 1
                passed.append(Fate(path.name, row.row, "booked already", False))
                continue
            if row.booking.code in taken:
                said = f'the booking code "{row.booking.code}" is taken already; leave it empty.'
                wrong.append(Fate(path.name, row.row, f"{path.name}, row {row.row}: {said}", True))
                continue
            new.append(row)
        return SortedRows(coded(new, taken), tuple(passed), tuple(wrong))

    return taken_in(db, work, how, act, watcher)


@dataclass(frozen=True, slots=True)
class SortedRows:
    """What a file's rows come to: the bookings to be added, what is passed over, and what is wrong."""

    wanted: tuple[WantedBooking, ...]
    passed_over: tuple[Fate, ...]
    wrong: tuple[Fate, ...]


def taken_in(
    db: Path | None,
    work: "Callable[[Connection], SortedRows]",
    how: ImportOptions,
    act: Act,
    watcher: Watcher = nobody,
) -> ImportedBookings:
    """Add the bookings of a file, whose rows are read before the lock, as one job; or none. Raises as `_checked`."""

    def checked(connection: "Connection") -> SortedRows:
        rows = work(connection)
        more = steps(watcher, len(rows.wanted))
        return _checked(connection, rows, act, how, more)

    def post(connection: "Connection", rows: SortedRows) -> SortedRows:
        if not rows.wrong:
            put(connection, rows.wanted, act)
        return rows

    if how.dry_run:
        with session.reading(db) as connection:
            rows = checked(connection)
    else:
        rows = session.worked_out(db, checked, post, RULES)
    if rows.wrong:
        held_back = tuple(
            Fate(one.file, one.row, f"{one.booking.what} on {one.booking.on}: would be added", False)
            for one in rows.wanted
        )
        return ImportedBookings((), rows.passed_over, rows.wrong, held_back=held_back)
    minds = tuple(Fate(one.file, one.row, one.note, False, one.booking.code) for one in rows.wanted if one.note)
    new = [one.booking for one in rows.wanted]
    found = answers.of(db, (), act.on, new) if how.dry_run else answers.of(db, [b.code for b in new], act.on)
    return ImportedBookings(found, rows.passed_over, minds=minds)


def _checked(connection: "Connection", rows: SortedRows, act: Act, how: ImportOptions, more: More) -> SortedRows:
    """Find every row of a file that is wrong; `wanted` are then those that are right.

    Raises Refused for one that breaks a rule of the school, where nothing else is wrong.
    """
    first: PrepError | None = None
    if not rows.wrong:
        try:
            check(connection, rows.wanted, act.on, how.even_closed, more=more)
        except Refused:
            raise
        except PrepError as problem:
            first = problem
        else:
            return rows
    why = [(one, _not_bookable(connection, one, act.on, how.even_closed)) for one in rows.wanted]
    found = [*rows.wrong, *(Fate(one.file, one.row, said, True) for one, said in why if said)]
    if first is not None and not found:
        raise first
    right = tuple(one for one, said in why if not said)
    return replace(rows, wanted=right, wrong=tuple(sorted(found, key=lambda fate: fate.row)))


def _not_bookable(connection: "Connection", wanted: WantedBooking, today: date, even_closed: bool) -> str:
    """Tell why a booking may not be booked; empty where it may."""
    try:
        check(connection, [wanted], today, even_closed)
    except PrepError as problem:
        return problem.sentence
    return ""
