"""Counts as rows: what is open, what was tallied, and what was signed off."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, func, insert, or_, select

from prep.books import BottleStatus, CountStatus, JobKind
from prep.stocktake.verdict import Verdict
from prep.store import ledger
from prep.store import tables as t
from prep.store.bottles import HeldBottle, one
from prep.store.table_rows import in_parts, table

_COUNT, _TALLY, _SIGNED = table(t.StocktakeRow), table(t.TallyRow), table(t.SignoffRow)
_REPORT, _CHANGE, _BOTTLE = table(t.CountReportRow), table(t.ChangeRow), table(t.BottleRow)
_MOVEMENT, _JOB = table(t.MovementRow), table(t.JobRow)


@dataclass(frozen=True, slots=True)
class Stocktake:
    """A count: of one location, or of all (`location` empty)."""

    code: str
    location: str
    blind: bool
    status: CountStatus
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
    job: int | None = None


def all_counts(connection: Connection) -> list[Stocktake]:
    """List every count, oldest first."""
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
            status=CountStatus.OPEN,
            opened_on=count.opened_on,
            opened_by=count.opened_by,
        )
    )


def add(connection: Connection, job: int, tallies: Iterable[Tally], by: str) -> None:
    """Write entries under a job, with the newest movement as it is now."""
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
            "by": one.by or by,
            "at": at,
            "job": job,
        }
        for one in tallies
    ]
    if rows:
        connection.execute(insert(_TALLY), rows)


def tallies(connection: Connection, count: str, bottle: str | None = None) -> list[Tally]:
    """List the entries of a count, or of one bottle in it, oldest first, without those that were undone."""
    c = _TALLY.c
    query = select(
        c.bottle, c.kind, c.amount, c.method, c.readable, c.item, c.location, c.note, c.upto, c.by, c.at, c.job
    )
    undone = select(_JOB.c.reverses).where(_JOB.c.reverses.is_not(None))
    query = query.where(c.stocktake == count, or_(c.job.is_(None), c.job.not_in(undone))).order_by(c.id)
    rows = connection.execute(query if bottle is None else query.where(c.bottle == bottle)).all()
    return [
        Tally(count, code, kind, amount, json.loads(method) if method else None, bool(readable), *rest)
        for code, kind, amount, method, readable, *rest in rows
    ]


def discarded_since(connection: Connection, after: int, before: int | None, location: str) -> set[str]:
    """Find the bottles of a place (empty: of all) that jobs after one, and before another, discarded for good."""
    query = select(_CHANGE.c.code).join(_BOTTLE, _BOTTLE.c.code == _CHANGE.c.code)
    query = query.where(_CHANGE.c.kind == "bottle", _CHANGE.c.field == "status", _CHANGE.c.after == "discarded")
    query = query.where(_CHANGE.c.job > after, _BOTTLE.c.status == BottleStatus.DISCARDED).distinct()
    if before is not None:
        query = query.where(_CHANGE.c.job < before)
    if location:
        query = query.where(_BOTTLE.c.location == location)
    return {str(code) for code in connection.execute(query).scalars()}


@dataclass(frozen=True, slots=True)
class EarlierFind:
    """A bottle that a count put on the books before its sign-off was undone: what it was, where, and how much."""

    code: str
    item: str
    measure: str
    location: str
    note: str
    amount: int


def earlier_finds(connection: Connection, count: str) -> list[EarlierFind]:
    """List the bottles that a count put on the books by sign-offs undone since, in that order; they hold nothing."""
    undone = select(_JOB.c.reverses).where(_JOB.c.reverses.is_not(None))
    b, m = _BOTTLE.c, _MOVEMENT.c
    query = (
        select(b.code, b.item, b.measure, b.location, b.note, m.amount)
        .join(_MOVEMENT, m.bottle == b.code)
        .join(_REPORT, _REPORT.c.job == m.job)
        .where(_REPORT.c.stocktake == count, m.job.in_(undone), m.amount > 0)
        .where(b.balance == 0, b.status == BottleStatus.DISCARDED, b.note.startswith(f"found at count {count}"))
        .order_by(m.id)
    )
    found = {row.code: EarlierFind(*row) for row in connection.execute(query)}
    return list(found.values())


@dataclass(frozen=True, slots=True)
class BottleMovement:
    """A movement of a bottle, by its number in the ledger."""

    number: int
    amount: int


def movements_of(connection: Connection, codes: Iterable[str]) -> dict[str, list[BottleMovement]]:
    """Read the movements of bottles, by bottle."""
    out: dict[str, list[BottleMovement]] = {}
    for part in in_parts(codes):
        query = select(_MOVEMENT.c.bottle, _MOVEMENT.c.id, _MOVEMENT.c.amount).where(_MOVEMENT.c.bottle.in_(part))
        for bottle, number, amount in connection.execute(query):
            out.setdefault(bottle, []).append(BottleMovement(number, amount))
    return out


def taken_from(connection: Connection, codes: Iterable[str]) -> dict[str, tuple[int, ...]]:
    """Read what was taken from bottles in one go to be used, newest first, by bottle."""
    out: dict[str, tuple[int, ...]] = {}
    never = (JobKind.COUNT, JobKind.DISCARD, JobKind.REPAIR, JobKind.UNDO)
    for part in in_parts(codes):
        query = (
            select(_MOVEMENT.c.bottle, -_MOVEMENT.c.amount)
            .join(_JOB, _JOB.c.id == _MOVEMENT.c.job)
            .where(_MOVEMENT.c.bottle.in_(part), _MOVEMENT.c.amount < 0, _JOB.c.kind.not_in(never))
            .order_by(_MOVEMENT.c.id.desc())
        )
        for bottle, amount in connection.execute(query):
            out[bottle] = (*out.get(bottle, ()), int(amount))
    return out


def held_of(connection: Connection, codes: Iterable[str]) -> list[HeldBottle]:
    """Read bottles by their codes."""
    return [found for code in codes if (found := one(connection, code))]


def tare_of(connection: Connection, code: str) -> int | None:
    """Read what a bottle weighs when empty [ug]; None where that is not on file."""
    found: int | None = connection.execute(select(_BOTTLE.c.tare).where(_BOTTLE.c.code == code)).scalar()
    return found


def put_report(connection: Connection, job: int, count: str, document: str) -> None:
    """Store the report of a count under the job that signed it off."""
    connection.execute(insert(_REPORT).values(job=job, stocktake=count, document=document))


def report_of(connection: Connection, job: int) -> str | None:
    """Read the report that a job signed; None where it was signed before reports were stored."""
    found = connection.execute(select(_REPORT.c.document).where(_REPORT.c.job == job)).scalar()
    return None if found is None else str(found)


@dataclass(frozen=True, slots=True)
class UndoneSignOff:
    """A sign-off that was taken back: its job, who signed and when, and who took it back and when."""

    job: int
    by: str
    on: date
    undone_by: str
    undone_on: date
    undone_job: int


def undone(connection: Connection, count: str) -> list[UndoneSignOff]:
    """List the sign-offs of a count that were taken back, oldest first."""
    back = _JOB.alias()
    query = (
        select(_JOB.c.id, _JOB.c.by, _JOB.c.on, back.c.by, back.c.on, back.c.id)
        .join_from(_REPORT, _JOB, _JOB.c.id == _REPORT.c.job)
        .join(back, back.c.reverses == _JOB.c.id)
        .where(_REPORT.c.stocktake == count)
        .order_by(_JOB.c.id)
    )
    return [UndoneSignOff(*row) for row in connection.execute(query)]


def sign(connection: Connection, job: int, count: str, verdicts: Iterable[Verdict]) -> None:
    """Write what a count says of its bottles, under the job that closes it."""
    rows = [
        {
            "job": job,
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
