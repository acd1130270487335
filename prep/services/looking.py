"""Looking things up: substances, solutions, demos, in the inventory or among the shipped ones."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from prep.chemistry.model import Solution, Substance
from prep.errors import PrepError
from prep.planning.model import Demo, StockRule
from prep.services import session
from prep.services.items import find_item

if TYPE_CHECKING:
    from prep.planning.until import Until


@dataclass(frozen=True, slots=True)
class Known:
    """What is on file."""

    substances: dict[str, Substance]
    solutions: dict[str, Solution]
    demos: dict[str, Demo]
    rules: dict[str, StockRule] = field(default_factory=dict)

    def name(self, item: str) -> str:
        """An item's name."""
        known = self.substances.get(item) or self.solutions.get(item)
        return known.name if known else item


def known(db: Path | None) -> Known:
    """Everything on file in an inventory."""
    from prep.store import queries

    with session.reading(db) as connection:
        return Known(
            queries.substances(connection),
            queries.solutions(connection),
            queries.demos(connection),
            queries.rules(connection),
        )


def substance(on_file: Known, name: str) -> Substance:
    """One substance. Raises PrepError."""
    item = find_item(name, on_file.substances, on_file.solutions, only="substance")
    assert item.substance is not None
    return item.substance


def solution(on_file: Known, name: str) -> Solution:
    """One solution. Raises PrepError."""
    item = find_item(name, on_file.substances, on_file.solutions, only="solution")
    assert item.solution is not None
    return item.solution


def reckoned(
    demo: Demo, substances: Mapping[str, Substance], solutions: Mapping[str, Solution]
) -> "tuple[Demo, tuple[Until, ...]]":
    """The demo with its needs stated `until` a pH computed from composition, and how."""
    if not any(need.until for need in demo.needs):
        return demo, ()
    from prep.planning.until import Reckoner

    return Reckoner(substances, solutions).reckoned(demo)


def matching(texts: Mapping[str, tuple[str, ...]], search: str | None) -> list[str]:
    """The codes whose code or other texts hold the words searched for; all of them without."""
    words = (search or "").lower().split()
    found = [code for code, more in texts.items() if all(w in " ".join((code, *more)).lower() for w in words)]
    if words and not found:
        raise PrepError(f'Nothing on file matches "{search}".')
    return found
