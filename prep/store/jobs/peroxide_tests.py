"""The peroxide tests on record: which bottle was tested and passed, on which day."""

from datetime import date

from sqlalchemy import Connection, delete, func, insert, select

from prep.records import record
from prep.store import tables as t
from prep.store.jobs import prepared_statements
from prep.store.table_rows import table


@record(frozen=True, slots=True)
class PeroxideTest:
    """A test that a bottle passed, and the job that recorded it."""

    number: int
    bottle: str
    on: date
    job: int


def put(connection: Connection, job: int, bottle: str, on: date) -> None:
    """Record that a bottle passed its test, in a job of its own; undoing the job takes the record away."""
    rows = table(t.PeroxideTestRow)
    number = connection.execute(select(func.coalesce(func.max(rows.c.number), 0))).scalar_one()
    connection.execute(insert(rows).values(number=int(number) + 1, bottle=bottle, on=on, recorded_by=job))


def drop(connection: Connection, number: int) -> None:
    """Take a test off the record."""
    rows = table(t.PeroxideTestRow)
    connection.execute(delete(rows).where(rows.c.number == number))


def last_of(connection: Connection, bottle: str) -> PeroxideTest | None:
    """Read the test of a bottle that was recorded last."""
    rows = table(t.PeroxideTestRow)
    query = select(rows).where(rows.c.bottle == bottle).order_by(rows.c.number.desc()).limit(1)
    found = connection.execute(query).first()
    return None if found is None else PeroxideTest(found.number, found.bottle, found.on, found.recorded_by)


_LAST_DAYS = 'SELECT bottle, max("on") FROM peroxide_test GROUP BY bottle'


def last_days(connection: Connection) -> dict[str, date]:
    """Read the latest day on which each bottle was tested and passed."""
    return {bottle: prepared_statements.day(on) for bottle, on in prepared_statements.run(connection, _LAST_DAYS)}
