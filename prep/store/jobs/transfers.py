"""The hand-overs between schools that stand in the books of one of them: those whose job was not undone."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, insert, select

from prep.books import HandOverSide
from prep.chemistry.model import Measure
from prep.store.table_rows import table
from prep.store.tables import BottleRow, HandOverRow, JobRow, MovementRow

_ROWS, _JOB, _MOVED, _BOTTLE = table(HandOverRow), table(JobRow), table(MovementRow), table(BottleRow)


@dataclass(frozen=True, slots=True)
class NewHandOver:
    """A hand-over to be recorded: its name, the other school's code, and the bottle at the school that gave."""

    name: str
    side: HandOverSide
    school: str
    bottle: str


@dataclass(frozen=True, slots=True)
class RecordedHandOver:
    """A hand-over on record: of what, how much [ug or nL], by which job, on which day, and this school's bottle."""

    name: str
    side: HandOverSide
    school: str
    bottle: str
    job: int
    on: date
    own_bottle: str
    item: str
    measure: Measure
    amount: int


def put(connection: Connection, job: int, one: NewHandOver) -> None:
    """Record a hand-over in its job."""
    row = {"name": one.name, "side": one.side.value, "school": one.school, "bottle": one.bottle}
    connection.execute(insert(_ROWS).values(row | {"number": job, "recorded_by": job}))


def standing(connection: Connection) -> list[RecordedHandOver]:
    """List every hand-over that stands, oldest first."""
    # Undoing a job takes its record away, but not one that an upgrade made of the job's note.
    undone = select(_JOB.c.reverses).where(_JOB.c.reverses.is_not(None))
    query = (
        select(_ROWS.c.name, _ROWS.c.side, _ROWS.c.school, _ROWS.c.bottle, _JOB.c.id, _JOB.c.on)
        .add_columns(_BOTTLE.c.code, _BOTTLE.c.item, _BOTTLE.c.measure, _MOVED.c.amount)
        .join(_JOB, _JOB.c.id == _ROWS.c.recorded_by)
        .join(_MOVED, _MOVED.c.job == _JOB.c.id)
        .join(_BOTTLE, _BOTTLE.c.code == _MOVED.c.bottle)
        .where(_ROWS.c.recorded_by.not_in(undone))
        .order_by(_ROWS.c.number)
    )
    return [
        RecordedHandOver(
            row.name,
            HandOverSide(row.side),
            row.school,
            row.bottle,
            row.id,
            row.on,
            row.code,
            row.item,
            Measure(row.measure),
            abs(row.amount),
        )
        for row in connection.execute(query)
    ]
