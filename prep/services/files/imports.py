"""A file that is taken in: how it is read, and what became of each of its rows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from prep.errors import PrepError
from prep.records import record
from prep.wording import Flag

CALENDARS = (".ics", ".ical")
"""How a calendar's file is named."""


@record(frozen=True, slots=True)
class ImportFile:
    """A file to take in: its columns of ours by their names there, over what is on file or not, only looked at."""

    path: Path
    mapped: Mapping[str, str] = field(default_factory=dict)
    replace: bool = False
    dry_run: bool = False


@dataclass(slots=True, unsafe_hash=True)
class Fate:
    """What becomes of a row of a file: what it makes (of `code`), or why it makes nothing (`wrong`).

    `notes` are what to mind of it. Nobody changes one; frozen, thousands take longer to make.
    """

    file: str
    row: int
    says: str
    wrong: bool
    code: str = ""
    notes: tuple[str, ...] = ()

    @property
    def where(self) -> str:
        """Where it stands: `term.csv, row 3`, `feed.ics, event 3`."""
        return f"{self.file}, {'event' if self.file.lower().endswith(CALENDARS) else 'row'} {self.row}"


@record(frozen=True, slots=True)
class ImportReport:
    """Every row's fate in order, and the job; None for a dry run or where a row is wrong.

    `not_read` are columns of the file that are none of ours.
    """

    fates: tuple[Fate, ...]
    job: int | None
    not_read: tuple[str, ...]

    @property
    def wrong(self) -> tuple[Fate, ...]:
        """The rows that are refused."""
        return tuple(fate for fate in self.fates if fate.wrong)


def mapping(pairs: Sequence[str]) -> dict[str, str]:
    """Read the `column=Name in the file` pairs of --map. Raises PrepError."""
    out: dict[str, str] = {}
    for pair in pairs:
        column, sign, called = pair.partition("=")
        if not sign or not column.strip() or not called.strip():
            raise PrepError(Flag("--map"), f' "{pair[:60]}": write it as COLUMN=NAME, such as item=Chemical.')
        if column.strip().lower() in out:
            raise PrepError(Flag("--map"), f" names {column.strip()[:40]} twice.")
        out[column.strip().lower()] = called.strip()
    return out
