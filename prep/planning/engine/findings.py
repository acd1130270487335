"""What a person must know of a plan, worst first: shortages, late orders, bottles going off."""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from itertools import islice
from typing import TYPE_CHECKING

from prep.books import BottleStatus
from prep.chemistry import quantities
from prep.chemistry.model import StepKind
from prep.chemistry.preparation.after_opening import kept_open
from prep.findings import Finding, Severity
from prep.planning.draws import LinkKind
from prep.planning.model import Batch, Bottle, BottleLine, OrderLine, Requirement
from prep.planning.overdue import comes_on_the_day, days_late, on_the_day, overdue, waiting
from prep.plurals import plural
from prep.wording import AtTerminal, Sentence

if TYPE_CHECKING:
    from prep.planning.engine.context import PrepRoom
    from prep.planning.engine.exclusions import Shortage, UnservedReason
    from prep.planning.engine.explode import PlanningRun


def gather(
    room: "PrepRoom",
    state: "PlanningRun",
    short: "Mapping[str, Shortage]",
    requirements: Sequence[Requirement],
    batches: Sequence[Batch],
    bottles: Sequence[BottleLine],
    orders: Sequence[OrderLine],
) -> list[Finding]:
    """Gather every finding of the assembled plan."""
    placed, today = room.snapshot.orders, room.snapshot.today
    late = any(days_late(order, today) for order in placed)
    return [
        *_shortages(room, short, requirements),
        *_late_orders(room, orders),
        *overdue(placed, today, room.snapshot.catalogue, waiting(requirements, batches) if late else {}),
        *on_the_day(
            placed,
            room.snapshot.bookings,
            room.snapshot.catalogue,
            comes_on_the_day(placed, requirements, batches) if placed else {},
            room.snapshot.deliveries,
        ),
        *_bottles(room, state, bottles),
        *_below_usual(room, bottles, orders),
        *_shared_bottles(room, requirements, bottles),
        *_today(room, requirements, batches),
        *_full_days(room, batches),
        *_calendar(room),
        *_keeps_too_short(room, requirements),
        *_stands_too_short(room, batches),
        *_has_stood(room),
    ]


def _shortages(
    room: "PrepRoom", short: "Mapping[str, Shortage]", requirements: Sequence[Requirement]
) -> Iterable[Finding]:
    for need in requirements:
        if need.short:
            why = short[need.id].why
            yield Finding(
                Severity.STOP,
                why.code,
                need.id,
                f"Booking {need.booking} on {need.needed_on} is short of "
                f"{quantities.show(need.short, room.bench.measure_of(need.item))} of {room.name(need.item)}: "
                f"{why.message}",
                _cure(room, need, why),
            )


def _cure(room: "PrepRoom", need: Requirement, why: "UnservedReason") -> str:
    """Say what serves a need that is short; of what comes too late, also the day from which it does."""
    if why.arrives is None:
        return why.cure
    day = why.served_from(need.needed_on, room.days)
    where = f"it can be served from {day} on" if day else f"it can be served once that is there, from {why.arrives} on"
    return Sentence(why.cure, f" Else {where}", AtTerminal(f": prep book move {need.booking} --to DATE", "."))


def _late_orders(room: "PrepRoom", orders: Sequence[OrderLine]) -> Iterable[Finding]:
    today = room.snapshot.today
    now: list[str] = []
    low: list[str] = []
    for line in {line.item: line for line in reversed(orders)}.values():  # the first line of an item says it all
        name = room.name(line.item)
        if line.late:
            yield Finding(
                Severity.STOP,
                "order-late",
                line.item,
                f"{name}: order today; it comes on {line.arrives}, too late for what is needed by {line.needed_on}.",
                "No order placed today serves it: each booking that is short says from which day it can be shown.",
            )
        elif line.order_by <= today and line.for_minimum:
            kept = quantities.show(room.snapshot.rules[line.item].minimum, room.bench.measure_of(line.item))
            low.append(f"{name} (minimum {kept}, undercut on {line.below_minimum_on})")
        elif line.order_by <= today:
            now.append(name)
    cure = "The packs are under TO ORDER."
    if now:
        yield Finding(Severity.ACT, "order-today", "orders", f"Order today: {', '.join(sorted(now))}.", cure)
    if low:
        yield Finding(
            Severity.ACT,
            "below-minimum",
            "orders",
            f"Order today to keep the minimum stock; nothing booked waits for it: {', '.join(sorted(low))}.",
            Sentence(f"{cure} Another minimum", AtTerminal(": prep order rule ITEM --minimum AMOUNT")),
        )


