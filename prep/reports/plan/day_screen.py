"""One day of the plan on a screen: fetch, make, set out, what comes back, what to order, and what is wrong."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from itertools import groupby

from prep.chemistry.model import StepKind
from prep.chemistry.preparation.steps import keeping_of
from prep.findings import Severity
from prep.planning.by_day import DayLine, LineKind, PlanDay, PlanDays
from prep.planning.draws import LinkKind
from prep.planning.model import Batch, Booking, OrderLine, Plan, Snapshot
from prep.planning.set_out import how_often
from prep.plurals import plural
from prep.reports import terminal
from prep.reports.finding_texts import show_finding
from prep.reports.formatting import ItemNames, day, period_text, short_date, short_day
from prep.reports.plan.day_texts import DayTexts
from prep.reports.plan.screen import placed, served, show_steps, why_ordered
from prep.safety.deferral import DEFERRAL

_LINE = 7
"""Columns before the text of a line: its number and its box."""


def show_day(plan: Plan, snapshot: Snapshot, on: date, numbers: Mapping[str, int], logged: frozenset[str]) -> None:
    """Print one day, the work first; `numbers` of its lines by their keys, and those that are `logged` already."""
    _DayScreen(plan, snapshot, on, numbers, logged).show()


class _DayScreen:
    def __init__(
        self, plan: Plan, snapshot: Snapshot, on: date, numbers: Mapping[str, int], logged: frozenset[str]
    ) -> None:
        self.plan, self.snapshot, self.names = plan, snapshot, ItemNames(snapshot)
        self.days = PlanDays(plan, snapshot)
        self.found = self.days.of(on)
        self.texts = DayTexts(self.found, snapshot)
        self.numbers, self.logged = numbers, logged
        self.lines: dict[tuple[LineKind, str], DayLine] = {(one.kind, one.ref): one for one in self.found.lines()}

    def show(self) -> None:
        found, on, calendar = self.found, self.found.on, self.snapshot.calendar
        why = "" if calendar.works(on) else f"; closed: {calendar.closed.get(on, 'no working day')}"
        terminal.say(f"{day(on)}: {work(found)}{why}", bold=True)
        self._arrives()
        self._fetch()
        self._makes()
        self._set_out()
        self._comes_back()
        self._unsaid()
        self._orders()
        self._wrong()
        self._summary()

    def line(self, kind: LineKind, ref: str, text: str, *, bold: bool = False) -> None:
        """Print a line of the day with its number and its box."""
        one = self.lines[kind, ref]
        tick = "x" if one.key in self.logged else " "
        terminal.say(f"{self.numbers.get(one.key, 0) or '':>2} [{tick}] {text}", hang=_LINE, bold=bold)

    def _arrives(self) -> None:
        if self.found.deliveries:
            head("ARRIVES")
            for one in self.found.deliveries:
                self.line(LineKind.ARRIVED, one.order.code, self.texts.delivery(one))

    def _fetch(self) -> None:
        if self.found.fetches:
            head("FETCH")
        for one in self.texts.fetches():
            terminal.say(f"{one.place:<6} {one.bottles}", indent=2, hang=7)

    def _makes(self) -> None:
        if not self.found.batches:
            return
        head("MAKE")
        found, users = self.found, self.plan.bookings()
        for batch in self.found.batches:
            self.line(LineKind.MAKE, batch.id, f"{made(batch, self.names)} in {batch.vessel}", bold=True)
            stand = [
                take.ref if take.kind is LinkKind.BOTTLE else placed(take.source, found.made_on, found.on)
                for take in batch.takes
            ]
            keep = keeping_of(self.snapshot.solutions[batch.solution])
            terminal.say(
                f"from {', '.join(dict.fromkeys(stand))}; for {served(batch.serves, self.names, users)} "
                f"from {short_day(batch.first_use)}; "
                f"use by {short_date(batch.use_by)}{_hazard(batch)}{_size(batch)}. {keep}".rstrip(),
                indent=_LINE,
            )
            show_steps([step for step in batch.steps if step.kind is not StepKind.LABEL], indent=_LINE)
        self._minds(self.found.batches)

    def _minds(self, batches: Sequence[Batch]) -> None:
        """Print each caution once, with the makes that it is for."""
        said: dict[str, list[str]] = defaultdict(list)
        for batch in batches:
            number = str(self.numbers.get(self.lines[LineKind.MAKE, batch.id].key, ""))
            for caution in batch.other_cautions:
                said[caution].append(number)
        for caution, numbers in said.items():
            which = "all makes" if len(numbers) == len(batches) > 1 else ", ".join(numbers)
            terminal.say(f"! {which}: {caution}", indent=2, hang=2)

    def _set_out(self) -> None:
        if not self.found.bookings:
            return
        head("SET OUT")
        for (period, room), some in groupby(self.found.bookings, key=lambda b: (b.period, b.room)):
            terminal.say(", ".join(filter(None, (room, period_text(period)))) or "no room", indent=2, bold=True)
            for booking in some:
                self.line(LineKind.SET_OUT, booking.code, self._titled(booking))
                for thing in self.texts.things(booking):
                    where = f", {thing.source}" if thing.source else ""
                    terminal.say(f"{thing.each} {thing.what}{where}".strip(), indent=_LINE, hang=3)
                for said in self.texts.minds(booking):
                    terminal.say(f"! {said}", indent=_LINE, hang=2)

    def _titled(self, booking: Booking) -> str:
        who = f", {booking.teacher}" if booking.teacher else ""
        return f"{booking.code} {self.texts.names.booked(booking)} {how_often(booking)}{who}"

    def _comes_back(self) -> None:
        if not self.found.bookings:
            return
        head("COMES BACK")
        for booking in self.found.bookings:
            self.line(LineKind.SHOWN, booking.code, f"{booking.code}  {self.texts.back(booking)}")

    def _unsaid(self) -> None:
        """Ask of the bookings of earlier days whether they were shown: until then the books say nothing of them."""
        if not self.found.unsaid:
            return
        head("NOT SAID YET")
        for booking in self.found.unsaid:
            self.line(LineKind.SHOWN, booking.code, self.texts.unsaid(booking))
        if more := self.texts.unsaid_more():
            terminal.say(more, indent=_LINE)
        code = self.found.unsaid[-1].code
        how = f"prep book done {code}"
        if number := self.numbers.get(self.lines[LineKind.SHOWN, code].key):
            how = f"prep log {number}"
        terminal.say(f"Shown or not? {how}, or: prep book cancel {code}", indent=_LINE)

    def _orders(self) -> None:
        if self.found.orders:
            head("ORDER")
            for line in self.found.orders:
                self.line(LineKind.ORDER, line.id, order_said(line, self.names))
        if self.found.discards or self.found.destroys:
            head("DISCARD")
            for batch in self.found.destroys:
                self.line(LineKind.DISCARD, batch.id, self.texts.destroy(batch))
            for bottle in self.found.discards:
                self.line(LineKind.DISCARD, bottle.code, self.texts.discard(bottle))

    def _wrong(self) -> None:
        if self.found.wrong:
            head("WRONG")
            for finding in self.found.wrong:
                show_finding(finding, indent=2)

    def _summary(self) -> None:
        """Print what comes next, how to log, and the day in one line: the last that stands on a terminal."""
        terminal.say()
        on = self.found.on
        coming = next((one for one in self.days.busy() if one > on and self.days.of(one).bookings), None)
        if coming is not None and coming <= on + timedelta(days=4):
            booked = "; ".join(self._titled(booking) for booking in self.days.of(coming).bookings)
            terminal.say(f"Next, {day(coming)}: {booked}", hang=3)
        if self.numbers:
            first = min(self.numbers.values())
            terminal.say(
                f"Log a line when it is done: prep log {first}; what was otherwise as options (prep log --help)."
            )
        wrong = [
            f"{count} {word}"
            for severity, word in ((Severity.STOP, "STOP"), (Severity.ACT, "to act on"))
            if (count := sum(1 for one in self.found.wrong if one.severity == severity))
        ]
        terminal.say(f"{work(self.found)}{'; ' if wrong else ''}{', '.join(wrong)}.", bold=True)
        terminal.say(DEFERRAL)


def head(title: str) -> None:
    """Print a heading after an empty line."""
    terminal.say()
    terminal.say(title, bold=True)


def work(found: PlanDay) -> str:
    """Sum a day up: `4 to make, about 70 of 240 min; 2 bookings; 1 order`."""
    parts = []
    if found.batches:
        parts.append(f"{len(found.batches)} to make, about {found.minutes} of {found.limit} min")
    for things, word in ((found.bookings, "booking"), (found.orders, "order")):
        if things:
            parts.append(plural(len(things), word))
            if word == "booking":
                parts[-1] += f", about {found.setting_out} min to set out and clear"
    if late := [one for one in found.deliveries if one.days_late]:
        parts.append(f"{len(late)} overdue")
    if found.unsaid:
        parts.append(f"{plural(len(found.unsaid) + found.unsaid_more, 'booking')} not said yet")
    return "; ".join(parts) or "nothing to make, to set out or to order"


def made(batch: Batch, names: ItemNames) -> str:
    """Name a make: `1.2 L  Copper(II) sulfate, 0.5 mol/L [cuso4-0.5]`."""
    amount = names.amount(batch.solution, batch.amount)
    return f"{amount}  {names.of(batch.solution)} [{batch.solution}]"


def _hazard(batch: Batch) -> str:
    """Write what is on its label in codes; the whole of it is on the label."""
    hazards = batch.hazards
    if hazards is None:
        return ""
    said = ", ".join(hazards.h)
    said = f"{hazards.signal}: {said}" if hazards.signal else said
    if not hazards.known:
        said = f"{said}, else not known: treat as hazardous" if said else "hazards not known: treat as hazardous"
    return f"; {said}" if said else ""


def _size(batch: Batch) -> str:
    """Say why it is not the usual volume."""
    return f"; {batch.unusual}" if batch.unusual else ""


def called(booking: Booking, snapshot: Snapshot) -> str:
    """Name a booking: `B3, period 2, Lab1, A. Hollis: Metals in acid x2`."""
    where = ", ".join(filter(None, (booking.code, period_text(booking.period), booking.room, booking.teacher)))
    return f"{where}: {ItemNames(snapshot).booked(booking)} {how_often(booking)}"


def order_said(line: OrderLine, names: ItemNames) -> str:
    """Say what to order: `1 x 500 g  Sodium chloride (needed 18 Jan); comes 15 Jan`."""
    packs = f"{line.packs} x {names.amount(line.item, line.pack)}"
    return f"{packs}  {names.of(line.item)} ({why_ordered(line)}); comes {short_day(line.arrives)}" + (
        ", LATE" if line.late else ""
    )
