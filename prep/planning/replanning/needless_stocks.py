"""Stocks that a plan makes though the solid may as well be weighed in."""

from decimal import Decimal

from prep.chemistry.model import StepKind
from prep.planning.engine.context import PrepRoom
from prep.planning.engine.explode import PlanningRun
from prep.planning.engine.state import Make

_FEW = 2
"""A stock that the room does not keep is made for more makes than this, or if most of it is used: common practice, no
source."""
_ON_ITS_OWN = frozenset({StepKind.BOIL, StepKind.HEAT, StepKind.STAND, StepKind.SETTLE, StepKind.FILTER})
"""What is done to a stock before it goes in, and cannot be done to the solid among all else: starch is boiled."""
_WEIGHED = Decimal(5)
"""How far a weighed part of a recipe may be off, per cent, at least: common practice, no source."""


def needless_stocks(room: PrepRoom, state: PlanningRun) -> set[str]:
    """Find stocks made for one or two recipes that take little, where the solid can be weighed in instead."""
    kept = {bottle.item for bottle in room.snapshot.bottles} | {order.item for order in room.snapshot.orders}
    out: set[str] = set()
    for make in state.makes.values():
        stock, lot = make.solution, make.lot
        if (
            not stock.solute
            or stock.strength is None
            or stock.code in kept
            or any(not demand.batch for demand in lot.demands)
            or any(step.kind in _ON_ITS_OWN for step in stock.method_steps)
        ):
            continue
        users = {demand.batch for demand in state.demands[stock.code]}
        makes = [state.makes[user] for user in users if user in state.makes]
        if len(makes) > _FEW or not all(user.solution.recipe for user in makes):
            continue
        if 2 * lot.served > lot.amount:
            continue
        if all(_weighed(room, state, stock.code, user) for user in makes):
            out.add(stock.code)
    return out


def _weighed(room: PrepRoom, state: PlanningRun, stock: str, user: Make) -> bool:
    """Tell whether the solid of a stock is there on the day and is weighed well enough for a make."""
    bench, amount = room.bench, user.lot.amount
    for route in bench.routes(user.solution.code)[:1]:
        for part in bench.making.with_solids(route, {stock}).parts:
            if part.options[0].item != stock:
                continue
            for option in part.options[1:]:
                need = option.needed(amount)
                there = (s.left for s in state.supplies[option.item] if s.available <= user.lot.make_on)
                found = bench.how(option.item, need, user.solution, amount)
                most = max(user.solution.tolerance_pct, _WEIGHED)
                if found is not None and found.expanded * 100 <= most and sum(there) >= need:
                    return True
    return False
