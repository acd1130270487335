"""Where a bottle, a lot or a booking's share came from and went, and taking a recalled lot out of service."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, JobKind
from prep.chemistry.model import Measure
from prep.errors import PrepError
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.stocktake import genealogy
from prep.stocktake.genealogy import BatchRecord, BottleRecord, Downstream, Graph, Movement, Upstream

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Trace:
    """Both ways from one thing; `up` is None for a lot, `down` for a booking."""

    start: str
    kind: str  # bottle, lot or booking
    up: Upstream | None
    down: Downstream | None
    quarantined: tuple[str, ...] = ()
    job: int | None = None


def trace(db: Path | None, thing: str) -> Trace:
    """A bottle both ways, a lot to all that got some, a booking back to its lots. Raises PrepError."""
    with session.reading(db) as connection:
        return _trace(connection, thing)


def recall(db: Path | None, thing: str, reason: str, act: Act) -> Trace:
    """As `trace`, and whatever holds some of the bottle or lot goes into quarantine, as one job.

    Raises PrepError for a booking, and where nothing in service holds any.
    """
    printable(reason, label="--reason")
    with session.writing(db) as connection:
        found = _trace(connection, thing)
        if found.down is None:
            raise PrepError(f"{found.start} is a booking; a bottle or a lot is recalled.")
        codes = found.down.quarantine
        if not codes:
            raise PrepError(f"Nothing in service holds any of {found.start}; nothing was changed.")
        from prep.services.stock import listing
        from prep.store import change_log, ledger

        note = f"{', '.join(codes[:20])}: recall of {found.kind} {found.start} {reason}".strip()
        job = ledger.begin(connection, JobKind.RECALL, act.by, act.on, note)
        for code in codes:
            listing.since_it_came(listing.one(connection, code), act.day)
            change_log.change(connection, job, "bottle", code, status=BottleStatus.QUARANTINE)
        return Trace(found.start, found.kind, found.up, found.down, codes, job)


def _trace(connection: "Connection", thing: str) -> Trace:
    graph, bookings = _graph(connection)
    for name in (thing.strip(), thing.strip().upper()):
        if name in graph.bottles:
            return Trace(name, "bottle", genealogy.upstream(graph, name), genealogy.downstream(graph, name))
        if name and any(b.lot == name for b in graph.bottles.values()):
            return Trace(name, "lot", None, genealogy.downstream(graph, name))
        if name in bookings:
            return Trace(name, "booking", genealogy.upstream(graph, name), None)
    raise PrepError(
        f'"{thing[:40]}" is neither a bottle nor a lot on the books, nor a booking that is done; see: prep stock list'
    )


def _graph(connection: "Connection") -> tuple[Graph, set[str]]:
    from sqlalchemy import select

    from prep.store.queries import table
    from prep.store.tables import BatchRow, BottleRow, JobRow, MovementRow, UsageRow

    m, j, b, f, u = (table(one) for one in (MovementRow, JobRow, BottleRow, BatchRow, UsageRow))
    bookings = {row.job: row.booking for row in connection.execute(select(u.c.job, u.c.booking).distinct())}
    query = (
        select(m.c.job, m.c.bottle, m.c.amount, m.c.reason, j.c.on, m.c.id, m.c.reverses)
        .join(j, j.c.id == m.c.job)
        .order_by(m.c.id)
    )
    moved = [
        Movement(job, bottle, amount, reason, on, bookings.get(job, ""), number, reverses)
        for job, bottle, amount, reason, on, number, reverses in connection.execute(query)
    ]
    batches = [BatchRecord(bottle, job) for bottle, job in connection.execute(select(f.c.bottle, f.c.job))]
    poured = select(m.c.bottle, m.c.job).join(j, j.c.id == m.c.job)
    poured = poured.where(j.c.kind == JobKind.DECANT, m.c.amount > 0)
    batches += [BatchRecord(bottle, job) for bottle, job in connection.execute(poured)]
    bottles = [
        BottleRecord(code, item, Measure(measure), lot, status)
        for code, item, measure, lot, status in connection.execute(
            select(b.c.code, b.c.item, b.c.measure, b.c.lot, b.c.status)
        )
    ]
    got = {one.booking for one in moved if one.booking}
    return genealogy.build(moved, batches, bottles), got
