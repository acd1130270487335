"""Where a bottle, a lot or a booking's share came from and went, and taking a recalled lot out of service."""

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, JobKind
from prep.errors import PrepError
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.services.stock import listing
from prep.stocktake import genealogy
from prep.stocktake.model import Downstream, Upstream
from prep.store import change_log, ledger
from prep.store.jobs.lineage import lineage
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection


class TraceKind(StrEnum):
    """What a trace began with."""

    BOTTLE = "bottle"
    LOT = "lot"
    BOOKING = "booking"


@dataclass(frozen=True, slots=True)
class Trace:
    """Both ways from one thing; `up` is None for a lot, `down` for a booking."""

    start: str
    kind: TraceKind
    up: Upstream | None
    down: Downstream | None
    quarantined: tuple[str, ...] = ()
    job: int | None = None


def trace(db: Path | None, thing: str) -> Trace:
    """Trace a bottle both ways, a lot to all that got some, or a booking back to its lots. Raises PrepError."""
    with session.reading(db) as connection:
        return _trace(connection, thing)


def recall(db: Path | None, thing: str, reason: str, act: Act) -> Trace:
    """Trace a bottle or lot and put whatever holds some of it into quarantine, as one job.

    Raises PrepError for a booking, and where nothing in service holds any.
    """
    printable(reason, label=Flag("--reason"))
    with session.writing(db) as connection:
        found = _trace(connection, thing)
        if found.down is None:
            raise PrepError(f"{found.start} is a booking; a bottle or a lot is recalled.")
        codes = found.down.quarantine
        if not codes:
            raise PrepError(f"Nothing in service holds any of {found.start}; nothing was changed.")
        note = f"{', '.join(codes[:20])}: recall of {found.kind} {found.start} {reason}".strip()
        job = ledger.begin(connection, JobKind.RECALL, act.by, act.on, note)
        for code in codes:
            listing.since_it_came(listing.one(connection, code), act.day)
            change_log.change(connection, job, "bottle", code, status=BottleStatus.QUARANTINE)
        return Trace(found.start, found.kind, found.up, found.down, codes, job)


def _trace(connection: "Connection", thing: str) -> Trace:
    found = lineage(connection)
    graph = found.graph
    for name in (thing.strip(), thing.strip().upper()):
        if name in graph.bottles:
            return Trace(name, TraceKind.BOTTLE, genealogy.upstream(graph, name), genealogy.downstream(graph, name))
        if name and any(b.lot == name for b in graph.bottles.values()):
            return Trace(name, TraceKind.LOT, None, genealogy.downstream(graph, name))
        if name in found.bookings:
            return Trace(name, TraceKind.BOOKING, genealogy.upstream(graph, name), None)
    raise PrepError(
        f'"{thing[:40]}" is neither a bottle nor a lot on the books, nor a booking that is done',
        AtTerminal("; see: prep stock list", "."),
    )
