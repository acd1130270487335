"""The plain data of the plan: what goes in (`Snapshot`, `Policy`) and what comes out (`Plan`).

Amounts are integers in the item's unit, ug or nL; an item is the code of a substance or of a solution.
"""

from collections.abc import Mapping
from dataclasses import field, replace
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import partial
from typing import Any

from prep.books import BookingStatus, BottleStatus
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Instrument, Line, Solution, Strength, Substance
from prep.chemistry.preparation.steps import MakeSheet, WrittenStep
from prep.dates import Deliveries
from prep.findings import Finding
from prep.planning.draws import BottleDraw, Share, Take
from prep.records import record


@record(frozen=True, slots=True)
class Need:
    """What one showing of a demo needs of one item.

    `per_showing` and `dead` (left in the vessel, per booking) are in the item's unit. `drops` is the count
    when the need was written in drops, of `dropper` (its code; the common one where that is empty); `until` says
    the pH or the colour to reach, and what is in `vessel` says from where. What is `shared` is set out once for the
    room, however many showings or sets there are. `per_showing` is used in so many equal `portions`, in turn.
    """

    item: str
    per_showing: int
    vessel: str = ""
    dead: int = 0
    fresh: bool = False
    drops: int = 0
    until: str = ""
    note: str = ""
    dropper: str = ""
    shared: bool = False
    portions: int = 1


@record(frozen=True, slots=True)
class Leftover:
    """What a demo leaves to dispose of, and its stream."""

    what: str
    stream: str
    note: str = ""


class DemoKind(StrEnum):
    """Who does it: the teacher in front, as many times as it is shown, or the class, in so many sets."""

    DEMONSTRATION = "demonstration"
    PRACTICAL = "class practical"


@record(frozen=True, slots=True)
class Demo:
    """A demonstration, or a class practical, of which a booking's showings are the sets.

    `spare` is a fraction on top (0.1: a tenth), `trials` run before each booking; `ask_first` says who must allow it.
    """

    code: str
    name: str
    needs: tuple[Need, ...]
    spare: Decimal = Decimal("0.1")
    leftovers: tuple[Leftover, ...] = ()
    about: str = ""
    caution: str = ""
    source: str = ""
    other_names: tuple[str, ...] = ()
    principle: str = ""
    trials: int = 0
    kind: DemoKind = DemoKind.DEMONSTRATION
    ask_first: str = ""

    @property
    def unit(self) -> str:
        """What a booking counts of it: showings, or sets."""
        return "set" if self.kind is DemoKind.PRACTICAL else "showing"


@record(frozen=True, slots=True)
class Booking:
    """A teacher's date, period, room, demo and showings.

    `trials` are shown beforehand, on top. `item` is set where it is no demo but a plain solution or substance:
    then `demo` is empty, and each showing is a portion of `portion` (ug or nL). `set_out` says where it stands
    ready; `allowed_by` and `allowed_on` who allowed a demo that asks for leave, and when.
    """

    code: str
    on: date
    period: str
    room: str
    teacher: str
    demo: str
    showings: int
    status: BookingStatus = BookingStatus.BOOKED
    group: str = ""
    note: str = ""
    item: str = ""
    portion: int = 0
    trials: int = 0
    set_out: str = ""
    allowed_by: str = ""
    allowed_on: date | None = None

    @property
    def stands(self) -> bool:
        """Whether it is still to be shown."""
        return self.status == BookingStatus.BOOKED

    @property
    def what(self) -> str:
        """What is booked: the code of the demo, or of the item."""
        return self.demo or self.item

    @property
    def runs(self) -> int:
        """How many times it is set out for: showings and trial runs."""
        return self.showings + self.trials


@record(frozen=True, slots=True)
class Bottle:
    """A container with what is in it now.

    `strength` is as found where one was, within `strength_uncertainty_pct`; `made_pct` is its make's (k = 2).
    """

    code: str
    item: str
    amount: int
    use_by: date | None = None
    location: str = ""
    status: BottleStatus = BottleStatus.IN_SERVICE
    strength: Strength | None = None
    received: date | None = None
    strength_uncertainty_pct: Decimal | None = None
    opened: date | None = None
    made_pct: Decimal | None = None


@record(frozen=True, slots=True)
class OpenOrder:
    """An order already placed: `amount` in the item's unit arrives on `due`."""

    code: str
    item: str
    amount: int
    due: date


@record(frozen=True, slots=True)
class StockRule:
    """What is kept of a substance (`own`: as the school set it), the packs it comes in, and days an order takes."""

    item: str
    minimum: int
    packs: tuple[int, ...]
    lead_days: int
    own: bool = False


@record(frozen=True, slots=True)
class Calendar:
    """Working weekdays (0 = Monday), closed days (date -> why), and the minutes of making that a day has.

    `minutes_on` are days with minutes of their own: none on a training day, more with a second pair of hands.
    """

    weekdays: frozenset[int] = frozenset({0, 1, 2, 3, 4})
    closed: Mapping[date, str] = field(default_factory=dict)
    minutes_per_day: int = 240
    minutes_on: Mapping[date, int] = field(default_factory=dict)

    def works(self, day: date) -> bool:
        """Tell whether the room is open on the day."""
        return day.weekday() in self.weekdays and day not in self.closed

    def minutes(self, day: date) -> int:
        """Find the minutes of making that the day has."""
        return self.minutes_on.get(day, self.minutes_per_day)


