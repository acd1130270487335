"""`prep db check`: does every balance equal its movements, are the guards there, is the file whole."""

from datetime import date

from sqlalchemy import Connection, func, inspect, select, text

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.planning.model import Finding
from prep.store import guards, ledger, queries
from prep.store.audit import records, seals
from prep.store.queries import table
from prep.store.tables import BottleRow, CountReportRow, MovementRow, SignoffRow, StocktakeRow, metadata


def check(connection: Connection) -> list[Finding]:
    """Everything that is wrong with the books, worst first; empty when they are clean."""
    sqlite = connection.dialect.name == "sqlite"
    found: list[Finding] = []
    there = set(inspect(connection).get_table_names())
    if missing := sorted(set(metadata.tables) - there):
        return [Finding("stop", "no-table", missing[0], f"The table {missing[0]} is missing.", "Restore a backup.")]
    if sqlite:
        for (line,) in connection.execute(text("PRAGMA integrity_check")):
            if line != "ok":
                found.append(Finding("stop", "damaged", "file", f"The file is damaged: {line}", "Restore a backup."))
        for row in connection.execute(text("PRAGMA foreign_key_check")):
            found.append(
                Finding(
                    "stop",
                    "no-parent",
                    str(row[0]),
                    f"Row {row[1]} of {row[0]} names a row of {row[2]} that is not there.",
                )
            )
    bottles = table(BottleRow)
    rows = connection.execute(select(bottles.c.code, bottles.c.measure, bottles.c.status)).all()
    measures = {row.code: row.measure for row in rows}
    for bottle, kept, summed in ledger.differences(connection):
        measure = Measure(measures[bottle])
        found.append(
            Finding(
                "stop",
                "balance",
                bottle,
                f"Bottle {bottle} says {quantities.show(kept, measure, None)}, but its movements add up to "
                f"{quantities.show(summed, measure, None)}.",
                "Count the bottle, and restore a backup if others differ too.",
            )
        )
    for name in guards.missing(connection):
        about = f"The guard {name} is missing: the ledger could be rewritten."
        found.append(Finding("stop", "no-guard", name, about, "Run: prep db upgrade"))
    altered = guards.altered(connection)
    for name in altered:
        about = f"The {name} is not what prep made: somebody has changed the database's own rules."
        found.append(Finding("stop", "altered", name, about, "Run: prep db upgrade"))
    found += _records(connection)
    for job, why in seals.broken(connection):
        cure = "Restore a backup from before, or see what the paper of the last count says."
        found.append(Finding("stop", "seal", f"job {job}", f"Job {job} {why}: the books were rewritten.", cure))
    found += _sign_offs(connection)
    for row in rows:
        if row.status not in ("in service", "quarantine", "discarded"):
            about = f'Bottle {row.code} has the unknown status "{row.status}".'
            found.append(Finding("stop", "status", row.code, about))
    try:
        queries.load_snapshot(connection, date.min)
    except (ValueError, KeyError, TypeError, AttributeError, ArithmeticError) as error:
        about = f"A row cannot be read ({type(error).__name__}: {str(error)[:80]})."
        found.append(Finding("stop", "unreadable", "rows", about, "Restore a backup."))
    return found


def _records(connection: Connection) -> list[Finding]:
    """Records that are not what the last job left: of bottles, what was changed of them."""
    out = []
    for kind in records.kinds():
        for code, said, there in records.differing(connection, kind):
            if said is None:
                what = "stands in its table, but no job put it there"
            elif there is None:
                what = "is gone, but no job took it away"
            else:
                fields = sorted(n for n in said.keys() | there.keys() if said.get(n) != there.get(n))
                what = f"is not what the last job left ({', '.join(fields)})"
            cure = "See: prep stock history; put it right by a job, or restore a backup."
            out.append(Finding("stop", "record", f"{kind} {code}", f"The {kind} {code} {what}.", cure))
    return out


def _sign_offs(connection: Connection) -> list[Finding]:
    """Closed counts whose sign-offs, movements and report do not agree."""
    count, signed, moved, report = (table(one) for one in (StocktakeRow, SignoffRow, MovementRow, CountReportRow))
    out = []
    query = select(signed.c.job, signed.c.bottle, signed.c.adjust).where(signed.c.adjust != 0)
    said = {(job, bottle): adjust for job, bottle, adjust in connection.execute(query)}
    jobs = {job for job, _ in said}
    closed = connection.execute(select(count.c.code, count.c.job).where(count.c.status == "closed")).all()
    reported = set(connection.execute(select(report.c.job)).scalars())
    posted: dict[tuple[int, str], int] = {}
    for job in sorted(jobs):
        lines = select(moved.c.bottle, func.sum(moved.c.amount)).where(moved.c.job == job).group_by(moved.c.bottle)
        posted.update(((job, bottle), int(amount)) for bottle, amount in connection.execute(lines))
    for (job, bottle), adjust in sorted(said.items()):
        if posted.get((job, bottle), 0) != adjust:
            about = f"The sign-off of bottle {bottle} by job {job} is not what the ledger posted."
            out.append(Finding("stop", "sign-off", bottle, about))
    for code, job in closed:
        if job is None or not connection.execute(select(signed.c.bottle).where(signed.c.job == job).limit(1)).first():
            out.append(Finding("stop", "sign-off", code, f"Count {code} is closed, but nothing is signed off by it."))
        elif reported and job not in reported and job > min(reported):
            out.append(Finding("stop", "sign-off", code, f"Count {code} is closed, but its report is gone."))
    return out
