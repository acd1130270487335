"""The safety notes of a demo: of everything that it needs, as it stands on the bench."""

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Measure, Substance
from prep.planning.model import Demo
from prep.safety.clp.parse import NOT_CLASSIFIED
from prep.safety.model import Classification
from prep.safety.notes import NeedOnBench, SafetyNotes, notes_for
from prep.safety.solution_hazards import WATER, reagents_of
from prep.services.inventory import session
from prep.services.safety.hazards import of_item

_BASE = Decimal(1_000_000)  # ug per g, nL per mL
_WATER = Substance(WATER, "Water", "H2O", WATER, Form.AQUEOUS, classification=NOT_CLASSIFIED)
"""What carbide or an alkali metal must not meet; nothing is said of it by itself."""


@dataclass(frozen=True, slots=True)
class DemoNotes:
    """A demo and its safety notes."""

    demo: Demo
    notes: SafetyNotes


def demo_notes(db: Path | None, demo: str) -> DemoNotes:
    """Gather the safety notes of a demo by its name. Raises PrepError for one that is not on file."""
    from prep.services.bookings import bookings
    from prep.store import queries

    found = bookings.demo(db, demo)
    with session.reading(db) as connection:
        catalogue = queries.catalogue(connection)
    return DemoNotes(found, notes_of(found, catalogue))


def notes_of(demo: Demo, catalogue: Catalogue) -> SafetyNotes:
    """Gather the safety notes of a demo: of everything it needs as it stands on the bench."""
    bench: list[NeedOnBench] = []
    for need in demo.needs:
        if need.item == WATER:
            bench.append(NeedOnBench(WATER, _WATER.name, Classification(), (_WATER,), need.vessel, unsaid=True))
            continue
        known = catalogue.substances.get(need.item) or catalogue.solutions.get(need.item)
        if known is None:
            bench.append(NeedOnBench(need.item, need.item, Classification(unknown=(need.item,)), (), need.vessel))
            continue
        hazards = of_item(need.item, catalogue)
        inside = reagents_of([need.item], catalogue)
        liquid = catalogue.item(need.item).measure is Measure.VOLUME
        volume_ml = need.per_showing / _BASE if liquid and need.per_showing else None
        bench.append(NeedOnBench(need.item, known.name, hazards, inside, need.vessel, volume_ml))
    return notes_for(bench)