def _below_usual(room: "PrepRoom", bottles: Sequence[BottleLine], orders: Sequence[OrderLine]) -> Iterable[Finding]:
    """Report what is held below the catalogue's minimum, used by no booking, and so not ordered."""
    held: dict[str, int] = defaultdict(int)
    for line in bottles:
        held[line.item] += line.end if line.use_by is None or line.use_by >= room.snapshot.today else 0
    coming = {order.item for order in room.snapshot.orders} | {line.item for line in orders}
    low = [
        room.name(item)
        for item, amount in held.items()
        if (rule := room.snapshot.rules.get(item)) and not rule.own and amount < rule.minimum and item not in coming
    ]
    if low:
        yield Finding(
            Severity.NOTE,
            "below-usual",
            "orders",
            f"Less than is usually kept, and not ordered, for nothing booked uses it: {', '.join(sorted(low))}.",
            Sentence("To keep a minimum of one", AtTerminal(": prep order rule ITEM --minimum AMOUNT")),
        )


def _bottles(room: "PrepRoom", state: "PlanningRun", bottles: Sequence[BottleLine]) -> Iterable[Finding]:
    today = room.snapshot.today
    status, solutions = {b.code: b for b in room.snapshot.bottles}, room.snapshot.solutions
    last_want: dict[str, date] = {}
    for item, demands in state.demands.items():
        if demands:
            last_want[item] = max([d.needed_on for d in demands])
    for line in bottles:
        bottle = status[line.code]
        solution = solutions.get(line.item)
        if solution is not None and solution.unstable and bottle.status != BottleStatus.DISCARDED and line.end > 0:
            wanted = any(demand.needed_on == today for demand in state.demands.get(line.item, ()))
            if not wanted or (line.use_by is not None and line.use_by < today):
                yield Finding(
                    Severity.STOP,
                    "destroy-at-once",
                    line.code,
                    f"Bottle {line.code} ({room.name(line.item)}) becomes explosive or unstable when kept, and its "
                    "period is over.",
                    Sentence(
                        "Destroy it at once, as its sheet says", AtTerminal(f", then: prep stock discard {line.code}")
                    ),
                )
            continue
        if bottle.status != BottleStatus.IN_SERVICE or bottle.amount <= 0 or line.use_by is None:
            continue
        if line.use_by < today:
            yield Finding(
                Severity.ACT,
                "out-of-date",
                line.code,
                f"{_named(room, line, bottle)} went out of date on {line.use_by}; the plan does not use it.",
                Sentence(
                    "Dispose of it",
                    AtTerminal(
                        f": prep stock discard {line.code}; if its label says another day: prep stock correct "
                        f"{line.code} --use-by DATE",
                        ".",
                    ),
                ),
            )
        elif line.end > 0 and line.item in last_want and line.use_by < last_want[line.item]:
            yield Finding(
                Severity.NOTE,
                "goes-off",
                line.code,
                f"{_named(room, line, bottle)} goes out of date on {line.use_by}, before its last use on "
                f"{last_want[line.item]}; what is left in it is not counted on.",
            )


def _named(room: "PrepRoom", line: BottleLine, bottle: Bottle) -> str:
    """Name a bottle: its code, what it holds, and its opening where that sets its last day."""
    opened = kept_open(line.item, line.use_by, bottle.opened, room.snapshot.days_open)
    return f"Bottle {line.code} ({room.name(line.item)}){opened}"


def _shared_bottles(
    room: "PrepRoom", requirements: Sequence[Requirement], bottles: Sequence[BottleLine]
) -> Iterable[Finding]:
    """Warn of a bottle that one booking empties, so that another booking of the item cannot draw on it."""
    by_item: dict[str, list[Requirement]] = defaultdict(list)
    booking_of: dict[str, str] = {}
    for need in sorted(requirements, key=lambda need: need.needed_on):
        by_item[need.item].append(need)
        booking_of[need.id] = need.booking
    days = {item: [need.needed_on for need in needs] for item, needs in by_item.items()}
    for line in bottles:
        users = [d for d in line.takes if d.user.kind is LinkKind.REQUIREMENT]
        if line.end > 0 or not users:
            continue
        last = max(d.on for d in users)
        drained = {d.user.ref for d in users}
        for need in islice(by_item[line.item], bisect_left(days[line.item], last), None):
            if line.use_by is not None and need.needed_on > line.use_by:
                break
            if need.id not in drained or any(s.ref != line.code for s in need.served) or need.short:
                first = booking_of[users[0].user.ref]
                if first == need.booking:
                    continue
                yield Finding(
                    Severity.NOTE,
                    "same-bottle",
                    line.code,
                    f"Bookings {first} and {need.booking} both want bottle {line.code} "
                    f"({room.name(line.item)}); it goes to the earlier, and {need.booking} is served "
                    f"{'short' if need.short else 'from elsewhere'}.",
                )
                break


def _today(room: "PrepRoom", requirements: Sequence[Requirement], batches: Sequence[Batch]) -> Iterable[Finding]:
    today, solutions = room.snapshot.today, room.snapshot.solutions
    wanted = {need.id for need in requirements if need.needed_on == today}
    late = [
        batch
        for batch in batches
        if not solutions[batch.solution].made_fresh and any(share.ref in wanted for share in batch.serves)
    ]
    if late:
        names = "; ".join(dict.fromkeys(solutions[batch.solution].name for batch in late))
        one = len(late) == 1
        message = f"Wanted today and still to be made: {names}."
        about = late[0].id if one else today.isoformat()
        yield Finding(Severity.ACT, "made-on-the-day", about, message, f"Make {'it' if one else 'them'} first.")


