"""Finding bottles by any part of what is known of them: name, other name, formula, CAS number, code, lot."""

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from prep.books import BottleStatus
from prep.services.inventory import session
from prep.services.stock import listing
from prep.store import queries
from prep.store.bottles import HeldBottle
from prep.store.school.places import all_places


@dataclass(frozen=True, slots=True)
class PlaceShelf:
    """The bottles found at one place, by its code and name: those that are listed, and how many there are."""

    code: str
    name: str
    bottles: tuple[HeldBottle, ...]
    found: int


@dataclass(frozen=True, slots=True)
class FoundBottles:
    """The bottles found, by place in walking order, with each place where any is; `more` were left off."""

    places: tuple[PlaceShelf, ...]
    found: int
    more: int


def shelf(
    db: Path | None, text: str = "", place: str = "", everything: bool = False, most: int | None = None
) -> FoundBottles:
    """Find bottles by words, each part of something known of them, all or at most so many.

    Empty and discarded ones too with `everything`.
    """
    words = text.casefold().split()
    with session.reading(db) as connection:
        held = listing.all_held(connection)
        places = all_places(connection)
        about = queries.substance_words(connection) if words else {}
    wanted = [
        h
        for h in held
        if (not place or h.location == place)
        and (everything or (h.balance > 0 and h.status != BottleStatus.DISCARDED))
        and all(word in f"{_text(h)} {about.get(h.item, '')}".casefold() for word in words)
    ]
    wanted.sort(key=lambda h: h.name.casefold())
    shown = wanted[:most]
    at = Counter(h.location for h in wanted)
    by_place = (
        PlaceShelf(code, name, tuple(h for h in shown if h.location == code), at[code])
        for code, name in places.items()
        if at[code]
    )
    return FoundBottles(tuple(by_place), len(wanted), len(wanted) - len(shown))


def _text(held: HeldBottle) -> str:
    return f"{held.code} {held.name} {held.item} {held.lot} {held.location}"
