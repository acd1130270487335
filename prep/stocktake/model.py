"""The plain data of a trace: what the books say of bottles and movements, and what came of following them.

Amounts are integers in the unit of what they are an amount of (ug or nL).
"""

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from prep.books import BottleStatus
from prep.chemistry.model import Measure


class HopKind(StrEnum):
    """What something was passed on to: a bottle that was filled, a booking, or neither (used, written off)."""

    BATCH = "batch"
    BOOKING = "booking"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class BottleRecord:
    """A bottle on the books, ever. `lot` is the supplier's, empty for what the room made."""

    code: str
    item: str
    measure: Measure
    lot: str = ""
    status: BottleStatus = BottleStatus.IN_SERVICE


@dataclass(frozen=True, slots=True)
class Movement:
    """One line of the ledger, signed. Jobs are numbered in the order in which they were written.

    `booking` is the code of the booking that got it (or brought it back). `reverses` is the `id` of the
    movement that this one undoes; such a pair never happened.
    """

    job: int
    bottle: str
    amount: int
    reason: str
    on: date
    booking: str = ""
    id: int = 0
    reverses: int | None = None


@dataclass(frozen=True, slots=True)
class BatchRecord:
    """The bottle that a making filled, and its job. A making that filled three bottles has three."""

    bottle: str
    job: int


@dataclass(frozen=True, slots=True)
class Hop:
    """One passing on: of `moved` from `bottle`, `carried` was what is traced (in the unit of `of`'s item).

    `to` is the bottle filled, the booking's code, or else the reason. What came back is negative.
    """

    job: int
    on: date
    bottle: str
    item: str
    measure: Measure
    kind: HopKind
    to: str
    moved: int
    of: str
    of_measure: Measure
    carried: int


@dataclass(frozen=True, slots=True)
class Holding:
    """A bottle that holds some of what is traced: `carried` of `of` within its `balance`."""

    bottle: str
    item: str
    measure: Measure
    status: BottleStatus
    balance: int
    of: str
    of_measure: Measure
    carried: int


@dataclass(frozen=True, slots=True)
class BookingShare:
    """How much of an item of the source a booking got."""

    booking: str
    item: str
    amount: int


@dataclass(frozen=True, slots=True)
class LotShare:
    """How much came from a supplier's lot of an item."""

    item: str
    lot: str
    amount: int


@dataclass(frozen=True, slots=True)
class Downstream:
    """All that came of `sources` (the bottle asked for, or the bottles of the lot), oldest first.

    `holds` are the bottles that have some of it now, the sources among them.
    """

    start: str
    sources: tuple[str, ...]
    hops: tuple[Hop, ...]
    holds: tuple[Holding, ...]

    @property
    def quarantine(self) -> tuple[str, ...]:
        """Codes of the bottles to take out of service when the source is recalled."""
        return tuple(dict.fromkeys(h.bottle for h in self.holds if h.status == BottleStatus.IN_SERVICE))

    @property
    def batches(self) -> tuple[str, ...]:
        """Bottles of made solutions that got some, oldest first."""
        return tuple(dict.fromkeys(h.to for h in self.hops if h.kind is HopKind.BATCH))

    @property
    def bookings(self) -> tuple[BookingShare, ...]:
        """Each booking that got some of an item of the source, net of what came back."""
        got: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
        order: dict[BookingShare, None] = {}
        for hop in self.hops:
            if hop.kind is HopKind.BOOKING:
                got[hop.to][hop.of] += hop.carried
                order[BookingShare(hop.to, hop.of, 0)] = None
        return tuple(replace(one, amount=got[one.booking][one.item]) for one in order)


@dataclass(frozen=True, slots=True)
class ContentShare:
    """How much of a bottle's content is in the thing asked about.

    `origin` is True for a bottle that no making on the books filled: there the trail ends. `steps` is the
    fewest makings between the two (0: drawn on directly, or the bottle itself).
    """

    bottle: str
    item: str
    measure: Measure
    lot: str
    amount: int
    origin: bool
    steps: int


@dataclass(frozen=True, slots=True)
class Upstream:
    """What a bottle's content, or what a booking got, came from; nearest first."""

    start: str
    shares: tuple[ContentShare, ...]

    @property
    def lots(self) -> tuple[LotShare, ...]:
        """Each lot where the trail ends; its name is empty where none was written down."""
        got: dict[LotShare, int] = defaultdict(int)
        for share in self.shares:
            if share.origin:
                got[LotShare(share.item, share.lot, 0)] += share.amount
        return tuple(
            replace(one, amount=amount)
            for one, amount in sorted(got.items(), key=lambda one: (one[0].item, one[0].lot))
        )
