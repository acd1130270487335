"""What was read on suppliers' data sheets: written by a job, read for every answer that rests on it."""

from sqlalchemy import Connection, func, insert, select

from prep.safety.model import SheetCheck
from prep.store import tables as t

_ROWS = t.SheetCheckRow.__table__  # type: ignore[attr-defined]
_JOB = t.JobRow.__table__  # type: ignore[attr-defined]


def put(connection: Connection, job: int, check: SheetCheck) -> None:
    """Write what somebody read on a sheet, as part of a job."""
    connection.execute(
        insert(_ROWS).values(
            job=job,
            substance=check.substance,
            supplier=check.supplier,
            revision=check.revision,
            classification=check.classification,
        )
    )


def latest(connection: Connection) -> dict[str, SheetCheck]:
    """Find the last reading of each substance's data sheet that no job has taken back."""
    taken_back = select(_JOB.c.reverses).where(_JOB.c.reverses.is_not(None))
    newest = (
        select(func.max(_ROWS.c.id).label("id"))
        .where(_ROWS.c.job.not_in(taken_back))
        .group_by(_ROWS.c.substance)
        .subquery()
    )
    query = (
        select(_ROWS, _JOB.c.by, _JOB.c.on).join(newest, newest.c.id == _ROWS.c.id).join(_JOB, _JOB.c.id == _ROWS.c.job)
    )
    return {
        row.substance: SheetCheck(
            row.substance, row.supplier, row.revision, row.classification, row.by, row.on, row.job
        )
        for row in connection.execute(query)
    }
