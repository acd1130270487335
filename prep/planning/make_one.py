"""One make on its own: a solution and a volume, from what is held today."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from prep.chemistry.model import Solution
from prep.chemistry.preparation.routes import Route, RoutePart
from prep.chemistry.preparation.vessels import Bench
from prep.errors import PrepError
from prep.planning.draws import LinkKind, Share, Source, Take
from prep.planning.engine.blending import blend, wants_of
from prep.planning.engine.context import PrepRoom
from prep.planning.engine.lots import Lot
from prep.planning.engine.netting import net
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.engine.sourcing import ChosenRoute, SupplyEstimate, choose
from prep.planning.engine.state import Make
from prep.planning.model import Batch, Horizon, Policy, Snapshot
from prep.planning.plan import room_of, write_batch


@dataclass(frozen=True, slots=True)
class MissingItem:
    """What a make lacks of an item."""

    item: str
    amount: int


@dataclass(frozen=True, slots=True)
class SingleMake:
    """The make, and what it lacks; with nothing missing it can be logged as it stands."""

    batch: Batch
    missing: tuple[MissingItem, ...]


def make_one(snapshot: Snapshot, solution: str, amount: int, source: str | None = None) -> SingleMake:
    """Write instructions for at least `amount` nL of a solution today, from what is in the room.

    The volume is the next that the room's vessels make; above the largest, PrepError says so. `source` asks
    for one of the possible sources by its code. Raises PrepError when there is no way to make it.
    """
    today = snapshot.today
    room = room_of(snapshot, Horizon(today, today), Policy())
    made_solution = snapshot.solutions[solution]
    routes = room.bench.routes(solution)
    if not routes:
        reasons = room.bench.making.problems[solution]
        raise PrepError(
            f"{made_solution.name} cannot be made. {reasons[0] if reasons else 'Nothing on file makes it.'}"
        )
    if source is not None:
        routes = tuple(only for route in routes if (only := _only(route, source)))
        if not routes:
            raise PrepError(f"{made_solution.name} is not made from {source}.")
    asked = source is not None
    sizes = room.bench.sizes(solution)
    made = next((size for size in sizes if size >= amount), None)
    if made is None:
        raise PrepError(
            f"The largest vessel for {made_solution.name} makes {sizes[-1] // 1_000_000} mL at a time; "
            "make it in parts."
        )
    supplies = room.supplies()
    if not asked:
        routes = _measured(room.bench, routes, made_solution, made) or routes
    # No solution counts as spare: what the bookings want of it is not known here.
    shelf = SupplyEstimate(supplies, frozenset(), {}, pending=set(snapshot.solutions))
    chosen = choose(routes, made, today, shelf, {})
    assert chosen is not None
    if not chosen.suffices:
        chosen = _together(room, made_solution, routes, made, shelf) or chosen
    now = Demand(f"{solution}@{today}", solution, today, today, made)
    lot = Lot(today, made, (DemandPart(now, made),))
    wanted = wants_of(room, now.id, made_solution, chosen, lot)
    make = Make(now.id, made_solution, lot, chosen, wanted.wants, wanted.used)
    takes: list[Take] = []
    missing: list[MissingItem] = []
    for want in wanted.wants:
        netted = net([want], supplies[want.item], room.read)
        draws = netted.draws
        takes += [make.take(want.item, draw) for draw in draws if draw.kind is LinkKind.BOTTLE]
        lacking = sum(part.amount for part in netted.uncovered) + sum(
            d.covers for d in draws if d.kind is not LinkKind.BOTTLE
        )
        if lacking:
            missing.append(MissingItem(want.item, lacking))
    return SingleMake(for_the_shelf(room, make, takes, missing), tuple(missing))


def _measured(bench: Bench, routes: Sequence[Route], solution: Solution, made: int) -> tuple[Route, ...]:
    """Choose the routes of which the room measures every part to near the tolerance, if by one of its options only."""
    out = []
    for route in routes:
        parts = [
            replace(part, options=tuple(o for o in part.options if bench.measurable(o, solution, made)))
            for part in route.parts
        ]
        if all(part.options for part in parts):
            out.append(replace(route, parts=tuple(parts)))
    return tuple(out)


def for_the_shelf(room: PrepRoom, make: Make, takes: list[Take], missing: Sequence[MissingItem] = ()) -> Batch:
    """Write up a make that serves no booking: it stands on the shelf until its date."""
    held = {bottle.code: bottle.amount for bottle in room.snapshot.bottles}
    make.empties = frozenset(take.ref for take in takes if take.amount == held.get(take.ref))
    batch = write_batch(room, make, takes, {lack.item: lack.amount for lack in missing})
    return replace(batch, serves=(Share(Source(LinkKind.SHELF, "shelf"), batch.amount),), last_use=batch.use_by)


def _together(
    room: PrepRoom, solution: Solution, routes: Sequence[Route], amount: int, shelf: SupplyEstimate
) -> ChosenRoute | None:
    """Choose several sources where no one suffices, as in a plan; None where a stock can be made first instead."""
    today = room.snapshot.today
    sources = {option.item for route in routes for part in route.parts for option in part.options}
    stocks = frozenset(s for s in sources if s in room.snapshot.solutions and room.bench.routes(s))
    first = choose(routes, amount, today, replace(shelf, makeable=stocks), {})
    if first is not None and first.suffices:
        return None
    return blend(room.bench, solution, routes, amount, today, shelf)


def _only(route: Route, source: str) -> Route | None:
    """Narrow the route to `source` as the one option of the part it can play; None if it plays none."""
    if not any(option.item == source for part in route.parts for option in part.options):
        return None
    parts = tuple(RoutePart(tuple(o for o in p.options if o.item == source) or p.options, p.note) for p in route.parts)
    return replace(route, parts=parts)
