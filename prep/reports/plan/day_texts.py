"""What the lines of a day say, on the screen as on paper."""

from collections import defaultdict
from itertools import groupby
from typing import TYPE_CHECKING

from prep.chemistry.catalogue import WATER
from prep.chemistry.model import Measure
from prep.planning.by_day import BottleFetch, DueDelivery, PlanDay
from prep.planning.draws import LinkKind, Share, Source
from prep.planning.engine.requirements import demo_of
from prep.planning.model import Batch, Booking, Bottle, Demo, Requirement, Snapshot
from prep.planning.set_out import each_of, how_often, in_all, sensibly, vessels_of
from prep.plurals import plural
from prep.records import record
from prep.reports.formatting import ItemNames, day, short_day, weekday
from prep.reports.plan.screen import lacking, placed

if TYPE_CHECKING:
    from prep.services.safety.bench_controls import BenchControls


@record(frozen=True, slots=True)
class SetOutThing:
    """One thing of a booking: in which vessel, how much each time, and how much in all from where."""

    each: str
    what: str
    source: str


@record(frozen=True, slots=True)
class PlaceFetch:
    """What is fetched at one place: its bottles in words."""

    place: str
    bottles: str


class DayTexts:
    """The texts of one day's lines, each written when it is asked for."""

    def __init__(self, found: PlanDay, snapshot: Snapshot, controls: "BenchControls | None" = None) -> None:
        """Prepare the texts of a day; `controls` are kept from day to day by whoever prints several."""
        self.found, self.snapshot, self.names = found, snapshot, ItemNames(snapshot)
        if controls is None:
            from prep.services.safety.bench_controls import BenchControls

            controls = BenchControls(snapshot.catalogue)
        self.controls = controls
        self.places = {bottle.code: bottle.location for bottle in snapshot.bottles}
        made_from = {take.ref for batch in found.batches for take in batch.takes}
        self.emptied = {one.bottle for one in found.fetches if one.all_of_it and one.bottle not in made_from}

    def fetches(self) -> list[PlaceFetch]:
        """List each place, and the bottles to fetch there."""
        out = []
        for place, some in groupby(self.found.fetches, key=lambda one: one.place):
            bottles = [f"{one.bottle} {self.names.of(one.item)} ({self._fetched(one)})" for one in some]
            out.append(PlaceFetch(place or "no place", "; ".join(bottles)))
        return out

    def _fetched(self, one: BottleFetch) -> str:
        return "all of it" if one.all_of_it else self.names.amount(one.item, one.amount)

    def minds(self, booking: Booking) -> tuple[str, ...]:
        """Say what was noted for the prep room, whom to ask, what to mind and to wear, and what goes on which tray."""
        demo = self._reckoned(booking)
        note = (f"{booking.note[:1].upper()}{booking.note[1:]}",) if booking.note else ()
        return (*note, *self.controls.of(demo, booking), *self.controls.trays(demo, booking.showings)) if demo else note

    def things(self, booking: Booking) -> list[SetOutThing]:
        """List what is put out for a booking, per vessel and showing, water too."""
        demo = self._reckoned(booking)
        needs = {need.item: need for need in self.found.needs if need.booking == booking.code}
        out: list[SetOutThing] = []
        said: set[str] = set()
        for need in demo.needs if demo else ():
            what = f"{self.names.of(need.item)}{f' ({need.note})' if need.note else ''}"
            source = ""
            if need.item == WATER and demo:
                source = f"in all {in_all(need, demo, booking.runs, Measure.VOLUME)}"
            elif need.item in needs and need.item not in said:
                said.add(need.item)
                source = f"in all {self.source(needs[need.item])}"
            where = ", ".join(filter(None, (vessels_of(need), source)))
            out.append(SetOutThing(each_of(need, self.names.measure(need.item)), what, where))
        rest = [need for item, need in needs.items() if item not in said]
        return out + [SetOutThing("", self.names.of(need.item), self.source(need)) for need in rest]

    def _reckoned(self, booking: Booking) -> Demo | None:
        """Compute, for a booking's demo, what goes on until a pH or a colour; None where it is not on file."""
        demo = demo_of(booking, self.snapshot.demos, self.snapshot.catalogue)
        if demo is None or not any(need.until for need in demo.needs):
            return demo
        from prep.planning.ph_demand import UntilReckoner  # late import: most days need no pH

        return UntilReckoner(self.snapshot.catalogue).reckoned(demo).demo

    def source(self, need: Requirement) -> str:
        """Say where a need comes from: `220 mL from Q9V3, PREP`; what is short comes first.

        Of several places it is measured once: of what is emptied no figure, and the last place fills it up.
        """
        measure, places = self.names.measure(need.item), []
        for share in need.served:
            if self._empties(need, share):
                places.append(f"all that is in {self.where(share.source)}")
            elif len(need.served) > 1 and share is need.served[-1] and not need.short:
                places.append(f"the rest from {self.where(share.source)}")
            else:
                places.append(f"{sensibly(share.amount, measure)} from {self.where(share.source)}")
        said = " and ".join(places)
        if need.short:
            return " and ".join(filter(None, (f"SHORT of {lacking(need, self.names)}", said)))
        return said if len(places) == 1 and not said.startswith("all") else f"{sensibly(need.amount, measure)}: {said}"

    def _empties(self, need: Requirement, share: Share) -> bool:
        """Tell whether a share is all that a bottle still has, once earlier lessons took theirs, and no make any."""
        if share.kind is not LinkKind.BOTTLE:
            return False
        users = [one for one in self.found.needs if any(other.ref == share.ref for other in one.served)]
        return users[-1] is need and share.ref in self.emptied

    def where(self, source: Source) -> str:
        """Name a bottle by its code and place, and anything else as it is called."""
        place = self.places.get(source.ref) if source.kind is LinkKind.BOTTLE else None
        return f"{source.ref}, {place}" if place else placed(source, self.found.made_on, self.found.on)

    def back(self, booking: Booking) -> str:
        """List the bottles that come back, and where to; and what is left, by how it is disposed of."""
        shares = [share for need in self.found.needs if need.booking == booking.code for share in need.served]
        bottles = dict.fromkeys(share.ref for share in shares if share.kind == "bottle")
        back = "; ".join(f"{code} to {self.places[code]}" for code in bottles if self.places.get(code))
        demo = self.snapshot.demos.get(booking.demo)
        streams: dict[str, list[str]] = defaultdict(list)
        for left in demo.leftovers if demo else ():
            streams[left.stream].append(left.what)
        waste = "; ".join(f"{', '.join(whats)}: {stream}" for stream, whats in streams.items())
        return "; ".join(filter(None, (back, waste))) or "nothing to put back"

    def unsaid(self, booking: Booking) -> str:
        """Name a booking of an earlier day of which nobody said yet whether it was shown."""
        return f"{booking.code}  {weekday(booking.on)} {short_day(booking.on)}: {self.names.booked(booking)} " + (
            how_often(booking)
        )

    def unsaid_more(self) -> str:
        """Count the bookings before those that are named; empty where there are none."""
        more = self.found.unsaid_more
        return f"and {plural(more, 'booking')} before {'that' if more == 1 else 'those'}" if more else ""

    def delivery(self, one: DueDelivery) -> str:
        """Say what is to come, by how much it is overdue, and which bookings wait for it."""
        order = one.order
        said = f"{order.code}  {self.names.amount(order.item, order.amount)} of {self.names.of(order.item)}"
        if one.days_late:
            by = plural(one.days_late, "day")
            said += f"; OVERDUE by {by}, due {short_day(order.due)}: ask for it"
        if one.bookings:
            said += f"; {', '.join(one.bookings)} wait{'s' if len(one.bookings) == 1 else ''} for it"
        return said

    def destroy(self, batch: Batch) -> str:
        """Say what must not be kept, and when it goes."""
        return f"what is left of {self.names.of(batch.solution)}: destroy it as soon as its period is over"

    def discard(self, bottle: Bottle) -> str:
        """Say which bottle to discard, where it stands, and why."""
        place = f", {bottle.location}" if bottle.location else ""
        return f"{bottle.code}{place}  {self.names.of(bottle.item)}; went out of date on {day(bottle.use_by)}"
