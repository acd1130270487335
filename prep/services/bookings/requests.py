"""Bookings as people ask for them: typed, as rows of a file, or as a calendar's events."""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import count
from pathlib import Path

from prep.chemistry import spelling
from prep.dates import DayOrder, day_of_cell
from prep.errors import Misspelt, NotOnFile, PrepError, SeveralFit
from prep.planning.age_groups import AgeGroup, group_named
from prep.planning.model import Booking, Demo
from prep.records import record
from prep.resources import seed_table
from prep.services.catalogue.names import choose_item, find_item
from prep.services.catalogue.on_file import OnFile
from prep.services.files.csv_file import Row, whole
from prep.services.files.imports import Fate
from prep.services.files.spreadsheet import Columns, Table, read_table
from prep.services.input.checks import printable, within
from prep.wording import AtTerminal, Flag

COLUMNS = "code date period room teacher demo showings group note item portion trials".split()
SYNONYMS = {
    "day": "date",
    "on": "date",
    "lesson": "period",
    "time": "period",
    "place": "room",
    "lab": "room",
    "staff": "teacher",
    "demonstration": "demo",
    "practical": "demo",
    "times": "showings",
    "class": "group",
    "age_group": "group",
    "year": "group",
    "notes": "note",
    "comment": "note",
    "comments": "note",
    "solution": "item",
    "amount_each": "portion",
    "trial_runs": "trials",
}
MOST_SHOWINGS = 1000
MOST_WEEKS = 60


@record(frozen=True, slots=True)
class BookingRequest:
    """What a teacher asks for: a demo by code or name, or portions of an item (a plain solution, a class set).

    `trials` None takes the demo's own. `even_closed` books on a closed day; `again` although the same is booked.
    """

    demo: str
    on: date
    showings: int = 1
    period: str = ""
    room: str = ""
    teacher: str = ""
    group: str = ""
    note: str = ""
    item: str = ""
    portion: str = ""
    trials: int | None = None
    even_closed: bool = False
    again: bool = False


@record(frozen=True, slots=True)
class Repeat:
    """A lesson that comes again: every so many weeks, for so many weeks in all or until a day."""

    every: int = 1
    weeks: int | None = None
    until: date | None = None

    def days(self, first: date) -> list[date]:
        """List the days of a repeated booking from the first on. Raises PrepError for more than a timetable has."""
        if self.weeks is not None and self.until is not None:
            raise PrepError("Give ", Flag("--weeks"), ", or ", Flag("--until"), ": one of the two.")
        if self.until is not None and self.until < first:
            raise PrepError(Flag("--until"), f" {self.until} is before the first day, {first}.")
        if self.weeks is None and self.until is None and self.every > 1:
            raise PrepError("Say how long it goes on: ", Flag("--until"), " DATE, or ", Flag("--weeks"), " NUMBER.")
        weeks = within(1 if self.weeks is None else self.weeks, 1, MOST_WEEKS, Flag("--weeks"))
        if self.until is not None:
            weeks = (self.until - first).days // 7 + 1
            if weeks > MOST_WEEKS:
                raise PrepError(Flag("--until"), f" {self.until}: at most {MOST_WEEKS} weeks are booked at once.")
        return [first + timedelta(weeks=number) for number in range(0, weeks, self.every)]


def every_weeks(text: str) -> int:
    """Read `2 weeks`, `week` or `fortnight` as a number of weeks. Raises PrepError."""
    found = re.fullmatch(r"(?:(\d{1,2})\s*)?weeks?|(fortnight)", " ".join(text.casefold().split()))
    number = 2 if found and found[2] else int(found[1] or 1) if found else 0
    if not 1 <= number <= MOST_WEEKS:
        raise PrepError(Flag("--every"), f' "{text[:20]}": write a number of weeks, such as "2 weeks".')
    return number


@record(frozen=True, slots=True)
class BookingChange:
    """What changes of a booking; None leaves a part as it is. `even_closed` moves it onto a closed day too."""

    to: date | None = None
    period: str | None = None
    room: str | None = None
    teacher: str | None = None
    group: str | None = None
    note: str | None = None
    showings: int | None = None
    trials: int | None = None
    even_closed: bool = False


@record(frozen=True, slots=True)
class WantedBooking:
    """A booking that is asked for, and where that stands in a file: the cell, and the number of the row or event.

    `note` says what its item's name was taken for, where that is not plain.
    """

    booking: Booking
    where: str = ""
    file: str = ""
    row: int = 0
    note: str = ""


def same(b: Booking) -> tuple[object, ...]:
    """Make the key by which two bookings look the same to a person."""
    return b.on, b.period.casefold(), b.room.casefold(), b.demo, b.item, b.group


