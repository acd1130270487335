"""A plan as the plain rows of day sheets and of calendars."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import TypeVar

from prep.planning.model import Batch, Finding, OrderLine, Plan, Requirement, Share, Snapshot
from prep.reports.rows import BookingRow, DayRow, MakeRow, OrderRow, TakeRow, TaskRow
from prep.reports.words import MIND, Names, day, period_text, short_day

_K = TypeVar("_K")
_V = TypeVar("_V")
_ON_THE_DAY = ("out-of-date", "order-today", "below-minimum")
"""What is to be done on the day the plan is drawn up, whatever it is about."""


def day_rows(plan: Plan, snapshot: Snapshot, days: Sequence[date]) -> list[DayRow]:
    """What each of the days has: makes, bookings, orders to place by then, warnings."""
    return _Sheets(plan, snapshot).rows(days)


def week_of(first: date, plan: Plan, snapshot: Snapshot) -> list[date]:
    """The seven days from `first`, less the closed ones on which nothing is to be done."""
    calendar = snapshot.calendar
    busy = {batch.make_on for batch in plan.batches} | {b.on for b in snapshot.bookings if b.status == "booked"}
    week = [first + timedelta(days=n) for n in range(7)]
    return [d for d in week if d in busy or calendar.works(d)]


def task_rows(plan: Plan, snapshot: Snapshot) -> list[TaskRow]:
    """Every make and every order-by day as a task; its UID stays the same from plan to plan.

    A make is known by its solution and whom it serves first, so that it keeps its UID when it moves.
    """
    names = Names(snapshot)
    tasks = [
        TaskRow(
            uid=f"make-{batch.solution}-{_first_user(batch)}@prep",
            on=batch.make_on,
            summary=f"Make {names.amount(batch.solution, batch.amount)} of {names.of(batch.solution)}",
            description="\n".join(
                [
                    *(
                        f"Take {names.amount(t.item, t.amount)} of {names.of(t.item)}, {t.kind} {t.ref}"
                        for t in batch.takes
                    ),
                    *(step.text for step in batch.steps),
                    *(f"Caution: {caution}" for caution in batch.cautions),
                ]
            ),
        )
        for batch in plan.batches
    ]
    by_item: dict[str, list[OrderLine]] = defaultdict(list)
    for line in plan.orders:
        by_item[line.item].append(line)
    for item, lines in by_item.items():
        packs = ", ".join(f"{x.packs} x {names.amount(item, x.pack)}" for x in lines)
        tasks.append(
            TaskRow(
                uid=f"order-{item}@prep",
                on=max(lines[0].order_by, plan.today),
                summary=f"Order by today: {packs} of {names.of(item)}",
                description=f"{lines[0].why}. Comes {lines[0].arrives}.",
            )
        )
    numbers: dict[str, int] = defaultdict(int)
    out = []
    for task in tasks:
        numbers[task.uid] += 1
        again = numbers[task.uid]
        out.append(task if again == 1 else TaskRow(f"{again}-{task.uid}", task.on, task.summary, task.description))
    return sorted(out, key=lambda t: (t.on, t.summary, t.uid))


def _first_user(batch: Batch) -> str:
    first = batch.serves[0].ref.partition("@")[0] if batch.serves else ""
    return "".join(c if c.isalnum() or c in ".-:/" else "-" for c in first)


class _Sheets:
    def __init__(self, plan: Plan, snapshot: Snapshot) -> None:
        self.plan, self.snapshot, self.names = plan, snapshot, Names(snapshot)
        self.places = {b.code: b.location for b in snapshot.bottles}
        bookings = {b.code: b for b in snapshot.bookings}
        self.users = {need: bookings[code] for need, code in plan.bookings().items() if code in bookings}
        self.makes = _by((b.make_on, b) for b in plan.batches)
        self.orders = _by((max(o.order_by, plan.today), o) for o in plan.orders)
        self.needs = _by((n.booking, n) for n in plan.requirements)

    def rows(self, days: Sequence[date]) -> list[DayRow]:
        return [self._day(on) for on in days]

    def _day(self, on: date) -> DayRow:
        makes = self.makes.get(on, [])
        minutes = sum(b.minutes for b in makes)
        booked = sorted(
            (b for b in self.snapshot.bookings if b.on == on and b.status == "booked"),
            key=lambda b: (b.period, b.room, b.code),
        )
        return DayRow(
            day=day(on),
            makes=tuple(self._make(b) for b in makes),
            bookings=tuple(
                BookingRow(
                    period_text(b.period),
                    b.room,
                    b.teacher,
                    self.snapshot.demos[b.demo].name if b.demo in self.snapshot.demos else b.demo,
                    f"{b.showings} showing{'' if b.showings == 1 else 's'}",
                    b.code,
                    tuple(take for need in self.needs.get(b.code, []) for take in self._gets(need)),
                    tuple(filter(None, [self.snapshot.demos[b.demo].caution])) if b.demo in self.snapshot.demos else (),
                    tuple(
                        f"{self.names.amount(n.item, n.short)} of {self.names.of(n.item)}: {n.why}"
                        for n in self.needs.get(b.code, [])
                        if n.short
                    ),
                )
                for b in booked
            ),
            orders=tuple(self._order(o) for o in self.orders.get(on, [])),
            minds=tuple(self._said(f) for f in self._minds(on)),
            work=f"{minutes} of {self.snapshot.calendar.minutes(on)} minutes" if makes else "",
        )

    def _make(self, batch: Batch) -> MakeRow:
        card = self.snapshot.solutions[batch.solution]
        hazards = batch.hazards
        return MakeRow(
            name=self.names.of(batch.solution),
            amount=self.names.amount(batch.solution, batch.amount),
            batch=batch.id,
            vessel=batch.vessel,
            use_by=day(batch.use_by),
            minutes=f"{batch.minutes} min",
            for_=", ".join(self._user(s) for s in batch.serves),
            keeping=", ".join(card.keeping),
            signal=hazards.signal if hazards else "",
            pictograms=hazards.pictograms if hazards else (),
            hazards=hazards.says.removeprefix(f"{hazards.signal}: ") if hazards else "",
            takes=tuple(
                TakeRow(self.names.amount(t.item, t.amount), self.names.of(t.item), self._from(t.kind, t.ref))
                for t in batch.takes
            ),
            notes=tuple(step.text.removeprefix(MIND) for step in batch.steps if step.text.startswith(MIND)),
            steps=tuple(step.text for step in batch.steps if not step.text.startswith(MIND)),
            cautions=batch.cautions,
        )

    def _gets(self, need: Requirement) -> Iterable[TakeRow]:
        for share in need.served:
            yield TakeRow(
                self.names.amount(need.item, share.amount),
                self.names.of(need.item),
                self._from(share.kind, share.ref),
            )

    def _from(self, kind: str, ref: str) -> str:
        place = self.places.get(ref, "") if kind == "bottle" else ""
        return f"{kind} {ref}" + (f", {place}" if place else "")

    def _user(self, share: Share) -> str:
        booking = self.users.get(share.ref)
        if booking is None:
            return share.ref
        return f"{booking.code} on {short_day(booking.on)}" + (
            f" {period_text(booking.period)}" if booking.period else ""
        )

    def _order(self, line: OrderLine) -> OrderRow:
        return OrderRow(
            self.names.of(line.item),
            f"{line.packs} x {self.names.amount(line.item, line.pack)}",
            "its minimum" if line.for_minimum else short_day(line.needed_on),
            line.late,
        )

    def _minds(self, on: date) -> list[Finding]:
        """Warnings about the day's makes, bookings and orders; on the plan's own day also what cannot wait."""
        about = {b.id for b in self.makes.get(on, [])} | {on.isoformat()}
        about |= {b.code for b in self.snapshot.bookings if b.on == on}
        today = self.plan.today == on
        return [
            f
            for f in self.plan.findings
            if f.about in about or (today and (f.severity == "stop" or f.code in _ON_THE_DAY))
        ]

    def _said(self, finding: Finding) -> str:
        return finding.message + (f" {finding.cure}" if finding.cure else "")


def _by(pairs: Iterable[tuple[_K, _V]]) -> dict[_K, list[_V]]:
    out: dict[_K, list[_V]] = defaultdict(list)
    for key, value in pairs:
        out[key].append(value)
    return out
