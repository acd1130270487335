"""A plan as the plain rows of day sheets and of calendars."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from prep.chemistry.preparation.steps import to_tick
from prep.planning.by_day import Day, Days
from prep.planning.model import Batch, Booking, Finding, OrderLine, Plan, Requirement, Share, Snapshot
from prep.reports.formatting import Names, day, logging_line, period_text, short_day
from prep.reports.print_rows import BookingRow, DayRow, MakeRow, OrderRow, TakeRow, TaskRow


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
                    *(f"Caution: {caution}" for caution in batch.other_cautions),
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
        self.days, self.snapshot, self.names = Days(plan, snapshot), snapshot, Names(snapshot)
        self.places = {b.code: b.location for b in snapshot.bottles}
        bookings = {b.code: b for b in snapshot.bookings}
        self.users = {need: bookings[code] for need, code in plan.bookings().items() if code in bookings}

    def rows(self, days: Sequence[date]) -> list[DayRow]:
        return [self._day(self.days.of(on)) for on in days]

    def _day(self, found: Day) -> DayRow:
        short = {need.id for need in found.needs}  # said at the booking itself
        return DayRow(
            day=day(found.on),
            makes=tuple(self._make(b) for b in found.batches),
            bookings=tuple(
                self._booking(b, [need for need in found.needs if need.booking == b.code]) for b in found.bookings
            ),
            orders=tuple(self._order(o) for o in found.orders),
            minds=tuple(self._said(f) for f in found.findings if f.about not in short),
            work=f"{found.minutes} of {found.limit} minutes" if found.batches else "",
        )

    def _booking(self, booking: Booking, needs: Sequence[Requirement]) -> BookingRow:
        demo = self.snapshot.demos.get(booking.demo)
        return BookingRow(
            period_text(booking.period),
            booking.room,
            booking.teacher,
            demo.name if demo else booking.demo,
            f"{booking.showings} showing{'' if booking.showings == 1 else 's'}",
            booking.code,
            tuple(take for need in needs for take in self._gets(need)),
            (demo.caution,) if demo and demo.caution else (),
            tuple(
                f"{self.names.amount(n.item, n.short)} of {self.names.of(n.item)}: {n.why}" for n in needs if n.short
            ),
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
            notes=(),
            steps=tuple(to_tick(batch.steps)),
            cautions=batch.other_cautions,
            log=logging_line(batch, self.names),
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

    def _said(self, finding: Finding) -> str:
        return finding.message + (f" {finding.cure}" if finding.cure else "")
