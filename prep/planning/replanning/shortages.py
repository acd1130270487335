"""What a plan serves where not all can be served: no booking that nothing serves starves one that can be.

A run learns from what ran short until nothing more is earlier. It then gives up needs one by one, and not always the
right ones: so each that is short is tried again beside all that is served, whole and in part, among those bookings
that may want the same reagents. What stays short takes only what nobody else wants.
"""

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from prep.chemistry.model import Solution
from prep.planning.engine.batch_sizes import few_sizes
from prep.planning.engine.context import PrepRoom
from prep.planning.engine.exclusions import Constraints, EarlyPart, Shortage
from prep.planning.engine.explode import PlanningRun, Progress, explode
from prep.planning.engine.requirements import Demand
from prep.planning.model import Bottle
from prep.planning.replanning.needless_stocks import needless_stocks
from prep.planning.replanning.standing_stocks import standing_stocks
from prep.planning.workdays import by_number

_SWITCHES = 8
"""Runs in which another source may be tried; after that a shortage is a shortage, so the runs end."""
_TRIALS = 400
"""Needs planned again, over all trials: what is short beyond that stays as the first runs left it."""
_FIRST_TRIALS = 200
"""The same where a part of a need is made first, from what goes out of date."""


@dataclass(slots=True)
class SettledRun:
    """The last run with what was learnt, the needs that it was asked for, and what is short, by the need's id."""

    run: PlanningRun
    learned: Constraints
    demands: list[Demand]
    short: dict[str, Shortage]


def short_of(state: PlanningRun) -> dict[str, Shortage]:
    """List the bookings' needs that a run left short."""
    return {ref: one for ref, one in state.short.items() if not one.demand.batch}


def settle(
    room: PrepRoom,
    demands: list[Demand],
    learned: Constraints,
    state: PlanningRun | None,
    progress: Progress | None = None,
    *,
    minima: bool = True,
) -> PlanningRun:
    """Run the plan until nothing more is learned.

    Makes then leave a reagent to the bookings that want it itself, if fewer are short for it. Without `minima` nothing
    is ordered for a minimum stock.
    """
    settled = _run(room, demands, learned, state, progress, minima=minima)
    short = short_of(settled)
    takers = settled.taken_from_bookings(learned) if short else {}
    wanting = ({ref: one.amount for ref, one in short.items()}, {item: list(makes) for item, makes in takers.items()})
    if not takers or wanting == learned.left_in_vain:
        return settled
    left = settled.supplies.as_left()  # a run draws on the supplies of the one before, which may yet be kept
    tried, trial, runs = settled, learned.copy(), 1
    while tried.leave_to_bookings(room, trial, may_switch=runs <= _SWITCHES):
        tried = _run(room, demands, trial, tried, progress, minima=minima)
        runs += 1
    if _lacks(short_of(tried)) < _lacks(short):
        learned.adopt(trial)
        return tried
    settled.supplies.put_back(left)
    learned.left_in_vain = wanting
    return settled


def _run(
    room: PrepRoom,
    demands: list[Demand],
    learned: Constraints,
    state: PlanningRun | None,
    progress: Progress | None,
    *,
    minima: bool,
) -> PlanningRun:
    runs = 0
    while True:
        state = explode(room, demands, learned, state, progress, minima=minima)
        runs += 1
        if not state.settle(room, learned, may_switch=runs <= _SWITCHES):
            return state


