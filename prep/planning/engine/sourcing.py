"""Which of a solution's routes a batch takes, by what is held on the day or can come in time."""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from itertools import accumulate

from prep.chemistry.preparation.routes import Route, RouteOption, RoutePart
from prep.planning.engine.netting import Supplies, Supply
from prep.planning.workdays import by_number
from prep.records import record

_ONE = Fraction(1)
_ZERO = Fraction(0)
_DAY = timedelta(days=1)
_MANY = 20
Promised = tuple[int, int]
"""What was promised of an item in all, and of that for days on which an order can be there."""
NOTHING: Promised = (0, 0)


@record(frozen=True, slots=True)
class ChosenRoute:
    """The route and the option of each part, why, whether it suffices, and what else would have served.

    `held`: nothing of it must first be made or ordered. `last_resort`: it proved short on an earlier run, and
    there is no other. `spare`: items of which it draws only what nobody else takes.
    """

    route: Route
    options: tuple[RouteOption, ...]
    why: str
    suffices: bool = True
    others: tuple[str, ...] = ()
    last_resort: bool = False
    held: bool = True
    spare: frozenset[str] = frozenset()

    def key(self) -> tuple[str, ...]:
        """Identify the choice, for when it has to be avoided."""
        return _key(self.options)


@dataclass(slots=True)
class SupplyEstimate:
    """What each item can still give: a running estimate, so that later choices see earlier promises.

    `netted` counts what the supplies have left, else what they held at first. It looks at them when an item is
    first asked for; what is drawn later it does not see. `pending` are the items whose own demands have still
    to be met, so that nothing of them can be called spare.
    """

    supplies: Supplies
    makeable: frozenset[str]
    lead: Mapping[str, date]  # item -> first day on which an order placed today can be here
    promised: dict[str, int] = field(default_factory=dict)
    netted: bool = False
    bought: frozenset[str] = frozenset()  # what the room has bottles of, empty ones too, or awaits
    pending: set[str] = field(default_factory=set)
    later: dict[str, int] = field(default_factory=dict)
    turn: dict[str, Promised] = field(default_factory=dict)  # what was promised since this was last set aside
    _dated: dict[str, tuple[list[date], list[Supply]]] = field(default_factory=dict)
    _weakest: dict[str, Fraction] = field(default_factory=dict)
    _held: dict[tuple[str, Fraction | None], tuple[list[date], list[int]]] = field(default_factory=dict)

    def held(self, item: str, on: date, floor: Fraction) -> int:
        """Add up what is in date on the day and strong enough, less promises, at nominal strength."""
        weakest = self._weakest.get(item)
        if weakest is None:
            weakest = self.weakest(item)
        key = (item, None if weakest is _ONE or weakest >= floor else floor)
        days, totals = self._held.get(key) or self._index(key)
        at = bisect_right(days, on)
        promised = self.promised.get(item, 0)
        if item in self.later and on < self.lead[item]:
            promised -= self.later[item]
        return (totals[at - 1] if at else 0) - promised

    def weakest(self, item: str) -> Fraction:
        """Find the found strength over nominal of the weakest there is of the item; 1 where there is none."""
        known = self._weakest.get(item)
        if known is None:
            known = min([s.factor for s in self.supplies[item]], default=_ONE)
            known = self._weakest[item] = _ONE if known == 1 else known  # as a rule; told apart by `is`, at once
        return known

    def spare(self, item: str, on: date) -> int:
        """Add up what is in date on the day and taken by nobody, at nominal strength.

        0 as long as others may want it.
        """
        if item in self.pending:
            return 0
        supplies = self.supplies[item]
        there = sum(int(s.left * s.factor) for s in supplies if s.left > 0 and s.available <= on <= s.use_by)
        return there - (self.promised.get(item, 0) if self.netted else 0)

    def oldest(self, item: str, on: date, until: date) -> Supply | None:
        """Find the supply that nobody takes and that goes off first, if by `until`; None where there is none."""
        if item in self.pending:
            return None
        known = self._dated.get(item)
        if known is None:
            supplies = sorted(self.supplies[item], key=lambda s: (s.use_by, s.since, by_number(s.ref)))
            known = self._dated[item] = ([s.use_by for s in supplies], supplies)
        days, supplies = known
        for supply in supplies[bisect_left(days, on) : bisect_right(days, until)]:
            if supply.left > 0 and supply.available <= on:
                return supply
        return None

    def _index(self, key: tuple[str, Fraction | None]) -> tuple[list[date], list[int]]:
        """List the days on which what is held changes, and how much there is from each on."""
        item, floor = key
        changes: dict[date, int] = {}
        for s in self.supplies[item]:
            if floor is not None and s.factor < floor:
                continue
            there = s.left if self.netted else s.amount
            if s.factor != 1:
                there = int(there * s.factor)
            changes[s.available] = changes.get(s.available, 0) + there
            if s.use_by != date.max:
                gone = s.use_by + _DAY
                changes[gone] = changes.get(gone, 0) - there
        days = sorted(changes)
        found = self._held[key] = (days, list(accumulate(changes[day] for day in days)))
        return found

    def answers(self, items: Sequence[str], weaker: Sequence[str]) -> tuple[object, ...] | None:
        """Gather all that it can say of items, and of weaker solutions.

        Of a weaker solution only what is spare is drawn. None where that is too much to look at.
        """
        known: list[object] = [self.makeable, *map(self.promised.get, items), *map(self.later.get, items)]
        for item in weaker:
            if item in self.pending:
                known.append(None)
                continue
            supplies = self.supplies[item]
            if len(supplies) > _MANY:
                return None
            known += [supply.left for supply in supplies]
        return tuple(known)

    def promise(self, item: str, amount: int, on: date = date.min) -> None:
        """Set `amount` aside for a choice already made, which takes it on the day `on`."""
        self.promised[item] = self.promised.get(item, 0) + amount
        total, later = self.turn.get(item, NOTHING)
        total += amount
        if self.can_come(item, on) and item not in self.makeable:
            self.later[item] = self.later.get(item, 0) + amount
            later += amount
        self.turn[item] = total, later

    def promise_again(self, promised: dict[str, Promised]) -> None:
        """Set aside what was promised in the same turn of an earlier run; nothing is promised in this one yet."""
        for item, (amount, later) in promised.items():
            self.promised[item] = self.promised.get(item, 0) + amount
            if later:
                self.later[item] = self.later.get(item, 0) + later
        self.turn = promised

    def end_turn(self) -> dict[str, Promised]:
        """Give what was promised since the last turn ended."""
        ended, self.turn = self.turn, {}
        return ended

    def can_come(self, item: str, on: date) -> bool:
        """Tell whether an order placed today is here by the day."""
        return item in self.lead and self.lead[item] <= on

    def strange(self, item: str) -> bool:
        """Tell whether the room neither makes the item nor has a bottle of it, even an empty or awaited one."""
        return item not in self.makeable and item not in self.bought


