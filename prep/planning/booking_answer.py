"""A booking's answer, read off the plan: whether it can be shown, what it waits for, what is made and ordered."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum

from prep.books import BookingStatus
from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.findings import Finding, Severity
from prep.planning.draws import LinkKind, Share, Source
from prep.planning.model import Batch, Booking, Bottle, OrderLine, Plan, Requirement, Snapshot
from prep.planning.workdays import by_number

ASK_FIRST = "ask-first"
"""The finding of a booking that somebody must allow, and nobody has."""


class BookingState(StrEnum):
    """How far a booking is, as a teacher sees it."""

    ASKED = "asked"
    WAITS = "waits for an order"
    TO_MAKE = "to be made"
    MADE = "made"
    SET_OUT = "set out"
    SHOWN = "shown"
    CANCELLED = "cancelled"


@dataclass(frozen=True, slots=True)
class ServedItem:
    """An item that a booking takes [ug or nL], where that comes from, and where the bottles stand."""

    item: str
    name: str
    amount: int
    measure: Measure
    source: str
    places: tuple[str, ...] = ()
    short: int = 0


@dataclass(frozen=True, slots=True)
class ToMake:
    """A make that a booking rests on, for it or for what goes into it."""

    solution: str
    name: str
    on: date
    amount: int
    minutes: int


@dataclass(frozen=True, slots=True)
class ToOrder:
    """A pack [ug or nL] that a booking rests on; `code` is the order's where it is placed already."""

    item: str
    name: str
    packs: int
    pack: int
    measure: Measure
    order_by: date
    arrives: date
    code: str = ""


@dataclass(frozen=True, slots=True)
class BookingAnswer:
    """What the plan says of one booking.

    `can_be_shown` None: no plan could be drawn up. `state_on` is the day that the state names: the order's, the
    last make's, the show's. `against` is what stands in its way; `first_day` the first day on which nothing
    would, where that was looked for and found. `minutes` is all making that it rests on.
    """

    booking: Booking
    can_be_shown: bool | None
    state: BookingState
    state_on: date | None = None
    ready_by: date | None = None
    late: bool = False
    place: str = ""
    takes: tuple[ServedItem, ...] = ()
    makes: tuple[ToMake, ...] = ()
    orders: tuple[ToOrder, ...] = ()
    orders_today: tuple[ToOrder, ...] = ()
    minutes: int = 0
    against: tuple[Finding, ...] = ()
    mind: tuple[Finding, ...] = ()
    first_day: date | None = None
    searched_to: date | None = None

    @property
    def must_be_allowed(self) -> bool:
        """Whether somebody must still allow it."""
        return any(one.code == ASK_FIRST for one in self.mind)


@dataclass(slots=True)
class _Rests:
    """All that one booking rests on: makes, orders placed and orders to be placed."""

    batches: dict[str, Batch] = field(default_factory=dict)
    placed: set[str] = field(default_factory=set)
    to_place: set[str] = field(default_factory=set)


