"""The plan's document: the contract that other programs read (prep/reports/plan/plan.schema.json)."""

from collections.abc import Mapping
from typing import Any

from prep.chemistry import quantities
from prep.chemistry.model import Measure, Solution, Strength, Substance
from prep.garbage_collection import collector_paused
from prep.planning.by_day import PlanDay
from prep.planning.draws import Share
from prep.planning.model import Batch, BatchHazards, OrderLine, Plan, Requirement, Snapshot
from prep.reports.finding_texts import finding_document
from prep.reports.formatting import ItemNames, logging_line


def measure_of(item: str, snapshot: Snapshot) -> Measure:
    """Tell how an item is counted; solutions by volume."""
    substance = snapshot.substances.get(item)
    return substance.measure if substance else Measure.VOLUME


def strength_json(strength: Strength | None) -> dict[str, Any] | None:
    """Write a strength as {"value", "unit"}; `saturated` has no value."""
    if strength is None:
        return None
    value = float(strength.value) if strength.value else None
    return {"value": value, "unit": strength.kind.value}


def plan_document(plan: Plan, snapshot: Snapshot) -> dict[str, Any]:
    """Write the whole plan as one JSON-ready document.

    Keys are added over time, never renamed or removed.
    """
    with collector_paused():
        return _document(plan, _Writer(snapshot))


def _document(plan: Plan, write: "_Writer") -> dict[str, Any]:
    return {
        "from": plan.horizon.start.isoformat(),
        "to": plan.horizon.end.isoformat(),
        "today": plan.today.isoformat(),
        "requirements": [write.requirement(need) for need in plan.requirements],
        "batches": [write.batch(batch) for batch in plan.batches],
        "bottles": [
            {
                "code": line.code,
                "item": line.item,
                "start": write.amount(line.item, line.start),
                "takes": [
                    {
                        "on": draw.on.isoformat(),
                        draw.user.kind.value: draw.user.ref,
                        "amount": write.amount(line.item, draw.amount),
                    }
                    for draw in line.takes
                ],
                "end": write.amount(line.item, line.end),
                "use_by": line.use_by.isoformat() if line.use_by else None,
            }
            for line in plan.bottles
        ],
        "orders": [write.order(line) for line in plan.orders],
        "warnings": [finding_document(one) for one in plan.findings],
    }


def day_document(found: PlanDay, plan: Plan, snapshot: Snapshot) -> dict[str, Any]:
    """Write one day of the plan as JSON, and its bookings.

    Its makes, requirements, orders and warnings are as in the plan's document.
    """
    write = _Writer(snapshot)
    return {
        "day": found.on.isoformat(),
        "today": plan.today.isoformat(),
        "minutes": found.minutes,
        "minutes_of_the_day": found.limit,
        "batches": [write.batch(batch) for batch in found.batches],
        "bookings": [
            {
                "code": b.code,
                "date": b.on.isoformat(),
                "period": b.period,
                "room": b.room,
                "teacher": b.teacher,
                "demo": b.demo,
                "item": b.item,
                "portion": write.amount(b.item, b.portion) if b.item else None,
                "showings": b.showings,
                "trials": b.trials,
                "group": b.group,
                "note": b.note,
                "requirements": [write.requirement(need) for need in found.needs if need.booking == b.code],
            }
            for b in found.bookings
        ],
        "orders": [write.order(line) for line in found.orders],
        "not_said_yet": [{"code": b.code, "date": b.on.isoformat(), "what": b.what} for b in found.unsaid],
        "warnings": [finding_document(one) for one in found.findings],
    }


def batch_document(batch: Batch, snapshot: Snapshot) -> dict[str, Any]:
    """Write one make as it stands in the plan's document."""
    return _Writer(snapshot).batch(batch)


def _hazards(found: BatchHazards | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {
        "signal": found.signal,
        "h": list(found.h),
        "pictograms": list(found.pictograms),
        "known": found.known,
        "check_before_relying": found.check_before_relying,
        "says": found.says,
    }


class _Writer:
    def __init__(self, snapshot: Snapshot) -> None:
        self._substances: Mapping[str, Substance] = snapshot.substances
        self._solutions: Mapping[str, Solution] = snapshot.solutions
        self._names = ItemNames(snapshot)

        self._units: dict[str, str] = {}

    def amount(self, item: str, base: int) -> dict[str, Any]:
        unit = self._units.get(item)
        if unit is None:
            substance = self._substances.get(item)
            unit = self._units[item] = quantities.json_unit(substance.measure if substance else Measure.VOLUME)
        return {"value": base / quantities.BASE_PER_UNIT, "unit": unit}

    def shares(self, item: str, shares: tuple[Share, ...]) -> list[dict[str, Any]]:
        return [{s.source.kind.value: s.source.ref, "amount": self.amount(item, s.amount)} for s in shares]

    def requirement(self, need: Requirement) -> dict[str, Any]:
        found = {
            "id": need.id,
            "booking": need.booking,
            "item": need.item,
            "needed_on": need.needed_on.isoformat(),
            "ready_by": need.ready_by.isoformat(),
            "amount": self.amount(need.item, need.amount),
            "served": self.shares(need.item, need.served),
        }
        if need.short:
            found["short"], found["why"] = self.amount(need.item, need.short), need.why
        return found

    def order(self, line: OrderLine) -> dict[str, Any]:
        return {
            "id": line.id,
            "item": line.item,
            "packs": line.packs,
            "pack": self.amount(line.item, line.pack),
            "order_by": line.order_by.isoformat(),
            "needed_on": line.needed_on.isoformat(),
            "arrives": line.arrives.isoformat(),
            "late": line.late,
            "for": self.shares(line.item, line.for_),
            "why": line.why,
            "below_minimum_on": line.below_minimum_on.isoformat() if line.below_minimum_on else None,
            "for_minimum": line.for_minimum,
        }

    def batch(self, batch: Batch) -> dict[str, Any]:
        strength = strength_json(batch.strength)
        if strength is not None and batch.uncertainty_pct is not None:
            strength["uncertainty"] = {"value": float(batch.uncertainty_pct), "unit": "%", "k": 2}
        return {
            "id": batch.id,
            "solution": batch.solution,
            "make_on": batch.make_on.isoformat(),
            "first_use": batch.first_use.isoformat(),
            "last_use": batch.last_use.isoformat(),
            "use_by": batch.use_by.isoformat(),
            "amount": self.amount(batch.solution, batch.amount),
            "vessel": batch.vessel,
            "takes": [
                {"item": take.item, take.kind.value: take.ref, "amount": self.amount(take.item, take.amount)}
                | ({"used": self.amount(take.item, take.used)} if take.used != take.amount else {})
                for take in batch.takes
            ],
            "steps": [
                {"text": step.text, "kind": step.kind.value}
                | ({"instrument": step.instrument} if step.instrument else {})
                for step in batch.steps
            ],
            "working": [line.as_json() for line in batch.working],
            "strength": strength,
            "cautions": list(batch.cautions),
            "hazards": _hazards(batch.hazards),
            "serves": self.shares(batch.solution, batch.serves),
            "left_over": self.amount(batch.solution, batch.left_over),
            "minutes": batch.minutes,
            "route": batch.route,
            "why": batch.why,
            "log": logging_line(batch, self._names),
        }
