"""What the sheets of a demonstration say: the lesson's, the assistant's, the pupils', and the packing list."""

from dataclasses import dataclass
from datetime import date
from math import ceil
from pathlib import Path

from prep.chemistry.acid_base import droppers
from prep.chemistry.catalogue import WATER
from prep.chemistry.model import Measure
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.errors import PrepError
from prep.planning.engine.requirements import demo_of, needs_of
from prep.planning.model import Booking, Demo
from prep.planning.set_out import each_of, in_all, sensibly
from prep.safety.clp.label_elements import text_of
from prep.safety.notes import SafetyNotes
from prep.safety.segregation import between
from prep.services.bookings import bookings
from prep.services.catalogue import lookup
from prep.services.catalogue.on_file import OnFile
from prep.services.demos.prediction import Prediction, predict
from prep.services.demos.safety_notes import notes_of
from prep.services.input.checks import within
from prep.services.safety.bench_controls import BenchControls
from prep.services.safety.hazards import of_item
from prep.services.safety.storage import as_stored
from prep.services.safety.waste import DemoWaste, waste_of
from prep.wording import Flag

BOTTLES_ML = (30, 60, 125, 250, 500, 1000, 2500)
"""Bottles that close, by what they hold: common practice, no source."""
_WATER_REACTS = frozenset({"H260", "H261"})
_FILLED = 0.9  # how full a carried bottle may be, so that it does not spill


@dataclass(frozen=True, slots=True)
class BenchSheetLine:
    """One thing that stands ready: where, how much in all and for a showing, and its hazards at that strength.

    `dropper`: what it is added from; empty of what stands in its vessel from the start.
    """

    item: str
    name: str
    vessel: str
    each: str
    total: str
    fresh: bool
    note: str
    hazards: str
    signal: str
    pictograms: tuple[str, ...]
    dropper: str = ""


@dataclass(frozen=True, slots=True)
class PackedBottles:
    """One thing that is carried to another building: how much, and in how many bottles that close, of what size."""

    name: str
    amount: str
    bottles: str


@dataclass(frozen=True, slots=True)
class DemoSheets:
    """All that a demonstration's sheets are made of; `booking` where it is for one."""

    demo: Demo
    booking: Booking | None
    showings: int
    bench: tuple[BenchSheetLine, ...]
    notes: SafetyNotes
    waste: DemoWaste
    prediction: Prediction
    packed: tuple[PackedBottles, ...]
    apart: tuple[str, ...]
    school: str = ""
    trays: tuple[str, ...] = ()

    @property
    def on(self) -> date | None:
        """The day of the booking."""
        return self.booking.on if self.booking else None


def sheets(db: Path | None, what: str, showings: int | None = None) -> DemoSheets:
    """Make the sheets of a booking, by its code, or of a demo. Raises PrepError for what is neither."""
    on_file = lookup.known(db)
    booked = _booked(db, what)
    demo = demo_of(booked, on_file.demos, on_file) if booked else lookup.demo(on_file, what)
    if demo is None:
        raise PrepError(f"The demo of booking {what} is no longer on file.")
    times = within(showings or (booked.runs if booked else 1), 1, 1000, Flag("--showings"))
    reckoned = lookup.reckoned(demo, on_file).demo
    totals = needs_of(reckoned, times)
    return DemoSheets(
        demo,
        booked,
        times,
        tuple(bench_of(reckoned, times, on_file)),
        notes_of(reckoned, on_file),
        waste_of(reckoned, times, on_file),
        predict(demo, on_file),
        tuple(_packed(needed.item, amount, on_file) for needed, amount in totals.items() if amount),
        tuple(_apart(list(dict.fromkeys(needed.item for needed in totals)), on_file)),
        bookings.school_name(db),
        BenchControls(on_file).trays(reckoned, times),
    )


def _booked(db: Path | None, what: str) -> Booking | None:
    """Find the booking of that code; None where there is none."""
    wanted = what.strip().upper()
    everything = bookings.BookingFilter(everything=True)
    return next((b for b in bookings.list_bookings(db, everything) if b.code.upper() == wanted), None)


def bench_of(demo: Demo, times: int, on_file: OnFile) -> list[BenchSheetLine]:
    """List what stands on the bench, vessel by vessel, for so many showings."""
    out = []
    for need in demo.needs:
        item = on_file.item(need.item)
        hazards = of_item(need.item, on_file) if item.known else None
        out.append(
            BenchSheetLine(
                need.item,
                item.name if need.item != WATER else "Water, deionised",
                need.vessel,
                each_of(need, item.measure),
                in_all(need, demo, times, item.measure),
                need.fresh,
                need.note,
                hazards.in_words if hazards else "",
                hazards.signal if hazards else "",
                hazards.pictograms if hazards else (),
                droppers.dropper(need.dropper).name if need.dropper else "",
            )
        )
    return out


def _packed(item: str, amount: int, on_file: OnFile) -> PackedBottles:
    known = on_file.item(item)
    name = known.name if item != WATER else "Water, deionised"
    if known.measure is Measure.MASS:
        metal = known.substance and known.substance.storage_group == "alkali_metal"
        under = ", under mineral oil" if metal and "H260" in _codes(item, on_file) else ""  # calcium is kept dry
        return PackedBottles(name, sensibly(amount, known.measure), f"a jar that closes{under}")
    ml = amount / BASE_PER_UNIT / _FILLED
    size = next((one for one in BOTTLES_ML if one >= ml), BOTTLES_ML[-1])
    count = max(1, ceil(ml / size))
    return PackedBottles(name, sensibly(amount, known.measure), f"{count} x {size} mL")


def _codes(item: str, on_file: OnFile) -> set[str]:
    return {found.h_code for found in of_item(item, on_file).classes}


def _apart(items: list[str], on_file: OnFile) -> list[str]:
    """List what may not be carried in one tray, as on the shelves; water too, for what reacts with it."""
    kept = [as_stored(item, item, "", on_file) for item in items if item in on_file]
    found: dict[str, list[str]] = {}  # from what and why -> what
    for one in kept if WATER in items else ():
        for code in sorted(_codes(one.item, on_file) & _WATER_REACTS):
            found.setdefault(f"the water: {text_of(code)}", []).append(one.called)
    for n, one in enumerate(kept):
        for other in kept[n + 1 :]:
            verdict = between(one, other)
            if verdict.bad:
                found.setdefault(f"{other.called}: {verdict.reason}", []).append(one.called)
    return [f"{' and '.join(names)} apart from {rest}" for rest, names in found.items()]
