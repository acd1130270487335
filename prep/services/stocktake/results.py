"""What a count gives back: its sheet, an entry as it was taken, how far it is, what closing posted."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from prep.chemistry.model import Measure
from prep.stocktake.verdict import BookBalance, Verdict

if TYPE_CHECKING:
    from prep.store.bottles import HeldBottle
    from prep.store.stocktakes import Stocktake, Tally


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A bottle to look for. `tare` [ug] is its weight when empty, if that is on file."""

    place: str
    place_name: str
    code: str
    name: str
    measure: Measure
    book: int
    tare: int | None
    note: str


@dataclass(frozen=True, slots=True)
class CountList:
    """What is to be counted, in walking order."""

    count: "Stocktake"
    lines: tuple[SheetLine, ...]
    school: str = ""


@dataclass(frozen=True, slots=True)
class CountEntry:
    """What one entry was taken as. `verdict` is None for what is not on the books."""

    bottle: str
    name: str
    measure: Measure | None
    amount: int
    verdict: Verdict | None
    kind: str


@dataclass(frozen=True, slots=True)
class SheetTaken:
    """What became of a returned sheet: entries that were taken, a sentence for each row that was refused.

    `repeated` rows said again what the same person had written down already, and are no recount; `not_read` are
    columns of the file that are none of ours.
    """

    entries: tuple[CountEntry, ...]
    refused: tuple[str, ...]
    repeated: int
    not_read: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a count is: not yet looked for, and to be looked at again (least explained first)."""

    count: "Stocktake"
    entries: int
    verdicts: tuple[Verdict, ...]
    missing: tuple[SheetLine, ...]
    recount: tuple[str, ...]
    once: tuple[str, ...]  # those of `recount` that were counted only once
    found: "tuple[Tally, ...]"  # bottles that are not on the books
    names: Mapping[str, str]
    written_off: tuple[BookBalance, ...] = ()  # bottles discarded since the last count, whose books are signed too
    disagreeing: Mapping[str, str] = field(default_factory=dict)
    """What two entries say that differ, by bottle: a third must settle it. They are of `recount` too."""


@dataclass(frozen=True, slots=True)
class ClosedCount:
    """What closing posted."""

    count: "Stocktake"
    job: int
    adjusted: tuple[Verdict, ...]
    not_counted: int
    new_bottles: "tuple[HeldBottle, ...]"
