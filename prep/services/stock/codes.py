"""What a new bottle gets: a code that no other has, and its row in the books."""

import random
import secrets
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from prep.books import BottleStatus
from prep.chemistry.model import Measure
from prep.errors import PrepError
from prep.services.input.checks import printable
from prep.store import bottles
from prep.wording import Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

ALPHABETS = ("BCDFGHJKMNPQRTVWXYZ", "2346789")
"""A bottle's code is letter, digit, letter, digit: no vowels, nothing that a wet label turns into something else
(0 and O, 1 and I and L, 5 and S), and nothing that a spreadsheet takes for a number."""
CODE_LENGTH = 4


def new_code(connection: "Connection") -> str:
    """Draw a bottle code that no bottle has, inside the caller's transaction."""
    length = CODE_LENGTH
    for attempt in range(1000):
        code = "".join(secrets.choice(ALPHABETS[place % 2]) for place in range(length + attempt // 25))
        if not bottles.is_taken(connection, code):
            return code
    raise PrepError("No free bottle code was found.")


def new_codes(count: int, taken: set[str]) -> list[str]:
    """Draw so many codes that are not in `taken` (every bottle's on the books); they are put there."""
    pairs = [letter + digit for letter in ALPHABETS[0] for digit in ALPHABETS[1]]
    half = CODE_LENGTH // 2
    while len(taken) + count > len(pairs) ** half // 4:
        half += 1  # longer codes, so that most draws find a free one
    draws, out = random.Random(), list[str]()
    while len(out) < count:
        code = "".join(draws.choices(pairs, k=half))
        if code not in taken:
            taken.add(code)
            out.append(code)
    return out


BY_WHAT_WAS_TAKEN = "strength from what was taken"
POURED_FROM = "from "
"""Notes on a bottle whose strength was worked out, not found by titration; the second goes before its sources."""


@dataclass(frozen=True, slots=True)
class NewBottle:
    """A bottle to be put on the books, in service."""

    code: str
    item: str
    measure: Measure
    location: str
    on: date
    use_by: date | None = None
    lot: str = ""
    note: str = ""
    made_by: str = ""
    strength: str | None = None


def bottle_row(bottle: NewBottle) -> dict[str, object]:
    """Make a new bottle's row for `ledger.fill`. Raises PrepError."""
    printable(bottle.lot, label=Flag("--lot"))
    printable(bottle.note, label=Flag("--note"))
    if bottle.use_by is not None and bottle.use_by < bottle.on:
        raise PrepError(Flag("--use-by"), f" {bottle.use_by} is before the day it came, {bottle.on}.")
    return {
        "code": bottle.code,
        "item": bottle.item,
        "measure": bottle.measure.value,
        "status": BottleStatus.IN_SERVICE.value,
        "location": bottle.location,
        "received": bottle.on,
        "opened": None,
        "use_by": bottle.use_by,
        "lot": bottle.lot,
        "strength": bottle.strength,
        "made_by": bottle.made_by,
        "note": bottle.note,
    }
