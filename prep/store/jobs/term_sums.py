"""The books of bottles since their last sign-off, added up by the database.

A term may hold a million movements, and a count needs few of them one by one. What was taken to be used is one
sum a bottle, which asks no job; what came in is asked for its kind. Only where something else happened (written
off, undone, posted after it was counted) are a bottle's movements read line by line.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import ColumnElement, Connection, Float, Select, case, cast, func, literal, select

from prep.books import CountStatus
from prep.chemistry.model import Measure
from prep.stocktake.tolerances import TAKEN
from prep.stocktake.turnover import AS_IT_CAME, MovementFlow, PostedMovement, add_up, flow
from prep.stocktake.verdict import BookBalance
from prep.store import tables as t
from prep.store.table_rows import AT_ONCE, in_parts, table

_COUNT, _SIGNED = table(t.StocktakeRow), table(t.SignoffRow)
_BOTTLE, _MOVEMENT, _JOB = table(t.BottleRow), table(t.MovementRow), table(t.JobRow)
_B, _M, _J = _BOTTLE.c, _MOVEMENT.c, _JOB.c


@dataclass(frozen=True, slots=True)
class Term:
    """Which movements count: to the newest one of each bottle, and to before the job that closed the count.

    What a make filled is within its solution's tolerance [%], by item.
    """

    upto: Mapping[str, int]
    before: int | None
    tolerances: Mapping[str, Decimal]

    def knows(self, bottle: str, movement: int, job: int) -> bool:
        """Tell whether a movement was on the books when the bottle was counted."""
        return movement <= self.upto.get(bottle, movement) and (self.before is None or job < self.before)


def books(connection: Connection, codes: Iterable[str], term: Term) -> dict[str, BookBalance]:
    """Add up the books of bottles since each one's last sign-off."""
    wanted = set(codes)
    query = _among(wanted, select(_B.code, _B.item, _B.measure, _B.balance), _B.code)
    bottles = {row.code: row for row in connection.execute(query).all() if row.code in wanted}
    exact = {code: (term.tolerances.get(row.item), Measure(row.measure)) for code, row in bottles.items()}
    signed = _Signed(connection, term.before)
    odd = _odd(connection, wanted, term, signed)
    flows: dict[str, list[MovementFlow]] = defaultdict(list)
    since: Counter[str] = Counter()
    """All that moved after the sign-off, whether the count knew of it or not."""
    for bottle, kind, times, amount, squares, counts in _sums(connection, wanted, term, signed):
        if bottle in bottles and bottle not in odd:
            since[bottle] += int(amount)
            if counts:
                flows[bottle].append(flow(kind, int(amount), times, squares, *exact[bottle]))
    for bottle, moved in _lines(connection, odd, signed).items():
        since[bottle] = sum(m.amount for _, m in moved)
        known = (m for job, m in moved if term.knows(bottle, m.id, job))
        flows[bottle] = list(add_up(known, *exact[bottle]))
    return {
        code: BookBalance(
            code,
            row.item,
            Measure(row.measure),
            row.balance - since[code],
            signed.u.get(code, 0.0),
            tuple(flows.get(code, ())),
        )
        for code, row in bottles.items()
    }


def last_used(connection: Connection, codes: Iterable[str]) -> dict[str, date]:
    """Find the last day on which anything was taken to be used, of each bottle from which anything was."""
    query = (
        select(_M.bottle, func.max(_J.on))
        .join_from(_MOVEMENT, _JOB, _J.id == _M.job)
        .where(_M.amount < 0, _J.kind.in_(sorted(TAKEN)))
        .group_by(_M.bottle)
    )
    return {
        bottle: day for part in in_parts(codes) for bottle, day in connection.execute(query.where(_M.bottle.in_(part)))
    }


def first_filled(connection: Connection, codes: Iterable[str]) -> dict[str, int]:
    """Find what the first movement of each bottle put into it."""
    first = select(func.min(_M.id)).group_by(_M.bottle)
    found: dict[str, int] = {}
    for part in in_parts(codes):
        query = select(_M.bottle, _M.amount).where(_M.id.in_(first.where(_M.bottle.in_(part))))
        found |= {bottle: int(amount) for bottle, amount in connection.execute(query) if amount > 0}
    return found


def full(connection: Connection, bottle: str) -> int:
    """Find the most that was ever put into a bottle at once: what it holds when full."""
    return int(
        connection.execute(select(func.coalesce(func.max(_M.amount), 0)).where(_M.bottle == bottle)).scalar_one()
    )


