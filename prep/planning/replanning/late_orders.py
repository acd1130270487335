"""What is short only because an order comes too late for it: that is ordered, as it serves once the booking moves."""

from collections import defaultdict
from collections.abc import Iterable

from prep.planning.engine.context import PrepRoom
from prep.planning.engine.exclusions import Shortage
from prep.planning.engine.explode import PlanningRun
from prep.planning.engine.ordering import buy
from prep.planning.engine.requirements import DemandPart


def order_too_late(room: PrepRoom, state: PlanningRun, short: Iterable[Shortage]) -> None:
    """Order what makes lack that are short only of what is bought, as what bookings lack themselves is ordered."""
    lacking: dict[str, dict[str, DemandPart]] = defaultdict(dict)
    for one in short:
        for part in one.why.lacks:
            known = lacking[part.demand.item].get(part.demand.id)
            if known is None or known.amount < part.amount:
                lacking[part.demand.item][part.demand.id] = part
    for item, parts in lacking.items():
        netted = state.netted.get(item)
        uncovered = [*(netted.uncovered if netted else ()), *parts.values()]
        drawn = [draw for draw in state.draws.get(item, ()) if not draw.source.to_place]
        bought = buy(room, item, uncovered, state.supplies[item], drawn).ordered
        if bought.lines:
            state.orders[item] = bought
            state.draws[item] = [*drawn, *bought.draws]
