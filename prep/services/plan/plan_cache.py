"""The plan of a state of the books, drawn up once and kept: for a server, which is asked for it again and again."""

from collections import OrderedDict
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from threading import Lock
from typing import Any, TypeVar

from prep.errors import Refused
from prep.services.inventory import session
from prep.services.plan import plan as plan_service
from prep.services.plan.plan import DrawnPlan
from prep.store.day import plan_state

_MOST, _MOST_READ, _MOST_ANSWERS = 4, 64, 32
_MOST_WAITING = 6
"""Askers for what takes seconds, of the 40 threads that a server has; common practice, no source."""
T = TypeVar("T")


class PlanCache:
    """The plans of an inventory, each by (state of the books, day, first and last day)."""

    def __init__(self, db: Path | None, last: date | None = None) -> None:
        self.db = db
        self.last = last
        self.drawn = 0
        self._plans: OrderedDict[tuple[Any, ...], DrawnPlan] = OrderedDict()
        self._lock = Lock()
        self._read: OrderedDict[tuple[int, Any], tuple[DrawnPlan, Any]] = OrderedDict()
        self._answers: OrderedDict[tuple[Any, ...], Any] = OrderedDict()
        self._answering, self._lock_of_waiting, self._waiting = Lock(), Lock(), 0

    def read(self, drawn: DrawnPlan, what: Any, make: Callable[[], T]) -> T:
        """Read something off a plan, or off the books it was drawn from, once for each `what`."""
        key = (id(drawn), what)
        if (found := self._read.get(key)) is not None and found[0] is drawn:
            made: T = found[1]
            return made
        made = make()
        self._read[key] = (drawn, made)
        while len(self._read) > _MOST_READ:
            self._read.popitem(last=False)
        return made

    def answer(self, today: date, what: Any, work: Callable[[], T]) -> T:
        """Work out what takes plans of its own, once for each `what` while the books and the day stay as they are.

        One at a time, as each takes seconds; the plan of the day does not wait for it. Raises Refused where too many
        wait already: each of them keeps a thread from serving other pages.
        """
        key = (self.books(), today, what)
        if key in self._answers:
            known: T = self._answers[key]
            return known
        with self._lock_of_waiting:
            if self._waiting >= _MOST_WAITING:
                raise Refused("Others are asking what takes long to work out; ask again in a minute.")
            self._waiting += 1
        try:
            with self._answering:
                if key not in self._answers:
                    self._answers[key] = work()
                found: T = self._answers[key]
                while len(self._answers) > _MOST_ANSWERS:
                    self._answers.popitem(last=False)
                return found
        finally:
            with self._lock_of_waiting:
                self._waiting -= 1

    def books(self) -> tuple[Any, ...]:
        """Read what tells this state of the books from any other, as far as plans go."""
        with session.reading(self.db) as connection:
            return plan_state.state_of(connection)

    def of(self, today: date, last: date | None = None) -> DrawnPlan:
        """Find the plan from `today` to six weeks on, to `last` or to the own last day if later. Raises PrepError."""
        end = today + timedelta(weeks=plan_service.DEFAULT_WEEKS)
        end = max([end, *(one for one in (last, self.last) if one is not None)])

        key = (self.books(), today, end)
        if (found := self._plans.get(key)) is not None:
            return found
        with self._lock:  # others who want this plan wait, so that it is drawn up once
            if (found := self._plans.get(key)) is not None:
                return found
            found = plan_service.plan(self.db, None, end.isoformat(), None, today)
            self._plans[key] = found
            self.drawn += 1
            while len(self._plans) > _MOST:
                self._plans.popitem(last=False)
            return found
