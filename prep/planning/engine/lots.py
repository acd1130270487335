"""A solution's uncovered demands as lots: when each can be made at all, and the batching of those that can."""

from collections import defaultdict
from collections.abc import Container, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from prep.chemistry.model import Measure, SmallBatch, Solution
from prep.chemistry.preparation.routes import RouteOption
from prep.chemistry.preparation.vessels import Bench
from prep.planning.engine.exclusions import EarlyPart
from prep.planning.engine.lot_sizing import Costs, MadeLot, Want, WantPart, batch
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.model import Policy
from prep.planning.workdays import Workdays, period_number
from prep.plurals import plural
from prep.records import record


@record(frozen=True, slots=True)
class Lot:
    """One making: `amount` nL on `make_on`, serving whole demands (or equal parts of one too large).

    `period` is the one for which it is made, where it does not keep from one to the next.
    """

    make_on: date
    amount: int
    serves: tuple[DemandPart, ...]
    period: str = ""

    @property
    def demands(self) -> tuple[Demand, ...]:
        """The demands that it serves."""
        return tuple([part.demand for part in self.serves])

    @property
    def served(self) -> int:
        """How much of it the demands take."""
        return sum([part.amount for part in self.serves])


@record(frozen=True, slots=True)
class UnmadeDemand:
    """A demand that no lot can serve: how much, the finding's code, the reason and a cure."""

    demand: Demand
    amount: int
    code: str
    reason: str
    cure: str


@record(frozen=True, slots=True)
class Lots:
    """The lots of a solution, and the demands that none can serve."""

    made: list[Lot]
    unmade: list[UnmadeDemand]


def lots(
    wanted: Sequence[DemandPart],
    solution: Solution,
    sizes: Sequence[int],
    days: Workdays,
    today: date,
    after: Mapping[str, date],
    before: Mapping[str, date] | None = None,
    costs: Costs | None = None,
    ahead: Mapping[str, EarlyPart] = MappingProxyType({}),
) -> Lots:
    """Put the missing amounts (nL) into lots, and say what cannot be made in time, with the reason.

    `sizes` are the volumes the room's vessels make, ascending. By demand id, `after` holds the day from which
    what it is made from is there, `before` the day to which its make was levelled, `ahead` the part that is made
    first. `costs` as for `batch`.
    """
    wants: list[Want] = []
    known: dict[str, Demand] = {}
    unmade: list[UnmadeDemand] = []
    keeps, stands = timedelta(days=solution.shelf_life_days), timedelta(days=solution.stand_days)
    latest_by: dict[object, date | str] = {}  # by the days that decide it: many demands have the same
    for demand, missing in wanted:
        dates = demand.needed_on, demand.ready_by, demand.fresh
        latest = latest_by.get(dates)
        if latest is None:
            latest = latest_by[dates] = _latest(demand, keeps, stands, days, today)
        if isinstance(latest, str):
            unmade.append(_unmade(demand, missing, latest, solution))
            continue
        start = after.get(demand.id)
        if start is not None and start > latest:  # its source comes late, so it stands for less than it should
            late = _latest(demand, keeps, timedelta(0), days, today)
            latest = late if isinstance(late, date) and late >= start else latest
        if before and (sooner := before.get(demand.id)) and (start is None or start <= sooner):
            latest = min(latest, sooner)
        known[demand.id] = demand
        first = ahead.get(demand.id)
        if first is not None and today <= first.by < latest:
            part = min(first.amount, missing)
            wants.append(Want(demand.id, part, demand.needed_on, first.by))
            missing, start = missing - part, days.next_from(first.by + timedelta(days=1))
            if not missing:
                continue
        wants.append(
            Want(demand.id, missing, demand.needed_on, latest, demand.fresh, start, period_number(demand.period))
        )
    found = batch(
        wants,
        shelf_life_days=solution.shelf_life_days,
        sizes=sizes,
        last_workday=days.last_to,
        today=today,
        costs=costs,
    )
    missing_of: dict[str, int] = defaultdict(int)
    for want in wants if found.unmet else ():
        missing_of[want.id] += want.amount
    unmade += [UnmadeDemand(known[u.id], missing_of[u.id], "cannot-be-made", u.reason, _MOVE) for u in found.unmet]
    made = [
        Lot(
            b.make_on,
            b.amount,
            tuple(DemandPart(known[part.id], part.amount) for part in b.serves),
            known[b.serves[0].id].period if b.period else "",
        )
        for b in _whole(found.batches, ahead)
    ]
    return Lots(made, unmade)


