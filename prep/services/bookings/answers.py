"""What the plan answers to bookings: on file, just asked for, or only supposed."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path
from threading import Lock

from prep.books import BookingStatus
from prep.errors import PrepError
from prep.findings import Finding, Severity
from prep.planning.booking_answer import NO_DAY_HELPS, BookingAnswer, BookingAnswers, BookingState, first_day
from prep.planning.model import Booking, Horizon, Plan, Policy, Snapshot
from prep.planning.workdays import Workdays
from prep.services.bookings.promises import Promises, shares, taking
from prep.services.inventory import session
from prep.services.plan import snapshot as plan_snapshot
from prep.services.school.settings import policy_of
from prep.store import table_rows
from prep.store.school import bookings
from prep.wording import AtTerminal, Sentence

FURTHEST = timedelta(days=400)
"""A plan is drawn up no further than this for an answer."""
SEARCHED = timedelta(weeks=16)
"""How far beyond its day a booking's first possible day is looked for."""
_ONE_BY_ONE = 3
"""Up to so many bookings each get a search of their own; of more, all are tried on their likely days at once."""
_FEW = 12
"""Of so many asked for at once each may be searched for; a whole term is answered from three plans."""


def of(
    db: Path | None, codes: Collection[str], today: date, supposed: Sequence[Booking] = ()
) -> tuple[BookingAnswer, ...]:
    """Tell whether bookings just asked for can be shown: those of `codes`, then `supposed` ones, not on file.

    The answers say also what the bookings would take from others, and the first day on which nothing stands in the way.
    """
    wanted = [*codes, *(one.code for one in supposed)]
    school = BookedSchool.load(db, today, supposed)
    return school.asked(wanted)


class StandingAnswers:
    """The answers of everything that is booked, as things stand: one plan, drawn up once, asked again and again."""

    def __init__(self, db: Path | None, today: date) -> None:
        self._school = BookedSchool.load(db, today, ())
        self._end = self._school.end(())
        self._answers: BookingAnswers | None = None
        self._settled: dict[str, BookingAnswer] = {}
        self._lock = Lock()

    def of(self, bookings: Iterable[Booking]) -> tuple[BookingAnswer, ...]:
        """Tell the answers of bookings on file."""
        listed = list(bookings)
        open_ = [one for one in listed if one.stands]
        if any(one.on > self._end for one in open_):
            return self._school.standing(listed)
        try:
            with self._lock:  # whoever else asks waits: it is drawn up once
                if open_ and self._answers is None:
                    self._answers = self._school.answers(self._school.snapshot, self._end)
                    self._settled = self._school.settled(self._answers, self._end)
                return tuple(
                    self._settled.get(one.code) or self._answers.of(one)
                    if one.stands and self._answers
                    else _closed(one)
                    for one in listed
                )
        except PrepError:
            return self._school.standing(listed)


def standing(db: Path | None, bookings: Iterable[Booking], today: date) -> tuple[BookingAnswer, ...]:
    """Tell how far bookings on file are as things stand, from one plan."""
    listed = list(bookings)
    if not any(one.stands for one in listed):
        return tuple(_closed(one) for one in listed)
    school = BookedSchool.load(db, today, ())
    return school.standing(listed)


def shown(db: Path | None, code: str, today: date) -> BookingAnswer:
    """Tell how far a booking on file is as things stand, and the first day that would do where it cannot be shown."""
    school = BookedSchool.load(db, today, ())
    booking = school.bookings[code]
    if not booking.stands:
        return _closed(booking)
    (found,) = school.standing([booking])
    if found.can_be_shown is False and not any(f.code in NO_DAY_HELPS for f in found.against):
        return school.searched(found)
    return found


def unasked(bookings: Iterable[Booking]) -> tuple[BookingAnswer, ...]:
    """Tell how far bookings are by what stands on file alone, without drawing up a plan."""
    return tuple(
        _closed(one)
        if not one.stands
        else BookingAnswer(
            one,
            None,
            BookingState.SET_OUT if one.set_out else BookingState.ASKED,
            one.on,
            place=one.set_out or one.room,
        )
        for one in bookings
    )


def _closed(booking: Booking) -> BookingAnswer:
    state = BookingState.SHOWN if booking.status == BookingStatus.DONE else BookingState.CANCELLED
    return BookingAnswer(
        booking, booking.status == BookingStatus.DONE, state, booking.on, place=booking.set_out or booking.room
    )


