"""What came from where: every movement, make and bottle, for tracing."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from prep.books import JobKind
from prep.chemistry.model import Measure
from prep.stocktake import genealogy
from prep.stocktake.genealogy import Graph
from prep.stocktake.model import BatchRecord, BottleRecord, Movement
from prep.store import tables as t
from prep.store.table_rows import table


@dataclass(frozen=True, slots=True)
class Lineage:
    """What came from where, and the bookings that something was used for."""

    graph: Graph
    bookings: frozenset[str]


def lineage(connection: Connection) -> Lineage:
    """Read every movement, make and bottle, for tracing."""
    m, j, b, f, u = (table(one) for one in (t.MovementRow, t.JobRow, t.BottleRow, t.BatchRow, t.UsageRow))
    bookings = {row.job: row.booking for row in connection.execute(select(u.c.job, u.c.booking).distinct())}
    query: Any = (
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
    used = frozenset(one.booking for one in moved if one.booking)
    return Lineage(genealogy.build(moved, batches, bottles), used)
