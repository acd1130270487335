"""Days too full for whoever makes the solutions: makes that keep are moved to earlier days with time to spare.

Where no earlier day has any, what can wait is made apart, on a later one.
"""

from collections import Counter, defaultdict
from datetime import date, timedelta
from typing import TYPE_CHECKING

from prep.planning.draws import LinkKind
from prep.planning.engine.netting import Draw

if TYPE_CHECKING:
    from prep.planning.engine.context import PrepRoom
    from prep.planning.engine.exclusions import Constraints
    from prep.planning.engine.explode import PlanningRun
    from prep.planning.engine.state import Make


def minutes_by_day(state: "PlanningRun") -> dict[date, int]:
    """Count the minutes of making on each day that has any."""
    load: dict[date, int] = defaultdict(int)
    for make in state.makes.values():
        load[make.lot.make_on] += make.solution.minutes
    return dict(load)


def overload(room: "PrepRoom", state: "PlanningRun") -> int:
    """Add up the minutes, over all days, beyond what the calendar gives a day."""
    limit = room.minutes
    return sum(max(0, minutes - limit(day)) for day, minutes in minutes_by_day(state).items())


def level(room: "PrepRoom", state: "PlanningRun", learned: "Constraints") -> bool:
    """Move makes of days too full to an earlier day; True when one was moved, so another run is due.

    From the last day to the first, those that keep longest first, each to the latest earlier working day that
    has the minutes, on which it still keeps until its last use and what it is made from is there.
    """
    limit = room.minutes
    load = minutes_by_day(state)
    if all(minutes <= limit(day) for day, minutes in load.items()):
        return False
    sources, lots = _sources(state), _lots_of(state)
    moved = False
    makes: dict[date, list[Make]] = defaultdict(list)
    for make in state.makes.values():
        makes[make.lot.make_on].append(make)
    for day in sorted(makes, reverse=True):
        for make in sorted(makes[day], key=lambda m: (-m.solution.shelf_life_days, m.id)):
            if load[day] <= limit(day):
                break
            minutes = make.solution.minutes
            earlier = _earlier(room, state, learned, make, sources, load)
            if earlier is None:
                continue
            load[day] -= minutes
            load[earlier] = load.get(earlier, 0) + minutes
            whole = [demand.id for demand in make.lot.demands if lots[demand.id] == 1]
            for ref in whole or [demand.id for demand in make.lot.demands]:  # moving a part moves its other lot too
                learned.before[ref] = earlier
            learned.touched.add(make.solution.code)
            moved = True
    return moved


def put_off(room: "PrepRoom", state: "PlanningRun", learned: "Constraints") -> bool:
    """Make apart, later, what can wait of the makes of days that stay too full; True where anything can.

    Such a make is not to be counted on: only what must be ready that day hangs on it.
    """
    limit = room.minutes
    full = {day for day, minutes in minutes_by_day(state).items() if minutes > limit(day)}
    waits = False
    for make in state.makes.values():
        day = make.lot.make_on
        start = room.days.next_from(day + timedelta(days=1)) if day in full else None
        if start is None:
            continue
        later = [demand for demand in make.lot.demands if demand.ready_by >= start]
        if len(later) == len(make.lot.demands):
            continue
        for demand in later:
            if learned.after.get(demand.id, date.min) < start:
                learned.after[demand.id] = start
                learned.touched.add(make.solution.code)
                waits = True
    return waits


def _earlier(
    room: "PrepRoom",
    state: "PlanningRun",
    learned: "Constraints",
    make: "Make",
    sources: dict[str, list[Draw]],
    load: dict[date, int],
) -> date | None:
    """Find the latest earlier working day that has the minutes for the make, and on which it can be made."""
    if any(demand.fresh for demand in make.lot.demands):
        return None
    last_use = max(demand.needed_on for demand in make.lot.demands)
    first = max(
        room.snapshot.today,
        last_use - timedelta(days=make.solution.shelf_life_days),
        *(learned.after.get(demand.id, date.min) for demand in make.lot.demands),
    )
    if make.solution.made_fresh:
        first = max(first, make.lot.make_on)
    limit, minutes = room.minutes, make.solution.minutes
    day = room.days.last_before(make.lot.make_on)
    while day is not None and day >= first:
        if load.get(day, 0) + minutes <= limit(day) and _possible(room, state, make, sources, day):
            return day
        day = room.days.last_before(day)
    return None


def _lots_of(state: "PlanningRun") -> Counter[str]:
    """Count the lots in which each demand is made."""
    return Counter(demand.id for make in state.makes.values() for demand in make.lot.demands)


def _sources(state: "PlanningRun") -> dict[str, list[Draw]]:
    """List what each make draws."""
    out: dict[str, list[Draw]] = defaultdict(list)
    for draws in state.draws.values():
        for draw in draws:
            if draw.demand.batch:
                out[draw.demand.batch].append(draw)
    return out


def _possible(room: "PrepRoom", state: "PlanningRun", make: "Make", sources: dict[str, list[Draw]], day: date) -> bool:
    """Tell whether all that the make draws on is there by the day, or can itself be made by then."""
    for draw in sources.get(make.id, ()):
        item, ref = draw.demand.item, draw.ref
        if draw.kind is LinkKind.BATCH:
            source = state.makes[ref]
            if source.lot.make_on > day and not (
                not source.solution.made_fresh and _possible(room, state, source, sources, day)
            ):
                return False
        elif item in state.orders and draw.source.to_place:
            rule = room.snapshot.rules.get(item)
            lead = rule.lead_days if rule else room.policy.default_lead_days
            if room.snapshot.today + timedelta(days=lead) > day:
                return False
        elif any(s.ref == ref and s.available > day for s in state.supplies[item]):
            return False
    return True
