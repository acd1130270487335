"""What every run of one plan shares: the snapshot, the working days, the bench, and the supplies on the shelves."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from prep.books import BottleStatus
from prep.chemistry.model import Strength
from prep.chemistry.preparation.instructions import MakeSheets
from prep.chemistry.preparation.vessels import Bench
from prep.chemistry.strength.bottled import FoundRatio
from prep.planning.draws import LinkKind, Source
from prep.planning.engine.netting import Supplies, Supply
from prep.planning.engine.requirements import Demand, DemandPart
from prep.planning.model import Booking, Horizon, Policy, Snapshot
from prep.planning.set_out import minutes_of
from prep.planning.workdays import Workdays
from prep.records import record

if TYPE_CHECKING:
    from prep.planning.engine.exclusions import SourceDependencies
    from prep.planning.engine.lots import Lots
    from prep.planning.engine.sourcing import ChosenRoute

FOREVER = date.max
_NOMINAL = FoundRatio()


@record(frozen=True, slots=True)
class PrepRoom:
    """The prep room as one plan sees it: its stock, its days, its bench, and what is worked out for every run."""

    snapshot: Snapshot
    horizon: Horizon
    policy: Policy
    days: Workdays
    bench: Bench
    sheets: MakeSheets
    found: Mapping[str, Decimal]  # bottle -> uncertainty (k = 2, per cent) of the strength found in it
    strengths: Mapping[str, Strength]  # bottle -> its own strength, as found or as its label says
    lead: Mapping[str, date]  # item -> first day on which an order placed today can be here
    held: frozenset[str]  # what there is a bottle of, empty ones too
    own_minima: frozenset[str]  # those of them of which the school set a minimum itself
    bought: frozenset[str]  # what is held, and what is on order
    # By all that decides them.
    sources_of: "dict[object, tuple[SourceDependencies, int, ChosenRoute]]" = field(default_factory=dict)
    # By the choice and the volume: what leaves the bottles, and the share that reaches the product.
    taken_of: "dict[tuple[int, int], tuple[ChosenRoute, dict[str, int], dict[str, Fraction]]]" = field(
        default_factory=dict
    )
    there: dict[str, list[Supply]] = field(default_factory=dict)  # item -> what every run begins with
    set_out: dict[date, int] = field(default_factory=dict)  # day -> minutes of setting out and clearing
    # What was asked for and the lots, by all else that decides them.
    lots_of: "dict[object, list[tuple[list[DemandPart], Lots]]]" = field(default_factory=lambda: defaultdict(list))

    def minutes(self, day: date) -> int:
        """Count the minutes of making that a day has, less what setting out and clearing its bookings take."""
        if not self.set_out:
            by_day: dict[date, list[Booking]] = defaultdict(list)
            for booking in self.snapshot.bookings:
                if booking.status == "booked":
                    by_day[booking.on].append(booking)
            self.set_out.update({on: minutes_of(some) for on, some in by_day.items()})
            self.set_out.setdefault(date.min, 0)
        return max(0, self.snapshot.calendar.minutes(day) - self.set_out.get(day, 0))

    def name(self, item: str) -> str:
        """Find the item's name, as a person calls it."""
        known = self.snapshot.solutions.get(item) or self.snapshot.substances.get(item)
        return known.name if known else item

    def reagents(self, code: str) -> set[str]:
        """Gather all that is bought of what a solution may be made from, over its stocks too."""
        reagents, todo = set[str](), [code]
        seen = set(todo)
        while todo:
            for item in self.bench.drawn_on(todo.pop()):
                if item not in self.snapshot.solutions:
                    reagents.add(item)
                elif item not in seen:
                    seen.add(item)
                    todo.append(item)
        return reagents

    def read(self, demand: Demand, amount: int) -> int:
        """Find the figure that is read where a batch measures so much.

        The amount itself where nothing measures it.
        """
        solution = self.snapshot.solutions.get(demand.solution)
        found = self.bench.directly(demand.item, amount, solution) if solution else None
        return found.taken if found else amount

    def supplies(self) -> Supplies:
        """Give the untouched supplies of each item: bottles in service, and open orders from their due day."""
        if not self.there:
            for item, supply in self._on_shelves_and_on_order():
                self.there.setdefault(item, []).append(supply)
        return Supplies(self.there)

    def _on_shelves_and_on_order(self) -> Iterable[tuple[str, Supply]]:
        today = self.snapshot.today
        for bottle in self.snapshot.bottles:
            if bottle.status == BottleStatus.IN_SERVICE and bottle.amount > 0:
                own = self.bench.strength_ratio(bottle.item, bottle.strength) if bottle.strength else _NOMINAL
                since = bottle.received or date.min
                # What stands on the shelf can be used now, even if it was made later than it should have been.
                available = since if since > today else date.min
                yield (
                    bottle.item,
                    Supply(
                        Source(LinkKind.BOTTLE, bottle.code),
                        bottle.amount,
                        available,
                        bottle.use_by or FOREVER,
                        own.ratio,
                        own.serves,
                        since,
                        bottle.opened is not None,
                    ),
                )
        for placed in self.snapshot.orders:
            due = max(placed.due, today)
            yield placed.item, Supply(Source(LinkKind.ORDER, placed.code), placed.amount, due, FOREVER, since=due)
