"""Looking at the shelves: which bottles there are, what is in them, and what came and went."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus
from prep.dates import DoneOn
from prep.errors import NotOnFile
from prep.records import record
from prep.services.input.checks import within
from prep.services.inventory import session
from prep.store import bottles
from prep.store.bottles import HeldBottle
from prep.store.jobs.history import HistoryLine, moves
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection


def list_stock(
    db: Path | None, item: str | None, location: str | None, everything: bool, use_by: date | None
) -> list[HeldBottle]:
    """List bottles by name and date; empty and discarded ones only with `everything`. Raises PrepError."""
    with session.reading(db) as connection:
        code = None
        if item:
            from prep.services.catalogue.names import in_inventory

            code = in_inventory(connection, item, here=True).code
        held = bottles.held(connection)
        place = None
        if location is not None:
            from prep.services.stock.places import place_in

            place = place_in(connection, location)
    wanted = [
        h
        for h in held
        if (code is None or h.item == code)
        and (place is None or h.location == place)
        and (everything or (h.balance > 0 and h.status != BottleStatus.DISCARDED))
        and (use_by is None or (h.use_by is not None and h.use_by <= use_by))
    ]
    return sorted(wanted, key=lambda h: h.name.casefold())  # stable: of one item the first to expire stays first


@record(frozen=True, slots=True)
class BottleHistory:
    """A bottle, and its lines of the ledger, newest first."""

    bottle: HeldBottle
    moves: list[HistoryLine]


def show(db: Path | None, bottle: str) -> BottleHistory:
    """Read a bottle and its history, newest first. Raises PrepError."""
    with session.reading(db) as connection:
        held = one(connection, bottle)
        return BottleHistory(held, moves(connection, held.code, 1000))


def history(db: Path | None, bottle: str | None, limit: int) -> list[HistoryLine]:
    """Read the newest lines of the ledger, of one bottle or of all. Raises PrepError."""
    within(limit, 1, 100_000, Flag("--last"))
    with session.reading(db) as connection:
        code = one(connection, bottle).code if bottle else None
        return moves(connection, code, limit)


def one(connection: "Connection", code: str) -> HeldBottle:
    """Find one bottle of an open inventory by its code. Raises PrepError."""
    wanted = code.strip()
    for spelling in (wanted, wanted.upper()):
        if found := bottles.one(connection, spelling):
            return found
    raise NotOnFile(f'There is no bottle "{wanted[:40]}"', AtTerminal("; see: prep stock list", "."))


def since_it_came(held: HeldBottle, day: DoneOn) -> None:
    """Check that what was done with a bottle is dated no earlier than the bottle came. Raises PrepError."""
    day.since(held.received, f"bottle {held.code} came")


def all_held(connection: "Connection") -> list[HeldBottle]:
    """List every bottle of an open inventory, discarded ones too."""
    return bottles.held(connection)


def held_of(connection: "Connection", item: str) -> list[HeldBottle]:
    """List every bottle of one item of an open inventory, first to expire first."""
    return bottles.held(connection, item=item)
