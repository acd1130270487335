"""The plain rows that sheets are printed from. Text is ready to read; nothing is computed here."""

from dataclasses import dataclass
from datetime import date, time


@dataclass(frozen=True, slots=True)
class TakeRow:
    """An amount of one thing and where it comes from: "8.3 mL", "hydrochloric acid 37 %", "bottle B-7, acids".

    `in_steps`: the steps of the make say it too.
    """

    amount: str
    what: str
    from_: str = ""
    in_steps: bool = False


NO_CODES = "-"
"""What stands in place of codes where it is known to be not hazardous."""


@dataclass(frozen=True, slots=True)
class MakeRow:
    """One make task: what, how much, in what, out of what, how, and what to mind.

    `h` are the codes of `hazards`, NO_CODES where there are none; `size` is why it is not the usual volume.
    """

    name: str
    amount: str
    strength: str = ""
    batch: str = ""
    vessel: str = ""
    use_by: str = ""
    minutes: str = ""
    for_: str = ""
    keeping: str = ""
    signal: str = ""
    pictograms: tuple[str, ...] = ()
    takes: tuple[TakeRow, ...] = ()
    notes: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    hazards: str = ""
    log: str = ""
    number: str = ""
    h: str = ""
    size: str = ""


@dataclass(frozen=True, slots=True)
class PrintedBooking:
    """One booking of the day and what it gets."""

    period: str
    room: str
    teacher: str
    demo: str
    showings: str = ""
    code: str = ""
    gets: tuple[TakeRow, ...] = ()
    cautions: tuple[str, ...] = ()
    short: tuple[str, ...] = ()
    number: str = ""


@dataclass(frozen=True, slots=True)
class LineRow:
    """Any other line of the day to tick: what comes back, what arrives, what is discarded, what to fetch where."""

    text: str
    number: str = ""


@dataclass(frozen=True, slots=True)
class PrintedOrder:
    """What is to be ordered by the day."""

    what: str
    packs: str
    for_: str = ""
    late: bool = False
    number: str = ""


@dataclass(frozen=True, slots=True)
class DayRow:
    """A day at the bench. `work` is such as "85 of 240 minutes"; `minds` are what is wrong with the day.

    `fetches` are the bottles to fetch, a line a place; the numbers of the lines are those of `prep log`. `unsaid` are
    bookings of earlier days, of which nobody said yet whether they were shown.
    """

    day: str
    makes: tuple[MakeRow, ...] = ()
    bookings: tuple[PrintedBooking, ...] = ()
    orders: tuple[PrintedOrder, ...] = ()
    minds: tuple[str, ...] = ()
    work: str = ""
    fetches: tuple[LineRow, ...] = ()
    backs: tuple[LineRow, ...] = ()
    arrivals: tuple[LineRow, ...] = ()
    discards: tuple[LineRow, ...] = ()
    done: tuple[LineRow, ...] = ()
    unsaid: tuple[LineRow, ...] = ()


@dataclass(frozen=True, slots=True)
class CountRow:
    """A line of the count sheet. `book` is empty on a blind count; `tare` is the weight of the empty bottle."""

    location: str
    code: str
    name: str
    measure: str
    book: str = ""
    tare: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class TaskRow:
    """A dated task for a calendar. `uid` stays the same when the task moves, so that a calendar moves it too."""

    uid: str
    on: date
    summary: str
    description: str = ""
    begins: time | None = None
    ends: time | None = None
    place: str = ""
