"""The chain behind one line of a plan, and what a change would do: on a terminal and as JSON."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from prep.chemistry import quantities
from prep.planning.model import Batch, OrderLine, Requirement, Snapshot
from prep.planning.pegging import PeggingLink
from prep.planning.what_if import Difference
from prep.reports import terminal
from prep.reports.finding_texts import with_cure
from prep.reports.formatting import ItemNames, day, in_days, short_day
from prep.reports.plan.document import measure_of


def show_why(link: PeggingLink, snapshot: Snapshot) -> None:
    """Print the chain, each step under what it serves, with its working."""
    names = ItemNames(snapshot)
    _show(link, names, 0)


def _show(link: PeggingLink, names: ItemNames, depth: int) -> None:
    terminal.say(_head(link, names), indent=2 * depth, hang=2, bold=depth == 0)
    for sentence in link.says:
        terminal.say(in_days(sentence), indent=2 * depth + 4)
    for line in link.working:
        terminal.say(f"= {line.text}" + (f"  [{line.source}]" if line.source else ""), indent=2 * depth + 4, hang=2)
    for title, links in (("for:", link.up), ("from:", link.down)):
        if links and (link.up and link.down):
            terminal.say(title, indent=2 * depth + 2)
        for below in links:
            _show(below, names, depth + 2 if link.up and link.down else depth + 1)


def _head(link: PeggingLink, names: ItemNames) -> str:
    if link.kind == "booking":
        return f"booking {link.ref}"
    amount = f"{names.amount(link.item, link.amount)} of {names.of(link.item)}"
    return f"SHORT: {amount}" if link.kind == "shortage" else f"{link.kind} {link.ref}: {amount}"


def why_document(link: PeggingLink, snapshot: Snapshot) -> dict[str, Any]:
    """Write the chain as JSON: kind, id, item, amount, says, working, from, for."""
    out: dict[str, Any] = {"kind": link.kind, "id": link.ref}
    if link.item:
        out |= {"item": link.item, "amount": quantities.as_json(link.amount, measure_of(link.item, snapshot))}
    return out | {
        "says": list(link.says),
        "working": [line.as_json() for line in link.working],
        "from": [why_document(below, snapshot) for below in link.down],
        "for": [why_document(above, snapshot) for above in link.up],
    }


def show_difference(changes: Iterable[str], found: Difference, before: Snapshot, after: Snapshot) -> None:
    """Print what changes against the present plan."""
    names = ItemNames(after)
    terminal.say(f"If {'; and '.join(changes)}:", bold=True)
    if not found:
        terminal.say("Nothing changes.", indent=2)
        return
    bookings = {b.code: b for b in (*before.bookings, *after.bookings)}
    _part("BOOKINGS AT RISK", [_risk(code, found.short, names, bookings[code].on) for code in found.at_risk])
    _part("NO LONGER SHORT", [f"{n.booking}: {names.of(n.item)}" for n in found.served])
    _part("TO MAKE", [_make(c.before, c.after, names) for c in found.makes])
    _part("TO ORDER", [_order(c.before, c.after, names, after.today) for c in found.orders])
    _part("NEEDS ATTENTION NOW", [with_cure(f) for f in found.new_findings])
    _part("NO LONGER", [in_days(f.message) for f in found.gone_findings])


def _part(title: str, lines: list[str]) -> None:
    if lines:
        terminal.say()
        terminal.say(title, bold=True)
        for line in lines:
            terminal.say(line, indent=2, hang=4)


def _risk(code: str, short: Iterable[Requirement], names: ItemNames, on: Any) -> str:
    lacks = "; ".join(f"{names.amount(n.item, n.short)} of {names.of(n.item)}" for n in short if n.booking == code)
    return f"{code} on {day(on)}: short of {lacks}"


def _make(before: Batch | None, after: Batch | None, names: ItemNames) -> str:
    batch = after or before
    assert batch is not None
    what = f"{names.of(batch.solution)} on {short_day(batch.make_on)}"
    if before is None:
        return f"+ {names.amount(batch.solution, batch.amount)} of {what}"
    if after is None:
        return f"- {names.amount(batch.solution, batch.amount)} of {what}"
    if before.amount != after.amount:
        amounts = f"{names.amount(batch.solution, before.amount)} becomes {names.amount(batch.solution, after.amount)}"
        return f"~ {what}: {amounts}"
    if before.takes != after.takes:
        return f"~ {what}: from {', '.join(f'{t.kind} {t.ref}' for t in after.takes)}"
    return f"~ {what}: for others"


def _order(before: OrderLine | None, after: OrderLine | None, names: ItemNames, today: date) -> str:
    def line(order: OrderLine) -> str:
        late = ", LATE" if order.late else ""
        by = f"by {short_day(order.order_by)}" if order.order_by > today else "today"
        return f"{order.packs} x {names.amount(order.item, order.pack)} {by}{late}"

    order = after or before
    assert order is not None
    name = names.of(order.item)
    if before is None or after is None:
        return f"{'+' if before is None else '-'} {name}: {line(order)}"
    return f"~ {name}: {line(before)} becomes {line(after)}"


def difference_document(changes: Iterable[str], found: Difference, after: Snapshot) -> dict[str, Any]:
    """Write what changes as JSON."""

    def amount(item: str, base: int) -> dict[str, Any]:
        return quantities.as_json(base, measure_of(item, after))

    def make(batch: Batch | None) -> dict[str, Any] | None:
        if batch is None:
            return None
        return {
            "id": batch.id,
            "solution": batch.solution,
            "make_on": batch.make_on.isoformat(),
            "amount": amount(batch.solution, batch.amount),
        }

    def order(line: OrderLine | None) -> dict[str, Any] | None:
        if line is None:
            return None
        return {
            "id": line.id,
            "item": line.item,
            "packs": line.packs,
            "pack": amount(line.item, line.pack),
            "order_by": line.order_by.isoformat(),
            "late": line.late,
        }

    def needs(found: Iterable[Requirement]) -> list[dict[str, Any]]:
        return [
            {"id": n.id, "booking": n.booking, "item": n.item, "short": amount(n.item, n.short), "why": n.why}
            for n in found
        ]

    return {
        "what_if": list(changes),
        "at_risk": list(found.at_risk),
        "short": needs(found.short),
        "no_longer_short": needs(found.served),
        "makes": [{"before": make(c.before), "after": make(c.after)} for c in found.makes],
        "orders": [{"before": order(c.before), "after": order(c.after)} for c in found.orders],
        "new_warnings": [{"severity": f.severity, "code": f.code, "message": f.message} for f in found.new_findings],
        "gone_warnings": [{"severity": f.severity, "code": f.code, "message": f.message} for f in found.gone_findings],
    }
