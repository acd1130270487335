"""THE LEDGER: the only code that changes an amount.

A job is one thing done; its movements, and the balances they change, are written in one transaction. Amounts
are integers (ug or nL). Nothing is changed afterwards: a mistake is undone by a job that reverses it.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from operator import itemgetter
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from prep.books import CountStatus, JobKind
from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.errors import NotOnFile, PrepError, Refused
from prep.store import bulk, change_log, sign_offs
from prep.store.audit import logged_records, sheet_checks
from prep.store.jobs import prepared_statements
from prep.store.school import waste
from prep.store.tables import BottleRow, JobRow, MovementRow, StocktakeRow, TallyRow
from prep.wording import AtTerminal

_BOTTLE = BottleRow.__table__  # type: ignore[attr-defined]
_JOB = JobRow.__table__  # type: ignore[attr-defined]
_MOVEMENT = MovementRow.__table__  # type: ignore[attr-defined]
_TALLY = TallyRow.__table__  # type: ignore[attr-defined]
_COUNT = StocktakeRow.__table__  # type: ignore[attr-defined]
_MOVE = "UPDATE bottle SET balance = balance + ? WHERE code = ? AND balance + ? >= 0"


@dataclass(frozen=True, slots=True)
class MovementLine:
    """A movement to post: signed, in the bottle's own unit."""

    bottle: str
    amount: int
    reason: str


@dataclass(frozen=True, slots=True)
class JobDone:
    """Who did a job, and the day."""

    by: str
    on: date


@dataclass(frozen=True, slots=True)
class WrongBalance:
    """A bottle whose balance on file is not the sum of its movements."""

    bottle: str
    balance: int
    summed: int


def now() -> str:
    """Tell this moment in UTC, ISO 8601 to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def begin(connection: Connection, kind: str, by: str, on: date, note: str = "", reverses: int | None = None) -> int:
    """Open a job and return its number. `on` is the day it was done, which may be before today."""
    row = {"kind": str(kind), "by": by, "at": now(), "on": on, "note": note, "reverses": reverses}
    return prepared_statements.insert_numbered(connection, _JOB, row)


def done(connection: Connection, job: int) -> JobDone:
    """Read who did a job, and the day."""
    row = connection.execute(select(_JOB.c.by, _JOB.c.on).where(_JOB.c.id == job)).one()
    return JobDone(str(row.by), row.on)


def post(connection: Connection, job: int, lines: Iterable[MovementLine]) -> None:
    """Write movements and change the balances they touch.

    Raises Refused, in a sentence, if a bottle would go below zero or the job is dated before the bottle's
    last sign-off; PrepError for an unknown bottle or a float. The caller's transaction is then rolled back as a whole.
    """
    lines = list(lines)
    totals: dict[str, int] = {}
    for line in lines:
        if type(line.amount) is not int:
            raise PrepError(f"The ledger takes whole micrograms or nanolitres, not {line.amount!r}.")
        totals[line.bottle] = totals.get(line.bottle, 0) + line.amount
    sign_offs.refuse_late(connection, job, totals)
    for code, amount in sorted(totals.items()):
        if prepared_statements.run(connection, _MOVE, amount, code, amount).rowcount != 1:
            raise _refusal(connection, code, amount)
    if rows := [
        {"job": job, "bottle": line.bottle, "amount": line.amount, "reason": line.reason}
        for line in lines
        if line.amount
    ]:
        prepared_statements.insert(connection, _MOVEMENT, rows)


def load(
    connection: Connection,
    job: int,
    bottles: list[dict[str, Any]],
    reason: str,
    more: Callable[[int], None] = lambda _: None,
) -> None:
    """Put many new bottles, of the same fields, on the books at once, each with its content as a movement of the job.

    Their dates are ISO text. `more` is told of rows as they are written: three for a bottle, two for an empty one.
    """
    if not bottles:
        return
    sign_offs.refuse_late_arrivals(connection, job, (one["location"] for one in bottles))
    fields = list(bottles[0])
    bulk.insert(connection, _BOTTLE, fields, map(itemgetter(*fields), bottles), more)
    change_log.created(connection, job, bottles, more)
    filled = ((job, b["code"], b["balance"], reason) for b in bottles if b["balance"])
    bulk.insert(connection, _MOVEMENT, ("job", "bottle", "amount", "reason"), filled, more)


def fill(connection: Connection, job: int, bottle: dict[str, object], amount: int, reason: str) -> None:
    """Put one new bottle on the books and fill it. Raises Refused where a count of its place was signed off since."""
    sign_offs.refuse_late_arrivals(connection, job, [str(bottle["location"])])
    prepared_statements.insert(connection, _BOTTLE, [{**bottle, "balance": 0}])
    change_log.created(connection, job, [bottle])
    post(connection, job, [MovementLine(str(bottle["code"]), amount, reason)])


@dataclass(frozen=True, slots=True)
class Reversal:
    """A job that may be undone: what it is, what it moved, and by how much each bottle changes back."""

    job: int
    kind: str
    moved: Sequence[Any]
    back: Mapping[str, int]


def reversal(connection: Connection, job: int) -> Reversal:
    """Work out the undoing of a job as a whole, before the lock.

    Raises PrepError for an unknown job; Refused for one already undone, for an undoing, and for what a count has
    signed off.
    """
    row = connection.execute(select(_JOB).where(_JOB.c.id == job)).mappings().first()
    if row is None:
        raise NotOnFile(f"There is no job {job}", AtTerminal("; see: prep stock history", "."))
    if row["reverses"] is not None:
        raise Refused(f"Job {job} is itself an undoing of job {row['reverses']}; record the work anew instead.")
    undone = connection.execute(select(_JOB.c.id).where(_JOB.c.reverses == job)).scalar()
    if undone is not None:
        raise Refused(f"Job {job} was already undone, by job {undone}.")
    moved = connection.execute(select(_MOVEMENT).where(_MOVEMENT.c.job == job)).mappings().all()
    wasted = waste.written_by(connection, job)
    lines = change_log.of(connection, job)
    read = sheet_checks.written_by(connection, job)
    if not moved and not wasted and not lines and not read and not _tallied(connection, job):
        raise PrepError(f"Job {job} changed nothing that could be undone.")
    made = row["kind"] == JobKind.OPENING and any(line["kind"] == "setting" for line in lines)
    if made or row["kind"] == JobKind.UPGRADE:
        raise Refused(f"Job {job} made the inventory what it is; it cannot be undone.")
    if row["kind"] == JobKind.PEOPLE or any(line["kind"] in logged_records.PEOPLE for line in lines):
        raise Refused(f"Job {job} changed who may come in or do what; the office changes it again under People.")
    touched = [line["code"] for line in lines if line["kind"] == "bottle"]
    sign_offs.refuse_fixed(connection, job, [*(line["bottle"] for line in moved), *touched])
    back: dict[str, int] = {}
    for line in moved:
        back[line["bottle"]] = back.get(line["bottle"], 0) - line["amount"]
    return Reversal(job, row["kind"], moved, dict(sorted(back.items())))


def reverse(connection: Connection, undone: Reversal, by: str, on: date, note: str = "") -> int:
    """Undo a job as a whole and return the number of the job that does it.

    Raises Refused, naming the later jobs that rest on it: if a bottle would go below zero, was discarded since, or a
    field was changed again.
    """
    job, back = undone.job, undone.back
    new = begin(connection, "undo", by, on, note or f"undoes job {job} ({undone.kind})", reverses=job)
    for code, amount in back.items():  # in one order, so that two processes cannot deadlock
        if prepared_statements.run(connection, _MOVE, amount, code, amount).rowcount != 1:
            later = change_log.taken_later(connection, code, job)
            raise change_log.resting(job, f"bottle {code} has been used since", later)
    sign_offs.refuse_late(connection, new, back)
    if undone.moved:
        rows = [
            {
                "job": new,
                "bottle": line["bottle"],
                "amount": -line["amount"],
                "reason": f"undo: {line['reason']}",
                "reverses": line["id"],
            }
            for line in undone.moved
        ]
        connection.execute(insert(_MOVEMENT), rows)
    waste.take_back(connection, job, new)
    change_log.restore(connection, job, new)
    for code, amount in back.items():
        status = select(_BOTTLE.c.status).where(_BOTTLE.c.code == code)
        if amount > 0 and connection.execute(status).scalar() == "discarded":
            later = change_log.closed_by(connection, code)
            raise change_log.resting(job, f"bottle {code} has been discarded since", later)
    return new


def put_right(connection: Connection, job: int, code: str, summed: int) -> int:
    """Set a bottle's balance to the sum of its movements; a sum below zero is brought to zero by a movement."""
    if summed < 0:
        reason = "repair: the movements that are left go below nothing"
        connection.execute(insert(_MOVEMENT).values(job=job, bottle=code, amount=-summed, reason=reason))
    kept = connection.execute(select(_BOTTLE.c.balance).where(_BOTTLE.c.code == code)).scalar_one()
    after = max(summed, 0)
    connection.execute(update(_BOTTLE).where(_BOTTLE.c.code == code).values(balance=after))
    change_log.note(connection, job, code, "balance", kept, after)
    return after