@record(frozen=True, slots=True)
class Snapshot:
    """All that the plan may know."""

    today: date
    catalogue: Catalogue
    demos: Mapping[str, Demo]
    bookings: tuple[Booking, ...]
    bottles: tuple[Bottle, ...]
    orders: tuple[OpenOrder, ...]
    rules: Mapping[str, StockRule]
    instruments: tuple[Instrument, ...]
    calendar: Calendar
    noticed: tuple[Finding, ...] = ()  # found while loading; the plan repeats them
    deliveries: Deliveries = field(default_factory=Deliveries)
    days_open: Mapping[str, int] = field(default_factory=dict)  # the school's own, after opening

    @property
    def substances(self) -> Mapping[str, Substance]:
        """The catalogue's substances by code."""
        return self.catalogue.substances

    @property
    def solutions(self) -> Mapping[str, Solution]:
        """The catalogue's solutions by code."""
        return self.catalogue.solutions


@record(frozen=True, slots=True)
class Horizon:
    """First and last booking date the plan covers, both included."""

    start: date
    end: date


@record(frozen=True, slots=True)
class Policy:
    """What a school may set about planning. Costs are in minutes of work (planning/lots.py says of what).

    None takes the usual figure: of a make its entry's minutes. An order may be `order_margin_days` working days late.
    """

    default_lead_days: int = 10
    make_ahead_days: int = 0
    cost_per_make: Decimal | None = None
    cost_per_litre_wasted: Decimal | None = None
    cost_per_litre_day_held: Decimal | None = None
    cost_per_litre_costly_wasted: Decimal | None = None
    cost_per_litre_hazard_wasted: Decimal | None = None
    cost_per_dilution: Decimal | None = None
    order_margin_days: int = 1


@record(frozen=True, slots=True)
class Requirement:
    """What a booking needs of one item, and what serves it."""

    id: str
    booking: str
    item: str
    needed_on: date
    ready_by: date
    amount: int
    served: tuple[Share, ...]
    short: int = 0
    why: str = ""


@record(frozen=True, slots=True)
class BatchHazards:
    """Label elements of what a make makes: `h` and `pictograms` are codes, `statements` are their words.

    Unless `known`, something in it has no hazard data; `check_before_relying`: a fact nobody has verified.
    """

    signal: str
    h: tuple[str, ...]
    pictograms: tuple[str, ...]
    known: bool
    check_before_relying: bool
    statements: str

    @property
    def says(self) -> str:
        """The signal word and the statements in one line."""
        return f"{self.signal}: {self.statements}" if self.signal else self.statements


@record(frozen=True, slots=True)
class Batch:
    """A make task. `cautions` and `hazards` are added by the service that draws up the plan."""

    id: str
    solution: str
    make_on: date
    first_use: date
    last_use: date
    use_by: date
    amount: int
    sheet: MakeSheet
    takes: tuple[Take, ...]
    cautions: tuple[str, ...]
    serves: tuple[Share, ...]
    left_over: int
    minutes: int
    route: str = ""
    why: str = ""
    unusual: str = ""  # why it is not the usual volume
    hazards: BatchHazards | None = None

    @property
    def vessel(self) -> str:
        """The vessel that it is made in."""
        return self.sheet.written.vessel

    @property
    def steps(self) -> tuple[WrittenStep, ...]:
        """The steps of the make, in order."""
        return self.sheet.written.steps

    @property
    def working(self) -> tuple[Line, ...]:
        """How its figures were come by."""
        return self.sheet.written.working

    @property
    def strength(self) -> Strength | None:
        """The strength that the measured figures give."""
        return self.sheet.written.strength

    @property
    def uncertainty_pct(self) -> Decimal | None:
        """How far that may be off (k = 2); None where there is no one strength."""
        return self.sheet.written.uncertainty_pct

    def rewritten(self, **changed: Any) -> "Batch":
        """Rewrite parts of the make's sheet; the make stays the same."""
        return replace(self, sheet=MakeSheet(partial(replace, self.sheet.written, **changed)))

    @property
    def first_user(self) -> str:
        """The requirement that it serves first, or the solution that is made from it; empty where it serves none."""
        return (self.serves[0].source.item or self.serves[0].ref) if self.serves else ""

    @property
    def other_cautions(self) -> tuple[str, ...]:
        """The cautions that stand at none of the steps."""
        said = {step.text for step in self.steps}
        return tuple(caution for caution in self.cautions if caution not in said)


@record(frozen=True, slots=True)
class BottleLine:
    """A bottle through the horizon."""

    code: str
    item: str
    start: int
    end: int
    use_by: date | None
    takes: tuple[BottleDraw, ...]


@record(frozen=True, slots=True)
class OrderLine:
    """What to buy. `amount` is packs times pack.

    `order` is shared by the lines of one order, one for each size of pack. `needed_on` is the first day that somebody
    needs it, else that on which the stock falls below what is kept. `for_minimum`: only the minimum asks for it.
    """

    id: str
    order: str
    item: str
    packs: int
    pack: int
    order_by: date
    needed_on: date
    arrives: date
    for_: tuple[Share, ...]
    late: bool
    why: str
    below_minimum_on: date | None = None
    for_minimum: bool = False

    @property
    def amount(self) -> int:
        """Total bought, in the item's unit."""
        return self.packs * self.pack


@record(frozen=True, slots=True)
class Plan:
    """The whole answer."""

    today: date
    horizon: Horizon
    requirements: tuple[Requirement, ...]
    batches: tuple[Batch, ...]
    bottles: tuple[BottleLine, ...]
    orders: tuple[OrderLine, ...]
    findings: tuple[Finding, ...]

    def bookings(self) -> dict[str, str]:
        """Find the booking of each requirement, by the requirement's id."""
        return {need.id: need.booking for need in self.requirements}
