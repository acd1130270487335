"""A count on screen and as JSON: the count itself, what is to be counted, and an entry."""

from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.reports import terminal
from prep.reports.print_rows import CountRow
from prep.reports.stocktake.count_tables import Section, verdict_json

if TYPE_CHECKING:
    from prep.services.stocktake.results import CountEntry, CountList, Progress
    from prep.store.stocktakes import Stocktake


def printed_rows(found: "CountList", *, paper: bool) -> list[CountRow]:
    """List the rows of what is to be counted, as they are printed."""
    return [
        CountRow(
            f"{line.place_name} ({line.place})" if paper else line.place,
            line.code,
            line.name,
            line.measure.value,
            "" if found.count.blind else quantities.show(line.book, line.measure),
            "" if line.tare is None else quantities.show(line.tare, Measure.MASS),
            line.note,
        )
        for line in found.lines
    ]


def show_list(found: "CountList") -> None:
    """Print what is to be counted, in walking order."""
    rows = [(row.location, row.code, row.name, row.book, row.tare) for row in printed_rows(found, paper=False)]
    terminal.table(("At", "Bottle", "Holds", "On the books", "Tare"), rows, right=(3, 4))
    terminal.say(f"To count: {len(rows)}.")


def entry_document(entry: "CountEntry") -> dict[str, Any]:
    """Write one entry as JSON."""
    return {
        "bottle": entry.bottle or None,
        "name": entry.name,
        "kind": entry.kind,
        "amount": quantities.as_json(entry.amount, entry.measure) if entry.measure else None,
        "verdict": verdict_json(entry.verdict) if entry.verdict else None,
    }


def count_document(count: "Stocktake") -> dict[str, Any]:
    """Write a count as JSON."""
    return {
        "count": count.code,
        "location": count.location or None,
        "blind": count.blind,
        "status": count.status,
        "opened_on": count.opened_on.isoformat(),
        "opened_by": count.opened_by,
        "closed_on": count.closed_on.isoformat() if count.closed_on else None,
        "closed_by": count.closed_by,
        "job": count.job,
    }


def list_document(found: "CountList") -> list[dict[str, Any]]:
    """Write what is to be counted as JSON."""
    return [
        {
            "location": line.place,
            "bottle": line.code,
            "name": line.name,
            "book": None if found.count.blind else quantities.as_json(line.book, line.measure),
            "tare": None if line.tare is None else quantities.as_json(line.tare, Measure.MASS),
        }
        for line in found.lines
    ]


def progress_document(state: "Progress") -> dict[str, Any]:
    """Write how far a count is as JSON; of a blind one without what differs."""
    verdicts = {v.bottle: v for v in state.verdicts}
    again = [{"bottle": code} if state.count.blind else verdict_json(verdicts[code]) for code in state.recount]
    document = {"missing": [line.code for line in state.missing], "recount": again}
    return count_document(state.count) | {"entries": state.entries} | document


_WIDE = 110
"""Columns of a terminal on which a column of sentences has room."""


def show_section(section: Section) -> None:
    """Print a section; on a narrow screen its column of sentences stands under it, with the bottles of each."""
    under, rows = section.sentences, section.text
    if under is None or terminal.width() >= _WIDE:
        terminal.table(section.headers, rows, right=section.right)
        return
    heads, *short = ([cell for n, cell in enumerate(row) if n != under] for row in (section.headers, *rows))
    terminal.table(heads, short, right=section.right)
    if not section.several:
        for row in rows:
            if row[under]:
                terminal.say(f"{section.headers[under]} of {row[0]}: {row[under]}", indent=1, hang=2)
        return
    alike: dict[str, list[str]] = {}
    for row in rows:
        alike.setdefault(row[under], []).append(row[0])
    terminal.say(f"{section.headers[under]}:", indent=1)
    for sentence, bottles in alike.items():
        terminal.say(f"{', '.join(bottles)}: {sentence}", indent=2, hang=2)
