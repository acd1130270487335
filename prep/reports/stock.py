"""Bottles, orders and lines of the history as JSON: the same document from a command and from the page."""

from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.chemistry.model import Measure

if TYPE_CHECKING:
    from prep.store.bottles import HeldBottle
    from prep.store.school.orders import Purchase


def held_document(held: "HeldBottle") -> dict[str, Any]:
    """Write a bottle as JSON."""
    return {
        "code": held.code,
        "item": held.item,
        "name": held.name,
        "amount": quantities.as_json(held.balance, held.measure),
        "status": held.status,
        "location": held.location,
        "use_by": held.use_by.isoformat() if held.use_by else None,
        "received": held.received.isoformat() if held.received else None,
        "opened": held.opened.isoformat() if held.opened else None,
        "lot": held.lot,
        "strength": held.strength,
        "strength_uncertainty_pct": held.strength_uncertainty_pct and float(held.strength_uncertainty_pct),
        "made_by": held.made_by,
        "note": held.note,
        "full": None if held.full is None else quantities.as_json(held.full, held.measure),
        "supplier": held.supplier,
        "cost": held.cost,
        "tare": None if held.tare is None else quantities.as_json(held.tare, Measure.MASS),
    }


def moved_document(move: Any) -> dict[str, Any]:
    """Write a line of history as JSON."""
    return {
        "job": move.job,
        "kind": move.kind,
        "on": move.on.isoformat(),
        "at": move.at,
        "by": move.by,
        "bottle": move.bottle,
        "amount": quantities.as_json(move.amount, move.measure) if move.amount else None,
        "reason": move.reason,
        "reverses": move.reverses,
    }


def order_document(order: "Purchase") -> dict[str, Any]:
    """Write an order as JSON."""
    return {
        "code": order.code,
        "item": order.item,
        "packs": order.packs,
        "pack": quantities.as_json(order.pack, order.measure),
        "placed": order.placed.isoformat(),
        "due": order.due.isoformat(),
        "status": order.status,
        "by": order.by,
    }
