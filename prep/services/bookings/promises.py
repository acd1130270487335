"""Who was promised first: a booking that takes what an earlier one was promised is told so, by whichever command."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from prep.findings import Finding, Severity
from prep.planning.booking_answer import NO_DAY_HELPS, BookingAnswer, BookingAnswers, BookingState
from prep.planning.model import Booking
from prep.planning.workdays import by_number

_NAMED = 6
_PLANNED, _LEAST, _MOST = 1200, 2, 10
"""Plans that may be drawn up to tell whose promise is taken: so many bookings' worth of them, within these bounds."""


def shares(one: BookingAnswer, other: BookingAnswer) -> bool:
    """Tell whether a booking has an item, or a day's minutes, of those that another lacks."""
    items = {need.item for need in one.takes} | {make.solution for make in one.makes}
    items |= {order.item for order in one.orders}
    days = {make.on.isoformat() for make in one.makes} | {one.booking.on.isoformat()}
    lacks = {served.item for served in other.takes if served.short} | {finding.about for finding in other.against}
    return bool(lacks & (items | days))


def taking(one: BookingAnswer, harmed: Sequence[Booking], after: BookingAnswers) -> BookingAnswer:
    """Turn an answer to no, as the booking would take from others what they were promised."""
    said = ", ".join(f"{b.code} ({b.what} on {b.on})" for b in harmed[:_NAMED])
    more = f" and {len(harmed) - _NAMED} more" if len(harmed) > _NAMED else ""
    lost = [f for b in harmed for f in after.of(b).against]
    full = ", ".join(sorted({f.about for f in lost if f.code == "day-too-full"}))
    minutes = f"The room has not the minutes for it on {full}: it" if full else "It"
    against = Finding(
        Severity.STOP,
        "takes-from-others",
        one.booking.code,
        f"{minutes} would take from {said}{more} what {'was' if len(harmed) == 1 else 'those were'} promised.",
        "Choose another day, or ask the prep room.",
    )
    return replace(one, can_be_shown=False, state=BookingState.ASKED, state_on=one.booking.on, against=(against,))


def taken(one: BookingAnswer, takers: Sequence[Booking]) -> BookingAnswer:
    """Say in a failing booking's answer who took what it was promised."""
    said = ", ".join(f"{b.code} ({b.what} on {b.on})" for b in takers[:_NAMED])
    why = Finding(
        Severity.STOP,
        "taken-by-later",
        one.booking.code,
        f"What it was promised is taken by {said}, booked later.",
        "Ask the prep room which of them is shown that day.",
    )
    return replace(one, against=(why, *one.against))


@dataclass(slots=True)
class Promises:
    """The open bookings in the order in which they were asked for, and the plan's answers for all of them.

    `asked` is the number of the job that last set a booking's day or amounts; `without` draws up the answers with some
    bookings left out.
    """

    asked: Mapping[str, int]
    after: BookingAnswers
    bookings: Sequence[Booking]
    without: Callable[[Collection[str]], BookingAnswers]
    _drawn: dict[int, BookingAnswers] = field(default_factory=dict)

    def settled(self) -> dict[str, BookingAnswer]:
        """Find, by booking, the answers that are otherwise than the plan's alone: who takes, and who is taken from."""
        hit = [b for b in self.bookings if _lacks(self.after.of(b))]
        harmed: dict[str, list[Booking]] = {}
        out: dict[str, BookingAnswer] = {}
        for one in sorted(hit, key=lambda b: (self._job(b), by_number(b.code))):
            takers = self._takers(one)
            if takers:
                out[one.code] = taken(self.after.of(one), takers)
            for taker in takers:
                harmed.setdefault(taker.code, []).append(one)
        by_code = {b.code: b for b in self.bookings}
        for code, others in harmed.items():
            answer = self.after.of(by_code[code])
            if answer.can_be_shown is not False and not by_code[code].set_out:
                others = sorted(others, key=lambda b: (b.on, by_number(b.code)))
                out[code] = taking(answer, others, self.after)
        return out

    def _takers(self, one: Booking) -> list[Booking]:
        """Find the bookings of the first job after it with which a booking could no longer be shown."""
        lacks = self.after.of(one)
        later: dict[int, list[Booking]] = {}
        for other in self.bookings:
            if self._job(other) > self._job(one) and shares(self.after.of(other), lacks):
                later.setdefault(self._job(other), []).append(other)
        jobs = sorted(later)
        if not jobs:
            return []
        cuts = [jobs[0] - 1, *jobs[:-1]]  # with all that was asked for up to these, one of `jobs` more each time
        fails = len(jobs)
        if not self._could(one, cuts[-1]):  # the newest is the likeliest
            fails -= 1
            if not fails or not self._could(one, cuts[0]):
                return []
            could = 0
            while fails - could > 1:
                middle = (could + fails) // 2
                could, fails = (middle, fails) if self._could(one, cuts[middle]) else (could, middle)
        return later[jobs[fails - 1]]

    def _could(self, one: Booking, last: int) -> bool:
        """Tell whether a booking could be shown as long as no job after `last` had asked for anything."""
        if last not in self._drawn:
            if len(self._drawn) >= min(max(_PLANNED // max(len(self.bookings), 1), _LEAST), _MOST):
                return False
            self._drawn[last] = self.without({b.code for b in self.bookings if self._job(b) > last})
        return self._drawn[last].of(one).can_be_shown is not False

    def _job(self, booking: Booking) -> int:
        return self.asked.get(booking.code, 0)


def _lacks(answer: BookingAnswer) -> bool:
    """Tell whether a booking fails for want of something that another may have."""
    return answer.can_be_shown is False and not any(f.code in NO_DAY_HELPS for f in answer.against)