def settle_all(room: PrepRoom, demands: list[Demand], progress: Progress | None = None) -> SettledRun:
    """Serve all that can be served, the earlier first where not all can."""
    learned = Constraints()
    first = settle(room, demands, learned, None, progress)
    if needless := needless_stocks(room, first):
        learned.weigh_in(room.bench, needless)
        first = settle(room, demands, learned, first, progress)
    first = _from_standing_stocks(room, demands, learned, first, progress)
    lost = short_of(first)
    settled = SettledRun(first, learned, demands, lost)
    if not lost:
        return settled
    trial = _Trial(room)
    asked = {demand.id: demand for demand in demands}
    short: dict[str, Shortage] = {}
    more = False
    after: dict[str, date] = {}
    before: dict[str, date] = {}
    ahead: dict[str, EarlyPart] = {}
    for together in _rivals(room, demands, first, lost):
        trial.after, trial.before, trial.ahead = {}, {}, {}
        served = [demand for demand in together if demand.id not in lost]
        losing = [demand for demand in together if demand.id in lost]
        given = {demand.id: demand.amount for demand in losing if trial.whole(served, demand)}
        for demand in losing:  # parts come last: they get what whole needs leave
            if demand.id not in given:
                given[demand.id] = trial.part(served, demand, demand.amount - lost[demand.id].amount)
        for demand in losing:
            got = given[demand.id]
            more |= got > demand.amount - lost[demand.id].amount
            asked[demand.id] = replace(demand, amount=got) if got else replace(demand, yields=True)
            short[demand.id] = replace(lost[demand.id], amount=demand.amount - got)
        after.update(trial.after)
        before.update(trial.before)
        ahead.update(trial.ahead)
    if not more:
        return _with_left_overs(room, settled, asked, progress)
    # Needs that nothing serves are left out, but for what is bought: part of that may be there, the rest is ordered.
    best = settled
    for moved in (False, True) if after or before or ahead else (False,):
        learned = Constraints(dry=settled.learned.dry)
        if moved:
            learned = replace(learned, after=after, before=before, ahead=ahead, patient=bool(after))
        best = _fewer_short(best, _settled(room, asked, short, learned, progress))
    return _with_left_overs(room, best, asked, progress)


def _from_standing_stocks(
    room: PrepRoom, demands: list[Demand], learned: Constraints, state: PlanningRun, progress: Progress | None
) -> PlanningRun:
    """Run again where a make may take what another leaves over of its stock, if that is no more work."""
    trial = learned.copy()
    if not standing_stocks(room, state, trial):
        return state
    left = state.supplies.as_left()
    tried = settle(room, demands, trial, state, progress)
    if _effort(tried) > _effort(state):
        state.supplies.put_back(left)
        return state
    learned.adopt(trial)
    return tried


def _settled(
    room: PrepRoom,
    asked: Mapping[str, Demand],
    short: Mapping[str, Shortage],
    learned: Constraints,
    progress: Progress | None,
) -> SettledRun:
    """Run for what is asked for still; `short` is what the trials left out of each need."""
    left = [d for d in asked.values() if not d.yields or d.item in room.snapshot.substances]
    again = settle(room, left, learned, None, progress)
    found = {ref: one for ref, one in short.items() if one.amount}
    for ref, one in short_of(again).items():
        besides = found[ref].amount if ref in found and not asked[ref].yields else 0
        found[ref] = replace(one, amount=one.amount + besides)
    for ref in [ref for ref in found if asked[ref].yields and asked[ref].item in room.snapshot.substances]:
        if ref not in again.short:
            del found[ref]
    return SettledRun(again, learned, left, found)


def _fewer_short(one: SettledRun, other: SettledRun) -> SettledRun:
    return other if _lacks(other.short) < _lacks(one.short) else one


def _with_left_overs(
    room: PrepRoom, settled: SettledRun, asked: dict[str, Demand], progress: Progress | None
) -> SettledRun:
    """Give what makes leave over to needs that are short of it, what lacks least first: a part lacks, not the whole."""
    more, short = dict(asked), dict(settled.short)
    makes = defaultdict(list)
    for make in settled.run.makes.values():
        makes[make.solution.code].append(make)
    spare = {make.id: make.lot.amount - make.lot.served for make in settled.run.makes.values()}
    for ref, lacks in sorted(settled.short.items(), key=lambda one: (one[1].amount, one[0])):
        demand, lacking = asked[ref], lacks.amount
        if demand.fresh or demand.item in room.snapshot.substances:
            continue
        for make in makes.get(demand.item, ()):
            gone = make.lot.make_on + timedelta(days=make.solution.shelf_life_days) < demand.needed_on
            if make.lot.period or make.lot.make_on > demand.ready_by or gone:
                continue
            part = min(spare[make.id], lacking)
            if part > 0:
                spare[make.id] -= part
                lacking -= part
                got = part if more[ref].yields else more[ref].amount + part
                more[ref] = replace(demand, amount=got, yields=False)
                short[ref] = replace(lacks, amount=lacking)
    if short == settled.short:
        return settled
    was = settled.learned
    learned = Constraints(
        dry=was.dry, after=dict(was.after), before=dict(was.before), ahead=was.ahead, patient=was.patient
    )
    return _fewer_short(settled, _settled(room, more, short, learned, progress))