@dataclass(slots=True)
class BookedSchool:
    """The inventory as the plan may know it, and every open booking, those too that a rule bars."""

    snapshot: Snapshot
    policy: Policy
    bookings: dict[str, Booking]
    asked_by: dict[str, int] = field(default_factory=dict)
    _before: BookingAnswers | None = None

    @classmethod
    def load(cls, db: Path | None, today: date, supposed: Sequence[Booking]) -> "BookedSchool":
        with session.reading(db) as connection:
            known = plan_snapshot.load(connection, today, supposed)
            there = {b.code: b for b in (*bookings.every(connection), *supposed)}
            return cls(known, policy_of(table_rows.settings(connection)), there, bookings.asked_by(connection))

    def standing(self, listed: Sequence[Booking]) -> tuple[BookingAnswer, ...]:
        """Tell how far bookings on file are, from one plan."""
        open_ = [one for one in listed if one.stands]
        try:
            end = self.end(one.on for one in open_)
            found = self.answers(self.snapshot, end)
            settled = self.settled(found, end) if open_ else {}
        except PrepError as problem:
            return tuple(self._unknown(one, problem) if one in open_ else _closed(one) for one in listed)
        return tuple(settled.get(one.code) or found.of(one) for one in listed)

    def settled(self, found: BookingAnswers, end: date) -> dict[str, BookingAnswer]:
        """Find the answers of bookings that take from others, and of those from whom they take."""

        def without(codes: Collection[str]) -> BookingAnswers:
            left = tuple(b for b in self.snapshot.bookings if b.code not in codes)
            return self.answers(replace(self.snapshot, bookings=left), end)

        there = [b for b in self.bookings.values() if b.stands and b.on <= end]
        return Promises(self.asked_by, found, there, without).settled()

    def asked(self, codes: Sequence[str]) -> tuple[BookingAnswer, ...]:
        """Answer for bookings that are new, or new on their day."""
        wanted = [self.bookings[code] for code in codes]
        if not wanted:
            return ()
        try:
            return self._asked(wanted)
        except PrepError as problem:  # the bookings are on file already: a plan that fails must not lose them
            return tuple(self._unknown(one, problem) for one in wanted)

    def _asked(self, wanted: Sequence[Booking]) -> tuple[BookingAnswer, ...]:
        end = self.end(one.on for one in wanted)
        drawn = self._plan(self.snapshot, end)
        answers = BookingAnswers(drawn, self.snapshot)
        found = {one.code: self._harming(answers.of(one), answers, wanted, end) for one in wanted}
        failing = [
            one
            for one in found.values()
            if one.can_be_shown is False and not any(f.code in NO_DAY_HELPS for f in one.against)
        ]
        likely = {one.booking.code: self._likely(one.booking, drawn) for one in failing}
        if len(failing) <= _ONE_BY_ONE and len(wanted) <= _FEW:
            for one in failing:
                found[one.booking.code] = self._searched(one, likely[one.booking.code], wanted)
        elif moves := {code: day for code, day in likely.items() if day is not None}:
            moved = self._moved(moves)
            then = BookingAnswers(self._plan(moved, self.end(moves.values())), moved)
            for code, day in moves.items():
                if then.of(replace(self.bookings[code], on=day)).can_be_shown:
                    found[code] = replace(found[code], first_day=day)
        return tuple(found[one.code] for one in wanted)

    def searched(self, one: BookingAnswer) -> BookingAnswer:
        """Search the first day for a booking on file, as when it was asked for."""
        try:
            drawn = self._plan(self.snapshot, self.end([one.booking.on]))
            return self._searched(one, self._likely(one.booking, drawn), [one.booking])
        except PrepError:
            return one

    def _searched(self, one: BookingAnswer, likely: date | None, wanted: Sequence[Booking]) -> BookingAnswer:
        """Search the first day on which nothing stands in the way of a booking, and add it to the answer."""
        booking, today = one.booking, self.snapshot.today
        last = booking.on + SEARCHED
        days = Workdays(self.snapshot.calendar, max(today, booking.on + timedelta(days=1)), last).days

        def serves(day: date) -> bool:
            moved = self._moved({booking.code: day})
            end = self.end([day, *(b.on for b in wanted)])
            answers = self.answers(moved, end)
            there = self._harming(answers.of(replace(booking, on=day)), answers, [booking], end)
            return there.can_be_shown is True

        return replace(one, first_day=first_day(days, likely, serves), searched_to=last)

    def alone(self, booking: Booking, before: BookingAnswers, end: date) -> BookingAnswer:
        """Answer for one more booking, as if it were added now; `before` are the answers as things stand."""
        booked = replace(self.snapshot, bookings=(*self.snapshot.bookings, booking))
        then = BookedSchool(booked, self.policy, {**self.bookings, booking.code: booking}, self.asked_by, before)
        answers = then.answers(booked, end)
        return then._harming(answers.of(booking), answers, [booking], end)

    def _harming(
        self, one: BookingAnswer, after: BookingAnswers, wanted: Sequence[Booking], end: date
    ) -> BookingAnswer:
        """Turn an answer to no where the booking would take from others that could be shown without it."""
        if one.can_be_shown is False:
            return one
        new = {b.code for b in wanted}
        others = [b for b in self.bookings.values() if b.stands and b.code not in new and b.on <= end]
        hit = [b for b in others if after.of(b).can_be_shown is False]
        if not hit:
            return one
        if self._before is None:
            without = replace(self.snapshot, bookings=tuple(b for b in self.snapshot.bookings if b.code not in new))
            self._before = self.answers(without, end)
        lost = [other for other in hit if self._before.of(other).can_be_shown is not False]
        harmed = lost if len(new) == 1 else [other for other in lost if shares(one, after.of(other))]
        return taking(one, harmed, after) if harmed else one

    def _likely(self, booking: Booking, drawn: Plan) -> date | None:
        """Find the first day that is likely to do: the one after all that a booking is made of has come."""
        items = self._made_of(booking)
        comes = [line.arrives for line in drawn.orders if line.item in items]
        comes += [order.due for order in self.snapshot.orders if order.item in items]
        there = max([*comes, booking.on, self.snapshot.today])
        days = Workdays(self.snapshot.calendar, there, there + timedelta(days=60))
        return days.next_from(there + timedelta(days=1))

    def _made_of(self, booking: Booking) -> set[str]:
        """Find every item that a booking may come from, by recipes and sources."""
        demo = self.snapshot.demos.get(booking.demo)
        return self.made_of_item(*([need.item for need in demo.needs] if demo else [booking.item]))

    def made_of_item(self, *items: str) -> set[str]:
        """Find every item that some items may come from, themselves too, by recipes and sources."""
        todo, seen = list(items), set[str]()
        while todo:
            item = todo.pop()
            if item in seen:
                continue
            seen.add(item)
            if solution := self.snapshot.solutions.get(item):
                todo += [line.item for line in solution.recipe] + [*solution.made_from, solution.make_up_with]
                todo += [s.code for s in self.snapshot.substances.values() if s.solute == solution.solute]
        return seen

    def _moved(self, days: dict[str, date]) -> Snapshot:
        moved = tuple(replace(b, on=days[b.code]) if b.code in days else b for b in self.snapshot.bookings)
        return replace(self.snapshot, bookings=moved)

    def end(self, days: Iterable[date]) -> date:
        """Find the last day to plan for: that of the last booking, so that what is taken from later ones shows."""
        booked = [b.on for b in self.snapshot.bookings if b.stands]
        last = max([self.snapshot.today, *days], default=self.snapshot.today)
        return max(last, min(max(booked, default=last), self.snapshot.today + FURTHEST))

    def _plan(self, snapshot: Snapshot, end: date) -> Plan:
        from prep.planning.plan import make_plan

        return make_plan(snapshot, Horizon(snapshot.today, end), self.policy)

    def answers(self, snapshot: Snapshot, end: date) -> BookingAnswers:
        """Plan a snapshot up to a day, to ask for its bookings' answers."""
        return BookingAnswers(self._plan(snapshot, end), snapshot)

    def _unknown(self, booking: Booking, problem: PrepError) -> BookingAnswer:
        why = Sentence(f"{booking.code} is booked; whether it can be served is not known: ", problem.sentence)
        return BookingAnswer(
            booking,
            None,
            BookingState.ASKED,
            booking.on,
            place=booking.set_out or booking.room,
            against=(Finding(Severity.ACT, "no-plan", booking.code, why, Sentence(AtTerminal("See: prep plan"))),),
        )
