"""What a closed count has signed off: movements of its bottles from before it are fixed.

A count whose closing job was undone is open again, and fixes nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, func, select

from prep.books import BottleStatus, CountStatus
from prep.errors import Refused
from prep.store.jobs import prepared_statements
from prep.store.table_rows import in_parts, table
from prep.store.tables import BottleRow, MovementRow, SignoffRow

_SIGNED, _BOTTLE, _MOVEMENT = table(SignoffRow), table(BottleRow), table(MovementRow)
_STANDING = (
    "SELECT signoff.bottle, stocktake.code, stocktake.job, stocktake.closed_on FROM signoff"
    " JOIN stocktake ON stocktake.job = signoff.job"
    " WHERE signoff.bottle IN ({marks}) AND stocktake.status = ? ORDER BY stocktake.job"
)
_CLOSED_LATER = (
    'SELECT stocktake.code, stocktake.job, stocktake.location, stocktake.closed_on, job."on" FROM stocktake'
    ' JOIN job ON job.id = ? WHERE stocktake.status = ? AND stocktake.closed_on > job."on" ORDER BY stocktake.job'
)
_DONE_ON = 'SELECT "on" FROM job WHERE id = ?'


@dataclass(frozen=True, slots=True)
class SignOff:
    """A bottle's last sign-off: the count, the job that closed it, and the day."""

    count: str
    job: int
    on: date


def last(connection: Connection, bottles: Iterable[str]) -> dict[str, SignOff]:
    """Find the last standing sign-off of each of the bottles that has one."""
    out: dict[str, SignOff] = {}
    for part in in_parts(bottles):
        found = prepared_statements.run(
            connection, _STANDING.format(marks=", ".join("?" * len(part))), *part, CountStatus.CLOSED
        )
        out.update((bottle, SignOff(code, job, prepared_statements.day(on))) for bottle, code, job, on in found)
    return out


def refuse_late(connection: Connection, job: int, bottles: Iterable[str]) -> None:
    """Refuse a job dated before the last sign-off of a bottle that it moves. Raises Refused."""
    signed = last(connection, bottles)
    if not signed:
        return
    on = prepared_statements.day(prepared_statements.run(connection, _DONE_ON, job).scalar_one())
    for bottle, by in sorted(signed.items()):
        if on < by.on:
            raise Refused(
                f"Bottle {bottle} was signed off by count {by.count} on {by.on}: what is dated {on} is fixed. "
                f"Date it {by.on} or later, in the new term."
            )


def refuse_late_arrivals(connection: Connection, job: int, places: Iterable[str]) -> None:
    """Refuse new bottles dated before a count of their place that looked for all of it. Raises Refused."""
    at = sorted(set(places))
    found = prepared_statements.run(connection, _CLOSED_LATER, job, CountStatus.CLOSED).all()
    for code, closing, place, *days in found:
        if place not in ("", *at) or _left_out(connection, closing, place):
            continue
        closed_on, on = map(prepared_statements.day, days)
        where = f"all that stands at {place}" if place else "the whole store"
        raise Refused(
            f"Count {code} signed off {where} on {closed_on}: what is dated {on} is fixed, and what "
            f"came before was found then. Date it {closed_on} or later, in the new term."
        )


def _left_out(connection: Connection, job: int, place: str) -> bool:
    """Tell whether the count that a job closed left a bottle out of which the books had something."""
    before = select(_MOVEMENT.c.bottle).where(_MOVEMENT.c.job < job)
    before = before.group_by(_MOVEMENT.c.bottle).having(func.sum(_MOVEMENT.c.amount) > 0)
    signed = select(_SIGNED.c.bottle).where(_SIGNED.c.job == job)
    query = select(_BOTTLE.c.code).where(
        _BOTTLE.c.code.in_(before), _BOTTLE.c.code.not_in(signed), _BOTTLE.c.status != BottleStatus.DISCARDED
    )
    if place:
        query = query.where(_BOTTLE.c.location == place)
    return connection.execute(query.limit(1)).first() is not None


def refuse_fixed(connection: Connection, job: int, bottles: Iterable[str]) -> None:
    """Refuse to undo a job that lies before the last sign-off of a bottle that it moved. Raises Refused."""
    for bottle, by in sorted(last(connection, bottles).items()):
        if job < by.job:
            raise Refused(
                f"Job {job} cannot be undone: bottle {bottle} was signed off by count {by.count} (job {by.job}, "
                f"{by.on}), which fixed it. Record what was wrong as a new job."
            )