def _full_days(room: "PrepRoom", batches: Sequence[Batch]) -> Iterable[Finding]:
    """Report the days with more to make than there is time, which could not be levelled."""
    by_day: dict[date, list[Batch]] = defaultdict(list)
    for batch in batches:
        by_day[batch.make_on].append(batch)
    for day, makes in sorted(by_day.items()):
        minutes = sum(batch.minutes for batch in makes)
        limit, given = room.minutes(day), room.snapshot.calendar.minutes(day)
        less = f", less {given - limit} for setting out and clearing" if limit < given else ""
        if minutes > limit:
            yield Finding(
                Severity.ACT,
                "day-too-full",
                day.isoformat(),
                f"{day} has {plural(len(makes), 'make')}, about {minutes} minutes of work, "
                f"and the calendar gives {given}{less}; nothing more of it can be made earlier.",
                "Find help for the day, or move a booking.",
            )


def _calendar(room: "PrepRoom") -> Iterable[Finding]:
    """Report that there is no day to work on at all: one sentence before the many shortages that follow."""
    today, end = room.snapshot.today, room.horizon.end
    first = room.days.next_from(today)
    if end >= today and (first is None or first > end):
        calendar = room.snapshot.calendar
        why = "no weekday is a working day" if not calendar.weekdays else "every day is closed"
        yield Finding(
            Severity.STOP,
            "no-working-day",
            "calendar",
            f"The calendar has no working day from {today} to {end}: {why}; nothing can be made.",
            "Correct the weekdays or the closed days of the calendar.",
        )


def _keeps_too_short(room: "PrepRoom", requirements: Sequence[Requirement]) -> Iterable[Finding]:
    """Report solutions that go off before the day of use if made when they should be, so are made that day."""
    said: set[str] = set()
    solutions = room.snapshot.solutions
    for need in requirements:
        solution = solutions.get(need.item)
        if solution is None or solution.made_fresh or need.item in said or need.ready_by >= need.needed_on:
            continue
        ahead = (need.needed_on - need.ready_by).days
        if solution.shelf_life_days < ahead and any(share.kind is LinkKind.BATCH for share in need.served):
            said.add(need.item)
            keeps = plural(solution.shelf_life_days, "day")
            yield Finding(
                Severity.NOTE,
                "keeps-too-short",
                need.item,
                f"{solution.name} keeps for {keeps} and should be ready {ahead} days before booking {need.booking} on "
                f"{need.needed_on}; it is made on the day itself.",
                "Mark it as made fresh, or have things ready fewer days ahead.",
            )


def _stands_too_short(room: "PrepRoom", batches: Sequence[Batch]) -> Iterable[Finding]:
    """Report makes that are used before they have stood as long as their method says."""
    for batch in batches:
        solution = room.snapshot.solutions[batch.solution]
        ready = batch.make_on + timedelta(days=solution.stand_days)
        if batch.first_use >= ready:
            continue
        if any(step.kind in (StepKind.STAND, StepKind.SETTLE) for step in batch.steps):
            stands = plural(solution.stand_days, "day")
            yield Finding(
                Severity.ACT,
                "stands-too-short",
                batch.id,
                f"{solution.name} is to stand for {stands} before it is used; made on {batch.make_on} it is ready on "
                f"{ready}, and it is used on {batch.first_use}.",
                "Filter it and try it beforehand, or move the booking.",
            )


def _has_stood(room: "PrepRoom") -> Iterable[Finding]:
    """Say on the day on which a bottle has stood long enough what its method has done to it then."""
    today = room.snapshot.today
    for bottle in room.snapshot.bottles:
        solution = room.snapshot.solutions.get(bottle.item)
        if solution is None or not solution.stand_days or bottle.received is None or bottle.amount <= 0:
            continue
        ready = room.days.next_from(bottle.received + timedelta(days=solution.stand_days))
        if ready != today or bottle.status != BottleStatus.IN_SERVICE:
            continue
        steps = list(solution.method_steps)
        stands = max((n for n, step in enumerate(steps) if step.kind in (StepKind.STAND, StepKind.SETTLE)), default=-1)
        filters = [step for step in steps[stands + 1 :] if step.kind is StepKind.FILTER]
        if then := [f"filter it {one.text}".strip() for one in filters]:
            # Nothing on the books says by which route a bottle was made.
            diluted = (
                ", unless it was diluted from a stock that had been" if all(one.origins for one in filters) else ""
            )
            yield Finding(
                Severity.ACT,
                "has-stood",
                bottle.code,
                f"Bottle {bottle.code} ({solution.name}), of {bottle.received}, has stood for "
                f"{plural(solution.stand_days, 'day')}.",
                f"Before it is used, {' and '.join(then)}{diluted}.",
            )
