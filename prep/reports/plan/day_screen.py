"""The plan on a screen or two: one day with all that it takes, and the overview that opens with today."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta

from prep.chemistry.preparation.steps import LABEL
from prep.planning.by_day import Day, Days
from prep.planning.model import Batch, Booking, Finding, OrderLine, Plan, Requirement, Snapshot
from prep.reports import terminal
from prep.reports.formatting import Names, day, period_text, short_date, short_day, weekday
from prep.reports.plan.screen import DEFERRAL, placed, show_finding, show_logging, show_steps, why_ordered

_MOST = 8
"""Warnings of a kind that the overview shows; the rest are counted."""
_DAYS = 5
"""Days with something to do that the overview shows one by one; then come weeks."""
_ORDERED = ("order-today", "order-late", "below-minimum")
"""Warnings that say no more than the orders and the shortages beside them."""


def show_day(plan: Plan, snapshot: Snapshot, on: date) -> None:
    """Print one day: what is wrong, what to make from what and how, what to set out, what to order."""
    days, names = Days(plan, snapshot), Names(snapshot)
    found = days.of(on)
    why = "" if snapshot.calendar.works(on) else f"; closed: {snapshot.calendar.closed.get(on, 'no working day')}"
    terminal.say(f"{day(on)}: {_work(found)}{why}", bold=True)
    if shown := [f for f in found.findings if f.code not in _ORDERED]:
        _head("NEEDS ATTENTION")
        for finding in shown:
            show_finding(finding)
    if found.batches:
        _head("TO MAKE")
        terminal.say("Label each before it leaves the bench, and log it with the command under it.", indent=2)
        places = {bottle.code: bottle.location for bottle in snapshot.bottles}
        users = plan.bookings()
        for number, batch in enumerate(found.batches, 1):
            _make(number, batch, names, places, users)
        _minds(found.batches)
    if found.bookings:
        _head("TO SET OUT")
        for booking in found.bookings:
            _set_out(booking, found.needs, snapshot, names)
    coming = next((other for other in days.busy() if other > on and days.of(other).bookings), None)
    if coming is not None and coming <= on + timedelta(days=4):
        terminal.say()
        terminal.say(f"Next, {day(coming)}:", bold=True)
        for booking in days.of(coming).bookings:
            terminal.say(_called(booking, snapshot), indent=2, hang=5)
    if found.orders:
        _head("TO ORDER")
        for line in found.orders:
            terminal.say(_order(line, names), indent=2, hang=4)
    terminal.say()
    terminal.say(DEFERRAL)


def show_overview(plan: Plan, snapshot: Snapshot, command: str) -> None:
    """Print the plan in short, today first; `command` is how it is asked for more."""
    days, names = Days(plan, snapshot), Names(snapshot)
    terminal.say(f"Plan for {day(plan.horizon.start)} to {day(plan.horizon.end)}, drawn up {day(plan.today)}")
    today = days.of(plan.today)
    _head(f"TODAY: {_work(today)}")
    for batch in today.batches:
        terminal.say(f"[ ] make   {_made(batch, names)}", indent=2, hang=11)
    for booking in today.bookings:
        terminal.say(f"[ ] set out  {_called(booking, snapshot)}", indent=2, hang=13)
    for line in today.orders:
        terminal.say(f"[ ] order  {_order(line, names)}", indent=2, hang=11)
    _attention(plan.findings, command)
    _coming(days, plan, names)
    terminal.say()
    for what, how in (
        ("How to make it", f"{command} --day today, or another DATE"),
        ("On paper", f"{command} --pdf day FILE"),
        ("Everything", f"{command} --steps, or --brief without the steps"),
    ):
        terminal.say(f"{what + ':':<16}{how}", hang=16)
    terminal.say(DEFERRAL)


def _head(title: str) -> None:
    terminal.say()
    terminal.say(title, bold=True)


def _work(found: Day) -> str:
    """`4 to make, about 70 of 240 min; 2 bookings; 1 order`."""
    parts = []
    if found.batches:
        parts.append(f"{len(found.batches)} to make, about {found.minutes} of {found.limit} min")
    for things, word in ((found.bookings, "booking"), (found.orders, "order")):
        if things:
            parts.append(f"{len(things)} {word}{'' if len(things) == 1 else 's'}")
    return "; ".join(parts) or "nothing to make, to set out or to order"


def _made(batch: Batch, names: Names) -> str:
    amount = names.amount(batch.solution, batch.amount)
    return f"{amount}  {names.of(batch.solution)} [{batch.solution}]"


def _make(number: int, batch: Batch, names: Names, places: Mapping[str, str], users: Mapping[str, str]) -> None:
    terminal.say(f"{number:>2} [ ] {_made(batch, names)} in {batch.vessel}", hang=7, bold=True)
    stand = [
        f"{take.ref} at {places[take.ref]}" if places.get(take.ref) else placed(take.kind, take.ref)
        for take in batch.takes
    ]
    for_ = dict.fromkeys(users.get(share.ref, share.ref) for share in batch.serves)
    terminal.say(
        f"from {', '.join(dict.fromkeys(stand))}; for {', '.join(for_)} from "
        f"{short_day(batch.first_use)}; use by {short_date(batch.use_by)}{_hazard(batch)}",
        indent=7,
    )
    show_steps([step for step in batch.steps if step != LABEL], indent=7)
    show_logging(batch, names, indent=7)


def _hazard(batch: Batch) -> str:
    """What is on its label in codes; the whole of it is on the label."""
    hazards = batch.hazards
    if hazards is None:
        return ""
    said = ", ".join(hazards.h)
    said = f"{hazards.signal}: {said}" if hazards.signal else said
    if not hazards.known:
        said = f"{said}, else not known: treat as hazardous" if said else "hazards not known: treat as hazardous"
    return f"; {said}" if said else ""


def _minds(batches: Sequence[Batch]) -> None:
    """Each caution once, with the makes that it is for."""
    said: dict[str, list[int]] = defaultdict(list)
    for number, batch in enumerate(batches, 1):
        for caution in batch.other_cautions:
            said[caution].append(number)
    if said:
        _head("MIND")
    for caution, numbers in said.items():
        which = "all" if len(numbers) == len(batches) > 1 else ", ".join(map(str, numbers))
        terminal.say(f"! {which}: {caution}", indent=2, hang=2)


def _called(booking: Booking, snapshot: Snapshot) -> str:
    """`B3, period 2, Lab1, A. Hollis: Metals in acid x2`."""
    demo = snapshot.demos.get(booking.demo)
    where = ", ".join(filter(None, (booking.code, period_text(booking.period), booking.room, booking.teacher)))
    return f"{where}: {demo.name if demo else booking.demo} x{booking.showings}"


def _set_out(booking: Booking, needs: Iterable[Requirement], snapshot: Snapshot, names: Names) -> None:
    terminal.say(f"[ ] {_called(booking, snapshot)}", indent=2, hang=4)
    for need in needs:
        if need.booking == booking.code:
            sources = [placed(share.kind, share.ref) for share in need.served]
            if need.short:
                sources.append(f"SHORT {names.amount(need.item, need.short)}")
            amount = names.amount(need.item, need.amount)
            terminal.say(f"{amount:>9}  {names.of(need.item)}, {' and '.join(sources)}", indent=4, hang=11)
    demo = snapshot.demos.get(booking.demo)
    if demo and demo.caution:
        terminal.say(f"! {demo.caution}", indent=6, hang=2)


def _order(line: OrderLine, names: Names) -> str:
    packs = f"{line.packs} x {names.amount(line.item, line.pack)}"
    return f"{packs}  {names.of(line.item)} ({why_ordered(line)}); comes {short_day(line.arrives)}" + (
        ", LATE" if line.late else ""
    )


def _attention(findings: Sequence[Finding], command: str) -> None:
    """Stops, then what to act on; notes are counted."""
    _head("NEEDS ATTENTION")
    left: list[str] = []
    shown = 0
    for severity, word in (("stop", "stop"), ("act", "thing to act on"), ("note", "note")):
        found = [f for f in findings if f.severity == severity and f.code not in _ORDERED]
        most = 0 if severity == "note" else _MOST
        for finding in found[:most]:
            show_finding(finding)
        shown += len(found[:most])
        if more := len(found[most:]):
            words = "things to act on" if severity == "act" and more > 1 else word + ("s" if more > 1 else "")
            left.append(f"{more} {words}")
    if left:
        terminal.say(f"{'And ' if shown else ''}{', '.join(left)}: {command} --brief", indent=2)
    elif not shown:
        terminal.say("Nothing.", indent=2)


def _coming(days: Days, plan: Plan, names: Names) -> None:
    """The next days one by one, then week by week."""
    ahead = [days.of(on) for on in days.busy() if on > plan.today]
    if not ahead:
        return
    rows = [_row(f"{weekday(one.on)} {short_day(one.on)}", [one], names) for one in ahead[:_DAYS]]
    weeks: dict[date, list[Day]] = defaultdict(list)
    for one in ahead[_DAYS:]:
        weeks[one.on - timedelta(days=one.on.weekday())].append(one)
    rows += [_row(f"{short_day(some[0].on)} to {short_day(some[-1].on)}", some, names) for some in weeks.values()]
    _head("COMING")
    terminal.table(("Day", "To make", "Minutes", "Bookings", "Order by then"), rows, right=(1, 2))


def _row(title: str, some: Sequence[Day], names: Names) -> tuple[str, str, str, str, str]:
    makes, minutes = sum(len(one.batches) for one in some), sum(one.minutes for one in some)
    limit = sum(one.limit for one in some)
    codes = [booking.code for one in some for booking in one.bookings]
    ordered = [names.of(line.item) for one in some for line in one.orders]
    return (
        title,
        str(makes or ""),
        f"{minutes} of {limit}" if makes and len(some) == 1 else str(minutes or ""),
        _few(codes) if len(some) == 1 else f"{len(codes) or ''}",
        _few(list(dict.fromkeys(ordered))),
    )


def _few(words: Sequence[str], most: int = 5) -> str:
    more = len(words) - most
    return ", ".join(words[:most]) + (f" and {more} more" if more > 0 else "")
