"""What is drawn from where, and for whom: the links of a plan."""

from datetime import date
from enum import StrEnum

from prep.records import record


class LinkKind(StrEnum):
    """What stands at an end of a link of the plan."""

    BOOKING = "booking"
    REQUIREMENT = "requirement"
    BATCH = "batch"
    BOTTLE = "bottle"
    ORDER = "order"
    SHELF = "shelf"
    SHORTAGE = "shortage"


@record(frozen=True, slots=True)
class Source:
    """Where something comes from, or whom it serves.

    `item` is the solution of a batch, or what an order still to be placed is to bring; else empty.
    """

    kind: LinkKind
    ref: str
    item: str = ""

    @property
    def to_place(self) -> bool:
        """Whether it is an order that the plan asks for, rather than one on its way."""
        return self.kind is LinkKind.ORDER and bool(self.item)


class WithSource:
    """Anything that has a source, with the kind and the code of that source at hand."""

    __slots__ = ()
    source: Source

    @property
    def kind(self) -> LinkKind:
        """What it is drawn from, or serves."""
        return self.source.kind

    @property
    def ref(self) -> str:
        """The code of what it is drawn from, or serves."""
        return self.source.ref


@record(frozen=True, slots=True)
class Share(WithSource):
    """An amount drawn from, or serving, one thing."""

    source: Source
    amount: int


@record(frozen=True, slots=True)
class Take(WithSource):
    """What a batch draws of one item from one place.

    `used` is what of it reaches the product: less than `amount` only where an intermediate is made.
    """

    item: str
    source: Source
    amount: int
    used: int


@record(frozen=True, slots=True)
class BottleDraw:
    """One take from a bottle, dated."""

    on: date
    user: Source
    amount: int