def _tallied(connection: Connection, job: int) -> bool:
    """Tell whether a job wrote entries of a count that is still open. Raises Refused where the count is closed."""
    open_ = select(_TALLY.c.stocktake, _COUNT.c.status).join(_COUNT, _COUNT.c.code == _TALLY.c.stocktake)
    found = connection.execute(open_.where(_TALLY.c.job == job).limit(1)).first()
    if found is not None and found.status == CountStatus.CLOSED:
        raise Refused(f"Job {job} cannot be undone: it is an entry of count {found.stocktake}, which is closed.")
    return found is not None


def differences(connection: Connection) -> list[WrongBalance]:
    """Find the bottles whose balance differs from their movements."""
    total = func.coalesce(func.sum(_MOVEMENT.c.amount), 0)
    rows = connection.execute(
        select(_BOTTLE.c.code, _BOTTLE.c.balance, total)
        .select_from(_BOTTLE.outerjoin(_MOVEMENT, _MOVEMENT.c.bottle == _BOTTLE.c.code))
        .group_by(_BOTTLE.c.code, _BOTTLE.c.balance)
        .having(_BOTTLE.c.balance != total)
        .order_by(_BOTTLE.c.code)
    )
    return [WrongBalance(code, int(kept), int(summed)) for code, kept, summed in rows]


def _refusal(connection: Connection, code: str, amount: int) -> PrepError:
    found = connection.execute(select(_BOTTLE).where(_BOTTLE.c.code == code)).mappings().first()
    if found is None:
        return NotOnFile(f'There is no bottle "{code[:40]}"', AtTerminal("; see: prep stock list", "."))
    measure = Measure(found["measure"])
    return Refused(
        f"Bottle {code} holds {quantities.show(found['balance'], measure, None)}, "
        f"which is less than the {quantities.show(-amount, measure, None)} asked for."
    )