class _Signed:
    """The last sign-off of each bottle by a closed count, before the job that closed this one."""

    def __init__(self, connection: Connection, before: int | None) -> None:
        query = select(_SIGNED.c.bottle, _SIGNED.c.u_after, _COUNT.c.job)
        found = connection.execute(self._closed(query, before).order_by(_COUNT.c.job)).all()
        self.u = {bottle: float(u) for bottle, u, _ in found}
        """The standard uncertainty that it left."""
        self.job = {bottle: int(job) for bottle, _, job in found}
        """The job that closed the count."""
        last = select(_SIGNED.c.bottle, func.max(_COUNT.c.job).label("job"))
        self._last = self._closed(last, before).group_by(_SIGNED.c.bottle).subquery() if found else None

    @staticmethod
    def _closed(query: Select[Any], before: int | None) -> Select[Any]:
        query = query.join_from(_SIGNED, _COUNT, _COUNT.c.job == _SIGNED.c.job)
        query = query.where(_COUNT.c.status == CountStatus.CLOSED)
        return query if before is None else query.where(_COUNT.c.job < before)

    def since(self, query: Select[Any]) -> Select[Any]:
        """Limit a query to the movements from after the sign-off of their bottle."""
        if self._last is None:
            return query
        query = query.outerjoin(self._last, self._last.c.bottle == _M.bottle)
        return query.where(_M.job > func.coalesce(self._last.c.job, 0))


def _sums(connection: Connection, codes: set[str], term: Term, signed: _Signed) -> Iterator[Any]:
    """Sum what was taken, and what came in by kind: (bottle, kind, times, amount, squares, counts).

    What came is added up by what each brought; `counts` is whether it was before the count's own job.
    """
    real = cast(_M.amount, Float)  # the squares of nL overflow a 64-bit integer
    late = [] if term.before is None else [_M.job < term.before]
    counts = func.max(case((late[0], 1), else_=0)) if late else literal(1)
    sums = func.count(), func.sum(_M.amount), func.sum(real * real), counts
    taken = select(_M.bottle, literal("use"), *sums).select_from(_MOVEMENT).where(_M.amount < 0)
    came = select(_M.bottle, _J.kind, *sums).join_from(_MOVEMENT, _JOB, _J.id == _M.job).where(_M.amount > 0)
    alike = case((_J.kind.in_(sorted(AS_IT_CAME)), _M.amount), else_=0)
    for query, keys in ((taken, late), (came, [_J.kind, alike, *late])):
        query = _among(codes, signed.since(query), _M.bottle).group_by(_M.bottle, *keys)
        yield from connection.execute(query).all()


def _lines(connection: Connection, codes: set[str], signed: _Signed) -> dict[str, list[tuple[int, PostedMovement]]]:
    """Read the movements of bottles one by one, each with its job."""
    moved: dict[str, list[tuple[int, PostedMovement]]] = defaultdict(list)
    query: Select[Any] = select(_M.bottle, _M.job, _M.amount, _J.kind, _M.id, _M.reverses)
    query = signed.since(query.join_from(_MOVEMENT, _JOB, _J.id == _M.job)).order_by(_M.id)
    for part in in_parts(codes):
        for bottle, job, *fields in connection.execute(query.where(_M.bottle.in_(part))):
            moved[bottle].append((job, PostedMovement(*fields)))
    return moved


def _odd(connection: Connection, codes: set[str], term: Term, signed: _Signed) -> set[str]:
    """Find the bottles with something undone, taken other than to be used, or posted after they were counted."""
    jobs = select(_J.id).where(_J.kind.not_in(sorted(TAKEN)))
    odd = select(_M.bottle, _M.job)  # no GROUP BY: it would keep SQLite from using the indexes
    queries = [odd.where(_M.reverses > 0), odd.where(_M.amount < 0, _M.job.in_(jobs))]
    found = {
        str(bottle)
        for query in queries
        for bottle, job in connection.execute(_among(codes, query, _M.bottle)).all()
        if job > signed.job.get(bottle, 0)
    }
    if term.upto:
        late = select(_M.bottle, _M.id).where(_M.id > min(term.upto.values()))
        found |= {bottle for bottle, last in connection.execute(late).all() if last > term.upto.get(bottle, last)}
    return found & codes


def _among(codes: set[str], query: Select[Any], column: ColumnElement[Any]) -> Select[Any]:
    """Limit a query to these bottles where a statement may name them all; else leave it over every bottle."""
    return query.where(column.in_(sorted(codes))) if len(codes) <= AT_ONCE else query
