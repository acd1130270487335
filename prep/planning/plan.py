"""The plan: from bookings and stock to make tasks, takes, orders and warnings.

`make_plan` is a pure function; the same input gives the same plan.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from types import MappingProxyType

from prep.chemistry import quantities
from prep.chemistry.model import Line, Measure
from prep.chemistry.preparation.instructions import sheets_of
from prep.chemistry.preparation.steps import DrawnItem, MakeSheet, WriteUp, WrittenStep
from prep.dates import short_words
from prep.findings import Finding, worst_first
from prep.garbage_collection import collector_paused
from prep.planning.draws import BottleDraw, LinkKind, Share, Source, Take
from prep.planning.engine import findings
from prep.planning.engine.batch_sizes import is_round, small_because
from prep.planning.engine.context import PrepRoom
from prep.planning.engine.exclusions import Shortage
from prep.planning.engine.explode import PlanningRun, Progress
from prep.planning.engine.requirements import Demand, made_ahead, requirements
from prep.planning.engine.state import Make
from prep.planning.model import Batch, BottleLine, Horizon, Plan, Policy, Requirement, Snapshot
from prep.planning.replanning.late_orders import order_too_late
from prep.planning.replanning.levelling import level, overload, put_off
from prep.planning.replanning.shortages import settle, settle_all, short_of
from prep.planning.workdays import Workdays, by_number

_LEVELLINGS = 4
"""How often the days are levelled anew: a make that moves takes its stocks with it."""


def make_plan(
    snapshot: Snapshot, horizon: Horizon, policy: Policy | None = None, progress: Progress | None = None
) -> Plan:
    """Plan every booking of the horizon. `progress` is told how far it is; it changes nothing.

    Raises PrepError when recipes go round in a loop. Every other trouble is a finding of the plan.
    """
    with collector_paused():
        return _plan(room_of(snapshot, horizon, policy or Policy()), progress)


def _plan(room: PrepRoom, progress: Progress | None) -> Plan:
    demands, found = requirements(room.snapshot, room.horizon, room.days)
    demands = made_ahead(demands, room.days, room.policy.make_ahead_days)
    settled = settle_all(room, demands, progress)
    state, learned = settled.run, settled.learned
    for _ in range(_LEVELLINGS):
        trial = learned.copy()
        if not level(room, state, trial):
            break
        levelled = settle(room, settled.demands, trial, state, progress)
        # A fuller day is kept rather than a booking left short.
        if len(short_of(levelled)) > len(short_of(state)) or overload(room, levelled) >= overload(room, state):
            break
        state, learned = levelled, trial
    trial = learned.copy()
    if put_off(room, state, trial):
        later = settle(room, settled.demands, trial, state, progress)
        if len(short_of(later)) <= len(short_of(state)) and overload(room, later) <= overload(room, state):
            state = later
    order_too_late(room, state, settled.short.values())
    return _assemble(room, state, demands, settled.short, found)


def room_of(snapshot: Snapshot, horizon: Horizon, policy: Policy) -> PrepRoom:
    """Set up what one plan's runs share: the bench, its sheets, the working days."""
    last = max([horizon.end, snapshot.today, *(order.due for order in snapshot.orders)])
    days = Workdays(snapshot.calendar, snapshot.today - timedelta(days=90), last + timedelta(days=90))
    known = ((one.code, one.strength_uncertainty_pct or one.made_pct) for one in snapshot.bottles)
    found = {code: pct for code, pct in known if pct is not None}
    sheets = sheets_of(snapshot.catalogue, snapshot.instruments)
    bench = sheets.bench
    strengths = {bottle.code: bottle.strength for bottle in snapshot.bottles if bottle.strength is not None}
    lead = {item: snapshot.today + timedelta(days=rule.lead_days) for item, rule in snapshot.rules.items()}
    held = frozenset(bottle.item for bottle in snapshot.bottles)
    bought = held | {order.item for order in snapshot.orders}
    own_minima = frozenset(item for item in held if (rule := snapshot.rules.get(item)) is not None and rule.own)
    return PrepRoom(snapshot, horizon, policy, days, bench, sheets, found, strengths, lead, held, own_minima, bought)


