"""`prep db check`: does every balance equal its movements, are the guards there, is the file whole."""

from datetime import date

from sqlalchemy import Connection, inspect, select, text

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.planning.model import Finding
from prep.store import guards, ledger, queries
from prep.store.queries import table
from prep.store.tables import BottleRow, metadata


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
