"""Looking at the shelves: which bottles there are, what is in them, and what came and went."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.errors import PrepError
from prep.planning.collector import collector_paused
from prep.services import session
from prep.services.days import Done
from prep.services.door import within
from prep.services.items import in_inventory
from prep.services.places import place_in

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(slots=True, unsafe_hash=True)
class Held:
    """One bottle as the books have it. Nobody changes one; frozen, thousands take longer to make."""

    code: str
    item: str
    name: str
    measure: Measure
    balance: int
    status: str
    location: str
    use_by: date | None
    received: date | None
    opened: date | None
    lot: str
    strength: str | None
    made_by: str
    note: str
    strength_uncertainty_pct: str | None = None
    tare: int | None = None  # ug, of the empty container

    @property
    def shown(self) -> str:
        """What is in it, as text."""
        return quantities.show(self.balance, self.measure)


@dataclass(frozen=True, slots=True)
class Moved:
    """One line of history. `amount` is 0 for a job that moved no amount (a change of place)."""

    job: int
    kind: str
    on: date
    at: str
    by: str
    bottle: str
    item: str
    measure: Measure
    amount: int
    reason: str
    reverses: int | None


def list_stock(
    db: Path | None, item: str | None, location: str | None, everything: bool, use_by: date | None
) -> list[Held]:
    """Bottles by name and date; empty and discarded ones only with `everything`. Raises PrepError."""
    with session.reading(db) as connection:
        code = in_inventory(connection, item, here=True).code if item else None
        held = _held(connection)
        place = None if location is None else place_in(connection, location)
    wanted = [
        h
        for h in held
        if (code is None or h.item == code)
        and (place is None or h.location == place)
        and (everything or (h.balance > 0 and h.status != "discarded"))
        and (use_by is None or (h.use_by is not None and h.use_by <= use_by))
    ]
    return sorted(wanted, key=lambda h: h.name.casefold())  # of one item still first expired first


def show(db: Path | None, bottle: str) -> tuple[Held, list[Moved]]:
    """A bottle and its history, newest first. Raises PrepError."""
    with session.reading(db) as connection:
        held = one(connection, bottle)
        return held, _history(connection, held.code, 1000)


def history(db: Path | None, bottle: str | None, limit: int) -> list[Moved]:
    """The newest lines of the ledger, of one bottle or of all. Raises PrepError."""
    within(limit, 1, 100_000, "--last")
    with session.reading(db) as connection:
        code = one(connection, bottle).code if bottle else None
        return _history(connection, code, limit)


def one(connection: "Connection", code: str) -> Held:
    """One bottle of an open inventory. Raises PrepError."""
    wanted = code.strip()
    for spelling in (wanted, wanted.upper()):
        if found := _held(connection, spelling):
            return found[0]
    raise PrepError(f'There is no bottle "{wanted[:40]}"; see: prep stock list')


def since_it_came(held: Held, day: Done) -> None:
    """Raises PrepError for what is said to have been done with a bottle before it came."""
    day.since(held.received, f"bottle {held.code} came")


def all_held(connection: "Connection") -> list[Held]:
    """Every bottle of an open inventory, discarded ones too."""
    return _held(connection)


def held_of(connection: "Connection", item: str) -> list[Held]:
    """Every bottle of one item of an open inventory, first expired first."""
    return _held(connection, item=item)


def _held(connection: "Connection", code: str | None = None, item: str | None = None) -> list[Held]:
    from sqlalchemy import func, select

    from prep.store.queries import table
    from prep.store.tables import BottleRow, SolutionRow, SubstanceRow

    b, s, m = table(BottleRow), table(SubstanceRow), table(SolutionRow)
    c = b.c
    query = (
        select(c.code, c.item, func.coalesce(s.c.name, m.c.name, c.item), c.measure, c.balance, c.status, c.location)
        .add_columns(
            c.use_by, c.received, c.opened, c.lot, c.strength, c.made_by, c.note, c.strength_uncertainty_pct, c.tare
        )
        .select_from(b.outerjoin(s, s.c.code == c.item).outerjoin(m, m.c.code == c.item))
        .order_by(c.item, c.use_by.is_(None), c.use_by, c.code)
    )
    if code is not None:
        query = query.where(c.code == code)
    if item is not None:
        query = query.where(c.item == item)
    measures = {measure.value: measure for measure in Measure}
    with collector_paused():  # thousands of new rows, none of them rubbish
        return [
            Held(code, item, name, measures[measure], *rest)
            for code, item, name, measure, *rest in connection.execute(query).all()
        ]


def _history(connection: "Connection", bottle: str | None, limit: int) -> list[Moved]:
    from sqlalchemy import select

    from prep.store.queries import table
    from prep.store.tables import BottleRow, ChangeRow, JobRow, MovementRow

    j, m, b, c = table(JobRow), table(MovementRow), table(BottleRow), table(ChangeRow)
    query = (
        select(j.c.id, j.c.kind, j.c.on, j.c.at, j.c.by, j.c.note, j.c.reverses, m.c.bottle, b.c.item)
        .add_columns(b.c.measure, m.c.amount, m.c.reason, m.c.id.label("line"))
        .select_from(j.outerjoin(m, m.c.job == j.c.id).outerjoin(b, b.c.code == m.c.bottle))
        .order_by(j.c.id.desc(), m.c.id.desc())
        .limit(limit)
    )
    if bottle is None:
        found = list(connection.execute(query))
    else:  # two questions, each by its own index: asked as one, they would read the whole ledger
        changed = select(c.c.job).where(c.c.kind == "bottle", c.c.code == bottle)
        found = [
            *connection.execute(query.where(m.c.bottle == bottle)),
            *connection.execute(query.where(j.c.id.in_(changed), m.c.id.is_(None))),
        ]
        found = sorted(found, key=lambda row: (row.id, row.line or 0), reverse=True)[:limit]
    return [
        Moved(
            row.id,
            row.kind,
            row.on,
            row.at,
            row.by,
            row.bottle or ("" if row.kind == "settings" else row.note.partition(":")[0]),
            row.item or "",
            Measure(row.measure or "mass"),
            row.amount or 0,
            row.reason or row.note,
            row.reverses,
        )
        for row in found
    ]