class BookingAnswers:
    """The answers of a plan's bookings, each worked out when it is asked for."""

    def __init__(self, plan: Plan, snapshot: Snapshot) -> None:
        self._plan, self._snapshot = plan, snapshot
        self._needs: dict[str, list[Requirement]] = defaultdict(list)
        for need in plan.requirements:
            self._needs[need.booking].append(need)
        self._batches = {batch.id: batch for batch in plan.batches}
        self._bottles = {bottle.code: bottle for bottle in snapshot.bottles}
        self._orders: dict[str, list[OrderLine]] = defaultdict(list)
        for line in plan.orders:
            self._orders[line.order].append(line)
        self._minutes: dict[date, int] = defaultdict(int)
        for batch in plan.batches:
            self._minutes[batch.make_on] += batch.minutes

        self._said: dict[str, list[tuple[int, Finding]]] = defaultdict(list)
        for number, finding in enumerate(plan.findings):
            self._said[finding.about].append((number, finding))
        self._closed = [finding for finding in plan.findings if finding.code == "no-working-day"]
        self._too_full = self.too_full()
        self._found: dict[Booking, BookingAnswer] = {}
        self._by_day: dict[date, list[Booking]] = defaultdict(list)

    def minutes(self, day: date) -> int:
        """Count the minutes of making that the plan puts on a day."""
        return self._minutes.get(day, 0)

    def made_on(self, solution: str, keeps_to: date) -> set[date]:
        """Find the days on which the plan makes a solution that still keeps on a day."""
        made = (b for b in self._plan.batches if b.solution == solution)
        return {b.make_on for b in made if b.make_on <= keeps_to <= b.use_by}

    def left(self) -> tuple[Bottle, ...]:
        """List the bottles with what nobody takes of them up to the plan's end."""
        ends = {line.code: line.end for line in self._plan.bottles}
        return tuple(
            replace(bottle, amount=max(ends.get(bottle.code, bottle.amount), 0)) for bottle in self._snapshot.bottles
        )

    def too_full(self) -> set[date]:
        """Find the days that the plan calls too full: more making than is left beside setting out and clearing."""
        return {date.fromisoformat(one.about) for one in self._plan.findings if one.code == "day-too-full"}

    def of(self, booking: Booking) -> BookingAnswer:
        """Find the answer of a booking."""
        if booking not in self._found:
            self._found[booking] = self._answer(booking)
        return self._found[booking]

    def _answer(self, booking: Booking) -> BookingAnswer:
        place = booking.set_out or booking.room
        if not booking.stands:
            state = BookingState.SHOWN if booking.status == BookingStatus.DONE else BookingState.CANCELLED
            return BookingAnswer(booking, booking.status == BookingStatus.DONE, state, booking.on, place=place)
        needs, rests = self._needs.get(booking.code, []), _Rests()
        for need in needs:
            for share in need.served:
                self._follow(rests, share.source)
        against, mind = self._findings(booking, needs, rests)
        makes = tuple(
            ToMake(b.solution, self._name(b.solution), b.make_on, b.amount, b.minutes)
            for b in sorted(rests.batches.values(), key=lambda b: (b.make_on, b.id))
        )
        orders = self._ordered(rests)
        asked = bool(against) or any(one.code == ASK_FIRST for one in mind)
        state, on = self._state(booking, asked, makes, orders)
        ready = min((need.ready_by for need in needs), default=None)
        return BookingAnswer(
            booking,
            not against,
            state,
            on,
            ready,
            bool(ready and ready < self._plan.today and makes),
            place,
            tuple(self._served(need) for need in needs),
            makes,
            orders,
            tuple(one for one in orders if not one.code and one.order_by <= self._plan.today),
            sum(one.minutes for one in makes),
            against,
            mind,
        )

    def _follow(self, rests: _Rests, source: Source) -> None:
        """Follow a share back through all that it comes from, down to what is bought."""
        todo = [source]
        while todo:
            one = todo.pop()
            if one.kind is LinkKind.BATCH and one.ref in self._batches and one.ref not in rests.batches:
                rests.batches[one.ref] = batch = self._batches[one.ref]
                todo += [take.source for take in batch.takes]
            elif one.to_place:
                rests.to_place.add(one.ref)
            elif one.kind is LinkKind.ORDER:
                rests.placed.add(one.ref)

    def _findings(
        self, booking: Booking, needs: list[Requirement], rests: _Rests
    ) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
        """Gather what stands against a booking, and what else is said of it."""
        about = {booking.code, *(need.id for need in needs)}
        mine = sorted((pair for one in about for pair in self._said.get(one, ())), key=lambda pair: pair[0])
        full = {day.isoformat() for day in self._too_full & {b.make_on for b in rests.batches.values()}}
        calendar = self._closed if needs else []
        against = [f for _, f in mine if f.severity == Severity.STOP]
        against += [f for day in sorted(full) for _, f in self._said.get(day, ()) if f.code == "day-too-full"]
        if against:
            against = [*calendar, *against]
        mind = [found for _, found in mine if found not in against]
        return tuple(against), (*mind, *clashes(booking, self._on(booking.on), self._called))

    def _ordered(self, rests: _Rests) -> tuple[ToOrder, ...]:
        """List the packs that a booking rests on: those on their way by due day, then those still to be ordered."""
        placed = [
            ToOrder(o.item, self._name(o.item), 1, o.amount, self._measure(o.item), self._plan.today, o.due, o.code)
            for o in self._snapshot.orders
            if o.code in rests.placed
        ]
        new = [
            ToOrder(o.item, self._name(o.item), o.packs, o.pack, self._measure(o.item), o.order_by, o.arrives)
            for order in sorted(rests.to_place)
            for o in self._orders.get(order, ())
        ]
        return (
            *sorted(placed, key=lambda o: (o.arrives, by_number(o.code))),
            *sorted(new, key=lambda o: (o.order_by, o.item)),
        )

    def _state(
        self, booking: Booking, asked: bool, makes: tuple[ToMake, ...], orders: tuple[ToOrder, ...]
    ) -> tuple[BookingState, date | None]:
        if booking.set_out:
            return BookingState.SET_OUT, booking.on
        if asked:
            return BookingState.ASKED, booking.on
        if orders:
            return BookingState.WAITS, max(order.arrives for order in orders)
        if makes:
            return BookingState.TO_MAKE, max(make.on for make in makes)
        return BookingState.MADE, None

    def _served(self, need: Requirement) -> ServedItem:
        measure = self._measure(need.item)
        from_: dict[str, int] = defaultdict(int)
        for share in need.served:
            from_[self._source(share)] += share.amount
        several = len(from_) > 1
        said = [
            f"{quantities.show(amount, measure, 4)} {where}" if several else where for where, amount in from_.items()
        ]
        places = dict.fromkeys(
            self._bottles[share.ref].location
            for share in need.served
            if share.kind is LinkKind.BOTTLE and share.ref in self._bottles
        )
        return ServedItem(
            need.item, self._name(need.item), need.amount, measure, ", ".join(said), tuple(places), need.short
        )

    def _source(self, share: Share) -> str:
        """Say where a share comes from."""
        if share.kind is LinkKind.BATCH and share.ref in self._batches:
            return f"to be made {self._batches[share.ref].make_on}"
        if share.source.to_place:
            return "to be ordered"
        return f"{share.kind} {share.ref}"

    def _on(self, day: date) -> list[Booking]:
        if not self._by_day:
            for one in self._snapshot.bookings:
                self._by_day[one.on].append(one)
        return self._by_day.get(day, [])

    def _called(self, b: Booking) -> str:
        demo = self._snapshot.demos.get(b.demo)
        return demo.name if demo else self._name(b.item)

    def _name(self, item: str) -> str:
        known = self._snapshot.substances.get(item) or self._snapshot.solutions.get(item)
        return known.name if known else item

    def _measure(self, item: str) -> Measure:
        known = self._snapshot.substances.get(item)
        return known.measure if known else Measure.VOLUME


