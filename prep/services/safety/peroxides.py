"""Dates of bottles: peroxide tests on record, what is due, and a snapshot that serves only from what is good."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, JobKind
from prep.dates import DoneOn
from prep.errors import PrepError
from prep.findings import Finding, Severity
from prep.planning.model import Bottle
from prep.safety.peroxides import DatedBottle, due, peroxide_dates
from prep.services.input import checks
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.wording import AtTerminal, Flag, Sentence

if TYPE_CHECKING:
    from prep.planning.model import Snapshot

_SOON = 42  # days, as long as a plan is by default


def whats_due(db: Path | None, today: date, within: int) -> tuple[Finding, ...]:
    """Find what is out of date, goes out of date or is to be tested within so many days. Raises PrepError."""
    checks.within(within, 0, 3660, Flag("--within"))
    from prep.store import bottles

    with session.reading(db) as connection:
        return due(bottles.dated(connection), today, within)


def tested(db: Path | None, bottle: str, result: str, by: str, day: DoneOn) -> str:
    """Record that a peroxide former was tested and may be used on; returns its code. Raises PrepError."""
    printable(result, label=Flag("--result"))
    from prep.services.stock import listing
    from prep.store import bottles, ledger
    from prep.store.jobs import peroxide_tests

    with session.writing(db) as connection:
        held = listing.one(connection, bottle)
        known = {one.bottle: one for one in bottles.dated(connection, only_peroxides=True)}
        if held.code not in known:
            raise PrepError(f"Bottle {held.code} ({held.name}) holds no peroxide former that is still in use.")
        day.since(known[held.code].opened, f"bottle {held.code} was opened")
        listing.since_it_came(held, day)
        note = f"{held.code}: {result or 'tested, may be used'}"
        job = ledger.begin(connection, JobKind.PEROXIDE_TEST, by, day.on, note)
        peroxide_tests.put(connection, job, held.code, day.on)
        return held.code


def withdraw(db: Path | None, bottle: str, by: str, day: DoneOn) -> str:
    """Take back the last test recorded for a bottle; returns its code. Raises PrepError if there is none."""
    from prep.services.stock import listing
    from prep.store import ledger
    from prep.store.jobs import peroxide_tests

    with session.writing(db) as connection:
        held = listing.one(connection, bottle)
        last = peroxide_tests.last_of(connection, held.code)
        if last is None:
            raise PrepError(f"No test of bottle {held.code} is on record.")
        note = f"{held.code}: takes back job {last.job}"
        ledger.begin(connection, JobKind.PEROXIDE_TEST_WITHDRAWN, by, day.on, note, reverses=last.job)
        peroxide_tests.drop(connection, last.number)
        return held.code


def guarded(snapshot: "Snapshot", dates: Iterable[DatedBottle]) -> "Snapshot":
    """Allow the plan each peroxide former of `dates` only while its test is not due.

    A bottle that is overdue, or has no date or no known class, is put aside; one that will be due serves until then.
    """
    known = {one.bottle: one for one in dates}
    kept = tuple(
        _guarded(bottle, known[bottle.code], snapshot.today) if bottle.code in known else bottle
        for bottle in snapshot.bottles
    )
    return replace(snapshot, bottles=kept, noticed=(*snapshot.noticed, *_set_aside(known.values(), snapshot.today)))


def _guarded(bottle: Bottle, one: DatedBottle, today: date) -> Bottle:
    until = good_until(one)
    if until is None or until < today:
        return replace(bottle, status=BottleStatus.QUARANTINE) if bottle.status == BottleStatus.IN_SERVICE else bottle
    return replace(bottle, use_by=until if bottle.use_by is None else min(until, bottle.use_by))


def good_until(one: DatedBottle) -> date | None:
    """Find the last day to use a peroxide former untested; None where no date or no known class is recorded."""
    dates = peroxide_dates(one.peroxide_class, one.received, one.opened, one.tested)
    if dates is None:
        return None
    return min(dates.discard_by, dates.test_by) if dates.test_by else dates.discard_by


def to_be_tested_by(one: DatedBottle, today: date) -> date | None:
    """Find the day by which a peroxide former is to be tested or gone (today where unknown); None for others."""
    return (good_until(one) or today) if one.peroxide_class else None


def _set_aside(dates: Iterable[DatedBottle], today: date) -> tuple[Finding, ...]:
    """List the peroxide formers that the plan does not use, now or soon, and what would let it."""
    out = []
    for one in due(list(dates), today, _SOON):
        if one.code == "peroxide-test":
            then = "The plan does not use it" + ("." if one.severity == Severity.STOP else " after that day.")
            cure = Sentence(one.cure[:-1], AtTerminal(f"; once it has passed: prep safety tested {one.about}", "."))
            out.append(Finding(Severity.ACT, one.code, one.about, f"{one.message} {then}", cure))
        elif one.severity == Severity.STOP:
            out.append(Finding(Severity.ACT, one.code, one.about, f"{one.message} The plan does not use it.", one.cure))
    return tuple(out)
