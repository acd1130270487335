"""The makes on the books: which bottle each filled, and when."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from prep.store.jobs import prepared_statements
from prep.store.table_rows import table
from prep.store.tables import BatchRow, JobRow


@dataclass(frozen=True, slots=True)
class BottleMade:
    """The day a bottle was made, and the job that made it: the number of its batch."""

    on: date
    job: int


def put(connection: Connection, job: int, bottle: str, **values: Any) -> None:
    """Write down that a make filled a bottle, as part of its job; the values are the columns of its row."""
    prepared_statements.insert(connection, table(BatchRow), [{"job": job, "bottle": bottle, **values}])


def made_on(connection: Connection) -> dict[str, BottleMade]:
    """Read when each bottle that was made here was made."""
    rows = table(BatchRow)
    query = select(rows.c.bottle, rows.c.made_on, rows.c.job)
    return {row.bottle: BottleMade(row.made_on, row.job) for row in connection.execute(query)}


@dataclass(frozen=True, slots=True)
class DayMake:
    """A make of a day as it stands on the books: its job, and the bottles that it filled."""

    job: int
    amount: int
    bottles: tuple[str, ...]


def of_day(connection: Connection, solution: str, on: date) -> tuple[DayMake, ...]:
    """List the makes of a solution on a day, but for those that were undone; `amount` is the whole of each [nL]."""
    rows, jobs = table(BatchRow), table(JobRow)
    undone = select(jobs.c.reverses).where(jobs.c.reverses.is_not(None))
    query = (
        select(rows.c.job, rows.c.amount, rows.c.bottle)
        .where(rows.c.solution == solution, rows.c.made_on == on, rows.c.job.not_in(undone))
        .order_by(rows.c.job, rows.c.bottle)
    )
    found: dict[int, DayMake] = {}
    for row in connection.execute(query):
        known = found.get(row.job, DayMake(row.job, 0, ()))
        found[row.job] = DayMake(row.job, known.amount + row.amount, (*known.bottles, row.bottle))
    return tuple(found.values())
