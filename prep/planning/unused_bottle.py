"""Why the plan takes nothing from a bottle, in words."""

from datetime import date

from prep.books import BottleStatus
from prep.chemistry.preparation.instructions import sheets_of
from prep.planning.model import Bottle, Plan, Snapshot
from prep.safety.after_opening import said


def why_unused(bottle: Bottle, plan: Plan, snapshot: Snapshot) -> str:
    """The first reason that holds, from what rules a bottle out to what only comes before it."""
    noticed = [finding.message for finding in plan.findings if finding.about == bottle.code]
    if bottle.status != BottleStatus.IN_SERVICE:
        return f"not used: {noticed[0] if noticed else f'its status is {bottle.status}'}"
    if bottle.amount <= 0:
        return "not used: it is empty"
    if bottle.use_by is not None and bottle.use_by < snapshot.today:
        return f"not used{said(bottle) or ': it'} went out of date on {bottle.use_by}"
    if noticed:
        return f"not used: {noticed[0]}"
    wanted = sorted(_wanted_on(bottle.item, plan))
    if not wanted:
        return "not used: nothing booked from here to the last day of the plan wants it"
    if bottle.use_by is not None and bottle.use_by < wanted[0]:
        return f"not used: it goes out of date on {bottle.use_by}, before the first use on {wanted[0]}"
    if bottle.strength is not None and bottle.item in snapshot.solutions:
        own = sheets_of(snapshot.catalogue, snapshot.instruments).bench.strength_ratio(bottle.item, bottle.strength)
        if not own[1]:
            off = snapshot.solutions[bottle.item]
            return (
                f"not set out: found {bottle.strength}, more than {off.tolerance_pct} % off the {off.strength} of its "
                "entry; a dilution may take it"
            )
    return "not used: other bottles go out of date first, are opened or nearly empty, or are made fresh, and suffice"


def _wanted_on(item: str, plan: Plan) -> set[date]:
    days = {need.needed_on for need in plan.requirements if need.item == item}
    return days | {batch.make_on for batch in plan.batches if any(take.item == item for take in batch.takes)}
