"""Closing a count: every adjustment with its reason, and what else was found, as one job."""

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from prep.books import BottleStatus, JobKind
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.errors import Refused
from prep.services.input.act import Act
from prep.services.stocktake import notation
from prep.stocktake.verdict import Books, Verdict, judge

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.services.stocktake.records import Progress
    from prep.store.bottles import Held
    from prep.store.stocktakes import Stocktake, Tally


def post(connection: "Connection", count: "Stocktake", state: "Progress", act: Act) -> "tuple[int, tuple[Held, ...]]":
    """Post a count and sign it off; returns the job and the bottles that are new on the books.

    Raises Refused where a bottle has been used since it was counted so that it would go below zero.
    """
    from prep.services.stock import listing
    from prep.store import changes, ledger, sign_offs, stocktakes

    held = {h.code: h for h in listing.all_held(connection)}
    counted = [
        v for v in state.verdicts if held[v.bottle].status != BottleStatus.DISCARDED
    ]  # not what was written off since
    for verdict in counted:
        listing.since_it_came(held[verdict.bottle], act.day)
    signed = sign_offs.last(connection, (v.bottle for v in counted))
    for bottle, last in sorted(signed.items()):
        if act.on < last.on:
            raise Refused(
                f"Bottle {bottle} was signed off by count {last.count} on {last.on}; close this count on that "
                "day or later."
            )
    latest = {t.bottle: t for t in stocktakes.tallies(connection, count.code) if t.bottle}
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
            lines.append(ledger.Line(verdict.bottle, verdict.adjust, _reason(count, verdict, latest)))
    ledger.post(connection, job, lines)
    for verdict in counted:
        tally = latest[verdict.bottle]
        fields: dict[str, object] = {}
        if tally.kind == "not found":
            fields["status"] = BottleStatus.DISCARDED
        elif not tally.readable and held[verdict.bottle].status == BottleStatus.IN_SERVICE:
            fields["status"] = BottleStatus.QUARANTINE
        if tally.location:
            fields["location"] = tally.location
        if tally.method and tally.method["by"] == "weighing":
            fields["tare"] = int(Decimal(tally.method["tare_g"]) * BASE_PER_UNIT)
        if fields:
            changes.change(connection, job, "bottle", verdict.bottle, **fields)
    new, verdicts = _new_bottles(connection, count, state.found, job, act.on)
    changes.change(
        connection, job, "stocktake", count.code, status="closed", closed_on=act.on, closed_by=act.by, job=job
    )
    stocktakes.sign(connection, job, count.code, (*counted, *verdicts))
    return job, new


def _new_bottles(
    connection: "Connection", count: "Stocktake", found: "tuple[Tally, ...]", job: int, on: date
) -> "tuple[tuple[Held, ...], tuple[Verdict, ...]]":
    """Puts what was found but not on the books on them; an unreadable label is only reported."""
    from prep.services.catalogue.names import in_inventory
    from prep.services.stock import codes, listing
    from prep.store import ledger

    bottles, verdicts = [], []
    for tally in found:
        if not tally.item or not tally.amount:
            continue
        thing = in_inventory(connection, tally.item)
        code = codes.new_code(connection)
        note = f"found at count {count.code}" + (f": {tally.note}" if tally.note else "")
        row = codes.bottle_row(codes.NewBottle(code, thing.code, thing.measure, tally.location, on, note=note[:200]))
        ledger.fill(connection, job, row | {"received": None}, tally.amount, f"count {count.code}: not on the books")
        bottles.append(listing.one(connection, code))
        books = Books(code, thing.code, thing.measure)
        verdicts.append(judge(books, notation.method_of(tally.method, {})))
    return tuple(bottles), tuple(verdicts)


def _reason(count: "Stocktake", verdict: Verdict, latest: "dict[str, Tally]") -> str:
    note = latest[verdict.bottle].note
    return f"count {count.code}: {verdict.sentence}" + (f" ({note})" if note else "")
