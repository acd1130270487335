"""The two ends of a link of the plan: what serves, and whom."""

from dataclasses import dataclass
from enum import StrEnum


class LinkKind(StrEnum):
    """What stands at an end of a link of the plan."""

    BOOKING = "booking"
    REQUIREMENT = "requirement"
    BATCH = "batch"
    BOTTLE = "bottle"
    ORDER = "order"
    SHELF = "shelf"
    SHORTAGE = "shortage"


@dataclass(frozen=True, slots=True)
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
