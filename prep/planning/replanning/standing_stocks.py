"""Makes from a concentrate, where a stock that the plan makes anyway stands there with enough left over."""

from collections import defaultdict
from datetime import date, timedelta

from prep.chemistry.preparation.routes import RouteKind, RouteOption
from prep.planning.engine.context import PrepRoom
from prep.planning.engine.exclusions import Constraints
from prep.planning.engine.explode import PlanningRun
from prep.planning.engine.state import Make


def standing_stocks(room: PrepRoom, state: PlanningRun, learned: Constraints) -> bool:
    """Let makes take what others leave over of a stock rather than the concentrate; True if the next run may do so.

    Of the stocks that an entry names, those that are measured in one step.
    """
    spare = _spare(state)
    found = False
    for make in sorted(state.makes.values(), key=lambda one: (one.lot.make_on, one.id)):
        options = make.chosen.options
        if make.solution.recipe or make.chosen.route.kind is not RouteKind.CONCENTRATE or len(options) != 1:
            continue
        stock = _stock(room, learned, make)
        if stock is None:
            continue
        need = room.bench.measured(stock.item, stock.needed(make.lot.amount), make.solution, make.lot.amount).taken
        for lot in spare.get(stock.item, ()):
            if lot.made <= make.lot.make_on <= lot.use_by and lot.left >= need:
                lot.left -= need
                avoid = learned.avoid[make.solution.code]
                for key in _concentrates(room, learned, make):  # from the first such make on
                    avoid[key] = min(avoid.get(key, make.lot.make_on), make.lot.make_on)
                learned.touched.add(make.solution.code)
                found = True
                break
    return found


def _concentrates(room: PrepRoom, learned: Constraints, make: Make) -> set[tuple[str, ...]]:
    """List the make's source and the other strengths that the substance is sold in, which would be taken instead."""
    routes = (r for r in learned.routes(room.bench, make.solution.code) if r.kind is RouteKind.CONCENTRATE)
    others = {(option.item,) for route in routes if len(route.parts) == 1 for option in route.parts[0].options}
    return {make.chosen.key(), *others}


class _Rest:
    """What a make leaves over: `left` nL, from the day it is made, or has stood, to its last in date."""

    __slots__ = ("left", "made", "use_by")

    def __init__(self, make: Make) -> None:
        solution, lot = make.solution, make.lot
        self.left = lot.amount - lot.served
        self.made: date = lot.make_on + timedelta(days=solution.stand_days)
        self.use_by: date = lot.make_on + timedelta(days=solution.shelf_life_days)


def _spare(state: PlanningRun) -> dict[str, list[_Rest]]:
    """List by solution what its makes leave over, but for what is made for one period."""
    out: dict[str, list[_Rest]] = defaultdict(list)
    for make in sorted(state.makes.values(), key=lambda one: (one.lot.make_on, one.id)):
        if make.lot.amount > make.lot.served and not make.lot.period:
            out[make.solution.code].append(_Rest(make))
    return out


def _stock(room: PrepRoom, learned: Constraints, make: Make) -> RouteOption | None:
    """Find the first stock on the entry, if it comes before what was chosen and is measured in one step."""
    for route in learned.routes(room.bench, make.solution.code):
        (option, *_) = route.parts[0].options
        if option.item in make.chosen.key() or len(route.parts) > 1:
            return None
        if route.declared and option.item in room.snapshot.solutions:
            return option if room.bench.direct(option, make.solution, make.lot.amount) else None
    return None
