"""The lines of a day as they were first printed: their numbers hold, whatever is planned or logged after that.

No job logs them, so each day has a digest (SHA-256) over its lines: one that is changed past the books is found.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from prep.store.tables import DayLineRow, DaySealRow, JobRow


@dataclass(frozen=True, slots=True)
class StoredLine:
    """A line of a day; `number` 0 has none yet, `job` is what logged it, unless that was undone."""

    key: str
    kind: str
    says: str
    request: Mapping[str, Any] = field(default_factory=dict)
    number: int = 0
    job: int | None = None


_ROWS = DayLineRow.__table__  # type: ignore[attr-defined]
_SEALS = DaySealRow.__table__  # type: ignore[attr-defined]
_CELLS = tuple(_ROWS.c[name] for name in ("day", "number", "key", "kind", "says", "request", "logged"))


def of_day(connection: Connection, day: date) -> tuple[StoredLine, ...]:
    """List the stored lines of a day by their numbers."""
    jobs = JobRow.__table__  # type: ignore[attr-defined]
    undone = set(connection.scalars(select(jobs.c.reverses).where(jobs.c.reverses.in_(select(_ROWS.c.logged)))))
    rows = connection.execute(select(_ROWS).where(_ROWS.c.day == day).order_by(_ROWS.c.number))
    return tuple(
        StoredLine(
            row.key,
            row.kind,
            row.says,
            json.loads(row.request),
            row.number,
            None if row.logged in undone else row.logged,
        )
        for row in rows
    )


def put(connection: Connection, day: date, lines: Iterable[StoredLine], *, ahead: bool = False) -> None:
    """Number the lines that are new, and write down anew what is asked for by those that are not logged yet.

    A day that is looked at `ahead` has its lines numbered from the first again, where none of them is logged.
    """
    if ahead and not any(line.job for line in of_day(connection, day)):
        connection.execute(delete(_ROWS).where(_ROWS.c.day == day))
    known = {line.key: line for line in of_day(connection, day)}
    last = max((line.number for line in known.values()), default=0)
    for line in lines:
        request = json.dumps(dict(line.request), ensure_ascii=False)
        old = known.get(line.key)
        if old is None:
            last += 1
            row = {"key": line.key, "kind": line.kind, "says": line.says, "request": request}
            connection.execute(insert(_ROWS).values(day=day, number=last, **row))
        elif old.job is None and (old.says, dict(old.request)) != (line.says, dict(line.request)):
            here = (_ROWS.c.day == day) & (_ROWS.c.number == old.number)
            connection.execute(update(_ROWS).where(here).values(says=line.says, request=request))
    _seal(connection, day)


def logged(connection: Connection, day: date, number: int, job: int) -> None:
    """Write down which job logged a line."""
    here = (_ROWS.c.day == day) & (_ROWS.c.number == number)
    connection.execute(update(_ROWS).where(here).values(logged=job))
    _seal(connection, day)


def digest(lines: Iterable[Sequence[Any]]) -> str:
    """Compute the digest of a day's lines, each from its day to the job that logged it."""
    made = sha256()
    for cell in (str(cell) for line in lines for cell in line):
        made.update(f"{len(cell)}:{cell};".encode("utf-8", "surrogatepass"))
    return made.hexdigest()


def _seal(connection: Connection, day: date) -> None:
    rows = connection.execute(select(*_CELLS).where(_ROWS.c.day == day).order_by(_ROWS.c.number)).all()
    if not rows:
        connection.execute(delete(_SEALS).where(_SEALS.c.day == day))
    elif not connection.execute(update(_SEALS).where(_SEALS.c.day == day).values(digest=digest(rows))).rowcount:
        connection.execute(insert(_SEALS).values(day=day, digest=digest(rows)))


def seal_anew(connection: Connection) -> None:
    """Seal every day's lines as they are there: what the digests proved is lost."""
    for day in {*connection.scalars(select(_ROWS.c.day)), *connection.scalars(select(_SEALS.c.day))}:
        _seal(connection, day)


def bent_days(connection: Connection) -> list[date]:
    """Find the days whose lines are not what was written last, oldest first."""
    by_day: dict[date, list[Sequence[Any]]] = {}
    for row in connection.execute(select(*_CELLS).order_by(_ROWS.c.day, _ROWS.c.number)):
        by_day.setdefault(row.day, []).append(row)
    sealed = {row.day: row.digest for row in connection.execute(select(_SEALS))}
    there = {day: digest(rows) for day, rows in by_day.items()}
    return sorted(day for day in sealed.keys() | there.keys() if sealed.get(day) != there.get(day))
