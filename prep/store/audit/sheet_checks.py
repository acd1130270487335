"""What was read on suppliers' data sheets: written by a job, read for every answer that rests on it."""

from sqlalchemy import Connection, insert, select

from prep.safety.model import SheetCheck
from prep.store import tables as t
from prep.store.jobs import prepared_statements
from prep.store.table_rows import table


def put(connection: Connection, job: int, check: SheetCheck) -> None:
    """Write what somebody read on a sheet, as part of a job."""
    connection.execute(
        insert(table(t.SheetCheckRow)).values(
            job=job,
            substance=check.substance,
            supplier=check.supplier,
            revision=check.revision,
            classification=check.classification,
        )
    )


def written_by(connection: Connection, job: int) -> bool:
    """Tell whether a job recorded what was read on a sheet; a job that takes it back is enough to undo it."""
    rows = table(t.SheetCheckRow)
    return connection.execute(select(rows.c.id).where(rows.c.job == job).limit(1)).first() is not None


# Read for every plan: as ready text it needs no table of the books.
_LATEST = """SELECT c.substance, c.supplier, c.revision, c.classification, j."by", j."on", j.id
FROM sheet_check c JOIN job j ON j.id = c.job WHERE c.id IN (
 SELECT max(id) FROM sheet_check WHERE job NOT IN (SELECT reverses FROM job WHERE reverses IS NOT NULL)
 GROUP BY substance)"""


def latest(connection: Connection) -> dict[str, SheetCheck]:
    """Find the last reading of each substance's data sheet that no job has taken back."""
    return {
        substance: SheetCheck(substance, supplier, revision, classification, by, prepared_statements.day(on), job)
        for substance, supplier, revision, classification, by, on, job in prepared_statements.run(connection, _LATEST)
    }
