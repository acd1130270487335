"""Looking things up: substances, solutions, demos, in the inventory or among the shipped ones."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from prep.chemistry.model import Solution, Substance
from prep.chemistry.spelling import key
from prep.errors import PrepError
from prep.planning.model import Demo, StockRule
from prep.services.catalogue.names import find_item
from prep.services.inventory import session

if TYPE_CHECKING:
    from prep.planning.engine.ph_demand import Until


@dataclass(frozen=True, slots=True)
class Known:
    """What is on file."""

    substances: dict[str, Substance]
    solutions: dict[str, Solution]
    demos: dict[str, Demo]
    rules: dict[str, StockRule] = field(default_factory=dict)

    def texts(self) -> dict[str, dict[str, tuple[str, ...]]]:
        """What is searched of each kind: by its code, its names and the like."""
        return {
            "substance": {c: (s.name, *s.other_names, s.cas, s.formula) for c, s in self.substances.items()},
            "solution": {c: (s.name, s.solute, s.purpose) for c, s in self.solutions.items()},
            "demo": {c: (d.name, d.about) for c, d in self.demos.items()},
        }

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
    from prep.planning.engine.ph_demand import Reckoner

    return Reckoner(substances, solutions).reckoned(demo)


def searched(on_file: Known, kind: str, search: str | None) -> list[str]:
    """The codes of a kind that match. Raises PrepError where none does, naming the other kinds that do."""
    texts = on_file.texts()
    found = _holding(texts[kind], search)
    if found or not search:
        return found
    others = [f"{other}s do (prep {other} list)" for other in texts if other != kind and _holding(texts[other], search)]
    more = f"; {' and '.join(others)}" if others else ""
    raise PrepError(f'No {kind} on file matches "{search}"{more}.')


def matching(texts: Mapping[str, tuple[str, ...]], search: str | None) -> list[str]:
    """The codes whose code or other texts hold the words searched for; all of them without. Raises PrepError."""
    found = _holding(texts, search)
    if search and not found:
        raise PrepError(f'Nothing on file matches "{search}".')
    return found


def _holding(texts: Mapping[str, tuple[str, ...]], search: str | None) -> list[str]:
    words = [key(word) for word in (search or "").split()]
    whole = {code: " ".join(map(key, " ".join((code, *more)).split())) for code, more in texts.items()} if words else {}
    return [code for code in texts if all(word in whole[code] for word in words)]
