"""What the bookings that are done used of each item, beside what was planned."""

from collections.abc import Iterable

from sqlalchemy import Connection, insert, select

from prep.planning.usage_factors import Record
from prep.store import tables as t
from prep.store.table_rows import table


def put(connection: Connection, job: int, used: Iterable[Record]) -> None:
    """Write down what a booking used, as part of its job."""
    rows = [
        {
            "job": job,
            "item": one.item,
            "booking": one.booking,
            "demo": one.demo,
            "planned": one.planned,
            "used": one.used,
            "measured": int(one.measured),
        }
        for one in used
    ]
    if rows:
        connection.execute(insert(table(t.UsageRow)), rows)


def records(connection: Connection) -> list[Record]:
    """Read what was used and planned, of bookings whose job stands."""
    u, j = table(t.UsageRow), table(t.JobRow)
    undoing = j.alias()
    query = (
        select(u, j.c.on)
        .join(j, j.c.id == u.c.job)
        .where(~select(undoing.c.id).where(undoing.c.reverses == u.c.job).exists())
        .order_by(u.c.job, u.c.item)
    )
    return [
        Record(row.demo, row.booking, row.item, row.planned, row.used, row.on, bool(row.measured))
        for row in connection.execute(query)
    ]
