"""The jobs of transfers between schools that stand: not undone."""

from typing import Any

from sqlalchemy import Connection, select

from prep.books import JobKind
from prep.store.table_rows import table
from prep.store.tables import BottleRow, JobRow, MovementRow

_JOB, _MOVED, _BOTTLE = table(JobRow), table(MovementRow), table(BottleRow)


def standing(connection: Connection) -> list[Any]:
    """List (job, day, note) of every transfer that was not undone, oldest first."""
    undone = select(_JOB.c.reverses).where(_JOB.c.reverses.is_not(None))
    query = select(_JOB.c.id, _JOB.c.on, _JOB.c.note).where(_JOB.c.kind == JobKind.TRANSFER, _JOB.c.id.not_in(undone))
    return list(connection.execute(query.order_by(_JOB.c.id)))


def brought(connection: Connection, job: int) -> Any:
    """Read what a transfer brought: item, measure and amount."""
    query = select(_BOTTLE.c.item, _BOTTLE.c.measure, _MOVED.c.amount).join(_MOVED, _MOVED.c.bottle == _BOTTLE.c.code)
    return connection.execute(query.where(_MOVED.c.job == job, _MOVED.c.amount > 0)).one()


def filled(connection: Connection, job: int) -> str:
    """Name the bottle that a transfer filled."""
    query = select(_MOVED.c.bottle).where(_MOVED.c.job == job, _MOVED.c.amount > 0)
    return str(connection.execute(query).scalar_one())
