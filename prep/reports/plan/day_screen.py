"""One day of the plan on a screen: fetch, make, set out, what comes back, what to order, and what is wrong."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from itertools import groupby

from prep.chemistry.preparation.steps import LABEL
from prep.planning.by_day import Day, DayLine, Days, LineKind
from prep.planning.model import Batch, Booking, Need, OrderLine, Plan, Requirement, Snapshot
from prep.reports import terminal
from prep.reports.formatting import Names, day, period_text, short_date, short_day
from prep.reports.plan.screen import DEFERRAL, placed, show_finding, show_steps, why_ordered

_LINE = 7
"""Columns before the text of a line: its number and its box."""


def show_day(plan: Plan, snapshot: Snapshot, on: date, numbers: Mapping[str, int], logged: frozenset[str]) -> None:
    """Print one day, the work first; `numbers` of its lines by their keys, and those that are `logged` already."""
    _DayScreen(plan, snapshot, on, numbers, logged).show()


class _DayScreen:
    def __init__(
        self, plan: Plan, snapshot: Snapshot, on: date, numbers: Mapping[str, int], logged: frozenset[str]
    ) -> None:
        self.plan, self.snapshot, self.names = plan, snapshot, Names(snapshot)
        self.days = Days(plan, snapshot)
        self.found = self.days.of(on)
        self.places = {bottle.code: bottle.location for bottle in snapshot.bottles}
        self.numbers, self.logged = numbers, logged
        self.lines: dict[tuple[LineKind, str], DayLine] = {(one.kind, one.ref): one for one in self.found.lines()}

    def show(self) -> None:
        found, on, calendar = self.found, self.found.on, self.snapshot.calendar
        why = "" if calendar.works(on) else f"; closed: {calendar.closed.get(on, 'no working day')}"
        terminal.say(f"{day(on)}: {work(found)}{why}", bold=True)
        self._fetch()
        self._makes()
        self._set_out()
        self._comes_back()
        self._orders()
        self._wrong()
        self._summary()

    def line(self, kind: LineKind, ref: str, text: str, *, bold: bool = False) -> None:
        """A line of the day with its number and its box."""
        one = self.lines[kind, ref]
        tick = "x" if one.key in self.logged else " "
        terminal.say(f"{self.numbers.get(one.key, 0) or '':>2} [{tick}] {text}", hang=_LINE, bold=bold)

    def _fetch(self) -> None:
        if not self.found.fetches:
            return
        head("FETCH")
        for place, some in groupby(self.found.fetches, key=lambda one: one.place):
            bottles = [
                f"{one.bottle} {self.names.of(one.item)} ({self.names.amount(one.item, one.amount, 3)})" for one in some
            ]
            terminal.say(f"{place or 'no place':<6} {'; '.join(bottles)}", indent=2, hang=7)

    def _makes(self) -> None:
        if not self.found.batches:
            return
        head("MAKE")
        users = self.plan.bookings()
        for batch in self.found.batches:
            self.line(LineKind.MAKE, batch.id, f"{made(batch, self.names)} in {batch.vessel}", bold=True)
            stand = [take.ref if take.kind == "bottle" else placed(take.kind, take.ref) for take in batch.takes]
            keep = [
                step.text.removeprefix(LABEL.text).strip() for step in batch.steps if step.text.startswith(LABEL.text)
            ]
            for_ = dict.fromkeys(users.get(share.ref, share.ref) for share in batch.serves)
            terminal.say(
                f"from {', '.join(dict.fromkeys(stand))}; for {', '.join(for_)} from {short_day(batch.first_use)}; "
                f"use by {short_date(batch.use_by)}{_hazard(batch)}. {' '.join(keep)}".rstrip(),
                indent=_LINE,
            )
            show_steps([step for step in batch.steps if not step.text.startswith(LABEL.text)], indent=_LINE)
        self._minds(self.found.batches)

    def _minds(self, batches: Sequence[Batch]) -> None:
        """Each caution once, with the makes that it is for."""
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
                for text in self._things(booking):
                    terminal.say(text, indent=_LINE, hang=3)
                demo = self.snapshot.demos.get(booking.demo)
                if demo and demo.caution:
                    terminal.say(f"! {demo.caution}", indent=_LINE, hang=2)

    def _titled(self, booking: Booking) -> str:
        demo = self.snapshot.demos.get(booking.demo)
        who = f", {booking.teacher}" if booking.teacher else ""
        return f"{booking.code} {demo.name if demo else booking.demo} x{booking.showings}{who}"

    def _things(self, booking: Booking) -> list[str]:
        """What is put out, per vessel and showing, and the bottles that it comes from."""
        demo = self.snapshot.demos.get(booking.demo)
        needs = {need.item: need for need in self.found.needs if need.booking == booking.code}
        out: list[str] = []
        said: set[str] = set()
        for need in demo.needs if demo else ():
            each = f"{_vessel(need)}each {self._each(need, needs.get(need.item))} {self.names.of(need.item)}"
            if need.note:
                each += f" ({need.note})"
            if need.item in needs and need.item not in said:
                said.add(need.item)
                each += f"; in all {self._from(needs[need.item])}"
            out.append(each)
        out += [f"{self.names.of(item)}: {self._from(need)}" for item, need in needs.items() if item not in said]
        return out

    def _each(self, need: Need, in_all: Requirement | None) -> str:
        if need.drops:
            return f"{need.drops} drops"
        if need.until and in_all is not None:
            return f"until {need.until}"
        return self.names.amount(need.item, need.per_showing)

    def _from(self, need: Requirement) -> str:
        """`220 mL in all from Q9V3, PREP`; what is short comes first."""
        amount = self.names.amount
        sources = [
            f"{amount(need.item, share.amount)} from {self.where(share.kind, share.ref)}" for share in need.served
        ]
        if need.short:
            sources.insert(0, f"SHORT {amount(need.item, need.short)}")
        return " and ".join(sources)

    def where(self, kind: str, ref: str) -> str:
        """A bottle by its code and place, and anything else as it is called."""
        place = self.places.get(ref) if kind == "bottle" else None
        return f"{ref}, {place}" if place else placed(kind, ref)

    def _comes_back(self) -> None:
        if not self.found.bookings:
            return
        head("COMES BACK")
        for booking in self.found.bookings:
            bottles = dict.fromkeys(
                share.ref
                for need in self.found.needs
                if need.booking == booking.code
                for share in need.served
                if share.kind == "bottle"
            )
            back = "; ".join(f"{code} to {self.places[code]}" for code in bottles if self.places.get(code))
            demo = self.snapshot.demos.get(booking.demo)
            streams: dict[str, list[str]] = defaultdict(list)
            for left in demo.leftovers if demo else ():
                streams[left.stream].append(left.what)
            waste = "; ".join(f"{', '.join(whats)}: {stream}" for stream, whats in streams.items())
            said = "; ".join(filter(None, (back, waste))) or "nothing to put back"
            self.line(LineKind.SHOWN, booking.code, f"{booking.code}  {said}")

    def _orders(self) -> None:
        if self.found.orders:
            head("ORDER")
            for line in self.found.orders:
                self.line(LineKind.ORDER, line.id, order_said(line, self.names))
        if self.found.deliveries:
            head("ARRIVES")
            for one in self.found.deliveries:
                order = one.order
                said = f"{order.code}  {self.names.amount(order.item, order.amount)} of {self.names.of(order.item)}"
                if one.days_late:
                    said += f"; {overdue(one.days_late)}, due {short_day(order.due)}: ask for it"
                if one.bookings:
                    said += f"; {', '.join(one.bookings)} wait{'s' if len(one.bookings) == 1 else ''} for it"
                self.line(LineKind.ARRIVED, order.code, said)
        if self.found.discards:
            head("DISCARD")
            for bottle in self.found.discards:
                place = f", {bottle.location}" if bottle.location else ""
                said = f"{bottle.code}{place}  {self.names.of(bottle.item)}; went out of date on {bottle.use_by}"
                self.line(LineKind.DISCARD, bottle.code, said)

    def _wrong(self) -> None:
        if self.found.wrong:
            head("WRONG")
            for finding in self.found.wrong:
                show_finding(finding)

    def _summary(self) -> None:
        """What comes next, how to log, and the day in one line: the last that stands on a terminal."""
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
            for severity, word in (("stop", "STOP"), ("act", "to act on"))
            if (count := sum(1 for one in self.found.wrong if one.severity == severity))
        ]
        terminal.say(f"{work(self.found)}{'; ' if wrong else ''}{', '.join(wrong)}.", bold=True)
        terminal.say(DEFERRAL)


def _vessel(need: Need) -> str:
    return f"{need.vessel}, " if need.vessel else ""


def overdue(days: int) -> str:
    """`OVERDUE by 1 day`."""
    return f"OVERDUE by {days} day{'' if days == 1 else 's'}"


def head(title: str) -> None:
    """A heading after an empty line."""
    terminal.say()
    terminal.say(title, bold=True)


def work(found: Day) -> str:
    """`4 to make, about 70 of 240 min; 2 bookings; 1 order`."""
    parts = []
    if found.batches:
        parts.append(f"{len(found.batches)} to make, about {found.minutes} of {found.limit} min")
    for things, word in ((found.bookings, "booking"), (found.orders, "order")):
        if things:
            parts.append(f"{len(things)} {word}{'' if len(things) == 1 else 's'}")
    if late := [one for one in found.deliveries if one.days_late]:
        parts.append(f"{len(late)} overdue")
    return "; ".join(parts) or "nothing to make, to set out or to order"


def made(batch: Batch, names: Names) -> str:
    """`1.2 L  Copper(II) sulfate, 0.5 mol/L [cuso4-0.5]`."""
    amount = names.amount(batch.solution, batch.amount)
    return f"{amount}  {names.of(batch.solution)} [{batch.solution}]"


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


def called(booking: Booking, snapshot: Snapshot) -> str:
    """`B3, period 2, Lab1, A. Hollis: Metals in acid x2`."""
    demo = snapshot.demos.get(booking.demo)
    where = ", ".join(filter(None, (booking.code, period_text(booking.period), booking.room, booking.teacher)))
    return f"{where}: {demo.name if demo else booking.demo} x{booking.showings}"


def order_said(line: OrderLine, names: Names) -> str:
    """`1 x 500 g  Sodium chloride (needed 18 Jan); comes 15 Jan`."""
    packs = f"{line.packs} x {names.amount(line.item, line.pack)}"
    return f"{packs}  {names.of(line.item)} ({why_ordered(line)}); comes {short_day(line.arrives)}" + (
        ", LATE" if line.late else ""
    )