def _assemble(
    room: PrepRoom, state: PlanningRun, demands: list[Demand], short: Mapping[str, Shortage], found: list[Finding]
) -> Plan:
    served: dict[str, list[Share]] = defaultdict(list)
    takes: dict[str, list[Take]] = defaultdict(list)
    bottles: dict[str, list[BottleDraw]] = defaultdict(list)
    for item, draws in state.draws.items():
        for draw in draws:
            if batch := draw.demand.batch:
                takes[batch].append(state.makes[batch].take(item, draw))
            else:
                served[draw.demand.id].append(Share(draw.source, draw.amount))
            if draw.source.kind is LinkKind.BOTTLE:
                bottles[draw.source.ref].append(BottleDraw(draw.demand.needed_on, draw.demand.user, draw.amount))
    needs = tuple([_requirement(demand, served.get(demand.id, ()), short.get(demand.id)) for demand in demands])
    makes = _in_turn(state)
    _empty(room, makes, takes, bottles)
    written: dict[str, Batch] = {}
    for make in makes:
        written[make.id] = write_batch(room, make, takes[make.id], common=_common(make, takes), made=written)
    batches = tuple(written.values())
    lines = []
    for bottle in sorted(room.snapshot.bottles, key=lambda b: by_number(b.code)):
        drawn = sorted(bottles.get(bottle.code, ()), key=lambda d: (d.on, by_number(d.user.ref)))
        gone = sum([d.amount for d in drawn])
        lines.append(
            BottleLine(bottle.code, bottle.item, bottle.amount, bottle.amount - gone, bottle.use_by, tuple(drawn))
        )
    orders = tuple(
        sorted(
            (line for bought in state.orders.values() for line in bought.lines),
            key=lambda line: (line.order_by, line.id),
        )
    )
    found = [*room.snapshot.noticed, *found, *findings.gather(room, state, short, needs, batches, lines, orders)]
    return Plan(
        today=room.snapshot.today,
        horizon=room.horizon,
        requirements=needs,
        batches=batches,
        bottles=tuple(lines),
        orders=orders,
        findings=worst_first(found),
    )


def _requirement(demand: Demand, served: Iterable[Share], short: Shortage | None) -> Requirement:
    return Requirement(
        demand.id,
        demand.booking,
        demand.item,
        demand.needed_on,
        demand.ready_by,
        demand.amount,
        tuple(served),
        short.amount if short else 0,
        short.why.message if short else "",
    )


_TODAY, _BEFORE_ITS_PERIOD, _FOR_LATER = range(3)


def _in_turn(state: PlanningRun) -> list[Make]:
    """Put the makes in the order of a day's work: what the day's bookings take first, each after what goes into it."""
    level = {item: number for number, item in enumerate(state.order)}
    turn: dict[str, int] = {}
    for make in sorted(state.makes.values(), key=lambda m: level[m.solution.code]):  # users before their stocks
        wanted_today = _BEFORE_ITS_PERIOD if make.lot.period else _TODAY
        users = [demand.batch for demand in make.lot.demands if demand.needed_on == make.lot.make_on]
        turn[make.id] = min((turn.get(user, wanted_today) for user in users), default=_FOR_LATER)
    return sorted(state.makes.values(), key=lambda m: (m.lot.make_on, turn[m.id], -level[m.solution.code], m.id))


def _empty(
    room: PrepRoom, makes: Sequence[Make], takes: Mapping[str, list[Take]], bottles: Mapping[str, list[BottleDraw]]
) -> None:
    """Note which bottles a make that takes an item from several empties: all others that draw on them come before."""
    turn = {make.id: number for number, make in enumerate(makes)}
    held: dict[str, int] = {}
    for make in makes:
        taken = takes[make.id]
        if len({take.item for take in taken}) == len(taken):
            continue
        held = held or {bottle.code: bottle.amount for bottle in room.snapshot.bottles}
        make.empties = frozenset(
            take.ref
            for take in taken
            if take.kind is LinkKind.BOTTLE
            and sum(draw.amount for draw in bottles[take.ref]) == held[take.ref]
            and all(
                turn[draw.user.ref] <= turn[make.id] if draw.user.ref in turn else draw.on < make.lot.make_on
                for draw in bottles[take.ref]
            )
        )


def _place(room: PrepRoom, take: Take, on: date, made: Mapping[str, Batch]) -> str:
    """Name where a make of the day takes it from, as a person at the bench knows it."""
    if take.source.to_place:
        return "what is to be ordered"
    if take.ref in made:
        then = made[take.ref].make_on
        return "made today" if then == on else f"made on {short_words(then)}"
    own = room.strengths.get(take.ref) if take.kind == "bottle" else None
    return f"{take.kind} {take.ref}" + (f" ({own})" if own else "")


