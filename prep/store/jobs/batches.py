"""The makes on the books: which bottle each filled, and when."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from prep.store.jobs import prepared_statements
from prep.store.table_rows import table
from prep.store.tables import BatchRow


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
