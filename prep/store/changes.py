"""The log of what a job changed besides amounts: where a bottle stands, its status, the day it was opened.

Each line keeps the value before and after, so that a job is undone as a whole and nothing is forgotten.
Append-only, as the movements are.
"""

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

from sqlalchemy import Connection, Date, Integer, Table, and_, insert, select, update

from prep.errors import PrepError, Refused
from prep.store import bulk
from prep.store import tables as t

_CHANGE: Table = t.ChangeRow.__table__  # type: ignore[attr-defined]
_JOB: Table = t.JobRow.__table__  # type: ignore[attr-defined]
_MOVEMENT: Table = t.MovementRow.__table__  # type: ignore[attr-defined]
_BOTTLE: Table = t.BottleRow.__table__  # type: ignore[attr-defined]
_KINDS: dict[str, Table] = {
    "bottle": _BOTTLE,
    "purchase": t.OrderRow.__table__,  # type: ignore[attr-defined]
    "booking": t.BookingRow.__table__,  # type: ignore[attr-defined]
    "stocktake": t.StocktakeRow.__table__,  # type: ignore[attr-defined]
}
_AMOUNTS = ("code", "item", "measure", "balance")


def change(connection: Connection, job: int, kind: str, code: str, /, **values: Any) -> None:
    """Set fields of one bottle, purchase, booking or stocktake, and log each that differs.

    Raises PrepError for an unknown code; ValueError for a field that only the ledger may change.
    """
    rows = _KINDS[kind]
    if forbidden := [name for name in values if name in _AMOUNTS]:
        raise ValueError(f"{forbidden[0]} is not changed here")
    old = connection.execute(select(rows).where(rows.c.code == code).with_for_update()).mappings().first()
    if old is None:
        raise PrepError(f'There is no {kind} "{code[:40]}".')
    new = {name: value for name, value in values.items() if old[name] != value}
    if not new:
        return
    connection.execute(update(rows).where(rows.c.code == code).values(**new))
    connection.execute(insert(_CHANGE), [_line(job, kind, code, name, old[name], value) for name, value in new.items()])


def created(
    connection: Connection,
    job: int,
    bottles: Iterable[tuple[str, str]],
    more: Callable[[int], None] = lambda _: None,
) -> None:
    """Log that a job put bottles, as (code, status), on the books: undoing it takes them off again."""
    lines = ((job, "bottle", code, "status", None, status) for code, status in bottles)
    bulk.insert(connection, _CHANGE, ("job", "kind", "code", "field", "before", "after"), lines, more)


def of(connection: Connection, job: int) -> list[Any]:
    """What a job changed, latest first."""
    query = select(_CHANGE).where(_CHANGE.c.job == job).order_by(_CHANGE.c.id.desc())
    return list(connection.execute(query).mappings())


def restore(connection: Connection, job: int, by_job: int) -> None:
    """Put back what `job` changed, logged under `by_job`, whose movements are already posted.

    A bottle that the job put on the books is closed. Raises Refused naming the later jobs that rest on it.
    """
    for line in of(connection, job):
        kind, code, field = line["kind"], line["code"], line["field"]
        rows = _KINDS[kind]
        now = connection.execute(select(rows).where(rows.c.code == code).with_for_update()).mappings().one()
        if field == "opened" and line["before"] is None and taken_later(connection, code, job):
            continue  # it stays open, as others have taken from it since
        if kind == "bottle" and field == "status" and line["before"] is None:
            if now["balance"]:
                raise resting(job, f"bottle {code} has been filled since", filled_later(connection, code, job))
            change(connection, by_job, kind, code, status="discarded")
            continue
        if kind == "purchase" and (later := _later(connection, line, "kind", "code")):
            raise resting(job, f"order {code} was changed since", later)  # the rest of what it left on order came
        if _text(now[field]) != line["after"]:
            raise resting(
                job,
                f"the {field} of {kind} {code} was changed since",
                _later(connection, line, "kind", "code", "field"),
            )
        change(connection, by_job, kind, code, **{field: _value(rows, field, line["before"])})


def closed_by(connection: Connection, code: str) -> list[int]:
    """The job that discarded a bottle, as a list for `resting`."""
    query = (
        select(_CHANGE.c.job)
        .where(_CHANGE.c.kind == "bottle", _CHANGE.c.code == code)
        .where(_CHANGE.c.field == "status", _CHANGE.c.after == "discarded")
        .order_by(_CHANGE.c.id.desc())
        .limit(1)
    )
    return [int(row[0]) for row in connection.execute(query)]


def taken_later(connection: Connection, bottle: str, job: int) -> list[int]:
    """Standing jobs after `job` that took from a bottle."""
    return _moved_later(connection, bottle, job, _MOVEMENT.c.amount < 0)


def filled_later(connection: Connection, bottle: str, job: int) -> list[int]:
    """Standing jobs after `job` that put something into a bottle."""
    return _moved_later(connection, bottle, job, _MOVEMENT.c.amount > 0)


def resting(job: int, why: str, later: list[int]) -> Refused:
    """The refusal to undo a job on which others rest."""
    if not later:
        return Refused(f"Job {job} cannot be undone: {why}.")
    numbers = ", ".join(map(str, later))
    many = len(later) > 1
    return Refused(
        f"Job {job} cannot be undone: {why} by job{'s' if many else ''} {numbers}; "
        f"undo {'those' if many else 'that'} first."
    )


def _moved_later(connection: Connection, bottle: str, job: int, which: Any) -> list[int]:
    query = (
        select(_MOVEMENT.c.job)
        .join(_JOB, _JOB.c.id == _MOVEMENT.c.job)
        .where(_MOVEMENT.c.bottle == bottle, _MOVEMENT.c.job > job, which, _standing())
        .distinct()
        .order_by(_MOVEMENT.c.job)
    )
    return [int(row[0]) for row in connection.execute(query)]


def _later(connection: Connection, line: Any, *alike: str) -> list[int]:
    query = (
        select(_CHANGE.c.job)
        .join(_JOB, _JOB.c.id == _CHANGE.c.job)
        .where(*(_CHANGE.c[name] == line[name] for name in alike))
        .where(_CHANGE.c.job > line["job"], _standing())
        .distinct()
        .order_by(_CHANGE.c.job)
    )
    return [int(row[0]) for row in connection.execute(query)]


def _standing() -> Any:
    """Neither an undoing nor undone."""
    undoing = _JOB.alias()
    undone = select(undoing.c.id).where(undoing.c.reverses == _JOB.c.id).exists()
    return and_(_JOB.c.reverses.is_(None), ~undone)


def _line(job: int, kind: str, code: str, field: str, before: Any, after: Any) -> dict[str, Any]:
    return {
        "job": job,
        "kind": kind,
        "code": code,
        "field": field,
        "before": _text(before),
        "after": _text(after),
    }


def _value(rows: Table, field: str, text: str | None) -> Any:
    """A logged value as its column holds it."""
    if text is None:
        return None
    kind = rows.c[field].type
    return date.fromisoformat(text) if isinstance(kind, Date) else int(text) if isinstance(kind, Integer) else text


def _text(value: Any) -> str | None:
    if isinstance(value, date):
        return value.isoformat()
    return None if value is None else str(value)
