"""The plan on a terminal: what needs attention, then day by day what to make, then what it takes and costs."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from prep.chemistry.model import StepKind
from prep.chemistry.preparation.steps import WrittenStep, gives
from prep.chemistry.quantities import rounded_down
from prep.planning.by_day import made_on
from prep.planning.draws import Share, Source
from prep.planning.model import Batch, OrderLine, Plan, Requirement, Snapshot
from prep.planning.set_out import how_often, sensibly
from prep.reports import terminal
from prep.reports.finding_texts import show_findings
from prep.reports.formatting import ItemNames, day, logging_line, period_text, short_day
from prep.safety.deferral import DEFERRAL


def show_plan(plan: Plan, snapshot: Snapshot, *, brief: bool = False) -> None:
    """Print the whole plan; `brief` leaves out the steps of each make."""
    names = ItemNames(snapshot)
    terminal.say(f"Plan for {day(plan.horizon.start)} to {day(plan.horizon.end)}, drawn up {day(plan.today)}")
    terminal.say()
    terminal.say("NEEDS ATTENTION", bold=True)
    show_findings(plan.findings, "Nothing.", indent=2)
    _makes(plan, names, brief=brief)
    _bookings(plan, snapshot, names)
    _consumed(plan, names)
    if plan.orders:
        show_orders(plan, snapshot)
    terminal.say()
    terminal.say(DEFERRAL)


def placed(source: Source, days: Mapping[str, date], today: date | None = None) -> str:
    """Say where something is drawn from: `bottle K6G7`, `what is made on Mon 18 Jan`, `what is to be ordered`."""
    if source.to_place:
        return "what is to be ordered"
    if source.ref in days:
        on = days[source.ref]
        return "what is made today" if on == today else f"what is made on {short_day(on)}"
    return f"{source.kind} {source.ref}"


def served(serves: Iterable[Share], names: ItemNames, bookings: Mapping[str, str]) -> str:
    """Name whom a batch serves: bookings by their codes, other makes by their solutions, each once."""
    serves = list(serves)
    for_makes = [names.of(s.source.item) for s in serves if s.source.item and s.ref not in bookings]
    booked = [bookings.get(s.ref) or s.ref for s in serves if s.ref in bookings or not s.source.item]
    return ", ".join([*dict.fromkeys(booked), *some_of(for_makes)])


_NAMED = 2


def some_of(makes: Iterable[str]) -> list[str]:
    """Name the other makes that a make goes into; of many the first, and how many more there are."""
    found = list(dict.fromkeys(makes))
    return found if len(found) <= _NAMED else [f"{found[0]} and {len(found) - 1} other makes"]


def _makes(plan: Plan, names: ItemNames, *, brief: bool) -> None:
    terminal.say()
    terminal.say("TO MAKE", bold=True)
    if plan.batches:
        terminal.say("Log each when it is made, with the command under it.", indent=2)
    else:
        terminal.say("Nothing: everything booked is on the shelf.", indent=2)
    bookings = plan.bookings()
    by_day: dict[object, list[Batch]] = defaultdict(list)
    for batch in plan.batches:
        by_day[batch.make_on].append(batch)
    for batches in by_day.values():
        on = batches[0].make_on
        minutes = sum(batch.minutes for batch in batches)
        terminal.say()
        terminal.say(f"{day(on)}  ({len(batches)} to make, about {minutes} min)", bold=True)
        for batch in batches:
            _batch(batch, names, bookings, brief=brief)


def _batch(batch: Batch, names: ItemNames, bookings: Mapping[str, str], *, brief: bool) -> None:
    """Print one make task: what, how much, in what; the steps; where it goes."""
    amount = names.amount(batch.solution, batch.amount)
    terminal.say(f"[ ] {amount}  {names.of(batch.solution)} [{batch.solution}]  in {batch.vessel}", indent=2, hang=4)
    terminal.say(
        f"use by {day(batch.use_by)}; first used {short_day(batch.first_use)}, last {short_day(batch.last_use)}"
        + _made_strength(batch),
        indent=6,
    )
    if reason := batch.unusual:
        terminal.say(f"{reason[0].upper()}{reason[1:]}.", indent=6)
    if not brief:
        show_steps(batch.steps, indent=6)
        if batch.hazards:
            terminal.say(f"Hazards: {batch.hazards.says}", indent=6)
        for caution in batch.other_cautions:
            terminal.say(f"! {caution}", indent=6, hang=2)
    for_ = ", ".join(
        f"{served((s,), names, bookings)} {names.amount(batch.solution, s.amount, 3)}" for s in batch.serves
    )
    terminal.say(f"For: {for_}", indent=6, hang=5)
    if batch.left_over:
        over = rounded_down(batch.left_over, 2)
        terminal.say(f"Left over: {names.amount(batch.solution, over, 2)}", indent=6)
    show_logging(batch, names, indent=6)


def show_logging(batch: Batch, names: ItemNames, indent: int) -> None:
    """Print the command that logs a make as its instructions say, on one line to copy."""
    terminal.say(f"Log it: {logging_line(batch, names)}", indent=indent, whole=True)


def show_steps(steps: Sequence[WrittenStep], indent: int) -> None:
    """Print the instructions, numbered; a caution stands before its step without a number."""
    number = 0
    for step in steps:
        if step.kind is StepKind.CAUTION:
            terminal.say(f"! {step.text}", indent=indent, hang=3)
            continue
        number += 1
        terminal.say(f"{number}. {step.text}", indent=indent, hang=3)


def _made_strength(batch: Batch) -> str:
    if batch.strength is None or batch.uncertainty_pct is None:
        return ""

    return f"; gives {gives(batch.strength, batch.uncertainty_pct)}"


def _bookings(plan: Plan, snapshot: Snapshot, names: ItemNames) -> None:
    bookings = {b.code: b for b in snapshot.bookings}
    days, seen = made_on(plan), ""
    for need in plan.requirements:
        booking = bookings[need.booking]
        if not seen:
            terminal.say()
            terminal.say("WHAT EACH BOOKING GETS", bold=True)
        if booking.code != seen:
            seen = booking.code
            where = ", ".join(text for text in (booking.room, booking.teacher) if text)
            when = f"{short_day(booking.on)} {period_text(booking.period)}"
            terminal.say(
                f"{booking.code}  {when}  {booking.what} {how_often(booking)}" + (f"  ({where})" if where else ""),
                indent=2,
                hang=5,
            )
        short = f": SHORT of {lacking(need, names)}" if need.short else ""
        sources = f", from {', '.join(placed(s.source, days) for s in need.served)}" if need.served else ""
        amount = sensibly(need.amount, names.measure(need.item))
        terminal.say(f"{amount:>9}  {names.of(need.item)}{short}{sources}", indent=4, hang=11)


def lacking(need: Requirement, names: ItemNames) -> str:
    """Write how much of a need is short, rounded up: the whole is not a second figure beside what is measured out."""
    return "all of it" if need.short == need.amount else sensibly(need.short, names.measure(need.item))


def _consumed(plan: Plan, names: ItemNames) -> None:
    used: dict[str, int] = defaultdict(int)
    start: dict[str, int] = defaultdict(int)
    end: dict[str, int] = defaultdict(int)
    for line in plan.bottles:
        start[line.item] += line.start
        end[line.item] += line.end
        used[line.item] += line.start - line.end
    rows = [
        (
            names.of(item),
            names.amount(item, start[item]),
            names.amount(item, amount),
            names.amount(item, end[item]),
        )
        for item, amount in sorted(used.items(), key=lambda pair: names.of(pair[0]).lower())
        if amount
    ]
    if rows:
        terminal.say()
        terminal.say("WHAT IS CONSUMED", bold=True)
        terminal.table(("Item", "On the shelf", "Taken", "Left"), rows, right=(1, 2, 3))


def show_orders(plan: Plan, snapshot: Snapshot) -> None:
    """Print what to buy, by when."""
    names = ItemNames(snapshot)
    rows = [
        (
            "today" if line.order_by <= plan.today else short_day(line.order_by),
            f"{line.packs} x {names.amount(line.item, line.pack)}",
            names.of(line.item),
            why_ordered(line),
            short_day(line.arrives) + (", late" if line.late else ""),
        )
        for line in plan.orders
    ]
    terminal.say()
    terminal.say("TO ORDER", bold=True)
    if rows:
        terminal.table(("Order by", "Packs", "Item", "Why", "Arrives"), rows)
    else:
        terminal.say("Nothing.", indent=2)


def why_ordered(line: OrderLine) -> str:
    """Say why something is ordered: `needed 14 Jan`, or `its minimum` where nothing booked waits for it."""
    if line.for_minimum:
        return "its minimum" + (
            "" if line.needed_on == line.below_minimum_on else f", needed {short_day(line.needed_on)}"
        )
    return f"needed {short_day(line.needed_on)}" + (", minimum" if line.below_minimum_on else "")
