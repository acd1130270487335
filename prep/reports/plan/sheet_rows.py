"""A plan as the plain rows of day sheets and of calendars."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from prep.chemistry.model import StepKind
from prep.chemistry.preparation.steps import to_tick
from prep.dates import short_words
from prep.findings import Finding
from prep.planning.by_day import LineKind, PlanDay, PlanDays, made_on
from prep.planning.draws import LinkKind, Share, Source
from prep.planning.model import Batch, BatchHazards, Booking, OrderLine, Plan, Snapshot
from prep.planning.set_out import how_often
from prep.reports.finding_texts import with_cure
from prep.reports.formatting import ItemNames, day, in_days, logging_line, period_text, short_date, short_day
from prep.reports.plan.day_texts import DayTexts
from prep.reports.plan.screen import placed, some_of
from prep.reports.print_rows import NO_CODES, DayRow, LineRow, MakeRow, PrintedBooking, PrintedOrder, TakeRow, TaskRow
from prep.services.safety.bench_controls import BenchControls

if TYPE_CHECKING:
    from prep.services.plan.day_lines import DoneLine


def day_rows(
    plan: Plan, snapshot: Snapshot, days: Sequence[date], numbers: Mapping[str, int] | None = None
) -> list[DayRow]:
    """List what each of the days has: makes, bookings, orders to place by then, warnings.

    `numbers` are those of the lines of one day, by their keys.
    """
    return _Sheets(plan, snapshot, numbers or {}).rows(days)


def with_done(row: DayRow, done: Sequence["DoneLine"]) -> DayRow:
    """Add to a day what is done of it already."""
    said = (LineRow(f"{in_days(one.says)} · {one.by}, job {one.job}", str(one.number or "")) for one in done)
    return replace(row, done=tuple(said))


def week_of(first: date, plan: Plan, snapshot: Snapshot) -> list[date]:
    """List the seven days from `first`, less the closed ones on which nothing is to be done."""
    calendar = snapshot.calendar
    busy = {batch.make_on for batch in plan.batches} | {b.on for b in snapshot.bookings if b.stands}
    week = [first + timedelta(days=n) for n in range(7)]
    return [d for d in week if d in busy or calendar.works(d)]


def task_rows(plan: Plan, snapshot: Snapshot) -> list[TaskRow]:
    """List every make and every order-by day as a task; its UID stays the same from plan to plan.

    A make is known by its solution and whom it serves first, so that it keeps its UID when it moves.
    """
    names, days = ItemNames(snapshot), made_on(plan)
    tasks = [
        TaskRow(
            uid=f"make-{batch.solution}-{_first_user(batch)}@prep",
            on=batch.make_on,
            summary=f"Make {names.amount(batch.solution, batch.amount)} of {names.of(batch.solution)}",
            description="\n".join(
                [
                    *(
                        f"Take {names.amount(t.item, t.amount)} of {names.drawn(t)}, "
                        f"{placed(t.source, days, batch.make_on)}"
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
                description=f"{lines[0].why}. Comes {day(lines[0].arrives)}.",
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
    return "".join(c if c.isalnum() or c in ".-:/" else "-" for c in batch.first_user)


def _codes(found: BatchHazards) -> str:
    """Write the statements by their codes: the whole of them is on the label."""
    unknown = "" if found.known else "hazards not known: treat as hazardous"
    return "; ".join(filter(None, (", ".join(found.h), unknown))) or NO_CODES


class _Sheets:
    def __init__(self, plan: Plan, snapshot: Snapshot, numbers: Mapping[str, int]) -> None:
        self.numbers = numbers
        self.controls = BenchControls(snapshot.catalogue)
        self.days, self.snapshot, self.names = PlanDays(plan, snapshot), snapshot, ItemNames(snapshot)
        self.places = {b.code: b.location for b in snapshot.bottles}
        self.made_on = made_on(plan)
        bookings = {b.code: b for b in snapshot.bookings}
        self.users = {need: bookings[code] for need, code in plan.bookings().items() if code in bookings}

    def rows(self, days: Sequence[date]) -> list[DayRow]:
        return [self._day(self.days.of(on)) for on in days]

    def _day(self, found: PlanDay) -> DayRow:
        short = {need.id for need in found.needs}  # their warnings stand at the booking itself
        number = {(line.kind, line.ref): str(self.numbers.get(line.key, "")) for line in found.lines()}
        view = DayTexts(found, self.snapshot, self.controls)
        return DayRow(
            day=day(found.on),
            makes=tuple(self._numbered(self._make(b), number[LineKind.MAKE, b.id]) for b in found.batches),
            bookings=tuple(
                replace(self._booking(b, view), number=number[LineKind.SET_OUT, b.code]) for b in found.bookings
            ),
            orders=tuple(replace(self._order(o), number=number[LineKind.ORDER, o.id]) for o in found.orders),
            minds=tuple(self._said(f) for f in found.wrong if f.about not in short),
            work=f"{found.minutes} of {found.limit} minutes" if found.batches else "",
            fetches=tuple(LineRow(f"{one.place}: {one.bottles}") for one in view.fetches()),
            backs=tuple(LineRow(f"{b.code}: {view.back(b)}", number[LineKind.SHOWN, b.code]) for b in found.bookings),
            arrivals=tuple(
                LineRow(view.delivery(one), number[LineKind.ARRIVED, one.order.code]) for one in found.deliveries
            ),
            discards=(
                *(LineRow(view.destroy(b), number[LineKind.DISCARD, b.id]) for b in found.destroys),
                *(LineRow(view.discard(b), number[LineKind.DISCARD, b.code]) for b in found.discards),
            ),
            unsaid=(
                *(LineRow(view.unsaid(b), number[LineKind.SHOWN, b.code]) for b in found.unsaid),
                *(LineRow(said) for said in filter(None, (view.unsaid_more(),))),
            ),
        )

    def _numbered(self, make: MakeRow, number: str) -> MakeRow:
        """Give a make the number that logs it, where it has one."""
        return replace(make, number=number, log="") if number else make

    def _booking(self, booking: Booking, view: DayTexts) -> PrintedBooking:
        needs = [need for need in view.found.needs if need.booking == booking.code]
        return PrintedBooking(
            period_text(booking.period),
            booking.room,
            booking.teacher,
            self.names.booked(booking),
            how_often(booking),
            booking.code,
            tuple(TakeRow(thing.each, thing.what, thing.source) for thing in view.things(booking)),
            view.minds(booking),
            tuple(
                f"{self.names.amount(n.item, n.short)} of {self.names.of(n.item)}: {in_days(n.why)}"
                for n in needs
                if n.short
            ),
        )

    def _make(self, batch: Batch) -> MakeRow:
        solution = self.snapshot.solutions[batch.solution]
        hazards = batch.hazards
        said = {step.item for step in batch.steps}  # a step that draws an item names the bottles
        return MakeRow(
            name=self.names.of(batch.solution),
            amount=self.names.amount(batch.solution, batch.amount),
            batch=batch.id,
            vessel=batch.vessel,
            use_by=short_date(batch.use_by),
            minutes=f"{batch.minutes} min",
            for_=self._users(batch.serves),
            keeping=", ".join(solution.keeping),
            signal=hazards.signal if hazards else "",
            pictograms=hazards.pictograms if hazards else (),
            hazards=hazards.statements if hazards else "",
            h=_codes(hazards) if hazards else "",
            takes=tuple(
                TakeRow(
                    self.names.amount(t.item, t.amount),
                    self.names.drawn(t),
                    self._from(t.source, batch.make_on),
                    in_steps=t.item in said,
                )
                for t in batch.takes
            ),
            notes=(),
            size=batch.unusual,
            steps=tuple(to_tick(step for step in batch.steps if step.kind is not StepKind.LABEL)),
            cautions=batch.other_cautions,
            log=logging_line(batch, self.names),
        )

    def _from(self, source: Source, today: date) -> str:
        if source.to_place:
            return "still to be ordered"
        if source.ref in self.made_on:
            on = self.made_on[source.ref]
            return "made today" if on == today else f"made on {short_words(on)}"
        place = self.places.get(source.ref, "") if source.kind is LinkKind.BOTTLE else ""
        return f"{source.kind} {source.ref}" + (f", {place}" if place else "")

    def _users(self, serves: Sequence[Share]) -> str:
        """Name whom it is for: the first with its day and period, the others by their codes."""
        out: list[str] = []
        for_makes: list[str] = []
        for share in serves:
            booking = self.users.get(share.ref)
            if not booking and share.source.item:
                for_makes.append(self.names.of(share.source.item))
                continue
            said = booking.code if booking else share.ref
            if booking and not out and not for_makes:
                said += f" on {short_day(booking.on)} {period_text(booking.period)}".rstrip()
            out.append(said)
        return ", ".join([*dict.fromkeys(out), *some_of(for_makes)])

    def _order(self, line: OrderLine) -> PrintedOrder:
        return PrintedOrder(
            self.names.of(line.item),
            f"{line.packs} x {self.names.amount(line.item, line.pack)}",
            "its minimum" if line.for_minimum else short_day(line.needed_on),
            line.late,
        )

    def _said(self, finding: Finding) -> str:
        return with_cure(finding, " ")
