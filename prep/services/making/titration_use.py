"""What finding a strength took from the books: the solution itself, and its standard."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from prep.books import BottleStatus
from prep.services.stock import listing
from prep.store import ledger
from prep.store.bottles import HeldBottle

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.ledger import MovementLine as Movement


@dataclass(frozen=True, slots=True)
class StrengthUse:
    """What finding a strength took: nL of the solution itself, and ug or nL of the standard.

    The standard is a bottle where one was named or only one can be meant, else the substance that was weighed;
    empty where it is neither. `meant` says why a bottle that was not named is the one.
    """

    of_it: int
    standard: int = 0
    bottle: str = ""
    substance: str = ""
    meant: str = ""


def draw(
    connection: "Connection", job: int, bottles: tuple[HeldBottle, ...], used: StrengthUse
) -> tuple[HeldBottle, ...]:
    """Take from the books, in the same job, what finding the strength used; returns the bottles as they are then.

    More than a bottle holds on the books is not taken: it was counted out of it already. A standard that came from
    elsewhere is on no bottle's books.
    """
    lines = _drawn(bottles, used.of_it, "titrated, to find its strength")
    if used.bottle:
        lines += _drawn((listing.one(connection, used.bottle),), used.standard, f"to find {bottles[0].code}")
    elif used.substance:
        held = [h for h in listing.held_of(connection, used.substance) if h.status == BottleStatus.IN_SERVICE]
        held.sort(key=lambda h: (h.opened is None, h.use_by or date.max, h.balance, h.code))
        lines += _drawn(tuple(held), used.standard, f"to find {bottles[0].code}")
    ledger.post(connection, job, lines)
    return tuple(listing.one(connection, bottle.code) for bottle in bottles)


def _drawn(bottles: Sequence[HeldBottle], amount: int, why: str) -> "list[Movement]":
    lines = []
    for held in bottles:
        if taken := min(amount, held.balance):
            lines.append(ledger.MovementLine(held.code, -taken, why))
            amount -= taken
    return lines