def clashes(booking: Booking, others: Iterable[Booking], called: Callable[[Booking], str]) -> list[Finding]:
    """Find what else is booked in the same period: in its room by another teacher, by its teacher in another room."""

    def alike(a: str, b: str) -> bool:
        return bool(a) and " ".join(a.casefold().split()) == " ".join(b.casefold().split())

    out = []
    for b in others:
        if b.code == booking.code or b.on != booking.on or not b.stands or not alike(b.period, booking.period):
            continue
        room, teacher = alike(b.room, booking.room), alike(b.teacher, booking.teacher)
        if room == teacher or (teacher and not (b.room and booking.room)):
            continue  # another lesson, or several demos in one lesson
        who = f"Room {b.room} has" if room else f"{b.teacher} has"
        where = (f" for {b.teacher}" if b.teacher else "") if room else f" in {b.room}"
        said = f"{who} {called(b)} ({b.code}){where} in the same period."
        out.append(Finding(Severity.NOTE, "clash", booking.code, said, "Choose another period or room, or ask them."))
    return out


NO_DAY_HELPS = ("barred", "too-strong", "no-source", "unknown-item", "unknown-demo", "no-showings")
"""Findings that another day does not cure."""


def first_day(
    days: tuple[date, ...], from_: date | None, serves: Callable[[date], bool], most: int = 10
) -> date | None:
    """Find the first of some days on which `serves` says yes, asking at most `most` times.

    Galloping from `from_`, then halving: right where what serves on a day serves on every later one too. None
    where no day was found.
    """
    if not days:
        return None
    low, at = -1, next((n for n, day in enumerate(days) if from_ is None or day >= from_), len(days) - 1)
    step, asked = 1, 0
    while not serves(days[at]):
        asked += 1
        if at == len(days) - 1 or asked >= most:
            return None
        low, at = at, min(at + step, len(days) - 1)
        step *= 2
    while at - low > 1 and asked < most:
        asked += 1
        middle = (low + at) // 2
        low, at = (low, middle) if serves(days[middle]) else (middle, at)
    return days[at]
