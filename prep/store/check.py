"""`prep db check`: does every balance equal its movements, are the guards there, is the file whole."""

from datetime import date
from typing import Any

from sqlalchemy import Column, Connection, Integer, func, inspect, select, text

from prep.books import BottleStatus, CountStatus
from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.findings import Finding, Severity
from prep.plurals import plural
from prep.store import guards, ledger, queries
from prep.store.audit import definitions, logged_records, seals
from prep.store.day import lines as day_lines
from prep.store.people import access_chain
from prep.store.table_rows import table
from prep.store.tables import BottleRow, CountReportRow, MovementRow, SignoffRow, StocktakeRow, TallyRow, metadata
from prep.wording import AtTerminal, Sentence

UNREADABLE = (ValueError, KeyError, TypeError, AttributeError, ArithmeticError)
"""The errors that reading a row with nonsense in it may end in."""


def check(connection: Connection) -> list[Finding]:
    """Check the books for everything that can be wrong with them, worst first; empty when they are clean."""
    there = set(inspect(connection).get_table_names())
    if missing := sorted(set(metadata.tables) - there):
        return [
            Finding(Severity.STOP, "no-table", missing[0], f"The table {missing[0]} is missing.", "Restore a backup.")
        ]
    found: list[Finding] = []
    for part in (_file, _blobs, _balances, _rules, _records, _seals, _access, _day_lines, _sign_offs, _statuses, _rows):
        try:
            found += part(connection)
        except UNREADABLE as error:
            about = f"A row cannot be read ({type(error).__name__}: {str(error)[:80]})."
            found.append(Finding(Severity.STOP, "unreadable", "rows", about, "Restore a backup."))
    return found


def _file(connection: Connection) -> list[Finding]:
    """Find damage of the file, rows without their parents, and a revision that is missing or not the only one."""
    found = []
    revisions = list(connection.execute(text("SELECT version_num FROM alembic_version")).scalars())
    if len(revisions) != 1:
        about = f"The database says that it is of {len(revisions)} revisions: {', '.join(map(str, revisions))[:80]}."
        found.append(Finding(Severity.STOP, "revision", "alembic_version", about, "Restore a backup."))
    if connection.dialect.name != "sqlite":
        return found
    for (line,) in connection.execute(text("PRAGMA integrity_check")):
        if line != "ok":
            found.append(Finding(Severity.STOP, "damaged", "file", f"The file is damaged: {line}", "Restore a backup."))
    for row in connection.execute(text("PRAGMA foreign_key_check")):
        about = f"Row {row[1]} of {row[0]} names a row of {row[2]} that is not there."
        found.append(Finding(Severity.STOP, "no-parent", str(row[0]), about))
    return found


def _blobs(connection: Connection) -> list[Finding]:
    """Find the rows of a file that hold bytes where a text belongs, or what is no whole number where one does.

    Either looks like what belongs there and is not equal to it.
    """
    if connection.dialect.name != "sqlite":
        return []
    found = []
    for name, rows in metadata.tables.items():
        odd = " OR ".join(map(_misfit, rows.columns))
        if wrong := connection.execute(text(f'SELECT count(*) FROM "{name}" WHERE {odd}')).scalar_one():
            about = f"{plural(wrong, 'row')} of {name} hold something else where a text or a number belongs."
            found.append(Finding(Severity.STOP, "bytes", name, about, "Restore a backup."))
    return found


def _misfit(column: Column[Any]) -> str:
    """Write what holds in SQL of a cell that has what its column never has."""
    name = f'"{column.name}"'
    if not isinstance(column.type, Integer):
        return f"typeof({name}) = 'blob'"
    return f"{name} IS NOT NULL AND typeof({name}) <> 'integer'" if column.nullable else f"typeof({name}) <> 'integer'"


def _balances(connection: Connection) -> list[Finding]:
    """Find the bottles that do not hold what their movements add up to."""
    bottles = table(BottleRow)
    rows = connection.execute(select(bottles.c.code, bottles.c.measure)).all()
    measures = {row.code: row.measure for row in rows}
    found = []
    for one in ledger.differences(connection):
        measure = Measure(measures[one.bottle])
        about = (
            f"Bottle {one.bottle} says {quantities.show(one.balance, measure, None)}, but its movements add up to "
            f"{quantities.show(one.summed, measure, None)}."
        )
        repair = AtTerminal("; prep db repair puts the balance right in your name.", ".")
        cure = Sentence("Count the bottle", repair)
        found.append(Finding(Severity.STOP, "balance", one.bottle, about, cure))
    return found


def _rules(connection: Connection) -> list[Finding]:
    """Find guards that are missing, and triggers and indexes that were changed."""
    gone = guards.missing(connection)
    found = [
        Finding(
            Severity.STOP,
            "no-guard",
            name,
            f"The guard {name} is missing: the ledger could be rewritten.",
            Sentence(AtTerminal("Run: prep db upgrade")),
        )
        for name in gone
    ]
    upgrade = Sentence(AtTerminal("Run: prep db upgrade"))
    salvage = Sentence("Restore a backup, or take over what is sound", AtTerminal(": prep db salvage COPY", "."))
    for name, cure in (
        *((one, upgrade) for one in guards.altered(connection)),
        *((one, salvage) for one in definitions.altered(connection)),
    ):
        about = f"The {name} is not what prep made: somebody has changed the database's own rules."
        found.append(Finding(Severity.STOP, "altered", name, about, cure))
    return found


