"""One make as it was done: from the very bottles and amounts that were taken, as a plan's sheet had it or not."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from prep.chemistry import quantities
from prep.chemistry.acid_base.buffer_pairs import alternatives  # late import: few makes need its tables
from prep.chemistry.model import Line, Measure, Solution, Strength
from prep.chemistry.preparation.routes import Route, RouteKind, RoutePart
from prep.errors import PrepError, Refused
from prep.planning.draws import LinkKind
from prep.planning.engine.blending import shared
from prep.planning.engine.context import PrepRoom
from prep.planning.engine.lots import Lot
from prep.planning.engine.netting import Draw, Supply
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.engine.sourcing import ChosenRoute
from prep.planning.engine.state import Make
from prep.planning.make_one import for_the_shelf
from prep.planning.model import Batch, Horizon, Policy, Snapshot
from prep.planning.plan import room_of
from prep.planning.workdays import by_number
from prep.wording import AtTerminal

_RECIPE_PART = Fraction(1, 5)
"""How far an ingredient of a recipe may be from what is written: common practice, no source."""
_WEAKEST = Fraction(1, 2)
"""How weak it may be and still be that solution, and its inverse how strong: common practice, no source."""
_AS_SAID = Fraction(1, 1000)
"""An amount so near to the one on the sheet was taken as the sheet says."""
_FIGURES = 4


@dataclass(frozen=True, slots=True)
class TakenAmount:
    """An amount (ug or nL) of an item that was taken: from a bottle, or where none is named from the latest.

    `since`: from what was made, or came, on that day, as far as it goes.
    """

    item: str
    amount: int
    bottle: str = ""
    since: date | None = None


def make_taken(
    snapshot: Snapshot, solution: str, amount: int, takings: Sequence[TakenAmount], *, measured: bool = False
) -> Batch:
    """Record the make of `amount` nL of a solution today from just what was taken.

    It has no steps, as it is done. Its strength is what the amounts give, where that can be told from the entry's.
    With `measured` the volume is what came out, whatever the vessels make. Raises PrepError where the solution is
    not made from that, or not in that volume, and Refused where a bottle does not serve or hold so much, or the
    amounts make another solution.
    """
    today = snapshot.today
    room = room_of(snapshot, Horizon(today, today), Policy())
    made_solution = snapshot.solutions[solution]
    sizes = room.bench.sizes(solution)
    if amount not in sizes and not measured:
        below, above = [s for s in sizes if s < amount], [s for s in sizes if s > amount]
        makes = " or ".join(_volume(size) for size in (*below[-1:], *above[:1]))
        raise PrepError(f"No vessel makes {_volume(amount)} of {made_solution.name}; the nearest is {makes}.")
    now = Demand(f"{solution}@{today}", solution, today, today, amount)
    drawn = _drawn(room, now, takings)
    nominal: dict[str, Fraction] = {}
    for item, draw in drawn:
        nominal[item] = nominal.get(item, Fraction(0)) + draw.covers
    chosen, used, ratio = _chosen(room, made_solution, amount, nominal)
    make = Make(now.id, made_solution, Lot(today, amount, (DemandPart(now, amount),)), chosen, (), used)
    batch = for_the_shelf(room, make, [make.take(item, draw) for item, draw in drawn])
    if made_solution.strength is None or abs(ratio - 1) * 100 <= Fraction(batch.uncertainty_pct or 0):
        return batch.rewritten(steps=())
    value = quantities.tidy(quantities.decimal_of(ratio) * made_solution.strength.value, _FIGURES)
    strength = Strength(value, made_solution.strength.kind)
    said = Line(
        f"What was taken is {float(100 * ratio):.4g} % of what goes into it: {strength}, not {made_solution.strength}"
    )
    return batch.rewritten(steps=(), strength=strength, working=(*batch.working, said))


def _drawn(room: PrepRoom, now: Demand, takings: Iterable[TakenAmount]) -> list[tuple[str, Draw]]:
    """List what leaves which bottle; `covers` is the amount at nominal strength. Raises Refused."""
    supplies = room.supplies()
    out: list[tuple[str, Draw]] = []
    for taking in takings:
        left = taking.amount
        for supply in _places(room, supplies[taking.item], taking):
            if amount := min(left, supply.left):
                supply.left -= amount
                left -= amount
                out.append((taking.item, Draw(now, supply.source, amount, int(amount * supply.factor))))
        if left:
            lacks = quantities.show(left, room.bench.measure_of(taking.item))
            held = f"bottle {taking.bottle}" if taking.bottle else "what is held"
            raise Refused(f"{held} does not suffice: missing {lacks} of {room.name(taking.item)}. Nothing was changed.")
    return out


def _places(room: PrepRoom, supplies: Iterable[Supply], taking: TakenAmount) -> list[Supply]:
    """List where a taking is drawn from: the bottle named, else the latest, what came on its day first."""
    today = room.snapshot.today
    good = [s for s in supplies if s.kind is LinkKind.BOTTLE and s.available <= today <= s.use_by]
    if not taking.bottle:
        return sorted(good, key=lambda s: (s.since != taking.since, -s.since.toordinal(), by_number(s.ref)))
    found = [s for s in good if s.ref == taking.bottle]
    if not found:
        raise Refused(
            f"Bottle {taking.bottle} is empty, out of date or not in service: nothing is made from it. "
            "Nothing was changed."
        )
    return found


def _chosen(
    room: PrepRoom, solution: Solution, amount: int, nominal: Mapping[str, Fraction]
) -> tuple[ChosenRoute, dict[str, Fraction], Fraction]:
    """Choose the route that takes just these items, each part shared as its options were taken.

    And the share of an item that reaches the product, where an intermediate was made; and the strength that the
    amounts give over the entry's. Raises PrepError; Refused where the amounts make another solution.
    """
    route = next(_routes(room, solution, tuple(nominal)), None)
    if route is None:
        names = ", ".join(room.name(item) for item in nominal) or "nothing"
        raise PrepError(
            f"{solution.name} is not made from {names} alone",
            AtTerminal(f"; see: prep make {solution.code} --volume VOLUME", "."),
        )
    played = [[o for o in part.options if o.item in nominal or o.item == "water"] for part in route.parts]
    need: dict[str, Fraction] = {}
    for option in (o for options in played for o in options):
        need[option.item] = need.get(option.item, Fraction(0)) + option.per_nl * amount
    parts: list[RoutePart] = []
    used: dict[str, Fraction] = {}
    one = solution.strength is not None and solution.strength.value is not None and not solution.recipe
    ratio = Fraction(1)
    for part, options in zip(route.parts, played, strict=True):
        if options[0].item == "water":
            parts.append(RoutePart((options[0],), part.note))
            continue
        gives = [nominal[o.item] / need[o.item] for o in options]
        real = sum(gives, Fraction(0))
        options = [shared(o, s / sum(gives)) for o, s in zip(options, gives, strict=True)] if options[1:] else options
        parts += [RoutePart((option,), part.note) for option in options]
        for option in options:
            whole = need[option.item] * option.share
            out = room.bench.measured(option.item, -(-whole.numerator // whole.denominator), solution, amount)
            taken = out.taken
            if taken != out.reaches:
                used[option.item] = min(Fraction(1), whole / nominal[option.item])
            elif not options[1:] and abs(nominal[option.item] - taken) <= taken * _off(solution):
                gives = [Fraction(1)]  # the amount is right, as near as the room measures it
                real = real if abs(nominal[option.item] - taken) > taken * _AS_SAID else Fraction(1)
        diluted = any(option.item in used for option in options)
        if one and not diluted and _WEAKEST <= real <= 1 / _WEAKEST:
            ratio = real
        elif sum(gives) < 1 - _off(solution) or (sum(gives) > 1 + _off(solution) and not diluted):
            names = " and ".join(room.name(option.item) for option in options)
            raise Refused(
                f"What was taken of {names} is {float(100 * sum(gives)):.4g} % of what goes into {_volume(amount)} of "
                f"{solution.name}. Nothing was changed."
            )
    # A route that nothing changed stays the bench's own object.
    route = route if len(parts) == len(route.parts) else replace(route, parts=tuple(parts))
    return ChosenRoute(route, tuple(part.options[0] for part in parts), "as it was taken"), used, ratio


def _off(solution: Solution) -> Fraction:
    """Find how far an amount may be from what makes the solution."""
    return _RECIPE_PART if solution.recipe else Fraction(solution.tolerance_pct) / 100


def _routes(room: PrepRoom, solution: Solution, items: Sequence[str]) -> Iterator[Route]:
    """List every way to make a solution from just these items.

    Its own routes, several sources, another buffer pair.
    """

    def fits(route: Route) -> bool:
        played = [[o.item for o in part.options if o.item in items or o.item == "water"] for part in route.parts]
        return all(played) and {item for part in played for item in part} - {"water"} == set(items)

    own = room.bench.routes(solution.code)
    yield from filter(fits, own)
    stocks = {line.item for line in solution.recipe} & room.snapshot.solutions.keys()
    yield from filter(fits, (room.bench.making.with_solids(route, stocks) for route in own if stocks))
    if not solution.recipe:
        single = [o for route in own if len(route.parts) == 1 for o in route.parts[0].options]
        known = {o.item: o for o in (*room.bench.making.weaker(solution.code), *single)}
        if items and all(item in known for item in items):
            yield Route(RouteKind.BLEND, (RoutePart(tuple(known[item] for item in items)),))
    elif solution.purpose == "buffer":
        snapshot = room.snapshot
        yield from filter(fits, alternatives(solution, snapshot.catalogue, room.bench.making))


def _volume(amount: int) -> str:
    return quantities.show(amount, Measure.VOLUME)