def _of_their_own(room: PrepRoom, takes: Sequence[Take]) -> Iterable[Line]:
    """Write a line for what is taken more or less of, as its bottle has a strength of its own."""
    for take in takes:
        if take.kind == "bottle" and (own := room.strengths.get(take.ref)):
            ratio = room.bench.strength_ratio(take.item, own).ratio
            if ratio != 1:
                taken = quantities.show(take.amount, room.bench.measure_of(take.item))
                text = f"bottle {take.ref} is {own}, {float(ratio):.4g} of what is on file: {taken} of it"
                yield Line(text, "its label, or as it was found")


def _common(make: Make, takes: Mapping[str, Sequence[Take]]) -> list[Take]:
    """Add up what all the makes that share an intermediate with this one take for it, per place."""
    if not make.common:
        return []
    totals: dict[tuple[str, Source], int] = defaultdict(int)
    for item, common in make.common.items():
        for batch in common.makes:
            for take in takes[batch]:
                if take.item == item:
                    totals[item, take.source] += take.amount
    return [Take(item, source, amount, amount) for (item, source), amount in totals.items()]


def write_batch(
    room: PrepRoom,
    make: Make,
    takes: list[Take],
    missing: Mapping[str, int] = MappingProxyType({}),
    common: Sequence[Take] = (),
    made: Mapping[str, Batch] = MappingProxyType({}),
) -> Batch:
    """Write up a make with its takes as the plan shows it: steps, working, how exact, for whom.

    `missing` is what no place gives of an item: the steps still name the whole amount. `common` is what the
    intermediates that it shares with other makes take in all. `made` are the makes of the same plan, as they are
    written up.
    """
    lot, solution = make.lot, make.solution
    dates = [demand.needed_on for demand in lot.demands]
    unusual = _unusual(make)
    return Batch(
        id=make.id,
        solution=solution.code,
        make_on=lot.make_on,
        first_use=min(dates),
        last_use=max(dates),
        use_by=lot.make_on + timedelta(days=solution.shelf_life_days),
        amount=lot.amount,
        sheet=MakeSheet(partial(_sheet, room, make, takes, missing, common, made)),
        takes=tuple(takes),
        cautions=(),
        serves=tuple([Share(demand.user, amount) for demand, amount in lot.serves]),
        left_over=lot.amount - lot.served,
        minutes=solution.minutes,
        route=make.chosen.route.kind.value,
        why="; ".join(filter(None, (*_whys(make), unusual))),
        unusual=unusual,
    )


def _sheet(
    room: PrepRoom,
    make: Make,
    takes: Sequence[Take],
    missing: Mapping[str, int],
    common: Sequence[Take],
    made: Mapping[str, Batch],
) -> WriteUp:
    lot, solution = make.lot, make.solution
    own = [take for take in takes if take.item not in make.common]
    drawn = [
        DrawnItem(
            take.item,
            take.amount,
            _place(room, take, lot.make_on, made),
            made[take.ref].uncertainty_pct if take.ref in made else room.found.get(take.ref),
            take.ref in make.empties,
            take.ref in made,
            take.kind is LinkKind.BOTTLE and bool(room.strengths.get(take.ref)),
        )
        for take in (*own, *common)
    ]
    drawn += [DrawnItem(item, amount, "what is missing") for item, amount in missing.items()]
    sheet = room.sheets.write_up(solution, make.chosen.route, make.chosen.options, lot.amount, drawn, make.common)
    steps = sheet.steps
    if lot.period:
        steps = (WrittenStep(f"Make it just before {lot.period}, for which it is meant: it does not keep."), *steps)
    return replace(sheet, steps=steps, working=(*sheet.working, *_of_their_own(room, takes)))


def _whys(make: Make) -> Iterable[str]:
    """Say why the make is as it is: its source, and what else would have served."""
    yield make.chosen.why
    if make.chosen.others:
        yield f"would also serve: {', '.join(make.chosen.others)}"


def _unusual(make: Make) -> str:
    """Say why a make is less than the usual, or no round volume; empty where it is neither."""
    usual, amount = make.solution.usual_nl, make.lot.amount
    less = f"less than the usual {quantities.show(usual, Measure.VOLUME)}" if amount < usual else ""
    between = (
        "" if is_round(amount) or amount == usual else "no usual round batch" + ("" if less else ", but near its use")
    )
    if not (less or between):
        return ""
    because = small_because(make.solution) or "no more can be made of what is there, or no vessel holds more"
    if any(demand.id == make.id for demand in make.lot.demands):
        because = "so much was asked for"
    return f"{', '.join(filter(None, (less, between)))}: {because}"
