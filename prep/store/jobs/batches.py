"""The makes on the books: which bottle each filled, and when."""

from datetime import date
from typing import Any

from sqlalchemy import Connection, select

from prep.store.jobs import prepared_statements
from prep.store.table_rows import table
from prep.store.tables import BatchRow


def put(connection: Connection, job: int, bottle: str, **values: Any) -> None:
    """Write down that a make filled a bottle, as part of its job; the values are the columns of its row."""
    prepared_statements.insert(connection, table(BatchRow), [{"job": job, "bottle": bottle, **values}])


def made_on(connection: Connection) -> dict[str, tuple[date, int]]:
    """Read the day on which each made bottle was made, and the job that made it: the number of its batch."""
    rows = table(BatchRow)
    query = select(rows.c.bottle, rows.c.made_on, rows.c.job)
    return {row.bottle: (row.made_on, row.job) for row in connection.execute(query)}
