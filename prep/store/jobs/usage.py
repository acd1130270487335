"""What the bookings that are done used of each item, beside what was planned."""

from collections.abc import Iterable

from sqlalchemy import Connection, insert

from prep.planning.usage_factors import UsageRecord
from prep.store import tables as t
from prep.store.jobs import prepared_statements
from prep.store.table_rows import table


def put(connection: Connection, job: int, used: Iterable[UsageRecord]) -> None:
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


# Read for every plan: as ready text it needs no table of the books.
_RECORDS = """SELECT u.demo, u.booking, u.item, u.planned, u.used, j."on", u.measured
FROM usage u JOIN job j ON j.id = u.job WHERE NOT EXISTS (SELECT 1 FROM job undoing WHERE undoing.reverses = u.job)
ORDER BY u.job, u.item"""


def records(connection: Connection) -> list[UsageRecord]:
    """Read what was used and planned, of bookings whose job stands."""
    return [
        UsageRecord(demo, booking, item, planned, used, prepared_statements.day(on), bool(measured))
        for demo, booking, item, planned, used, on, measured in prepared_statements.run(connection, _RECORDS)
    ]
