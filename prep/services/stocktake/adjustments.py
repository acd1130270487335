"""Closing a count: every adjustment with its reason, and what else was found, as one job."""

from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, CountStatus, JobKind
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.errors import PrepError, Refused
from prep.services.input.act import Act
from prep.services.inventory import session
from prep.services.stock import listing
from prep.services.stocktake import report, signed_document, stocktake
from prep.services.stocktake.finds import CountFind, NewBottles, finds_of, put_on_the_books
from prep.services.stocktake.results import ClosedCount
from prep.stocktake.verdict import Verdict, judge
from prep.store import change_log, ledger, queries, sign_offs, stocktakes
from prep.store.audit import seals
from prep.store.people import access_chain
from prep.wording import Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.services.stocktake.results import Progress
    from prep.services.stocktake.signed_document import SignedCount
    from prep.store.stocktakes import Stocktake, Tally


@dataclass(frozen=True, slots=True)
class LeftOpen:
    """What closing leaves open: bottles that nobody looked for, differences that were counted once."""

    partial: bool = False
    as_counted: bool = False


@dataclass(frozen=True, slots=True)
class PostedCount:
    """The job that a count was posted as, and the bottles new on the books."""

    job: int
    new: NewBottles


@dataclass(frozen=True, slots=True)
class _WorkedCount:
    """An open count, how far it is, and its report as it will be signed."""

    count: "Stocktake"
    state: "Progress"
    signed: "SignedCount"
    finds: tuple[CountFind, ...]


def close(db: Path | None, code: str | None, leave: LeftOpen, act: Act) -> ClosedCount:
    """Post every adjustment with its reason as one job, and sign off. Raises PrepError.

    Refused where bottles were not looked for (unless those are left: their books stand, unsigned) or differ and
    were counted only once (unless taken as counted).
    """

    def work(connection: "Connection") -> _WorkedCount:
        count = stocktake.chosen(connection, code, CountStatus.OPEN)
        act.since(count.opened_on, f"count {count.code} was opened")
        state = stocktake.progress_of(connection, count)
        if state.missing and not leave.partial:
            few = ", ".join(line.code for line in state.missing[:6]) + ("..." if len(state.missing) > 6 else "")
            raise Refused(
                f"Not counted yet: {len(state.missing)} ({few}). Count what stands there, write NF, or add ",
                Flag("--partial"),
                " to leave their books as they are.",
            )
        if state.once and not leave.as_counted:
            few = ", ".join(state.once[:6]) + ("..." if len(state.once) > 6 else "")
            raise Refused(
                f"Counted once, and differing by more than measuring explains: {len(state.once)} ({few}). "
                "Count again, or add ",
                Flag("--as-counted"),
                ".",
            )
        if state.disagreeing:
            differing = [f"{bottle}: {says}" for bottle, says in state.disagreeing.items()][:3]
            raise Refused(
                f"Two entries differ beyond measuring, or name two places: {'; '.join(differing)}"
                f"{'; ...' if len(state.disagreeing) > 3 else ''}. Have a third entry made, by somebody else or later."
            )
        if not state.entries:
            raise PrepError(f"Nothing is counted yet in count {count.code}.")
        earlier = stocktakes.earlier_finds(connection, count.code) if state.found else []
        finds = finds_of(state.found, queries.catalogue(connection), earlier) if state.found else ()
        return _WorkedCount(count, state, report.gathered(connection, count, act.on), finds)

    def sign(connection: "Connection", worked: _WorkedCount) -> ClosedCount:
        count, state = worked.count, worked.state
        posted = _post(connection, worked, session.signed(connection, act))
        access = seals.short(access_chain.head(connection))
        signed = replace(worked.signed, new_codes=posted.new.codes, access_seal=access)
        stocktakes.put_report(connection, posted.job, count.code, signed_document.written(signed))
        closed = stocktake.chosen(connection, count.code)
        adjusted = tuple(v for v in state.verdicts if v.adjust)
        return ClosedCount(closed, posted.job, adjusted, len(state.missing), posted.new.bottles)

    return session.worked_out(db, work, sign)


def _post(connection: "Connection", worked: _WorkedCount, act: Act) -> PostedCount:
    """Post a count and sign it off.

    Raises Refused where a bottle has been used since it was counted so that it would go below zero.
    """
    count, state = worked.count, worked.state
    held = {h.code: h for h in listing.all_held(connection)}
    latest = {t.bottle: t for t in stocktakes.tallies(connection, count.code) if t.bottle}
    gone = {v.bottle for v in state.verdicts if held[v.bottle].status == BottleStatus.DISCARDED}
    since = {code for code in gone for job in change_log.closed_by(connection, code) if job > (latest[code].job or 0)}
    counted = [v for v in state.verdicts if v.bottle not in since]  # not those discarded after they were counted
    for verdict in counted:
        listing.since_it_came(held[verdict.bottle], act.day)
    signed = sign_offs.last(connection, (v.bottle for v in counted))
    for bottle, last in sorted(signed.items()):
        if act.on < last.on:
            raise Refused(
                f"Bottle {bottle} was signed off by count {last.count} on {last.on}; close this count on that "
                "day or later."
            )
    job = ledger.begin(
        connection, JobKind.COUNT, act.by, act.on, f"{count.code}: count of {count.location or 'all places'}"
    )
    lines = []
    for verdict in counted:
        left = held[verdict.bottle].balance + verdict.adjust
        if left < 0:
            raise Refused(
                f"Bottle {verdict.bottle} has been used since it was counted, by more than was found in it; "
                "count it again."
            )
        if verdict.adjust:
            lines.append(ledger.MovementLine(verdict.bottle, verdict.adjust, _reason(count, verdict, latest)))
    ledger.post(connection, job, lines)
    for verdict in counted:
        tally = latest[verdict.bottle]
        fields: dict[str, object] = {}
        if tally.kind == "not found":
            fields["status"] = BottleStatus.DISCARDED
        elif not tally.readable and held[verdict.bottle].status == BottleStatus.IN_SERVICE:
            fields["status"] = BottleStatus.QUARANTINE
        elif verdict.bottle in gone and tally.amount:  # found after all: its code, lot and use-by hold again
            fields["status"] = BottleStatus.IN_SERVICE
        if tally.location:
            fields["location"] = tally.location
        if tally.method and tally.method["by"] == "weighing":
            fields["tare"] = int(Decimal(tally.method["tare_g"]) * BASE_PER_UNIT)
        if fields:
            change_log.change(connection, job, "bottle", verdict.bottle, **fields)
    new = put_on_the_books(connection, worked.finds, job, act.on)
    change_log.change(
        connection, job, "stocktake", count.code, status=CountStatus.CLOSED, closed_on=act.on, closed_by=act.by, job=job
    )
    written_off = [judge(one, None) for one in state.written_off if one.bottle not in {v.bottle for v in counted}]
    stocktakes.sign(connection, job, count.code, (*counted, *new.verdicts, *written_off))
    return PostedCount(job, new)


def _reason(count: "Stocktake", verdict: Verdict, latest: "dict[str, Tally]") -> str:
    note = latest[verdict.bottle].note
    return f"count {count.code}: {verdict.sentence}" + (f" ({note})" if note else "")