@record(frozen=True, slots=True)
class BookableNames:
    """What a booking may name: demos, the school's age groups, substances and solutions.

    `any_group`: there is no list of age groups yet, and what is named makes it. `order` is the school's in 7/12/2026.
    """

    on_file: OnFile
    groups: Sequence[AgeGroup] = ()
    any_group: bool = False
    order: DayOrder | None = None

    def group(self, text: str) -> str:
        """Find the school's own name of an age group. Raises PrepError with the list."""
        return " ".join(text.split()) if self.any_group else group_named(text, self.groups)

    def taken_as(self, name: str) -> str:
        """Tell what the name of an item was taken for; empty where it means one thing. Raises PrepError."""
        return choose_item(name, self.on_file, held=self.on_file.held).says if name else ""

    def booking(self, asked: BookingRequest) -> Booking:
        """Make the booking that is asked for, without a code. Raises PrepError for what is not on file."""
        within(asked.showings, 1, MOST_SHOWINGS, Flag("--showings"))
        if asked.trials is not None:
            within(asked.trials, 0, 100, Flag("--trials"))
        if bool(asked.item) != bool(asked.portion):
            raise PrepError(
                "An item and the portion of it for a showing go together: ",
                Flag("--item"),
                " NAME ",
                Flag("--portion"),
                " AMOUNT.",
            )
        if bool(asked.item) == bool(asked.demo):
            raise PrepError(
                "Book a demo, or an item with ", Flag("--item"), " and ", Flag("--portion"), ": one of the two."
            )
        demo = find_demo_in(self.on_file.demos, asked.demo) if asked.demo else None
        item = find_item(asked.item, self.on_file, held=self.on_file.held) if asked.item else None
        for name in ("period", "room", "teacher", "group", "note"):
            printable(getattr(asked, name), 200 if name == "note" else 80, f"the {name}")
        return Booking(
            code="",
            on=asked.on,
            period=asked.period,
            room=asked.room,
            teacher=asked.teacher,
            demo=demo.code if demo else "",
            showings=asked.showings,
            group=self.group(asked.group),
            note=asked.note,
            item=item.code if item else "",
            portion=item.amount(asked.portion) if item else 0,
            trials=(demo.trials if demo else 0) if asked.trials is None else asked.trials,
        )


_SAYS_NOTHING = frozenset("a an and the in of with to demo demonstration experiment test practical reaction".split())


def _words(name: str) -> frozenset[str]:
    said = re.sub(r"'s?\b", "", name.casefold().replace("sulph", "sulf"))
    words = (word.removesuffix("s") if len(word) > 3 else word for word in re.findall(r"\w+", said))
    return frozenset(words) - _SAYS_NOTHING


def _alike(known: Mapping[str, Demo], name: str) -> list[Demo]:
    """Find the demos that the trade calls so (demo_words.csv), else those whose name has all these words."""
    words = _words(name)
    usual = {row["demo"] for row in seed_table("demo_words") if _words(row["said"]) == words}
    if found := [one for code, one in known.items() if code in usual]:
        return found
    return [one for one in known.values() if any(_says(words, _words(n)) for n in (one.name, *one.other_names))]


def _says(words: frozenset[str], name: frozenset[str]) -> bool:
    """Tell whether words name a demo: one alone only where it is most of the name (`thermite`, but not `Table`)."""
    return bool(words) and words <= name and (len(words) > 1 or 2 * len(words) > len(name))


def find_demo_in(known: Mapping[str, Demo], name: str) -> Demo:
    """Find a demo by code, name or an old name, or by what it is usually called. Raises PrepError."""
    wanted = name.strip()
    if wanted in known:
        return known[wanted]
    for found in known.values():
        if spelling.key(wanted) in map(spelling.key, (found.name, found.code, *found.other_names)):
            return found
    alike = _alike(known, wanted)
    if len(alike) == 1:
        return alike[0]
    if alike:
        codes = ", ".join(sorted(one.code for one in alike)[:6])
        raise SeveralFit(f'"{wanted[:40]}" may be {codes}; give one of these codes.')
    names = {code: (found.name, *found.other_names) for code, found in known.items()}
    about = _about_the_same(known, wanted)
    hint = spelling.near(wanted, names, _A_LITTLE) or (f" Near: {', '.join(about)}." if about else "")
    kind = Misspelt if about or spelling.near(wanted, names, _A_SLIP) else NotOnFile
    raise kind(f'"{wanted[:40]}" is no demo on file', AtTerminal("; see: prep demo list"), f".{hint}")


