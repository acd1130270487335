"""The log of what a job changed besides amounts: where a bottle stands, its status, the day it was opened.

Each line keeps the value before and after, so that a job is undone as a whole and nothing is forgotten.
Append-only, as the movements are.
"""

import json
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from enum import StrEnum
from typing import Any

from sqlalchemy import Connection, Date, Integer, Table, and_, select
from sqlalchemy.exc import IntegrityError

from prep.books import BookingStatus, BottleStatus, CountStatus, OrderStatus, WasteStatus
from prep.errors import NotOnFile, Refused
from prep.store import bulk, sign_offs
from prep.store import tables as t
from prep.store.audit import logged_records
from prep.store.jobs import prepared_statements
from prep.store.school import waste

_CHANGE: Table = t.ChangeRow.__table__  # type: ignore[attr-defined]
_JOB: Table = t.JobRow.__table__  # type: ignore[attr-defined]
_MOVEMENT: Table = t.MovementRow.__table__  # type: ignore[attr-defined]
_BOTTLE: Table = t.BottleRow.__table__  # type: ignore[attr-defined]
_KINDS: dict[str, Table] = {
    "bottle": _BOTTLE,
    "purchase": t.OrderRow.__table__,  # type: ignore[attr-defined]
    "booking": t.BookingRow.__table__,  # type: ignore[attr-defined]
    "stocktake": t.StocktakeRow.__table__,  # type: ignore[attr-defined]
    "waste": t.WasteRow.__table__,  # type: ignore[attr-defined]
}
_AMOUNTS = ("code", "item", "measure", "balance")


def change(connection: Connection, job: int, kind: str, code: str, /, **values: Any) -> None:
    """Set fields of one bottle, purchase, booking or stocktake, and log each that differs.

    Raises PrepError for an unknown code; ValueError for a field that only the ledger may change.
    """
    rows = _KINDS[kind]
    if forbidden := [name for name in values if name in _AMOUNTS]:
        raise ValueError(f"{forbidden[0]} is not changed here")
    old = _row(connection, rows, code)
    if old is None:
        raise NotOnFile(f'There is no {kind} "{code[:40]}".')
    given = {name: str(value) if isinstance(value, StrEnum) else value for name, value in values.items()}
    new = {name: value for name, value in given.items() if old[name] != value}
    if not new:
        return
    if kind == "bottle":
        sign_offs.refuse_late(connection, job, [code])
    prepared_statements.update(connection, rows, code, new)
    lines = [_line(job, kind, code, name, old[name], value) for name, value in new.items()]
    prepared_statements.insert(connection, _CHANGE, lines)


def created(
    connection: Connection,
    job: int,
    bottles: Iterable[Mapping[str, Any]],
    more: Callable[[int], None] = lambda _: None,
) -> None:
    """Log that a job put bottles, as rows, on the books: undoing it takes them off again."""
    whole, text = logged_records.WHOLE, logged_records.written
    lines = ((job, "bottle", one["code"], whole, None, text(logged_records.of_row("bottle", one))) for one in bottles)
    bulk.insert(connection, _CHANGE, ("job", "kind", "code", "field", "before", "after"), lines, more)


def note(connection: Connection, job: int, bottle: str, field: str, before: Any, after: Any) -> None:
    """Log what became of a field of a bottle that is not changed here."""
    prepared_statements.insert(connection, _CHANGE, [_line(job, "bottle", bottle, field, before, after)])


def is_new(line: Mapping[str, Any]) -> bool:
    """Tell whether a line of the log is that of a bottle which came on the books."""
    return line["kind"] == "bottle" and line["before"] is None and line["field"] in ("status", logged_records.WHOLE)


def of(connection: Connection, job: int) -> list[Any]:
    """List the lines of what a job changed, latest first."""
    query = select(_CHANGE).where(_CHANGE.c.job == job).order_by(_CHANGE.c.id.desc())
    return list(connection.execute(query).mappings())


def restore(connection: Connection, job: int, by_job: int) -> None:
    """Put back what `job` changed, logged under `by_job`, whose movements are already posted.

    A bottle that the job put on the books is closed. Raises Refused naming the later jobs that rest on it.
    """
    for line in of(connection, job):
        kind, code, field = line["kind"], line["code"], line["field"]
        if is_new(line):
            _close(connection, job, by_job, code)
            continue
        if field == logged_records.WHOLE:
            _put_back(connection, job, by_job, line)
            continue
        rows = _KINDS[kind]
        now = connection.execute(select(rows).where(rows.c.code == code).with_for_update()).mappings().one()
        if field == "opened" and line["before"] is None and taken_later(connection, code, job):
            continue  # the bottle stays open, as later jobs have taken from it
        if kind == "purchase" and (later := _later(connection, line, "kind", "code")):
            raise resting(job, f"order {code} was changed since", later)  # the rest of the order has arrived since
        if _text(now[field]) != line["after"]:
            raise resting(
                job,
                f"the {field} of {kind} {code} was changed since",
                _later(connection, line, "kind", "code", "field"),
            )
        change(connection, by_job, kind, code, **{field: _value(rows, field, line["before"])})


