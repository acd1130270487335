"""Waste bottles and what was put into them. Lines are append-only; undone, they are taken back by new ones."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, func, insert, select, update

from prep.books import WasteStatus
from prep.errors import Refused
from prep.store.table_rows import table
from prep.store.tables import ChangeRow, JobRow, ResidueRow, WasteRow

_WASTE, _RESIDUE, _JOB, _CHANGE = table(WasteRow), table(ResidueRow), table(JobRow), table(ChangeRow)


@dataclass(frozen=True, slots=True)
class WasteBottle:
    """A waste bottle, and what it holds now. Amounts in nL."""

    code: str
    stream: str
    location: str
    full: int
    status: WasteStatus
    holds: int


@dataclass(frozen=True, slots=True)
class Residue:
    """One line: what was put in, or, below zero, taken away when it was emptied [nL]."""

    job: int
    on: date
    by: str
    amount: int
    what: str


def all_waste(connection: Connection) -> list[WasteBottle]:
    """List every waste bottle, in the order of their codes."""
    held = (
        select(_RESIDUE.c.waste, func.sum(_RESIDUE.c.amount).label("holds")).group_by(_RESIDUE.c.waste).subquery("held")
    )
    query = select(_WASTE, func.coalesce(held.c.holds, 0).label("holds")).outerjoin(held, held.c.waste == _WASTE.c.code)
    rows = connection.execute(query).mappings()
    found = [WasteBottle(r["code"], r["stream"], r["location"], r["full"], r["status"], int(r["holds"])) for r in rows]
    return sorted(found, key=lambda one: (len(one.code), one.code))


def residues(connection: Connection, code: str) -> list[Residue]:
    """List what was put into a waste bottle and taken away, oldest first."""
    query = select(_RESIDUE.c.job, _JOB.c.on, _JOB.c.by, _RESIDUE.c.amount, _RESIDUE.c.what)
    query = query.join(_JOB, _JOB.c.id == _RESIDUE.c.job).where(_RESIDUE.c.waste == code).order_by(_RESIDUE.c.id)
    return [Residue(*row) for row in connection.execute(query)]


def put_there(connection: Connection, code: str) -> date | None:
    """Find the day on which a waste bottle came on the books; None where nobody wrote it down."""
    query = select(func.min(_JOB.c.on)).join(_CHANGE, _CHANGE.c.job == _JOB.c.id)
    found: date | None = connection.execute(query.where(_CHANGE.c.kind == "waste", _CHANGE.c.code == code)).scalar()
    return found


def standing_jobs(connection: Connection, code: str) -> list[int]:
    """Find the jobs that put something into a waste bottle or emptied it, and were not undone."""
    undone = select(_JOB.c.reverses).where(_JOB.c.reverses.is_not(None))
    query = select(_RESIDUE.c.job).join(_JOB, _JOB.c.id == _RESIDUE.c.job).where(_RESIDUE.c.waste == code)
    query = query.where(_JOB.c.reverses.is_(None), _JOB.c.id.not_in(undone))
    return sorted(set(connection.execute(query).scalars()))


def add(connection: Connection, waste: WasteBottle) -> None:
    """Put a new waste bottle on the books."""
    row = {"code": waste.code, "stream": waste.stream, "location": waste.location}
    connection.execute(insert(_WASTE).values(row | {"full": waste.full, "status": waste.status}))


def close(connection: Connection, code: str) -> None:
    """Take a waste bottle out of use."""
    connection.execute(update(_WASTE).where(_WASTE.c.code == code).values(status=WasteStatus.CLOSED))


def post(connection: Connection, job: int, code: str, amount: int, what: str) -> None:
    """Write one line of a waste bottle [nL]."""
    connection.execute(insert(_RESIDUE).values(job=job, waste=code, amount=amount, what=what))


def written_by(connection: Connection, job: int) -> bool:
    """Tell whether a job put anything into a waste bottle, or emptied one."""
    return connection.execute(select(_RESIDUE.c.id).where(_RESIDUE.c.job == job).limit(1)).first() is not None


def take_back(connection: Connection, job: int, by_job: int) -> None:
    """Undo a job's lines by lines of another. Raises Refused where a bottle was emptied since."""
    rows = connection.execute(select(_RESIDUE.c.waste, _RESIDUE.c.amount, _RESIDUE.c.what).where(_RESIDUE.c.job == job))
    for waste, amount, what in rows.all():
        post(connection, by_job, waste, -amount, f"undo: {what}")
        total = select(func.sum(_RESIDUE.c.amount)).where(_RESIDUE.c.waste == waste)
        if connection.execute(total).scalar_one() < 0:
            raise Refused(f"Job {job} cannot be undone: waste bottle {waste} has been emptied since.")
