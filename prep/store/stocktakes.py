"""Counts as rows: what is open, what was tallied, and the books of a bottle since its last sign-off."""

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, Select, and_, delete, func, insert, literal_column, select

from prep.chemistry.model import Measure
from prep.planning.allowances import movement_half_width
from prep.planning.counting import Books, Posted, Verdict
from prep.store import ledger
from prep.store import tables as t
from prep.store.queries import table

_COUNT, _TALLY, _SIGNED = table(t.StocktakeRow), table(t.TallyRow), table(t.SignoffRow)
_BOTTLE, _MOVEMENT, _JOB = table(t.BottleRow), table(t.MovementRow), table(t.JobRow)


@dataclass(frozen=True, slots=True)
class Stocktake:
    """A count: of one location, or of all (`location` empty)."""

    code: str
    location: str
    blind: bool
    status: str
    opened_on: date
    opened_by: str
    closed_on: date | None = None
    closed_by: str | None = None
    job: int | None = None


@dataclass(frozen=True, slots=True)
class Tally:
    """One entry of a count; `method` says how it was counted, `upto` the newest movement at that moment."""

    stocktake: str
    bottle: str
    kind: str
    amount: int = 0
    method: Mapping[str, Any] | None = None
    readable: bool = True
    item: str = ""
    location: str = ""
    note: str = ""
    upto: int = 0
    by: str = ""
    at: str = ""


def all_counts(connection: Connection) -> list[Stocktake]:
    """Every count, oldest first."""
    rows = connection.execute(select(_COUNT)).all()
    found = [
        Stocktake(
            row.code,
            row.location,
            bool(row.blind),
            row.status,
            row.opened_on,
            row.opened_by,
            row.closed_on,
            row.closed_by,
            row.job,
        )
        for row in rows
    ]
    return sorted(found, key=lambda one: int(one.code[1:]))


def open_count(connection: Connection, count: Stocktake) -> None:
    """Write a new count."""
    connection.execute(
        insert(_COUNT).values(
            code=count.code,
            location=count.location,
            blind=int(count.blind),
            status="open",
            opened_on=count.opened_on,
            opened_by=count.opened_by,
        )
    )


def add(connection: Connection, tallies: Iterable[Tally], by: str) -> None:
    """Write entries, with the newest movement as it is now."""
    upto = connection.execute(select(func.coalesce(func.max(_MOVEMENT.c.id), 0))).scalar_one()
    at = ledger.now()
    rows = [
        {
            "stocktake": one.stocktake,
            "bottle": one.bottle,
            "kind": one.kind,
            "readable": int(one.readable),
            "item": one.item,
            "location": one.location,
            "amount": one.amount,
            "method": "" if one.method is None else json.dumps(one.method, ensure_ascii=False),
            "note": one.note,
            "upto": upto,
            "by": by,
            "at": at,
        }
        for one in tallies
    ]
    if rows:
        connection.execute(insert(_TALLY), rows)


def tallies(connection: Connection, count: str) -> list[Tally]:
    """The entries of a count, oldest first."""
    rows = connection.execute(select(_TALLY).where(_TALLY.c.stocktake == count).order_by(_TALLY.c.id))
    return [
        Tally(
            row.stocktake,
            row.bottle,
            row.kind,
            row.amount,
            json.loads(row.method) if row.method else None,
            bool(row.readable),
            row.item,
            row.location,
            row.note,
            row.upto,
            row.by,
            row.at,
        )
        for row in rows
    ]


def books(
    connection: Connection,
    codes: Iterable[str] | None = None,
    upto: Mapping[str, int] | None = None,
    before: int | None = None,
    tolerances: Mapping[str, Decimal] | None = None,
    detailed: Iterable[str] | None = None,
) -> dict[str, Books]:
    """The books of bottles (of all that are not discarded without `codes`) since each one's last sign-off.

    `upto` gives the newest movement that counts for a bottle; `before` the job that closed the count, for a
    look back. What a make filled is within its solution's tolerance [%], which `tolerances` gives by item.
    With `detailed`, other bottles come with one line a kind of job and direction, of no stated half-width.
    """
    signed = _last_signed(before)
    chosen = _chosen(codes)
    u_after = _u_after(connection, signed)
    bottles = {
        row.code: row
        for row in connection.execute(chosen.with_only_columns(_BOTTLE.c.code, _BOTTLE.c.item, _BOTTLE.c.measure))
    }
    opening: dict[str, int] = {}
    late = [_MOVEMENT.c.job < before] if before is not None else []
    wanted = chosen.with_only_columns(_BOTTLE.c.code)
    if u_after:
        query = (
            select(_MOVEMENT.c.bottle, func.sum(_MOVEMENT.c.amount))
            .join(signed, and_(signed.c.bottle == _MOVEMENT.c.bottle, _MOVEMENT.c.job <= signed.c.job))
            .where(_MOVEMENT.c.bottle.in_(wanted))
            .group_by(_MOVEMENT.c.bottle)
        )
        opening = {bottle: int(amount) for bottle, amount in connection.execute(query)}
    moved: dict[str, list[Posted]] = defaultdict(list)
    each = None if detailed is None else {*detailed, *_reversed(connection)} & bottles.keys()
    one_by_one = wanted if each is None else _chosen(each).with_only_columns(_BOTTLE.c.code)
    query2 = _since(
        select(_MOVEMENT.c.bottle, _MOVEMENT.c.id, _MOVEMENT.c.amount, _MOVEMENT.c.reverses), signed, u_after
    )
    query2 = query2.add_columns(_JOB.c.kind).where(_MOVEMENT.c.bottle.in_(one_by_one), *late).order_by(_MOVEMENT.c.id)
    for bottle, number, amount, reverses, kind in connection.execute(query2).all():
        if (upto is not None and number > upto.get(bottle, number)) or (each is not None and bottle not in each):
            continue
        made = kind == "make" and amount > 0 and tolerances is not None
        tolerance = tolerances.get(bottles[bottle].item) if made and tolerances is not None else None
        half, _ = movement_half_width(kind, amount, tolerance)
        moved[bottle].append(Posted(amount, half, kind=kind, id=number, reverses=reverses))
    if each is not None:
        way: Any = literal_column("movement.amount > 0")
        sums = _since(select(_MOVEMENT.c.bottle, func.sum(_MOVEMENT.c.amount), _JOB.c.kind), signed, u_after)
        sums = sums.where(*late).group_by(_MOVEMENT.c.bottle, _JOB.c.kind, way)
        for bottle, amount, kind in connection.execute(sums).all():
            if bottle not in each:
                moved[bottle].append(Posted(int(amount), kind=kind))
    return {
        code: Books(
            code,
            row.item,
            Measure(row.measure),
            opening.get(code, 0),
            u_after.get(code, 0.0),
            tuple(moved.get(code, ())),
        )
        for code, row in bottles.items()
    }


