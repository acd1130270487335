"""From bookings to requirements: amount per showing times showings, plus spare and dead volume."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Solution
from prep.findings import Finding, Severity
from prep.planning.draws import LinkKind, Source
from prep.planning.model import Booking, Demo, Horizon, Need, Snapshot
from prep.planning.set_out import total_of
from prep.planning.workdays import Workdays, by_number
from prep.records import record
from prep.wording import AtTerminal, Sentence


@record(frozen=True, slots=True)
class Demand:
    """An amount of one item wanted on a day, by a booking's requirement or by a batch.

    `ready_by` is the last day on which making it still serves. `fresh` refuses what was made before the day.
    `period` is the booking's, where the item does not keep and so is made for it alone. `batch` is the make of
    `solution` that wants it; both are empty where a booking does. What `yields` takes only what nobody else wants.
    `early`: the day's deliveries come too late for it. `same_day`: what it goes into is used on the day it is made.
    """

    id: str
    item: str
    needed_on: date
    ready_by: date
    amount: int
    batch: str = ""
    solution: str = ""
    booking: str = ""
    fresh: bool = False
    period: str = ""
    yields: bool = False
    early: bool = False
    same_day: bool = False

    def __hash__(self) -> int:
        """Hash by the id: it says all."""
        return hash(self.id)

    @property
    def user(self) -> Source:
        """The make or the booking's requirement that wants it."""
        if self.batch:
            return Source(LinkKind.BATCH, self.batch, self.solution)
        return Source(LinkKind.REQUIREMENT, self.id)


class DemandPart(NamedTuple):
    """What of a demand is meant: all of its amount, or less. A tuple, as plans compare a hundred thousand of them."""

    demand: Demand
    amount: int


@record(frozen=True, slots=True)
class NeededItem:
    """An item that a demo takes: `fresh` where it is to be made on the day, apart from what is not."""

    item: str
    fresh: bool


def needs_of(demo: Demo, showings: int) -> dict[NeededItem, int]:
    """Add up what `showings` of a demo take, each in the item's unit.

    Spare and dead volume are included. Needs stated `until` count as the demo has them: `ph_demand.Reckoner` gives
    a demo in which they are computed.
    """
    totals: dict[NeededItem, int] = {}
    for need in demo.needs:
        needed = NeededItem(need.item, need.fresh)
        totals[needed] = totals.get(needed, 0) + total_of(need, demo, showings)
    return totals


def demo_of(booking: Booking, demos: Mapping[str, Demo], catalogue: Catalogue) -> Demo | None:
    """Find the demo of a booking; None where it is not on file.

    A booking of an item is as a demo of that alone, with the usual spare.
    """
    if not booking.item:
        return demos.get(booking.demo)
    return Demo(booking.item, catalogue.name(booking.item), (Need(booking.item, booking.portion),), caution="Goggles.")


def _leave(booking: Booking, demo: Demo) -> Finding:
    """Report whether a demo that asks for leave was allowed, and by whom."""
    if booking.allowed_by:
        when = f" on {booking.allowed_on}" if booking.allowed_on else ""
        said = f"{demo.name} on {booking.on} was allowed by {booking.allowed_by}{when}."
        return Finding(Severity.NOTE, "allowed", booking.code, said)
    return Finding(
        Severity.ACT,
        "ask-first",
        booking.code,
        f"{demo.name} on {booking.on}: {demo.ask_first}",
        Sentence(
            AtTerminal(f"Before anything is made for it: prep book allow {booking.code} --who NAME; or", "Or"),
            " cancel the booking.",
        ),
    )


def requirements(snapshot: Snapshot, horizon: Horizon, days: Workdays) -> tuple[list[Demand], list[Finding]]:
    """List every booking of the horizon as demands, in date order, and what is wrong with the others."""
    demands: list[Demand] = []
    findings: list[Finding] = []
    cache: dict[tuple[str, int, int], list[_Wanted]] = {}
    demos = _reckoned(snapshot, horizon, findings)
    known: Mapping[str, object] = {**snapshot.substances, **snapshot.solutions}
    for booking in sorted(snapshot.bookings, key=lambda b: (b.on, by_number(b.code))):
        if not booking.stands or not horizon.start <= booking.on <= horizon.end:
            continue
        problem = _problem(booking, snapshot, days)
        if problem:
            findings.append(problem)
            if problem.severity == Severity.STOP:
                continue
        demo = demos.get(booking.demo) or demo_of(booking, snapshot.demos, snapshot.catalogue)
        assert demo is not None
        if demo.ask_first:
            findings.append(_leave(booking, demo))
        asked = (booking.what, booking.portion, booking.runs)
        wanted = cache.get(asked)
        if wanted is None:
            wanted = cache[asked] = list(_wanted(demo, booking.runs, snapshot.solutions))
        start = booking.code + (":" if "." in booking.code else ".")
        before = days.last_before(booking.on) or booking.on
        early = snapshot.deliveries.too_late_for(booking.period)
        for one in wanted:
            if one.item not in known:
                findings.append(
                    Finding(
                        Severity.STOP,
                        "unknown-item",
                        booking.code,
                        f"{'Booking' if booking.item else 'Demo'} {booking.code if booking.item else demo.code} "
                        f"needs {one.item}, which is neither a substance nor a solution.",
                        "Add it, or correct the demo's needs.",
                    )
                )
                continue
            demands.append(
                Demand(
                    start + one.id_end,
                    one.item,
                    booking.on,
                    booking.on if one.on_the_day and (one.made or not early) else before,
                    one.amount,
                    booking=booking.code,
                    fresh=one.fresh,
                    period=booking.period if one.by_period else "",
                    early=early,
                )
            )
    return demands, findings


