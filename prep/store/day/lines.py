"""The lines of a day as they were first printed: their numbers hold, whatever is planned or logged after that."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from prep.store.tables import DayLineRow, JobRow


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


def logged(connection: Connection, day: date, number: int, job: int) -> None:
    """Write down which job logged a line."""
    here = (_ROWS.c.day == day) & (_ROWS.c.number == number)
    connection.execute(update(_ROWS).where(here).values(logged=job))