def _since(query: Any, signed: Any, any_signed: Any) -> Any:
    """The query of movements with their jobs, from after each bottle's last sign-off."""
    query = query.select_from(_MOVEMENT.join(_JOB, _JOB.c.id == _MOVEMENT.c.job))
    if not any_signed:
        return query
    query = query.outerjoin(signed, signed.c.bottle == _MOVEMENT.c.bottle)
    return query.where(_MOVEMENT.c.job > func.coalesce(signed.c.job, 0))


def _reversed(connection: Connection) -> set[str]:
    """Bottles in which a movement was undone: theirs cannot be added up by kind."""
    query = select(_MOVEMENT.c.bottle).where(_MOVEMENT.c.reverses > 0)  # by the index of that column
    return set(connection.execute(query).scalars())


def sign(connection: Connection, count: str, verdicts: Iterable[Verdict]) -> None:
    """Write what a count says of its bottles, in place of what it said before it was opened again."""
    connection.execute(delete(_SIGNED).where(_SIGNED.c.stocktake == count))
    rows = [
        {
            "stocktake": count,
            "bottle": v.bottle,
            "book": v.book,
            "counted": v.counted,
            "adjust": v.adjust,
            "u_after": repr(v.u_after),
            "flagged": int(v.flagged),
            "found": int(v.found),
            "says": v.sentence,
        }
        for v in verdicts
    ]
    if rows:
        connection.execute(insert(_SIGNED), rows)


def full(connection: Connection, bottle: str) -> int:
    """The most that was ever put into a bottle at once: what it holds when full."""
    query = select(func.coalesce(func.max(_MOVEMENT.c.amount), 0)).where(_MOVEMENT.c.bottle == bottle)
    return int(connection.execute(query).scalar_one())


def last_used(connection: Connection) -> dict[str, date]:
    """The last day on which anything was taken, by bottle."""
    query = (
        select(_MOVEMENT.c.bottle, func.max(_JOB.c.on).label("day"))
        .join(_JOB, _JOB.c.id == _MOVEMENT.c.job)
        .where(_MOVEMENT.c.amount < 0, _JOB.c.kind.in_(("use", "make", "done")))
        .group_by(_MOVEMENT.c.bottle)
    )
    return {row.bottle: row.day for row in connection.execute(query)}


def _chosen(codes: Iterable[str] | None) -> Select[Any]:
    if codes is None:
        return select(_BOTTLE).where(_BOTTLE.c.status != "discarded")
    wanted = sorted(set(codes))
    if len(wanted) <= 500:
        return select(_BOTTLE).where(_BOTTLE.c.code.in_(wanted))
    return select(_BOTTLE)  # more than a statement takes as parameters


def _last_signed(before: int | None) -> Any:
    earlier = [_COUNT.c.job < before] if before is not None else []
    return (
        select(_SIGNED.c.bottle, func.max(_COUNT.c.job).label("job"))
        .join(_COUNT, _COUNT.c.code == _SIGNED.c.stocktake)
        .where(_COUNT.c.status == "closed", *earlier)
        .group_by(_SIGNED.c.bottle)
        .subquery()
    )


def _u_after(connection: Connection, signed: Any) -> dict[str, float]:
    query = (
        select(_SIGNED.c.bottle, _SIGNED.c.u_after)
        .join(_COUNT, _COUNT.c.code == _SIGNED.c.stocktake)
        .join(signed, and_(signed.c.bottle == _SIGNED.c.bottle, signed.c.job == _COUNT.c.job))
    )
    return {bottle: float(u) for bottle, u in connection.execute(query)}