_GIVEN_UP = {
    "purchase": OrderStatus.CANCELLED,
    "booking": BookingStatus.CANCELLED,
    "stocktake": CountStatus.DROPPED,
    "waste": WasteStatus.CLOSED,
}
"""What becomes of a record that a job made, where others may refer to it: it stays, given up."""


def _close(connection: Connection, job: int, by_job: int, code: str) -> None:
    """Close a bottle that a job put on the books."""
    balance = connection.execute(select(_BOTTLE.c.balance).where(_BOTTLE.c.code == code)).scalar_one()
    if balance:
        raise resting(job, f"bottle {code} has been filled since", filled_later(connection, code, job))
    change(connection, by_job, "bottle", code, status=BottleStatus.DISCARDED.value)


def _put_back(connection: Connection, job: int, by_job: int, line: Any) -> None:
    """Make a record what it was before a job, which `finish` of the seals logs."""
    kind, code = line["kind"], line["code"]
    before, after = (None if text is None else json.loads(text) for text in (line["before"], line["after"]))
    if before is not None and logged_records.same(before, after):
        return  # the job only logged the record and changed nothing
    now = logged_records.standing(connection, kind, code).get(code)
    if before is None and kind in _GIVEN_UP:
        given_up = _GIVEN_UP[kind]
        if kind == "waste" and (used := waste.standing_jobs(connection, code)):
            raise resting(job, f"waste bottle {code} has been used since", used)
        if now is not None and now["status"] != given_up:
            if after is not None and now["status"] != after["status"]:
                raise resting(job, f"{kind} {code} was changed since", _later(connection, line, "kind", "code"))
            change(connection, by_job, kind, code, status=given_up)
        return
    if not (now is None if after is None else logged_records.same(after, now)):
        raise resting(job, f"{kind} {code} was changed since", _later(connection, line, "kind", "code"))
    if before is None and _named_elsewhere(connection, kind, code):
        if any(map(is_new, of(connection, job))):
            return  # an entry made with its bottles stays: their rows name it
        raise resting(job, f"the {kind} {code} is in use", [])
    try:
        with connection.begin_nested():
            logged_records.put(connection, kind, code, before)
    except IntegrityError:
        raise resting(job, f"the {kind} {code} is in use", []) from None


_NAMED = {
    "substance": (
        ("bottle", "item"),
        ("purchase", "item"),
        ("booking", "item"),
        ("need", "item"),
        ("ingredient", "item"),
    ),
    "solution": (
        ("bottle", "item"),
        ("purchase", "item"),
        ("booking", "item"),
        ("need", "item"),
        ("ingredient", "item"),
    ),
    "demo": (("booking", "demo"),),
}
"""(table, column) in which a record of a kind is named without the database's knowing it."""


def _named_elsewhere(connection: Connection, kind: str, code: str) -> bool:
    """Tell whether a bottle, an order, a booking, a demo or a recipe names a record."""
    for name, column in _NAMED.get(kind, ()):
        rows = t.metadata.tables[name]
        if connection.execute(select(rows.c[column]).where(rows.c[column] == code).limit(1)).first() is not None:
            return True
    return False


def closed_by(connection: Connection, code: str) -> list[int]:
    """Find the job that discarded a bottle, as a list for `resting`."""
    query = (
        select(_CHANGE.c.job)
        .where(_CHANGE.c.kind == "bottle", _CHANGE.c.code == code)
        .where(_CHANGE.c.field == "status", _CHANGE.c.after == "discarded")
        .order_by(_CHANGE.c.id.desc())
        .limit(1)
    )
    return [int(row[0]) for row in connection.execute(query)]


def taken_later(connection: Connection, bottle: str, job: int) -> list[int]:
    """Find the jobs after `job`, not undone, that took from a bottle."""
    return _moved_later(connection, bottle, job, _MOVEMENT.c.amount < 0)


def filled_later(connection: Connection, bottle: str, job: int) -> list[int]:
    """Find the jobs after `job`, not undone, that put something into a bottle."""
    return _moved_later(connection, bottle, job, _MOVEMENT.c.amount > 0)


def resting(job: int, why: str, later: list[int]) -> Refused:
    """Make the refusal to undo a job that later jobs depend on, naming them."""
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
    """Build the condition that a job is no undoing and has not been undone."""
    undoing = _JOB.alias()
    undone = select(undoing.c.id).where(undoing.c.reverses == _JOB.c.id).exists()
    return and_(_JOB.c.reverses.is_(None), ~undone)


def _row(connection: Connection, rows: Table, code: str) -> dict[str, Any] | None:
    """Read a record's row by its code, its dates as dates; None where there is none."""
    shown = ", ".join(f'"{column.name}"' for column in rows.columns)
    found = prepared_statements.run(connection, f'SELECT {shown} FROM "{rows.name}" WHERE code = ?', code).first()
    if found is None:
        return None
    return {
        column.name: value if value is None or not isinstance(column.type, Date) else prepared_statements.day(value)
        for column, value in zip(rows.columns, found, strict=True)
    }


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
    """Convert a logged text to the value that its column holds."""
    if text is None:
        return None
    kind = rows.c[field].type
    return date.fromisoformat(text) if isinstance(kind, Date) else int(text) if isinstance(kind, Integer) else text


def _text(value: Any) -> str | None:
    if isinstance(value, date):
        return value.isoformat()
    return None if value is None else str(value)
