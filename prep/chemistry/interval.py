"""An interval of numbers: from one to another, both of them in it."""

from decimal import Decimal
from typing import Generic, TypeVar

from prep.records import record

N = TypeVar("N", int, float, Decimal)


@record(frozen=True, slots=True)
class Interval(Generic[N]):
    """What lies from `low` to `high`."""

    low: N
    high: N

    def __contains__(self, number: N) -> bool:
        return self.low <= number <= self.high

    @property
    def width(self) -> N:
        """How far it reaches."""
        return self.high - self.low