@dataclass(slots=True)
class _Wanted:
    """What a demo takes of one item, alike for each of its bookings.

    `id_end` follows the booking's code and a dot in a requirement's id; a colon where that code holds a dot itself.
    """

    id_end: str
    item: str
    amount: int
    fresh: bool
    made: bool
    on_the_day: bool
    by_period: bool


def _wanted(demo: Demo, showings: int, solutions: Mapping[str, Solution]) -> Iterator[_Wanted]:
    amounts = needs_of(demo, showings)
    for needed, amount in amounts.items():
        item = needed.item
        if item != "water":
            solution = solutions.get(item)
            yield _Wanted(
                item + ("/fresh" if needed.fresh and NeededItem(item, False) in amounts else ""),
                item,
                amount,
                needed.fresh,
                made=solution is not None,
                on_the_day=needed.fresh or (solution is not None and solution.made_fresh),
                by_period=solution is not None and not solution.shelf_life_days,
            )


def _reckoned(snapshot: Snapshot, horizon: Horizon, findings: list[Finding]) -> dict[str, Demo]:
    """Gather the booked demos with needs stated `until`, each with its amounts computed from composition."""
    asked = sorted(
        {booking.demo for booking in snapshot.bookings if booking.stands and horizon.start <= booking.on <= horizon.end}
        & {code for code, demo in snapshot.demos.items() if any(need.until for need in demo.needs)}
    )
    if not asked:
        return {}
    from prep.planning.ph_demand import UntilReckoner  # most plans need none of the acids and bases

    reckoner = UntilReckoner(snapshot.catalogue)
    demos = {}
    for code in asked:
        reckoned = reckoner.reckoned(snapshot.demos[code])
        demos[code] = reckoned.demo
        findings += [
            Finding(
                Severity.NOTE,
                "until-not-computed",
                code,
                f"Demo {code}: how much {until.item} is needed is taken from the demo, not computed: {until.why}",
                Sentence(AtTerminal(f"See: prep demo show {code}")),
            )
            for until in reckoned.untils
            if until.volume_nl is None
        ]
    return demos


def _problem(booking: Booking, snapshot: Snapshot, days: Workdays) -> Finding | None:
    about = booking.code
    if booking.on < snapshot.today:
        return Finding(
            Severity.STOP,
            "booking-past",
            about,
            f"Booking {about} was for {booking.on}, which is past, and is still open.",
            Sentence("Close it", AtTerminal(f" with: prep book done {about}, or: prep book cancel {about}")),
        )
    if demo_of(booking, snapshot.demos, snapshot.catalogue) is None:
        return Finding(
            Severity.STOP,
            "unknown-demo",
            about,
            f"Booking {about} is for the demo {booking.demo}, which is not in the list.",
            Sentence("Add the demo, or move the booking to one that is", AtTerminal(" (prep demo list)"), "."),
        )
    if booking.showings < 1:
        return Finding(
            Severity.STOP,
            "no-showings",
            about,
            f"Booking {about} has {booking.showings} showings; it needs at least 1.",
            Sentence("Cancel it", AtTerminal(f" with: prep book cancel {about}")),
        )
    if booking.on not in days:
        why = snapshot.calendar.closed.get(booking.on, "not a working day")
        return Finding(
            Severity.ACT,
            "booking-closed",
            about,
            f"Booking {about} falls on {booking.on}: {why}.",
            Sentence("Move it", AtTerminal(f" with: prep book move {about} --to DATE")),
        )
    return None


def made_ahead(demands: Iterable[Demand], days: Workdays, ahead: int) -> list[Demand]:
    """Move demands to be ready by the last working day at least `ahead` days before they are needed.

    What is made on the day itself stays there.
    """
    out = []
    for demand in demands:
        if ahead > 0 and demand.ready_by < demand.needed_on:
            ready = days.last_to(demand.needed_on - timedelta(days=ahead))
            if ready is not None and ready < demand.ready_by:
                demand = replace(demand, ready_by=ready)
        out.append(demand)
    return out