def _about_the_same(known: Mapping[str, Demo], name: str) -> list[str]:
    """Find three demos at most that share most words with a name, those of their own names counted twice."""
    called = {code: " ".join((code.replace("-", " "), one.name, *one.other_names)) for code, one in known.items()}
    for row in seed_table("demo_words"):
        if row["demo"] in called:
            called[row["demo"]] += f" {row['said']}"
    wanted = _stems(name)
    scores = {
        code: 2 * len(wanted & _stems(called[code])) + len(wanted & _stems(one.about) - _stems(called[code]))
        for code, one in known.items()
    }
    best = sorted(scores, key=lambda code: (-scores[code], code))
    return [code for code in best if scores[code] >= _ENOUGH][:3]


_A_LITTLE = 0.6  # what a demo is called is long, and a title says it in part
_A_SLIP = 0.8  # of a calendar's titles less alike than this are somebody's meeting, not a demo misspelt
_ENOUGH = 3  # a shared word of its name scores 2, one of what it shows 1


def _stems(text: str) -> frozenset[str]:
    return frozenset(word[:6] for word in _words(text) if len(word) > 2)


@record(frozen=True, slots=True)
class BookingRows:
    """Rows of a bookings file: what is asked for, and why a row cannot be read."""

    wanted: tuple[WantedBooking, ...]
    wrong: tuple[Fate, ...]


def read_bookings(
    path: Path, names: BookableNames, mapped: Mapping[str, str] | None = None
) -> tuple[WantedBooking, ...]:
    """Read a booking file's rows; codes may be left empty (see `coded`). Raises PrepError for the first wrong row."""
    rows = booking_rows(booking_table(path, mapped), names)
    if rows.wrong:
        raise PrepError(rows.wrong[0].says)
    return rows.wanted


def booking_table(path: Path, mapped: Mapping[str, str] | None = None) -> Table:
    """Read a file of bookings into its rows. Raises PrepError for a file that is no such table."""
    return read_table(path, Columns(COLUMNS, ("date",), SYNONYMS, bool(mapped), quantities=("portion",)), mapped)


def booking_rows(table: Table, names: BookableNames) -> BookingRows:
    """Read the bookings of a table, and every mistake in its rows."""
    wrong = [Fate(table.file, one.number, one.says, True) for one in table.wrong]
    out: list[WantedBooking] = []
    codes = set()
    for row in table.rows:
        try:
            code = row.code("code") if row.text("code") else ""
            if code and code in codes:
                raise row.wrong("code", f'"{code}" stands twice.')
            booking = replace(_read(row, names), code=code)
        except PrepError as problem:
            wrong.append(Fate(row.file, row.number, problem.sentence, True))
            continue
        codes.add(code)
        where, note = f'{row.file}, row {row.number}, column "date"', names.taken_as(row.text("item"))
        out.append(WantedBooking(booking, where, row.file, row.number, note))
    return BookingRows(tuple(out), tuple(wrong))


def _read(row: Row, names: BookableNames) -> Booking:
    """Read a booking from one row of a table. Raises PrepError naming the cell."""
    asked = BookingRequest(
        demo=row.read("demo", lambda text: find_demo_in(names.on_file.demos, text).code) or "",
        on=row.need("date", lambda text: day_of_cell(text, names.order)),
        showings=row.read("showings", lambda text: whole(text, 1, MOST_SHOWINGS)) or 1,
        period=row.line("period", 80),
        room=row.line("room", 80),
        teacher=row.line("teacher", 80),
        group=row.read("group", names.group) or "",
        note=row.line("note"),
        item=row.line("item", 80),
        portion=row.text("portion"),
        trials=row.read("trials", lambda text: whole(text, 0, 100)),
    )
    column = "item" if asked.item else "demo"
    try:
        return names.booking(asked)
    except PrepError as problem:
        raise row.wrong(column, problem.sentence) from None


def coded(wanted: Sequence[WantedBooking], taken: Iterable[str] = ()) -> tuple[WantedBooking, ...]:
    """Give each booking that has no code the next one that is free."""
    free = free_codes({*taken, *(one.booking.code for one in wanted)})
    return tuple(
        one if one.booking.code else replace(one, booking=replace(one.booking, code=next(free))) for one in wanted
    )


def free_codes(taken: Collection[str]) -> Iterator[str]:
    """Count up the booking numbers that are free, `B12`, beginning with one more than the highest."""
    numbers = (int(code[1:]) for code in taken if re.fullmatch(r"B[0-9]{1,9}", code))
    return (code for number in count(max(numbers, default=0) + 1) if (code := f"B{number}") not in taken)
