"""Substances that laws on precursors, poisons or excise name: which of them a thing holds, and under which act.

The starting set is seed_data/tables/controlled.csv; a school adds to it and takes off it. Which laws hold where a
school stands is for the school to say: every line names its act, and the act as it stands prevails.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from prep.resources import seed_table
from prep.safety.hazard_tables import split


@dataclass(frozen=True, slots=True)
class ControlledEntry:
    """One line of the list: `about` are CAS numbers, or the code of an item; above `above_pct` [% w/w], if given.

    `group` is the storage group that it is restricted to (metal powders).
    """

    name: str
    about: tuple[str, ...]
    kind: str
    act: str
    above_pct: Decimal | None = None
    group: str = ""
    source: str = ""

    @property
    def said(self) -> str:
        """Kind and act as one text."""
        limit = f", above {self.above_pct:f} % w/w" if self.above_pct is not None else ""
        return f"{self.kind}{limit} ({self.act})"


@dataclass(frozen=True, slots=True)
class ControlledContent:
    """What is asked about: a substance at its strength [% w/w], as bought or in a solution."""

    code: str
    cas: str
    pct: Decimal
    group: str = ""


@cache
def starting_set() -> tuple[ControlledEntry, ...]:
    """Read the list as it comes with the program."""
    return tuple(
        ControlledEntry(
            row["name"],
            split(row["cas"]),
            row["kind"],
            row["act"],
            Decimal(row["above_pct"]) if row["above_pct"] else None,
            row["form"],
            row["source"],
        )
        for row in seed_table("controlled")
    )


def marks_of(contents: Iterable[ControlledContent], listed: Sequence[ControlledEntry]) -> tuple[ControlledEntry, ...]:
    """Find the lines of the list that something falls under, in the order of the list."""
    inside = tuple(contents)
    return tuple(one for one in listed if any(_under(one, content) for content in inside))


def _under(one: ControlledEntry, content: ControlledContent) -> bool:
    if content.code not in one.about and (not content.cas or content.cas not in one.about):
        return False
    if one.group and content.group != one.group:
        return False
    return one.above_pct is None or content.pct > one.above_pct