def _seals(connection: Connection) -> list[Finding]:
    """Find the jobs that are not what was sealed."""
    cure = "Restore a backup from before, or see what the paper of the last count says."
    return [
        Finding(Severity.STOP, "seal", f"job {one.job}", f"Job {one.job} {one.why}: the books were rewritten.", cure)
        for one in seals.broken(connection)
    ]


def _access(connection: Connection) -> list[Finding]:
    """Find the lines of the log of access that are not what was written, where whoever is connected may read it."""
    if not access_chain.is_readable(connection):
        return []
    cure = "Restore a backup from before."
    return [
        Finding(Severity.STOP, "access", f"line {one.line}", f"Line {one.line} of who came in {one.why}.", cure)
        for one in access_chain.broken(connection)
    ]


def _day_lines(connection: Connection) -> list[Finding]:
    """Find the days whose numbered lines are not what was written."""
    cure = "Restore a backup from before; what was done that day stands as its jobs."
    return [
        Finding(Severity.STOP, "day-line", f"day {day}", f"The numbered lines of {day} are not what was written.", cure)
        for day in day_lines.bent_days(connection)
    ]


def _statuses(connection: Connection) -> list[Finding]:
    """Find the bottles of an unknown status."""
    bottles = table(BottleRow)
    query = select(bottles.c.code, bottles.c.status).where(bottles.c.status.not_in([str(one) for one in BottleStatus]))
    return [
        Finding(Severity.STOP, "status", code, f'Bottle {code} has the unknown status "{status}".')
        for code, status in connection.execute(query)
    ]


def _rows(connection: Connection) -> list[Finding]:
    """Read every row as the plan does, which raises where a row cannot be read; it finds nothing else."""
    queries.load_snapshot(connection, date.min)
    return []


def _records(connection: Connection) -> list[Finding]:
    """Find the records that are not what the last job left; of a bottle, the fields that jobs changed."""
    out = []
    for kind in logged_records.readable(connection):
        for one in logged_records.differing(connection, kind):
            said, there = one.said, one.found
            if said is None:
                what = "stands in its table, but no job put it there"
            elif there is None:
                what = "is gone, but no job took it away"
            else:
                fields = sorted(n for n in said.keys() | there.keys() if said.get(n) != there.get(n))
                what = f"is not what the last job left ({', '.join(fields)})"
            cure = Sentence(
                AtTerminal("See: prep stock history; put", "Put"), " it right by a job, or restore a backup."
            )
            code = one.code[:12] if kind in logged_records.PEOPLE else one.code  # a key's is a digest
            out.append(Finding(Severity.STOP, "record", f"{kind} {code}", f"The {kind} {code} {what}.", cure))
    return out


def _sign_offs(connection: Connection) -> list[Finding]:
    """Find the closed counts whose sign-offs, movements and report do not agree."""
    count, signed, moved, report = (table(one) for one in (StocktakeRow, SignoffRow, MovementRow, CountReportRow))
    out = []
    query = select(signed.c.job, signed.c.bottle, signed.c.adjust).where(signed.c.adjust != 0)
    said = {(job, bottle): adjust for job, bottle, adjust in connection.execute(query)}
    jobs = {job for job, _ in said}
    closed = connection.execute(select(count.c.code, count.c.job).where(count.c.status == CountStatus.CLOSED)).all()
    reported = set(connection.execute(select(report.c.job)).scalars())
    posted: dict[tuple[int, str], int] = {}
    for job in sorted(jobs):
        lines = select(moved.c.bottle, func.sum(moved.c.amount)).where(moved.c.job == job).group_by(moved.c.bottle)
        posted.update(((job, bottle), int(amount)) for bottle, amount in connection.execute(lines))
    for (job, bottle), adjust in sorted(said.items()):
        if posted.get((job, bottle), 0) != adjust:
            about = f"The sign-off of bottle {bottle} by job {job} is not what the ledger posted."
            out.append(Finding(Severity.STOP, "sign-off", bottle, about))
    tally = table(TallyRow)
    counted = set(connection.execute(select(tally.c.stocktake).where(tally.c.bottle != "").distinct()).scalars())
    signing = set(connection.execute(select(signed.c.job).distinct()).scalars())
    for code, job in closed:
        if job is None or (code in counted and job not in signing):
            out.append(
                Finding(Severity.STOP, "sign-off", code, f"Count {code} is closed, but nothing is signed off by it.")
            )
        elif reported and job not in reported and job > min(reported):
            out.append(Finding(Severity.STOP, "sign-off", code, f"Count {code} is closed, but its report is gone."))
    return out
