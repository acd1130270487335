"""What must not stand beside a bottle where it is put."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from prep.findings import Finding
from prep.services.inventory import session

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.bottles import HeldBottle


@dataclass(frozen=True, slots=True)
class PlacedItem:
    """What a bottle that is new where it stands holds, and its place."""

    item: str
    place: str


def beside(db: Path | None, bottles: Iterable["HeldBottle"]) -> dict[str, tuple[Finding, ...]]:
    """Find for each bottle that was just put somewhere what must not stand beside it there, worst first."""
    with session.reading(db) as connection:
        return beside_in(connection, {held.code: PlacedItem(held.item, held.location) for held in bottles})


def beside_in(connection: "Connection", placed: Mapping[str, PlacedItem]) -> dict[str, tuple[Finding, ...]]:
    """Find what must not stand beside bottles as `beside`, in an open inventory; they need not be on the books yet."""
    from prep.safety.segregation import newcomers
    from prep.services.safety.storage import stored_bottles

    room = stored_bottles(connection)
    new = [room.stand(code, one.item, one.place) for code, one in placed.items()]
    return newcomers(new, [one for one in room.bottles if one.bottle not in placed], room.places)
