"""Dates of bottles: peroxide tests on record, what is due, and a snapshot that serves only from what is good."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.dates import Done
from prep.errors import PrepError
from prep.findings import Finding, Severity
from prep.planning.model import Bottle
from prep.safety.peroxides import Dated, due, peroxide_dates
from prep.services.input import checks
from prep.services.input.checks import printable
from prep.services.inventory import session

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.planning.model import Snapshot

TEST_JOB = "peroxide test"
_WITHDRAWN = "peroxide test withdrawn"
_SOON = 42  # days: as far as a plan looks unless told otherwise


def dated(connection: "Connection", *, only_peroxides: bool = False) -> list[Dated]:
    """Every bottle with something in it that is not discarded, with its dates, by code."""
    from sqlalchemy import select

    from prep.store.queries import table
    from prep.store.tables import BottleRow, SolutionRow, SubstanceRow

    b, s, m = table(BottleRow), table(SubstanceRow), table(SolutionRow)
    query = (
        select(b.c.code, b.c.item, b.c.use_by, b.c.received, b.c.opened, b.c.status, s.c.name, s.c.peroxide_class)
        .add_columns(m.c.name.label("made"))
        .select_from(b.outerjoin(s, s.c.code == b.c.item).outerjoin(m, m.c.code == b.c.item))
        .where(b.c.status != "discarded", b.c.balance > 0)
        .order_by(b.c.code)
    )
    if only_peroxides:
        query = query.where(s.c.peroxide_class != "")
    rows = list(connection.execute(query))
    tests = last_tests(connection) if any(row.peroxide_class for row in rows) else {}
    return [
        Dated(
            bottle=row.code,
            name=row.name or row.made or row.item,
            use_by=row.use_by,
            received=row.received,
            opened=row.opened,
            peroxide_class=row.peroxide_class or "",
            tested=tests.get(row.code),
            quarantined=row.status == "quarantine",
        )
        for row in rows
    ]


def last_tests(connection: "Connection") -> dict[str, date]:
    """The day each bottle was last tested for peroxides and passed, less what was taken back."""
    found: dict[str, date] = {}
    for _, bottle, on in _tests(connection):
        found[bottle] = max(on, found.get(bottle, on))
    return found


def _tests(connection: "Connection") -> list[tuple[int, str, date]]:
    """(job, bottle, day) of every test on record that no job has taken back, in the order they were recorded."""
    from sqlalchemy import select

    from prep.store.queries import table
    from prep.store.tables import JobRow

    j = table(JobRow)
    later = j.alias()
    query = (
        select(j.c.id, j.c.note, j.c.on)
        .outerjoin(later, later.c.reverses == j.c.id)
        .where(j.c.kind == TEST_JOB, later.c.id.is_(None))
        .order_by(j.c.id)
    )
    return [(row.id, row.note.partition(": ")[0], row.on) for row in connection.execute(query)]


def whats_due(db: Path | None, today: date, within: int) -> tuple[Finding, ...]:
    """What is out of date, goes out of date or is to be tested within so many days. Raises PrepError."""
    checks.within(within, 0, 3660, "--within")
    with session.reading(db) as connection:
        return due(dated(connection), today, within)


def tested(db: Path | None, bottle: str, result: str, by: str, day: Done) -> str:
    """Record that a peroxide former was tested and may be used on; returns its code. Raises PrepError."""
    printable(result, label="--result")
    with session.writing(db) as connection:
        from prep.services.stock import listing
        from prep.store import ledger

        held = listing.one(connection, bottle)
        known = {one.bottle: one for one in dated(connection, only_peroxides=True)}
        if held.code not in known:
            raise PrepError(f"Bottle {held.code} ({held.name}) holds no peroxide former that is still in use.")
        day.since(known[held.code].opened, f"bottle {held.code} was opened")
        listing.since_it_came(held, day)
        ledger.begin(connection, TEST_JOB, by, day.on, f"{held.code}: {result or 'tested, may be used'}")
        return held.code


def withdraw(db: Path | None, bottle: str, by: str, day: Done) -> str:
    """Take back the last test recorded for a bottle; returns its code. Raises PrepError if there is none."""
    with session.writing(db) as connection:
        from prep.services.stock import listing
        from prep.store import ledger

        held = listing.one(connection, bottle)
        jobs = [job for job, tested_one, _ in _tests(connection) if tested_one == held.code]
        if not jobs:
            raise PrepError(f"No test of bottle {held.code} is on record.")
        ledger.begin(connection, _WITHDRAWN, by, day.on, f"{held.code}: takes back job {jobs[-1]}", reverses=jobs[-1])
        return held.code


def guarded(snapshot: "Snapshot", dates: Iterable[Dated]) -> "Snapshot":
    """The snapshot with every peroxide former of `dates` usable only while its test is not due.

    A bottle that is overdue, or has no date or no known class, is put aside; one that will be due serves until then.
    """
    known = {one.bottle: one for one in dates}
    kept = tuple(
        _guarded(bottle, known[bottle.code], snapshot.today) if bottle.code in known else bottle
        for bottle in snapshot.bottles
    )
    return replace(snapshot, bottles=kept, noticed=(*snapshot.noticed, *_set_aside(known.values(), snapshot.today)))


def _guarded(bottle: Bottle, one: Dated, today: date) -> Bottle:
    until = good_until(one)
    if until is None or until < today:
        return replace(bottle, status="quarantine") if bottle.status == "in service" else bottle
    return replace(bottle, use_by=until if bottle.use_by is None else min(until, bottle.use_by))


def good_until(one: Dated) -> date | None:
    """The last day on which a peroxide former may be used untested; None if no date, or no known class, is recorded."""
    dates = peroxide_dates(one.peroxide_class, one.received, one.opened, one.tested)
    if dates is None:
        return None
    return min(dates.discard_by, dates.test_by) if dates.test_by else dates.discard_by


def to_be_tested_by(one: Dated, today: date) -> date | None:
    """The day by which a peroxide former is to be tested or gone (today where that is not known); else None."""
    return (good_until(one) or today) if one.peroxide_class else None


def _set_aside(dates: Iterable[Dated], today: date) -> tuple[Finding, ...]:
    """The peroxide formers that the plan does not serve from, now or soon, and what would let it."""
    passed = "once it has passed: prep safety tested"
    out = []
    for one in due(list(dates), today, _SOON):
        if one.code == "peroxide-test":
            then = "The plan does not use it" + ("." if one.severity == Severity.STOP else " after that day.")
            out.append(
                Finding(
                    Severity.ACT, one.code, one.about, f"{one.message} {then}", f"{one.cure[:-1]}; {passed} {one.about}"
                )
            )
        elif one.severity == Severity.STOP:
            out.append(Finding(Severity.ACT, one.code, one.about, f"{one.message} The plan does not use it.", one.cure))
    return tuple(out)