def _whole(batches: Sequence[MadeLot], apart: Container[str]) -> list[MadeLot]:
    """Let one batch serve a want of which two serve a part, where its rest suffices: as much is made either way.

    But for wants of which a part is made first (`apart`), and where the other then serves nothing.
    """
    out = list(batches)
    first: dict[str, int] = {}
    shared: dict[str, list[int]] = {}  # wants that several serve: few do
    for number, one in enumerate(out):
        for part in one.serves:
            if first.setdefault(part.id, number) != number:
                shared.setdefault(part.id, [first[part.id]]).append(number)
    for ref in [ref for ref in reversed(first) if ref in shared]:
        numbers = shared[ref]
        if len(numbers) != 2 or ref in apart:
            continue
        for giver, taker in (numbers, numbers[::-1]):
            given, taken = ({part.id: part.amount for part in out[n].serves} for n in (giver, taker))
            if len(given) > 1 and given[ref] <= out[taker].left_over:
                taken[ref] += given.pop(ref)
                for number, serves in ((giver, given), (taker, taken)):
                    out[number] = replace(out[number], serves=tuple(map(WantPart, serves, serves.values())))
                break
    return out


_WASTED_PER_LITRE = {SmallBatch.NO: 10, SmallBatch.COSTLY: 100, SmallBatch.HAZARD: 60}
"""Minutes that a litre thrown away costs where the school sets none, by the solution's entry: what it is made of,
and what it takes to be rid of it; common practice, no source."""
_SPARING_PER_LITRE = 10**6
"""The same where what it is made of does not suffice: then nothing is made that is not wanted."""
_DILUTION_MINUTES = 10
"""What an intermediate dilution takes: common practice, no source."""


def wasted_per_litre(policy: Policy, kind: SmallBatch) -> Decimal:
    """Find what a litre thrown away costs, in minutes.

    The school's figure for its kind, else for any, else the usual one.
    """
    cost = policy.cost_per_litre_wasted
    if kind is SmallBatch.COSTLY and policy.cost_per_litre_costly_wasted is not None:
        cost = policy.cost_per_litre_costly_wasted
    elif kind is SmallBatch.HAZARD and policy.cost_per_litre_hazard_wasted is not None:
        cost = policy.cost_per_litre_hazard_wasted
    return Decimal(_WASTED_PER_LITRE[kind]) if cost is None else cost


def dilution_minutes(policy: Policy) -> Decimal:
    """Find the minutes that an intermediate dilution costs."""
    return Decimal(_DILUTION_MINUTES) if policy.cost_per_dilution is None else policy.cost_per_dilution


def costs_of(policy: Policy, solution: Solution, dilutions: Sequence[int] = (), *, sparing: bool = False) -> Costs:
    """Price a make of the solution and its waste, in minutes; `dilutions` are sizes that take an intermediate.

    `sparing`: what it is made of does not suffice.
    """
    make = policy.cost_per_make if policy.cost_per_make is not None else solution.minutes
    wasted = _SPARING_PER_LITRE if sparing else wasted_per_litre(policy, solution.small_batch)
    held = policy.cost_per_litre_day_held or 0
    return _costs(make, wasted, held, dilution_minutes(policy), tuple(dilutions))


@lru_cache(maxsize=256)
def _costs(
    make: Decimal | int, wasted: Decimal | int, held: Decimal | int, dilution: Decimal, dilutions: tuple[int, ...]
) -> Costs:
    return replace(
        Costs.per_litre(Fraction(make), Fraction(wasted), Fraction(held)),
        extra={size: Fraction(dilution) for size in dilutions},
    )


@record(frozen=True, slots=True)
class MeasuredSizes:
    """The sizes of a lot that can be measured, and those of them that take an intermediate dilution."""

    sizes: tuple[int, ...]
    diluted: tuple[int, ...] = ()


