"""What is on file: what can be held, made and shown, what measures it, what is kept of it."""

from collections.abc import Mapping
from dataclasses import field

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Instrument
from prep.planning.model import Calendar, Demo, StockRule
from prep.records import record
from prep.resources import seed_table


@record(frozen=True, slots=True)
class OnFile(Catalogue):
    """The catalogue with its demonstrations, rules of stock, instruments and days."""

    demos: Mapping[str, Demo] = field(default_factory=dict)
    rules: Mapping[str, StockRule] = field(default_factory=dict)
    instruments: tuple[Instrument, ...] = ()
    calendar: Calendar = field(default_factory=Calendar)

    def texts(self) -> dict[str, dict[str, tuple[str, ...]]]:
        """Gather what is searched of each kind: by code, the names and the like."""
        return {
            "substance": {c: (s.name, *s.other_names, s.cas, s.formula) for c, s in self.substances.items()},
            "solution": {c: (s.name, s.solute, s.purpose) for c, s in self.solutions.items()},
            "demo": {c: self._of_demo(d) for c, d in self.demos.items()},
        }

    def _of_demo(self, demo: Demo) -> tuple[str, ...]:
        """Gather what a demo is found by: names old and new, the trade's, its principle, what goes in by any name."""
        items = [self.item(need.item) for need in demo.needs]
        others = [name for item in items if item.substance for name in item.substance.other_names]
        said = [row["said"] for row in seed_table("demo_words") if row["demo"] == demo.code]
        return (demo.name, *demo.other_names, *said, demo.about, demo.principle, *(one.name for one in items), *others)
