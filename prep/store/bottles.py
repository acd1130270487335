"""Bottles as the books have them."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, func, select

from prep.books import BottleStatus
from prep.chemistry import quantities
from prep.chemistry.model import UNSTABLE, Measure
from prep.garbage_collection import collector_paused
from prep.records import record
from prep.safety.peroxides import DatedBottle
from prep.store.jobs import peroxide_tests, prepared_statements
from prep.store.table_rows import table
from prep.store.tables import BottleRow, SolutionRow, SubstanceRow


@dataclass(slots=True, unsafe_hash=True)
class HeldBottle:
    """One bottle as the books have it. Never changed, but not frozen: thousands would take longer to make."""

    code: str
    item: str
    name: str
    measure: Measure
    balance: int
    status: BottleStatus
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
    full: int | None = None  # what it holds when full
    supplier: str | None = None
    cost: str | None = None  # decimal text, of the full bottle, in the school's currency

    @property
    def shown(self) -> str:
        """What is in it, as text."""
        return quantities.show(self.balance, self.measure)


@record(frozen=True, slots=True)
class BottlePortion:
    """What is taken of a bottle, in its own unit (ug or nL)."""

    bottle: HeldBottle
    amount: int


_ONE = """SELECT b.code, b.item, coalesce(s.name, m.name, b.item), b.measure, b.balance, b.status, b.location, b.use_by,
 b.received, b.opened, b.lot, b.strength, b.made_by, b.note, b.strength_uncertainty_pct, b.tare, b."full", b.supplier,
 b.cost
FROM bottle b LEFT JOIN substance s ON s.code = b.item LEFT JOIN solution m ON m.code = b.item WHERE b.code = ?"""


def one(connection: Connection, code: str) -> HeldBottle | None:
    """Read one bottle by its code, by a prepared statement, as others wait for the lock; None where there is none."""
    row = prepared_statements.run(connection, _ONE, code).first()
    if row is None:
        return None
    said, item, name, measure, balance, status, location, *days = row[:10]
    use_by, received, opened = (None if one is None else prepared_statements.day(one) for one in days)
    return HeldBottle(
        said, item, name, Measure(measure), balance, status, location, use_by, received, opened, *row[10:]
    )


def held(connection: Connection, item: str | None = None) -> list[HeldBottle]:
    """List every bottle, or those of one item: by item, first to expire first."""
    b, s, m = table(BottleRow), table(SubstanceRow), table(SolutionRow)
    c = b.c
    query = (
        select(c.code, c.item, func.coalesce(s.c.name, m.c.name, c.item), c.measure, c.balance, c.status, c.location)
        .add_columns(
            c.use_by,
            c.received,
            c.opened,
            c.lot,
            c.strength,
            c.made_by,
            c.note,
            c.strength_uncertainty_pct,
            c.tare,
            c.full,
            c.supplier,
            c.cost,
        )
        .select_from(b.outerjoin(s, s.c.code == c.item).outerjoin(m, m.c.code == c.item))
        .order_by(c.item, c.use_by.is_(None), c.use_by, c.code)
    )
    if item is not None:
        query = query.where(c.item == item)
    measures = {measure.value: measure for measure in Measure}
    with collector_paused():  # thousands of new objects, none of them garbage to collect
        return [
            HeldBottle(code, item, name, measures[measure], *rest)
            for code, item, name, measure, *rest in connection.execute(query).all()
        ]


def places_of_strengths(connection: Connection, solution: str) -> set[str]:
    """Find the places at which other strengths of a solution stand, such as dilute acids."""
    b, m = table(BottleRow), table(SolutionRow)
    solute = select(m.c.solute).where(m.c.code == solution, m.c.solute != "").scalar_subquery()
    query = select(b.c.location).join(m, m.c.code == b.c.item).where(m.c.solute == solute)
    standing = query.where(b.c.balance > 0, b.c.status != BottleStatus.DISCARDED)
    return set(connection.execute(standing.distinct()).scalars())


def is_taken(connection: Connection, code: str) -> bool:
    """Tell whether a bottle has this code already."""
    return prepared_statements.run(connection, "SELECT 1 FROM bottle WHERE code = ?", code).first() is not None


def how_many(connection: Connection) -> int:
    """Count the bottles on the books."""
    return int(connection.execute(select(func.count()).select_from(table(BottleRow))).scalar_one())


def dated(connection: Connection, *, only_peroxides: bool = False) -> list[DatedBottle]:
    """Read every bottle with something in it that is not discarded, with its dates, by code."""
    b, s, m = table(BottleRow), table(SubstanceRow), table(SolutionRow)
    query = (
        select(b.c.code, b.c.item, b.c.use_by, b.c.received, b.c.opened, b.c.status, s.c.name, s.c.peroxide_class)
        .add_columns(m.c.name.label("made"), m.c.keeping)
        .select_from(b.outerjoin(s, s.c.code == b.c.item).outerjoin(m, m.c.code == b.c.item))
        .where(b.c.status != BottleStatus.DISCARDED.value, b.c.balance > 0)
        .order_by(b.c.code)
    )
    if only_peroxides:
        query = query.where(s.c.peroxide_class != "")
    rows = list(connection.execute(query))
    tests = peroxide_tests.last_days(connection) if any(row.peroxide_class for row in rows) else {}
    return [
        DatedBottle(
            bottle=row.code,
            name=row.name or row.made or row.item,
            use_by=row.use_by,
            received=row.received,
            opened=row.opened,
            peroxide_class=row.peroxide_class or "",
            tested=tests.get(row.code),
            unstable=UNSTABLE in (row.keeping or "").split(";"),
            quarantined=row.status == BottleStatus.QUARANTINE,
        )
        for row in rows
    ]