def _lacks(short: Mapping[str, Shortage]) -> tuple[int, int]:
    """Count the needs that are short, and by how much in all, to compare two runs."""
    return len(short), sum(one.amount for one in short.values())


def _effort(state: PlanningRun) -> tuple[tuple[int, int], int, int, int]:
    """Count what is short, then the sources that do not suffice, the minutes and the volume of the makes."""
    makes = state.makes.values()
    last = sum([make.chosen.last_resort for make in makes])
    minutes, amount = sum([make.solution.minutes for make in makes]), sum([make.lot.amount for make in makes])
    return _lacks(short_of(state)), last, minutes, amount


class _Trial:
    """Needs planned on their own, to see whether all of them can be served; as often as there is time for.

    `after`: what the needs that were last served together waited for, by the need's id; `before`: the day up to which
    what they were made from is in date, where they were made sooner for it; `ahead`: the parts that were made first.
    """

    def __init__(self, room: PrepRoom) -> None:
        self._room = room
        self._left, self._left_ahead = _TRIALS, _FIRST_TRIALS
        self._arrivals: dict[str, list[date]] = {}
        self._use_bys: dict[str, set[date]] = defaultdict(set)
        self.after: dict[str, date] = {}
        self.before: dict[str, date] = {}
        self.ahead: dict[str, EarlyPart] = {}

    def fits(self, demands: list[Demand]) -> bool:
        """Tell whether all of them are served: made as suits, after the last order, or before what goes off."""
        if self._left < len(demands):
            return False
        waits = {demand.id: day for demand in demands if (day := self._last_arrival(demand)) is not None}
        soon = {demand.id: day for demand in demands if (day := self._last_in_date(demand)) is not None}
        plain = dict[str, date]()
        ways = [(plain, plain), *([(waits, plain)] if waits else ()), *([(plain, soon)] if soon else ())]
        for after, before in ways:
            self._left -= len(demands)
            learned = Constraints(after=dict(after), before=dict(before), patient=bool(after))
            if self._left >= 0 and not short_of(settle(self._room, demands, learned, None, minima=False)):
                self.after, self.before = after, before
                return True
        return False

    def _last_arrival(self, demand: Demand) -> date | None:
        """Find the last day on which something that a need may be made from comes, if it can wait for it."""
        solutions = self._room.snapshot.solutions
        if demand.fresh or demand.item not in solutions:
            return None
        days = self._arrivals.get(demand.item)
        if days is None:
            reagents = self._room.reagents(demand.item)
            today = self._room.snapshot.today
            placed = (max(order.due, today) for order in self._room.snapshot.orders if order.item in reagents)
            new = (self._room.days.next_from(self._room.lead[item]) for item in reagents if item in self._room.lead)
            days = self._arrivals[demand.item] = sorted({*placed, *(day for day in new if day is not None)})
        return next((day for day in reversed(days) if day <= demand.ready_by), None)

    def _last_in_date(self, demand: Demand) -> date | None:
        """Find the last working day before a need on which what is out of date by then may go into it."""
        solutions = self._room.snapshot.solutions
        if demand.fresh or demand.item not in solutions:
            return None
        reagents = self._room.reagents(demand.item)
        if not self._use_bys:
            for bottle in self._room.snapshot.bottles:
                if bottle.use_by is not None:
                    self._use_bys[bottle.item].add(bottle.use_by)
        gone = {day for item in reagents for day in self._use_bys.get(item, ())}
        days = (self._room.days.last_to(day) for day in gone if self._room.snapshot.today <= day < demand.ready_by)
        return max((day for day in days if day is not None and day >= self._room.snapshot.today), default=None)

    def whole(self, served: list[Demand], demand: Demand) -> bool:
        """Try to serve all of a need beside those that are served already; if so, it is one of them then."""
        fits = len(served) < self._left and (self.fits([*served, demand]) or self._fits_ahead([*served, demand]))
        if fits:
            served.append(demand)
        return fits

    def _fits_ahead(self, demands: list[Demand]) -> bool:
        """Tell whether all are served once a part of one is made first, from what goes out of date before its day."""
        for ahead in self._made_first(demands):
            self._left_ahead -= len(demands)
            if self._left_ahead < 0:
                return False
            learned = Constraints(ahead=dict(ahead))
            if not short_of(settle(self._room, demands, learned, None, minima=False)):
                self.after, self.before, self.ahead = {}, {}, ahead
                return True
        return False

    def _made_first(self, demands: list[Demand]) -> Iterator[dict[str, EarlyPart]]:
        """Find what a bottle that goes out of date makes of each need after that day, the latest need first."""
        days, solutions = self._room.days, self._room.snapshot.solutions
        may_wait: dict[str, list[tuple[Demand, Solution]]] = defaultdict(list)  # by what it is made from
        for demand in sorted(demands, key=lambda one: (one.needed_on, by_number(one.id)), reverse=True):
            solution = solutions.get(demand.item)
            if solution is not None and not solution.recipe and not demand.fresh:
                for item in self._room.bench.drawn_on(solution.code):
                    may_wait[item].append((demand, solution))
        for bottle in self._room.snapshot.bottles:
            if bottle.item not in may_wait or bottle.item in solutions or bottle.use_by is None:
                continue
            by = days.last_to(bottle.use_by)
            if by is None or by < self._room.snapshot.today:
                continue
            for demand, solution in may_wait[bottle.item]:
                if by >= demand.ready_by:
                    continue
                if by + timedelta(days=solution.shelf_life_days) < demand.needed_on:
                    continue
                if amount := self._makes_of(bottle, solution, demand.amount):
                    yield {demand.id: EarlyPart(by, amount)}

    def _makes_of(self, bottle: Bottle, solution: Solution, most: int) -> int:
        """Reckon how much of a solution, up to `most` nL, a bottle makes in flasks; 0 where it is not made from it."""
        bench = self._room.bench
        options = (o for route in bench.routes(solution.code) for part in route.parts for o in part.options)
        option = next((one for one in options if one.item == bottle.item), None)
        made, left = 0, bottle.amount
        if option is None:
            return 0
        for size in reversed(few_sizes(bench.sizes(solution.code))):
            taken = bench.measured(bottle.item, option.needed(size), solution, size).taken
            if made + size <= most and taken <= left:
                made, left = made + size, left - taken
        return made

    def part(self, served: list[Demand], demand: Demand, before: int) -> int:
        """Find the most of a need that can be served beside those that are served already, and serve it.

        `before` was served of it already.
        """
        if demand.item in self._room.snapshot.substances or len(served) >= self._left:
            return 0
        sizes = self._room.bench.sizes(demand.item)
        amounts = sorted({a for a in (before, *sizes, *(before + size for size in sizes)) if 0 < a < demand.amount})
        best, low, high = 0, 0, len(amounts)
        while low < high:
            middle = (low + high) // 2
            if self.fits([*served, replace(demand, amount=amounts[middle])]):
                best, low = amounts[middle], middle + 1
            else:
                high = middle
        if best:
            served.append(replace(demand, amount=best))
        return best


def _rivals(room: PrepRoom, demands: Iterable[Demand], state: PlanningRun, lost: Container[str]) -> list[list[Demand]]:
    """Group the needs that may want the same things as a lost one, so that no two groups want the same."""
    linked: dict[str, list[str]] = defaultdict(list)
    for item in state.order:
        for source in room.bench.drawn_on(item) if item in room.snapshot.solutions else ():
            linked[item].append(source)
            linked[source].append(item)
    group_of: dict[str, list[Demand]] = {}
    for demand in demands:
        if demand.id in lost and demand.item not in group_of:
            together: list[Demand] = []
            todo = [demand.item]
            while todo:
                item = todo.pop()
                if item not in group_of:
                    group_of[item] = together
                    todo += linked[item]
    found: list[list[Demand]] = []
    for demand in demands:
        group = group_of.get(demand.item)
        if group is not None:
            if not group:
                found.append(group)
            group.append(demand)
    return found
