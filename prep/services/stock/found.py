"""A bottle that turns up on any day of the year: not on the books, not on file, or without a label."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, JobKind
from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue, Item
from prep.chemistry.model import Form, Measure, Strength, Substance
from prep.errors import PrepError, SeveralFit
from prep.services.catalogue.names import find_item
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.services.stock.changes import never_kept
from prep.services.stock.codes import NewBottle, bottle_row, new_code
from prep.services.stock.listing import one
from prep.services.stock.places import place_in
from prep.services.stock.strength import on_label
from prep.store import change_log, ledger, queries, seeding
from prep.wording import Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.bottles import HeldBottle

UNKNOWN = "unidentified-"
"""How the code of an entry for what nobody can identify begins."""


@dataclass(frozen=True, slots=True)
class FoundBottle:
    """What turned up, as typed. `item` None where nobody can say what it is; `note` is what can be said of it."""

    item: str | None
    amount: str
    location: str
    note: str = ""
    strength: str | None = None


@dataclass(frozen=True, slots=True)
class _Entry:
    """What a bottle that turned up is put on the books as; `known` where its item is on file, `base` in ug or nL."""

    thing: Item
    known: bool
    place: str
    base: int
    strength: Strength | None


def found(db: Path | None, bottle: FoundBottle, act: Act) -> "HeldBottle":
    """Put a bottle that turned up on the books; what nobody knows gets an entry of its own, and stands in quarantine.

    Raises PrepError.
    """
    note = printable(bottle.note.strip(), label=Flag("--note"))

    def work(connection: "Connection") -> _Entry:
        catalogue = queries.catalogue(connection)
        place = place_in(connection, bottle.location)
        known = bottle.item is not None and _is_on_file(bottle.item, catalogue)
        if not known and not (bottle.item or note):
            raise PrepError(
                "Say what can be said of it: what its label says, or ", Flag("--note"), " what it looks like."
            )
        if known and bottle.item:
            thing = find_item(bottle.item, catalogue, held=queries.items_held(connection))
        else:
            said = printable((bottle.item or note).strip(), label="WHAT")
            thing = unknown(said, quantities.amount(bottle.amount).measure, catalogue)
        never_kept(connection, thing.code)
        base = thing.amount(bottle.amount)
        strength = on_label(thing, bottle.strength, catalogue) if bottle.strength else None
        return _Entry(thing, known, place, base, strength)

    def post(connection: "Connection", entry: _Entry) -> "HeldBottle":
        thing, place = entry.thing, entry.place
        job = ledger.begin(connection, JobKind.FOUND, act.by, act.on, f"found at {place}: {note or thing.name}"[:200])
        if not entry.known and thing.substance is not None:
            seeding.put_substances(connection, [thing.substance])
        code = new_code(connection)
        new = NewBottle(code, thing.code, thing.measure, place, act.on, note=note)
        row = bottle_row(new) | {"received": None, "strength": queries.strength_text(entry.strength)}
        ledger.fill(connection, job, row, entry.base, "found, not on the books")
        if not entry.known:
            shelve_unknown(connection, job, code)
        return one(connection, code)

    return session.worked_out(db, work, post)


def _is_on_file(name: str, catalogue: Catalogue) -> bool:
    try:
        find_item(name, catalogue)
    except SeveralFit:
        raise
    except PrepError:
        return False
    return True


def unknown(said: str, measure: Measure, catalogue: Catalogue) -> Item:
    """Make an entry for what nobody can identify, or what is not on file; its hazards are not known."""
    number = 1
    while f"{UNKNOWN}{number}" in catalogue.substances:
        number += 1
    code = f"{UNKNOWN}{number}"
    form = Form.SOLID if measure is Measure.MASS else Form.LIQUID
    substance = Substance(code, f"Not identified {number}: {said}"[:120], "", code, form)
    return Catalogue({code: substance}).item(code)


def shelve_unknown(connection: "Connection", job: int, code: str) -> None:
    """Put a bottle of what nobody can identify in quarantine, as part of a job."""
    change_log.change(connection, job, "bottle", code, status=BottleStatus.QUARANTINE)