def choose(
    routes: Sequence[Route],
    amount: int,
    on: date,
    shelf: SupplyEstimate,
    avoid: Mapping[tuple[str, ...], date],
    direct: Callable[[RouteOption], bool] = lambda _: True,
) -> ChosenRoute | None:
    """Choose the best route for `amount` nL made on the day, or None when there is no route at all.

    `direct` says whether the room can measure so much of an option as it is, without an intermediate.
    Order: all parts held; declared sources first; then what must first be made or ordered; then that of
    which most is held; of what is to be ordered, first the kind that the room buys: its hydrate, its strength.
    Routes that proved short on this day or later (`avoid`) come last. Deterministic.
    """
    ranked: list[tuple[tuple[int, int, Fraction, bool, int, int], tuple[RouteOption, ...], int]] = []
    drawn = [[_option(part, amount, on, shelf) for part in route.parts] for route in routes]
    for index, route in enumerate(routes):
        options = tuple([option for option, _, _ in drawn[index]])
        worst = max([state for _, state, _ in drawn[index]], default=0)
        since = avoid.get(_key(options)) if avoid else None
        # The stock that an entry names first is made if need be, where nothing at hand serves in one step.
        ready = (index == 0 and route.declared and worst == 1 and route.source in shelf.makeable) and not any(
            all(state == 0 and direct(option) for option, state, _ in parts) for parts in drawn
        )
        rank = (
            int(since is not None and on >= since),
            0 if ready else worst,
            _ZERO if worst < 2 else -min(share for _, _, share in drawn[index]),
            worst > 0 and any(option.item != "water" and shelf.strange(option.item) for option in options),
            0 if route.declared else 1,
            index,
        )
        ranked.append((rank, options, worst))
    if not ranked:
        return None
    ranked.sort(key=lambda one: one[0])
    (last_resort, state, *_, index), options, worst = ranked[0]
    others = tuple([also[0].item for rank, also, _ in ranked[1:] if rank[0] == 0 and rank[1] <= 1])
    best, item = routes[index], options[0].item
    if last_resort:
        why = f"{item} is the only source left, and it runs short"
    elif state == 0:
        why = f"{item} is {'the source on its entry' if best.declared else 'held'}"
    elif state == 1:
        why = f"{item} must be made first or ordered; nothing held serves"
    else:
        why = f"nothing held suffices; {item} comes nearest"
    return ChosenRoute(best, options, why, worst < 2, others, bool(last_resort), worst == 0)


def _key(options: Iterable[RouteOption]) -> tuple[str, ...]:
    return tuple([option.item for option in options])


def _option(part: RoutePart, amount: int, on: date, shelf: SupplyEstimate) -> tuple[RouteOption, int, Fraction]:
    """Choose the part's best option, with its state and the share of the need that is held.

    State: held (0), else to be made or ordered in time (1), else neither (2), and then the one of which most
    is held.
    """
    best: tuple[tuple[int, Fraction, bool, int], RouteOption] | None = None
    covered = _ONE
    for index, option in enumerate(part.options):
        if option.item == "water":
            return option, 0, _ONE
        of_it, made = option.per_nl.as_integer_ratio()
        need, held = of_it * amount, 0
        if need:
            # A stock weaker than what is made from it is no source.
            floor = option.per_nl if of_it < made else _ONE
            held = shelf.held(option.item, on, floor) * made
        if held >= need:
            return option, 0, _ONE
        can_come = option.item in shelf.makeable or shelf.can_come(option.item, on)
        state = 1 if can_come else 2
        share = Fraction(held, need) if held > 0 else _ZERO
        key = (state, -share if state == 2 and share else _ZERO, shelf.strange(option.item), index)
        if best is None or key < best[0]:
            best = (key, option)
            covered = share
    assert best is not None
    return best[1], best[0][0], covered