def measured_sizes(
    bench: Bench, solution: Solution, sizes: tuple[int, ...], held: Container[str], lean: bool
) -> MeasuredSizes:
    """Choose the sizes for which something on the books is measured well enough.

    All sizes stay where nothing held can be measured for any: then there is nothing to choose by. Where `lean`, as
    little as can be is made: to what can be read, if that is within the tolerance.
    """
    if solution.recipe:
        return MeasuredSizes(sizes if lean else sizes[_weighable(bench, solution, sizes) :])
    options = [
        option
        for route in bench.routes(solution.code)
        for part in route.parts
        for option in part.options
        if option.item in held
    ]
    if not options:
        return MeasuredSizes(sizes)
    first = next(
        (n for n, size in enumerate(sizes) if any(_adequate(bench, o, solution, size, lean) for o in options)), 0
    )
    if lean:
        return MeasuredSizes(sizes[first:])
    direct = next((n for n, size in enumerate(sizes) if any(bench.direct(o, solution, size) for o in options)), first)
    return MeasuredSizes(sizes[first:], sizes[first:direct])


def _weighable(bench: Bench, solution: Solution, sizes: Sequence[int]) -> int:
    """Find the number of the first size in which each solid of a recipe is weighed well enough.

    No size above the usual batch is asked for.
    """
    solids = [
        o for p in bench.routes(solution.code)[0].parts if bench.measure_of((o := p.options[0]).item) is Measure.MASS
    ]
    for number, size in enumerate(sizes):
        found = [bench.how(option.item, option.needed(size), solution, size) for option in solids]
        if size >= solution.usual_nl or all(f and f.expanded * 100 <= solution.tolerance_pct for f in found):
            return number
    return max(0, len(sizes) - 1)


def _adequate(bench: Bench, option: RouteOption, solution: Solution, size: int, lean: bool) -> bool:
    needed = option.needed(size)
    found = bench.how(option.item, needed, solution, size)
    if found is None or found.adequate or not lean:
        return found is not None and found.adequate
    return abs(found.reaches - needed) * 100 <= needed * solution.tolerance_pct


_MOVE = "Move the booking to a later day."
_NO_DAY, _FRESH, _OLD = "no-working-day", "not-fresh", "out-of-date-by-then"


def _latest(demand: Demand, shelf: timedelta, stands: timedelta, days: Workdays, today: date) -> date | str:
    """Find the last working day on which making it still serves, or what stands against it.

    That is the day of use itself where it keeps no longer, or where the day it should be ready by is past; days
    before that where it stands first.
    """
    if stands and not demand.fresh:
        last = days.last_to(max(min(demand.ready_by, demand.needed_on - stands), today))
        last = last if last is not None and last >= today else days.next_from(today)
        if last is not None and last + stands <= demand.needed_on <= last + shelf:
            return last  # where it cannot stand its full time, it is made later, and a finding says so
    last = days.last_to(max(demand.ready_by, today))
    if last is None or last < today:
        last = days.next_from(today)
    if last is None or last > demand.needed_on:
        return _NO_DAY
    if demand.fresh:
        return last if last == demand.needed_on else _FRESH
    if last + shelf >= demand.needed_on:
        return last
    return demand.needed_on if demand.needed_on in days and demand.needed_on >= today else _OLD


def _unmade(demand: Demand, missing: int, code: str, solution: Solution) -> UnmadeDemand:
    for_ = " (for another make)" if demand.batch else ""
    if code == _NO_DAY:
        reason = f"no working day is left before it is needed{for_}."
        cure = "Move the booking, or enter a working day: the calendar's weekdays and closed days say which."
    elif code == _FRESH:
        reason = f"{demand.needed_on} is no working day, and it is to be made fresh{for_}."
        cure = "Move the booking to a working day."
    else:
        keeps = solution.shelf_life_days
        reason = (
            f"it keeps for {plural(keeps, 'day')} and is to be ready by {demand.ready_by}, so it "
            f"would be out of date by {demand.needed_on}{for_}."
        )
        cure = "Move the booking to a day after a working day, or mark the solution as made fresh."
    return UnmadeDemand(demand, missing, code, reason, cure)
