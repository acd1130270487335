"""What could be shown on a day as things stand, from a handful of plans however many demonstrations there are."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path

from prep.chemistry.catalogue import WATER
from prep.chemistry.model import Solution
from prep.errors import PrepError
from prep.planning.booking_answer import BookingAnswer, BookingAnswers
from prep.planning.model import Booking, Bottle, OpenOrder, Snapshot
from prep.planning.set_out import minutes_of
from prep.services.bookings.answers import BookedSchool

_NO_LIMIT = 10**6
"""Minutes of a day on which the room's time is left out of account."""


_SINGLY = 48
"""Plans that are drawn up for one demonstration, or a few, on full days; better a wait than half a list."""


@dataclass(frozen=True, slots=True)
class Showable:
    """The codes of the demos that could be shown on a day, and of those for which no plan was drawn up.

    Those wait for a plan of their own, as what they take may be made on a day that is too full.
    """

    codes: list[str]
    not_asked: list[str]


def showable(db: Path | None, on: date, today: date, codes: Collection[str] | None = None) -> Showable:
    """Find the demos, of some or of all, that could be shown on a day as things stand, each by itself.

    Raises PrepError for a day that is past or closed.
    """
    school = BookedSchool.load(db, today, ())
    if on < today or not school.snapshot.calendar.works(on):
        raise PrepError(f"On {on} nothing can be shown: it is {'past' if on < today else 'closed'}.")
    tries = _Tries(school, on, codes)
    found = tries.found()
    return Showable(found, [code for code in school.snapshot.demos if code in tries.not_asked and code not in found])


