"""Bookings as a file asks for them: its rows, and the codes that they get."""

import re
from collections.abc import Collection, Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path

from prep.planning.model import Booking
from prep.services.files.csv_file import iso_date, read_rows, whole

COLUMNS = "code date period room teacher demo showings group".split()


@dataclass(frozen=True, slots=True)
class Wanted:
    """A booking that is asked for, for which age group, and where that stands in a file."""

    booking: Booking
    group: str = ""
    where: str = ""


def read_bookings(path: Path, demos: Container[str]) -> tuple[Wanted, ...]:
    """Rows of a bookings file; codes may be left empty (see `coded`). Raises PrepError."""
    out: list[Wanted] = []
    codes = set()
    for row in read_rows(path, COLUMNS, ("date", "demo")):
        code = row.code("code") if row.text("code") else ""
        demo = row.code("demo")
        if demo not in demos:
            raise row.wrong("demo", f'"{demo}" is not a demo on file.')
        if code and code in codes:
            raise row.wrong("code", f'"{code}" stands twice.')
        codes.add(code)
        booking = Booking(
            code=code,
            on=row.need("date", iso_date),
            period=row.line("period", 80),
            room=row.line("room", 80),
            teacher=row.line("teacher", 80),
            demo=demo,
            showings=row.read("showings", lambda text: whole(text, 1, 1000)) or 1,
        )
        out.append(Wanted(booking, row.line("group", 80), f'{row.file}, row {row.number}, column "date"'))
    return tuple(out)


def coded(wanted: Sequence[Wanted], taken: Iterable[str] = ()) -> tuple[Wanted, ...]:
    """The bookings, each that has no code with the next one that is free."""
    free = free_codes({*taken, *(one.booking.code for one in wanted)})
    return tuple(
        one if one.booking.code else replace(one, booking=replace(one.booking, code=next(free))) for one in wanted
    )


def free_codes(taken: Collection[str]) -> Iterator[str]:
    """Booking numbers that are free, `B12`, beginning with one more than the highest."""
    numbers = (int(code[1:]) for code in taken if re.fullmatch(r"B[0-9]{1,9}", code))
    return (code for number in count(max(numbers, default=0) + 1) if (code := f"B{number}") not in taken)
