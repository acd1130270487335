"""The plan on a screen: the overview, today first, then the days and weeks to come."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta

from prep.findings import Finding
from prep.planning.by_day import PlanDay, PlanDays
from prep.planning.model import Plan, Snapshot
from prep.reports import terminal
from prep.reports.finding_texts import show_finding
from prep.reports.formatting import ItemNames, day, short_day, weekday
from prep.reports.plan.day_screen import called, head, made, order_said, work
from prep.safety.deferral import DEFERRAL

_MOST = 8
"""Warnings of a kind that the overview shows; the rest are counted."""
_DAYS = 5
"""Days with something to do that the overview shows one by one; then come weeks."""
_ORDERED = ("order-today", "order-late", "below-minimum")
"""Warnings that say no more than the orders and the shortages beside them."""


def show_overview(plan: Plan, snapshot: Snapshot, command: str) -> None:
    """Print the plan in short, today first; `command` is how the reader asks for more."""
    days, names = PlanDays(plan, snapshot), ItemNames(snapshot)
    terminal.say(f"Plan for {day(plan.horizon.start)} to {day(plan.horizon.end)}, drawn up {day(plan.today)}")
    today = days.of(plan.today)
    head(f"TODAY: {work(today)}")
    for batch in today.batches:
        terminal.say(f"[ ] make   {made(batch, names)}", indent=2, hang=11)
    for booking in today.bookings:
        terminal.say(f"[ ] set out  {called(booking, snapshot)}", indent=2, hang=13)
    for line in today.orders:
        terminal.say(f"[ ] order  {order_said(line, names)}", indent=2, hang=11)
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


def _attention(findings: Sequence[Finding], command: str) -> None:
    """Print stops, then what to act on; notes are counted."""
    head("NEEDS ATTENTION")
    left: list[str] = []
    shown = 0
    for severity, word in (("stop", "stop"), ("act", "thing to act on"), ("note", "note")):
        found = [f for f in findings if f.severity == severity and f.code not in _ORDERED]
        most = 0 if severity == "note" else _MOST
        for finding in found[:most]:
            show_finding(finding, indent=2)
        shown += len(found[:most])
        if more := len(found[most:]):
            words = "things to act on" if severity == "act" and more > 1 else word + ("s" if more > 1 else "")
            left.append(f"{more} {words}")
    if left:
        terminal.say(f"{'And ' if shown else ''}{', '.join(left)}: {command} --brief", indent=2)
    elif not shown:
        terminal.say("Nothing.", indent=2)


def _coming(days: PlanDays, plan: Plan, names: ItemNames) -> None:
    """Print the next days one by one, then week by week."""
    ahead = [days.of(on) for on in days.busy() if on > plan.today]
    if not ahead:
        return
    rows = [_row(f"{weekday(one.on)} {short_day(one.on)}", [one], names) for one in ahead[:_DAYS]]
    weeks: dict[date, list[PlanDay]] = defaultdict(list)
    for one in ahead[_DAYS:]:
        weeks[one.on - timedelta(days=one.on.weekday())].append(one)
    rows += [_row(f"{short_day(some[0].on)} to {short_day(some[-1].on)}", some, names) for some in weeks.values()]
    head("COMING")
    terminal.table(("Day", "To make", "Minutes", "Bookings", "Order by then"), rows, right=(1, 2))


def _row(title: str, some: Sequence[PlanDay], names: ItemNames) -> tuple[str, str, str, str, str]:
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
