"""A trace as tables and as a document."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from prep.chemistry import quantities
from prep.dates import day_alone
from prep.planning.workdays import by_number
from prep.stocktake.model import Downstream, HopKind, Upstream


@dataclass(frozen=True, slots=True)
class TraceTable:
    """One way that was traced: its title, its headers, its rows, and which columns hold figures."""

    title: str
    headers: tuple[str, ...]
    rows: Sequence[tuple[str, ...]]
    figures: tuple[int, ...]


def tables(up: Upstream | None, down: Downstream | None) -> list[TraceTable]:
    """Lay out each way that was traced."""
    out: list[TraceTable] = []
    headers: tuple[str, ...]
    if up is not None:
        rows = [
            (
                s.bottle,
                s.item,
                quantities.show(s.amount, s.measure),
                s.lot,
                "the trail ends" if s.origin else "made here",
            )
            for s in up.shares
        ]
        headers = ("Bottle", "Item", "Amount", "Lot", "")
        out.append(TraceTable(f"What is in {up.start} came from", headers, rows, (2,)))
    if down is not None:
        went = [
            (
                str(h.job),
                day_alone(h.on),
                h.bottle,
                f"{h.kind} {h.to}" if h.kind is not HopKind.OTHER else h.to,
                quantities.show(h.carried, h.of_measure),
                h.of,
            )
            for h in down.hops
        ]
        headers = ("Job", "On", "From", "To", "Amount", "Of")
        out.append(TraceTable(f"Where {down.start} went", headers, went, (0, 4)))
        held = [(h.bottle, h.item, quantities.show(h.carried, h.of_measure), h.of, h.status) for h in down.holds]
        headers = ("Bottle", "Item", "Amount", "Of", "Status")
        out.append(TraceTable(f"What holds some of {down.start} now", headers, held, (2,)))
    return out


def document(start: str, kind: str, up: Upstream | None, down: Downstream | None) -> dict[str, Any]:
    """Write the trace for --json."""
    said: dict[str, Any] = {"start": start, "kind": kind}
    if up is not None:
        said["from"] = [
            {
                "bottle": s.bottle,
                "item": s.item,
                "lot": s.lot or None,
                "amount": quantities.as_json(s.amount, s.measure),
                "origin": s.origin,
                "steps": s.steps,
            }
            for s in up.shares
        ]
        said["lots"] = [{"item": one.item, "lot": one.lot or None} for one in up.lots]
    if down is not None:
        said["to"] = [
            {
                "job": h.job,
                "on": h.on.isoformat(),
                "bottle": h.bottle,
                "kind": h.kind,
                "to": h.to,
                "amount": quantities.as_json(h.carried, h.of_measure),
                "of": h.of,
            }
            for h in down.hops
        ]
        said["holds"] = [
            {
                "bottle": h.bottle,
                "item": h.item,
                "status": h.status,
                "amount": quantities.as_json(h.carried, h.of_measure),
                "of": h.of,
            }
            for h in down.holds
        ]
        said["batches"] = list(down.batches)
        said["bookings"] = sorted({one.booking for one in down.bookings}, key=by_number)
    return said
