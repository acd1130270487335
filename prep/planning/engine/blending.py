"""A part from one source and the rest from others: where none alone suffices, or to use up what would go off.

Besides the stronger sources, a solution no stronger than what is made can give a part of the solute: the volumes
follow from conserved solute, C V = C1 V1 + C2 V2 + ..., and what they leave of V is water. Of such a solution only
what nobody else takes is drawn, and it is never made or ordered for this.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from functools import partial

from prep.chemistry.model import Line, Measure, Solution
from prep.chemistry.preparation.routes import Route, RouteKind, RouteOption, RoutePart
from prep.chemistry.preparation.vessels import Bench
from prep.planning.engine.batch_sizes import near_sizes
from prep.planning.engine.context import PrepRoom
from prep.planning.engine.exclusions import Constraints, SourceDependencies
from prep.planning.engine.lots import Lot
from prep.planning.engine.requirements import Demand
from prep.planning.engine.sourcing import ChosenRoute, SupplyEstimate, choose
from prep.records import record

_LEAST = Fraction(1, 20)
"""The least part worth another measurement: common practice, no source."""
_MOST_OF_IT = 1 - _LEAST
_NONE = Fraction(0)
_MOST = 4
"""The most sources that a person is asked to put together: common practice, no source."""
_FULL = Fraction(49, 50)
"""How far the sources may fill the volume, so that water makes it up to the mark: common practice, no source."""
_WORTH = Fraction(1, 5)
"""The least part of the solute for which old stock is blended in: common practice, no source."""
_EMPTY = Fraction(9, 10)
"""A bottle is used up when so much of what is left in it is: common practice, no source."""


def blend(
    bench: Bench, solution: Solution, routes: Sequence[Route], amount: int, on: date, shelf: SupplyEstimate
) -> ChosenRoute | None:
    """Put together what is held of several sources, the fewest that do, for `amount` nL; None if none do.

    Made on the day `on`. For a recipe, each part that no option alone covers is shared between its options; for one
    solute in water, the solute is shared between its sources. Of two, the first in the entry's order gives all that
    is held of it; of more, those give first of which most is held. Weaker solutions give what is then missing. What
    must still be made or ordered is never one of them. The room's instruments must measure every share.
    """
    if solution.recipe:
        return _recipe(bench, solution, routes[0], amount, on, shelf) if routes else None
    if solution.make_up_with != "water":
        return None
    weaker = bench.making.weaker(solution.code)
    mix = _Mix(bench, solution, amount, on, shelf, frozenset(option.item for option in weaker))
    options = [o for route in routes if len(route.parts) == 1 for o in route.parts[0].options if o.item != "water"]
    spare = [option for option in weaker if mix.share(option) > 0]
    parts = mix.two(options) or mix.two(options, spare) or mix.several(options) or mix.several(options, spare)
    return _chosen(parts, mix, "no one source suffices") if parts else None


def use_up(
    bench: Bench, solution: Solution, chosen: ChosenRoute, amount: int, on: date, shelf: SupplyEstimate, until: date
) -> ChosenRoute | None:
    """Empty a weaker bottle that would go off by `until`, wanted by nobody, into a make; None if none fits.

    `chosen` is the make's source, which gives the rest.
    """
    if solution.recipe or len(chosen.options) != 1 or not chosen.suffices or chosen.last_resort:
        return None
    weaker = bench.making.weaker(solution.code)
    if not weaker:
        return None
    old_ones = [(option, oldest) for option in weaker if (oldest := shelf.oldest(option.item, on, until)) is not None]
    if not old_ones:
        return None
    mix = _Mix(bench, solution, amount, on, shelf, frozenset(option.item for option in weaker))
    found: list[tuple[date, str, tuple[RouteOption, ...]]] = []
    for option, oldest in old_ones:
        share = Fraction(int(oldest.left * oldest.factor)) / (option.per_nl * amount)
        if not _WORTH <= share <= 1 - _LEAST:
            continue
        old = shared(option, share)
        taken = mix.taken(old)
        if taken > oldest.left * oldest.factor:
            old = shared(option, share * Fraction(19, 20))
            taken = mix.taken(old)
        rest = shared(chosen.options[0], 1 - old.share)
        emptied = oldest.left * oldest.factor * _EMPTY <= taken <= oldest.left * oldest.factor
        if emptied and mix.fits(old) and mix.fits(rest) and mix.holds((rest, old)):
            found.append((oldest.use_by, option.item, (rest, old)))
    if not found:
        return None
    used_up = min(found, key=lambda f: f[:2])
    why = f"{chosen.why}; uses up {used_up[1]}, which goes out of date on {used_up[0]} and nobody else takes"
    return replace(_chosen(used_up[2], mix, why), others=chosen.others)


@record(frozen=True, slots=True)
class SourcedLot:
    """A lot, as large as there is enough for, and what it is made from."""

    lot: Lot
    chosen: ChosenRoute


def sourced(room: PrepRoom, solution: Solution, lot: Lot, shelf: SupplyEstimate, learned: Constraints) -> SourcedLot:
    """Choose what the lot is made from, and how much where too little is held for the usual batch.

    What is made then is as much as there is enough for. An earlier run's choice is taken over where the shelf
    gives the same answers again.
    """
    dependencies = learned.dependencies(room.bench, solution.code)
    asked = _asked(solution, lot, shelf, learned, dependencies)
    known = room.sources_of.get(asked) if asked is not None else None
    if known is None:
        made = _sourced(room, solution, lot, shelf, learned)
        known = dependencies, made.lot.amount, made.chosen
        if asked is not None:
            room.sources_of[asked] = known
    _, amount, chosen = known
    return SourcedLot(lot if amount == lot.amount else replace(lot, amount=amount), chosen)


@record(frozen=True, slots=True)
class MakeWants:
    """What a make wants of each item, and the share of it that reaches the product, of those that leave a rest."""

    wants: tuple[Demand, ...]
    used: dict[str, Fraction]


def wants_of(room: PrepRoom, batch: str, solution: Solution, chosen: ChosenRoute, lot: Lot) -> MakeWants:
    """Work out what a make wants of each item as the room measures it."""
    amount, on = lot.amount, lot.make_on
    known = room.taken_of.get((id(chosen), amount))
    if known is None or known[0] is not chosen:
        totals: dict[str, int] = defaultdict(int)
        used: dict[str, Fraction] = {}
        for option in chosen.options:
            if option.item == "water":
                continue
            out = room.bench.measured(option.item, option.needed(amount), solution, amount)
            totals[option.item] += out.taken
            if out.reaches != out.taken:
                used[option.item] = Fraction(out.reaches, out.taken)
        known = room.taken_of[id(chosen), amount] = chosen, totals, used
    _, totals, used = known
    early = same_day = False
    for demand, _ in lot.serves:
        if demand.needed_on == on:
            early = early or demand.early
            same_day = same_day or demand.same_day or not demand.batch
    wants = []
    for item, total in totals.items():
        if total:
            stock = room.snapshot.solutions.get(item)
            # What is bought must come the day before where the day's deliveries are too late.
            by = on - timedelta(days=1) if early and stock is None else on
            # What it is made from may not keep to the next period either.
            period = lot.period if stock is not None and not stock.shelf_life_days else ""
            wants.append(
                Demand(
                    f"{batch}>{item}",
                    item,
                    on,
                    by,
                    total,
                    batch,
                    solution.code,
                    period=period,
                    early=early,
                    same_day=same_day,
                )
            )
    return MakeWants(tuple(wants), used)


def _asked(
    solution: Solution,
    lot: Lot,
    shelf: SupplyEstimate,
    learned: Constraints,
    dependencies: SourceDependencies,
) -> object:
    """Gather all that the choice of a lot's source depends on, to tell when it can be used again.

    None where that is too much to compare.
    """
    code = solution.code
    answers = shelf.answers(dependencies.items, dependencies.weaker)
    if answers is None:
        return None
    wanted = lot.served
    ways = tuple(map(id, dependencies.routes))
    return code, lot.amount, lot.make_on, wanted, ways, tuple(learned.avoid[code].items()), answers


def _sourced(room: PrepRoom, solution: Solution, lot: Lot, shelf: SupplyEstimate, learned: Constraints) -> SourcedLot:
    code = solution.code
    routes, avoid = learned.routes(room.bench, code), learned.avoid[code]

    def choice(amount: int) -> ChosenRoute:
        direct = partial(room.bench.direct, solution=solution, made=amount)
        chosen = choose(routes, amount, lot.make_on, shelf, avoid, direct)
        assert chosen is not None
        if not chosen.suffices or chosen.last_resort:
            both = blend(room.bench, solution, routes, amount, lot.make_on, shelf)
            return chosen if both is None or both.key() in avoid else both
        old = use_up(room.bench, solution, chosen, amount, lot.make_on, shelf, room.horizon.end)
        return chosen if old is None or old.key() in avoid else old

    chosen = choice(lot.amount)
    weaker = _weaker_first(room, solution, lot, chosen, shelf, learned)
    if weaker is not None:
        return SourcedLot(lot, weaker)
    if chosen.held and not chosen.last_resort:
        return SourcedLot(lot, chosen)
    wanted = lot.served
    possible = room.bench.sizes(code)
    near = near_sizes(possible)
    less = near[bisect_left(near, wanted) : bisect_left(near, lot.amount)]
    below = less[0] if less else lot.amount
    for size in (*reversed(less), *possible[bisect_left(possible, wanted) : bisect_left(possible, below)]):
        smaller = choice(size)
        if smaller.held and not smaller.last_resort:
            return SourcedLot(replace(lot, amount=size), smaller)
    if chosen.suffices and not chosen.last_resort:
        return SourcedLot(lot, chosen)
    least = min((size for size in possible if wanted <= size), default=lot.amount)
    if least >= lot.amount:
        return SourcedLot(lot, chosen)
    return SourcedLot(replace(lot, amount=least), choice(least))


def _weaker_first(
    room: PrepRoom, solution: Solution, lot: Lot, chosen: ChosenRoute, shelf: SupplyEstimate, learned: Constraints
) -> ChosenRoute | None:
    """Choose a weaker stock, made first, where so little of a stronger one cannot be measured; else None.

    One that is made from what is held in one step, so that no chain comes of it.
    """
    bench = room.bench
    if not chosen.held or all(bench.measurable(option, solution, lot.amount) for option in chosen.options):
        return None
    avoid = learned.avoid[solution.code]
    for route in learned.routes(bench, solution.code):
        option = route.parts[0].options[0]
        stock = bench.solutions.get(option.item)
        if len(route.parts) > 1 or stock is None or option.item not in shelf.makeable or (option.item,) in avoid:
            continue
        if not bench.measurable(option, solution, lot.amount):
            continue
        batch = next((size for size in bench.sizes(stock.code) if size >= stock.usual_nl), bench.sizes(stock.code)[-1])
        first = choose(learned.routes(bench, stock.code), batch, lot.make_on, shelf, {})
        if first is not None and first.held and all(bench.direct(o, stock, batch) for o in first.options):
            why = f"{chosen.options[0].item} is held, and so little of it cannot be measured: {option.item} comes first"
            return ChosenRoute(route, (option,), why, held=False)
    return None


def _chosen(parts: Sequence[RouteOption], mix: "_Mix", why: str) -> ChosenRoute:
    route = Route(RouteKind.BLEND, tuple(RoutePart((option,)) for option in parts))
    said = ", ".join(f"{_round(option.share)} % of the solute from {option.item}" for option in parts[:-1])
    spare = mix.weak & {option.item for option in parts}
    return ChosenRoute(route, tuple(parts), f"{why}: {said}, the rest from {parts[-1].item}", spare=spare)


def _recipe(
    bench: Bench, solution: Solution, route: Route, amount: int, on: date, shelf: SupplyEstimate
) -> ChosenRoute | None:
    mix = _Mix(bench, solution, amount, on, shelf, frozenset())
    parts: list[RoutePart] = []
    shared: list[str] = []
    for part in route.parts:
        whole = next((o for o in part.options if o.item == "water" or mix.share(o) >= 1), None)
        if whole is not None:
            parts.append(RoutePart((whole,), part.note))
            continue
        several = mix.two(part.options) or mix.several(part.options)
        if several is None:
            return None
        parts += [RoutePart((option,), part.note) for option in several]
        said = ", ".join(f"{_round(option.share)} % of a part from {option.item}" for option in several[:-1])
        shared.append(f"{said}, the rest from {several[-1].item}")
    if not shared:
        return None
    options = tuple(part.options[0] for part in parts)
    return ChosenRoute(replace(route, parts=tuple(parts)), options, f"no one source suffices: {'; '.join(shared)}")


@record(frozen=True, slots=True)
class _Mix:
    """One make whose solute, or part, is shared: what each source can give of it. `weak` fill the volume."""

    bench: Bench
    solution: Solution
    amount: int
    on: date
    shelf: SupplyEstimate
    weak: frozenset[str]

    def two(
        self, options: Sequence[RouteOption], others: Sequence[RouteOption] | None = None
    ) -> tuple[RouteOption, ...] | None:
        """Choose two options that together are held, the first emptied; the second is one of `others`."""
        for first in options:
            share = self._largest(first, min(self.share(first), _MOST_OF_IT))
            if share is None:
                continue
            for second in options if others is None else others:
                if second.item == first.item or self.share(second) < 1 - share:
                    continue
                both = (shared(first, share), shared(second, 1 - share))
                if self.fits(both[1]) and self.holds(both):
                    return both
        return None

    def several(
        self, options: Sequence[RouteOption], others: Sequence[RouteOption] = ()
    ) -> tuple[RouteOption, ...] | None:
        """Choose more than two options that together are held: most of it first, `others` last."""
        rest = Fraction(1)
        parts: list[RouteOption] = []
        most_first = sorted(((self.share(o), -i, o) for i, o in enumerate(options)), key=lambda s: s[:2], reverse=True)
        for has, option in (*((has, o) for has, _, o in most_first), *((self.share(o), o) for o in others)):
            if len(parts) == _MOST:
                return None
            if has >= rest and self.fits(last := shared(option, rest)):
                parts.append(last)
                return tuple(parts) if len(parts) > 1 and self.holds(parts) else None
            share = self._largest(option, min(has, rest - _LEAST))
            if share is not None:
                parts.append(shared(option, share))
                rest -= share
        return None

    def share(self, option: RouteOption) -> Fraction:
        """Work out the share of the solute that an option could give: what is held over what would be needed."""
        need = option.per_nl.numerator * self.amount
        if not need:
            return Fraction(1)
        held = self._held(option)
        return Fraction(held * option.per_nl.denominator, need) if held > 0 else _NONE

    def fits(self, option: RouteOption) -> bool:
        """Tell whether an option's share, as the room measures it, is held; a weak one is measured as it is."""
        if option.item in self.weak and not self.bench.direct(option, self.solution, self.amount):
            return False
        return self.taken(option) <= self._held(option)

    def taken(self, option: RouteOption) -> int:
        """Find how much the room measures for an option's share."""
        return self.bench.measured(option.item, option.needed(self.amount), self.solution, self.amount).taken

    def holds(self, parts: Iterable[RouteOption]) -> bool:
        """Tell whether the volume holds all of them where one is weak: each as weak as it may be, 1 mL for 1 g."""
        parts = list(parts)
        if all(option.item not in self.weak for option in parts):
            return True
        filled = Fraction(0)
        for option in parts:
            if self.bench.measure_of(option.item) is Measure.VOLUME:
                if option.item not in self.weak and not self.bench.direct(option, self.solution, self.amount):
                    return False
                filled += Fraction(self.taken(option)) / min(Fraction(1), self.shelf.weakest(option.item))
            else:
                filled += self.taken(option)
        return filled <= self.amount * _FULL

    def _largest(self, option: RouteOption, share: Fraction) -> Fraction | None:
        """Find the largest share up to `share` whose amount, as measured, is held; None if too little is."""
        for _ in range(6):
            if share < _LEAST:
                return None
            if self.fits(shared(option, share)):
                return share
            share *= Fraction(9, 10)
        return None

    def _held(self, option: RouteOption) -> int:
        if option.item in self.weak:
            return self.shelf.spare(option.item, self.on)
        whole = option.per_nl if option.share == 1 else option.per_nl / option.share
        return self.shelf.held(option.item, self.on, whole if whole.numerator < whole.denominator else Fraction(1))


def shared(option: RouteOption, share: Fraction) -> RouteOption:
    """Cut an option to a share of its part."""
    said = Line(f"{_round(share)} % of the solute from {option.item}")
    return replace(option, per_nl=option.per_nl * share, working=(*option.working, said), share=share)


def _round(share: Fraction) -> str:
    return f"{float(share * 100):.3g}"
