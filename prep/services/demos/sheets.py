"""What the sheets of a demonstration say: the lesson's, the assistant's, the pupils', and the packing list."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from prep.chemistry.acid_base import droppers
from prep.chemistry.catalogue import WATER
from prep.errors import PrepError
from prep.planning.engine.requirements import demo_of
from prep.planning.model import Booking, Demo
from prep.planning.set_out import each_of, in_all
from prep.safety.notes import SafetyNotes
from prep.services.bookings import bookings
from prep.services.catalogue import lookup
from prep.services.catalogue.on_file import OnFile
from prep.services.demos.packing import Packing, packing_of
from prep.services.demos.prediction import Prediction, predict
from prep.services.demos.safety_notes import notes_of
from prep.services.input.checks import within
from prep.services.safety.bench_controls import BenchControls
from prep.services.safety.hazards import of_item
from prep.services.safety.waste import DemoWaste, waste_of
from prep.wording import Flag


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
class DemoSheets:
    """All that a demonstration's sheets are made of; `booking` where it is for one."""

    demo: Demo
    booking: Booking | None
    showings: int
    bench: tuple[BenchSheetLine, ...]
    notes: SafetyNotes
    waste: DemoWaste
    prediction: Prediction
    packing: Packing
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
    notes, waste = notes_of(reckoned, on_file), waste_of(reckoned, times, on_file)
    return DemoSheets(
        demo,
        booked,
        times,
        tuple(bench_of(reckoned, times, on_file)),
        notes,
        waste,
        predict(demo, on_file),
        packing_of(reckoned, times, notes, waste, on_file),
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
