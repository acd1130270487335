"""The history of the books: each job with the bottles that it moved something in, or changed."""

from datetime import date

from sqlalchemy import Connection, and_, func, select

from prep.books import BottleStatus
from prep.chemistry.model import Measure
from prep.records import record
from prep.store import tables as t
from prep.store.table_rows import by_number, table


@record(frozen=True, slots=True)
class HistoryLine:
    """One line of history. `amount` is 0 for a job that moved no amount (a change of place)."""

    job: int
    kind: str
    on: date
    at: str
    by: str
    bottle: str
    item: str
    measure: Measure
    amount: int
    reason: str
    reverses: int | None


def moves(connection: Connection, bottle: str | None, limit: int) -> list[HistoryLine]:
    """Read the newest lines of history, of one bottle or of all; a job that changed bottles has a line for each."""
    j, m, b, c = table(t.JobRow), table(t.MovementRow), table(t.BottleRow), table(t.ChangeRow)
    lines = m.c.job == j.c.id
    touched = select(c.c.job, c.c.code).where(c.c.kind == "bottle").distinct().subquery()
    query = (
        select(j.c.id, j.c.kind, j.c.on, j.c.at, j.c.by, j.c.note, j.c.reverses, m.c.bottle, b.c.item)
        .add_columns(b.c.measure, m.c.amount, m.c.reason, m.c.id.label("line"))
        .select_from(j.outerjoin(m, lines).outerjoin(b, b.c.code == m.c.bottle))
        .order_by(j.c.id.desc(), m.c.id.desc())
        .limit(limit)
    )
    if bottle is None:
        found = list(connection.execute(query))
    else:  # two queries, each with its own index: one query for both would scan the whole ledger
        changed = select(c.c.job).where(c.c.kind == "bottle", c.c.code == bottle)
        found = [
            *connection.execute(query.where(m.c.bottle == bottle)),
            *connection.execute(query.where(j.c.id.in_(changed), m.c.id.is_(None))),
        ]
        found = sorted(found, key=lambda row: (row.id, row.line or 0), reverse=True)[:limit]
    still = [row.id for row in found if row.line is None] if bottle is None else []
    changes: dict[int, list[str]] = {}
    for part in range(0, len(still), 500):
        codes = select(touched.c.job, touched.c.code).where(touched.c.job.in_(still[part : part + 500]))
        for job, code in connection.execute(codes.order_by(touched.c.job, *by_number(touched.c.code))):
            changes.setdefault(job, []).append(code)
    return [
        HistoryLine(
            row.id,
            row.kind,
            row.on,
            row.at,
            row.by,
            code,
            row.item or "",
            Measure(row.measure or "mass"),
            row.amount or 0,
            row.reason or row.note,
            row.reverses,
        )
        for row in found
        for code in ([row.bottle] if row.line is not None else _of(changes.get(row.id, []), bottle))
    ][:limit]


def _of(codes: list[str], bottle: str | None) -> list[str]:
    """List the bottles that a job has a line for in the history: one empty name where it changed none."""
    return [bottle] if bottle is not None else codes or [""]


def day_of(connection: Connection, job: int) -> date | None:
    """Read the day of a job; None where there is no such job."""
    jobs = table(t.JobRow)
    found: date | None = connection.execute(select(jobs.c.on).where(jobs.c.id == job)).scalar()
    return found


def kind_of(connection: Connection, job: int) -> str | None:
    """Read what a job is; None where there is no such job."""
    jobs = table(t.JobRow)
    found: str | None = connection.execute(select(jobs.c.kind).where(jobs.c.id == job)).scalar()
    return found


def filled_by(connection: Connection, job: int) -> list[str]:
    """Read the bottles that a job put on the books and that are not discarded."""
    rows, bottles = table(t.ChangeRow), table(t.BottleRow)
    gone = select(bottles.c.code).where(bottles.c.status == BottleStatus.DISCARDED.value)
    new = and_(rows.c.kind == "bottle", rows.c.field.in_(("status", "*")), rows.c.before.is_(None))
    query = select(rows.c.code).where(rows.c.job == job, new, rows.c.code.not_in(gone)).order_by(rows.c.id)
    return list(connection.execute(query).scalars())


def last_to_set(connection: Connection, bottle: str, field: str) -> str | None:
    """Find the kind of the last job that set a field of a bottle and stands, not counting how it came on the books."""
    c, j = table(t.ChangeRow), table(t.JobRow)
    undone = select(j.c.reverses).where(j.c.reverses.is_not(None))
    mine = and_(c.c.kind == "bottle", c.c.code == bottle, c.c.field == field)
    query = (
        select(j.c.kind)
        .select_from(c.join(j, j.c.id == c.c.job))
        .where(mine, j.c.reverses.is_(None), j.c.id.not_in(undone))
        .order_by(c.c.id.desc())
        .limit(1)
    )
    kind = connection.execute(query).scalar_one_or_none()
    return None if kind is None else str(kind)


def came_with(connection: Connection, bottle: str, field: str) -> str | None:
    """Find what a field of a bottle was before it was first changed; None where it never was."""
    c = table(t.ChangeRow)
    mine = and_(c.c.kind == "bottle", c.c.code == bottle, c.c.field == field)
    return connection.execute(select(c.c.before).where(mine).order_by(c.c.id).limit(1)).scalar_one_or_none()


def how_many(connection: Connection) -> int:
    """Count the jobs on the books."""
    return int(connection.execute(select(func.count()).select_from(table(t.JobRow))).scalar_one())
