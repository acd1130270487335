"""Who does a thing, and on what day: what every job is written down with."""

from datetime import date
from typing import Generic, TypeVar

from prep.dates import DoneOn
from prep.records import record

_T = TypeVar("_T")


@record(frozen=True, slots=True)
class BeforeAfter(Generic[_T]):
    """A record as it stands, and as a job is to leave it."""

    before: _T
    after: _T


@record(frozen=True, slots=True)
class Act:
    """Who did a job, and the day it was done."""

    by: str
    day: DoneOn

    @property
    def on(self) -> date:
        """The day it was done."""
        return self.day.on

    @property
    def today(self) -> date:
        """The day it is written down."""
        return self.day.today

    def since(self, day: date | None, what: str) -> None:
        """Check that it was done no earlier than `day`, on which `what` happened. Raises PrepError."""
        self.day.since(day, what)