@dataclass
class _Tries:
    """Every demo tried on one day: all together for what they take, then each beside the minutes that are left.

    What no booking takes serves most of them, which then harm nobody, and what is held in all is too little for some:
    both are small plans without the bookings. Those between are tried beside the bookings. One that comes off short
    beside the others is tried again beside fewer, until nothing more is found; those that another's booking, or a
    rival for the same bottle, stands against are tried by halves.
    """

    school: BookedSchool
    on: date
    codes: Collection[str] | None = None
    not_asked: set[str] = field(init=False, default_factory=set)
    _singly: int = field(init=False, default=0)
    _end: date = field(init=False)
    _before: BookingAnswers = field(init=False)
    _served: frozenset[str] = field(init=False)
    _held: frozenset[str] = field(init=False)
    _known: dict[str, bool] = field(init=False, default_factory=dict)
    _made_of: dict[str, frozenset[str]] = field(init=False, default_factory=dict)
    _dayless: dict[str, bool] = field(init=False, default_factory=dict)
    _asked: dict[frozenset[tuple[str, date, int]], bool] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self._end = self.school.end([self.on])
        self._before = self.school.answers(self.school.snapshot, self._end)
        snapshot = self.school.snapshot
        on_its_way = {order.item for order in snapshot.orders if order.due <= self.on}
        self._held = frozenset({bottle.item for bottle in snapshot.bottles if bottle.amount} | on_its_way)
        self._served = frozenset(b.code for b in self._others if self._before.of(b).can_be_shown is not False)

    @property
    def _others(self) -> list[Booking]:
        return [b for b in self.school.bookings.values() if b.stands]

    def found(self) -> list[str]:
        """Find the codes of the demos that can be shown, in the order of the catalogue."""
        order = [code for code in self.school.snapshot.demos if self.codes is None or code in self.codes]
        yes = set[str]()
        left = {code: Booking(f"trial-{code}", self.on, "", "", "", code, 1) for code in order if self._reaches(code)}
        spared = self._without_others(left, self._before.left(), ())
        yes |= {code for code, one in spared.items() if self._in_time(code, one)}
        snapshot = self.school.snapshot
        others = {code: one for code, one in left.items() if code not in spared}
        at_most = self._without_others(others, snapshot.bottles, snapshot.orders)
        left = {code: one for code, one in others.items() if code in at_most}
        alone: dict[str, Booking] = {}
        while left:
            answers = self._answers(left.values())
            given = {code: answers.of(one) for code, one in left.items()}
            served = {code for code, one in given.items() if one.can_be_shown is not False}
            harmed = self._harmed(answers)
            served_in_time = {code for code in served if self._in_time(code, given[code])}
            doubtful = {
                code for code in served_in_time - spared.keys() if harmed and self._takes_any(given[code], harmed)
            }
            yes |= served_in_time - doubtful
            alone |= {code: left[code] for code in doubtful}
            left = {code: one for code, one in left.items() if code not in served}
            if not served:
                alone |= {code: left[code] for code in self._rivals(given)}
                break
        yes |= self._apart(alone)
        return [code for code in order if code in yes]

    def _reaches(self, code: str) -> bool:
        """Tell whether everything a demo takes is in the room or can come in time, in whatever amount."""
        return all(self._there(need.item) for need in self.school.snapshot.demos[code].needs)

    def _there(self, item: str) -> bool:
        if item not in self._known:
            self._known[item] = False  # until it is found: a solution made from itself must not count as there
            self._known[item] = self._comes(item) or self._makes(item)
        return self._known[item]

    def _comes(self, item: str) -> bool:
        snapshot = self.school.snapshot
        if item == WATER or item not in snapshot.catalogue or item in self._held:
            return True  # the plan says itself what is not on file
        rule = snapshot.rules.get(item)
        if rule is None and item not in snapshot.substances:
            return False
        days = rule.lead_days if rule else self.school.policy.default_lead_days
        return snapshot.today + timedelta(days=days) <= self.on

    def _makes(self, item: str) -> bool:
        snapshot = self.school.snapshot
        made = snapshot.solutions.get(item)
        solute = made.solute if made else snapshot.substances[item].solute
        others = [s.code for s in snapshot.substances.values() if s.solute == solute]  # another hydrate, or strength
        if made is None:
            return any(map(self._comes, others))
        if made.recipe and all(self._there(line.item) for line in made.recipe):
            return True
        others += [s.code for s in snapshot.solutions.values() if s.solute == solute and s.code in self._held]
        return any(map(self._there, (*made.made_from, *others)))

    def _without_others(
        self, some: Mapping[str, Booking], bottles: tuple[Bottle, ...], orders: tuple[OpenOrder, ...]
    ) -> dict[str, BookingAnswer]:
        """Find the demos that these bottles and orders serve, each by itself, if nothing else were booked."""
        bare = replace(self.school.snapshot, bookings=(), bottles=bottles, orders=orders)
        found: dict[str, BookingAnswer] = {}

        def served(these: Mapping[str, Booking]) -> dict[str, BookingAnswer]:
            answers = self._answers(these.values(), bare, self.on)
            given = {code: answers.of(one) for code, one in these.items()}
            return {code: one for code, one in given.items() if one.can_be_shown is not False}

        left = dict(some)
        while left and (more := served(left)):  # many at once while that serves any: one plan for each is slow
            found |= more
            left = {code: one for code, one in left.items() if code not in more}
        for code, one in left.items():
            found |= served({code: one})
        return found

    def _answers(
        self, some: Iterable[Booking], snapshot: Snapshot | None = None, end: date | None = None
    ) -> BookingAnswers:
        snapshot = snapshot or self.school.snapshot
        none = {day: 0 for day, limit in snapshot.calendar.minutes_on.items() if not limit}
        endless = replace(snapshot.calendar, minutes_per_day=_NO_LIMIT, minutes_on=none)
        booked = replace(snapshot, bookings=(*snapshot.bookings, *some), calendar=endless)
        return self.school.answers(booked, end or self._end)

    def _in_time(self, code: str, answer: BookingAnswer) -> bool:
        """Tell whether the room has the minutes for a demo: where days are nearly full, as its own plan says.

        Of demos with the same makes one is asked.
        """
        items = {need.item for need in self.school.snapshot.demos[code].needs}
        if self._roomy(answer) and not any(map(self._may_wait_for_a_full_day, items)):
            return True
        if any(map(self._has_no_day, items)):
            return False
        makes = frozenset((make.solution, make.on, make.minutes) for make in answer.makes)
        if makes not in self._asked:
            if not self._asks_singly():
                self.not_asked.add(code)
                return False
            trial = Booking(f"trial-{code}", self.on, "", "", "", code, 1)
            self._asked[makes] = self.school.alone(trial, self._before, self._end).can_be_shown is not False
        return self._asked[makes]

    def _asks_singly(self) -> bool:
        """Tell whether one more plan may be drawn up for a few demos alone, and count it."""
        self._singly += 1
        return self._singly <= _SINGLY

    def _roomy(self, answer: BookingAnswer) -> bool:
        """Tell whether a demo's makes, and setting it out, fit into the minutes that are left on just their days."""
        added = Counter[date]()
        for make in answer.makes:
            added[make.on] += make.minutes
        if self.on in added:
            added[self.on] += minutes_of([answer.booking])
        elif not self._sets_out:
            return False
        return all(self._before.minutes(day) + more <= self._left(day) for day, more in added.items())

    def _may_wait_for_a_full_day(self, item: str) -> bool:
        """Tell whether a demo may be given what the bookings have made on a day too full, whatever else is left."""
        return not self._too_full.isdisjoint(self._before.made_on(item, self.on))

    @cached_property
    def _too_full(self) -> set[date]:
        return self._before.too_full()

    def _has_no_day(self, item: str) -> bool:
        """Tell whether a solution that must be made for the day can be made on none, as each is too full for it.

        It is none that any bottle holds; and where the plan makes it already, so that no more minutes would be asked
        for, that day is too full as well.
        """
        if item not in self._dayless:
            made = self.school.snapshot.solutions.get(item)
            self._dayless[item] = made is not None and item not in self._keeps and self._is_full_for(made)
        return self._dayless[item]

    def _is_full_for(self, solution: Solution) -> bool:
        made_on = self._before.made_on(solution.code, self.on)
        setting_out = minutes_of([Booking("trial", self.on, "", "", "", "", 1, item=solution.code)])
        for ago in range(min(solution.shelf_life_days, (self.on - self.school.snapshot.today).days) + 1):
            day = self.on - timedelta(days=ago)
            if self.school.snapshot.calendar.works(day):
                more = 0 if day in made_on else solution.minutes
                left = max(0, self._left(day) - (0 if ago else setting_out))
                if self._before.minutes(day) + more <= left:
                    return False
        return True

    @cached_property
    def _keeps(self) -> frozenset[str]:
        """What is in a bottle that keeps to the day, or comes by then."""
        snapshot = self.school.snapshot
        there = {one.item for one in snapshot.bottles if one.amount and (one.use_by is None or one.use_by >= self.on)}
        return frozenset(there | {order.item for order in snapshot.orders if order.due <= self.on})

    @cached_property
    def _sets_out(self) -> bool:
        """Whether the day has the minutes to set out one booking more, for which nothing is made."""
        nothing = Booking("trial", self.on, "", "", "", "", 1, item=next(iter(self.school.snapshot.substances)))
        if self._before.minutes(self.on) + minutes_of([nothing]) <= self._left(self.on):
            return True
        return self.school.alone(nothing, self._before, self._end).can_be_shown is not False

    def _left(self, day: date) -> int:
        """Count the minutes of making that a day has beside setting out and clearing what is booked."""
        booked = [one for one in self._others if one.on == day]
        return self.school.snapshot.calendar.minutes(day) - minutes_of(booked)

    def _harmed(self, answers: BookingAnswers) -> set[str]:
        """Find the items that run short for bookings which were served before."""
        hit = (b for b in self._others if b.code in self._served)
        return {
            need.item for b in hit if (one := answers.of(b)).can_be_shown is False for need in one.takes if need.short
        }

    def _takes_any(self, answer: BookingAnswer, items: Collection[str]) -> bool:
        return any(self._related(need.item, item) for need in answer.takes for item in items)

    def _rivals(self, given: Mapping[str, BookingAnswer]) -> set[str]:
        """Find the demos that came off short, but could be served from what others of the same try took.

        An item of which no demo got anything, or of which all that they got is too little, cannot be served so.
        """
        shared: Counter[str] = Counter()
        for one in given.values():
            for need in one.takes:
                shared[need.item] += need.amount - need.short

        def fillable(item: str, amount: int) -> bool:
            return shared[item] >= amount or any(
                got and other != item and self._related(item, other) for other, got in shared.items()
            )

        return {
            code
            for code, one in given.items()
            if (wanting := [need for need in one.takes if need.short])
            and all(fillable(need.item, need.amount) for need in wanting)
        }

    def _related(self, one: str, other: str) -> bool:
        """Tell whether two items may come from the same bottle: as each other, or by what they are made of."""
        return bool(self._sources(one) & self._sources(other))

    def _sources(self, item: str) -> frozenset[str]:
        if item not in self._made_of:
            self._made_of[item] = frozenset(self.school.made_of_item(item)) - {WATER}
        return self._made_of[item]

    def _apart(self, some: Mapping[str, Booking]) -> set[str]:
        """Find which demos can be shown without taking from bookings: all together where possible, else by halves."""
        if not some:
            return set()
        if not self._asks_singly():
            self.not_asked |= some.keys()
            return set()
        answers = self._answers(some.values())
        given = {code: answers.of(one) for code, one in some.items()}
        served = {code for code, one in given.items() if one.can_be_shown is not False and self._in_time(code, one)}
        if len(some) == 1:
            return set() if self._harmed(answers) else served
        if len(served) == len(some) and not self._harmed(answers):
            return served
        codes = list(some)
        halves = codes[: len(codes) // 2], codes[len(codes) // 2 :]
        return {code for half in halves for code in self._apart({code: some[code] for code in half})}
