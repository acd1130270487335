"""The person's own room, for a calculation: what it holds, how strong, measured with what. It may have no inventory."""

import contextlib
from pathlib import Path

from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Instrument, Strength
from prep.errors import PrepError
from prep.resources import file_of, url_of
from prep.services.inventory import session
from prep.store.day import room_reader
from prep.store.day.room_reader import RoomContents

_NONE = RoomContents((), frozenset(), ())


def items_held() -> frozenset[str]:
    """Find the codes of which the room holds something."""
    return _room().items


def strengths_of(item: str) -> list[Strength]:
    """Read the strengths that stand on the bottles of an item."""
    found = []
    for text in _room().strengths([item]):
        with contextlib.suppress(PrepError):
            found.append(quantities.strength(text))
    return found


def instruments() -> tuple[Instrument, ...]:
    """List the instruments that the room owns; none where there is no inventory."""
    return _room().instruments


def substances(shipped: Catalogue) -> Catalogue:
    """Read the inventory's substances where any of them, or any of their names, is not shipped; else none."""
    path = file_of(url_of(None))
    known = {(s.code, s.name, ";".join(s.other_names)) for s in shipped.named}
    if path is not None and (not path.exists() or ((read := room_reader.read(path)) and read.names <= known)):
        return Catalogue({})
    from prep.store import queries

    try:
        with session.reading(None) as connection:
            return Catalogue(queries.substances(connection))
    except PrepError:  # no inventory to read: calculations do without
        return Catalogue({})


def _room() -> RoomContents:
    path: Path | None = file_of(url_of(None))
    if path is not None and not path.exists():
        return _NONE
    if path is not None and (found := room_reader.read(path)) is not None:
        return found
    from prep.store import bottles, queries

    try:
        with session.reading(None) as connection:
            held = {(one.item, one.strength and str(one.strength)) for one in bottles.held(connection) if one.balance}
            return RoomContents(tuple(held), frozenset(), queries.instruments(connection))
    except PrepError:
        return _NONE
