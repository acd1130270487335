"""Finding what a person named: an item by code, name, other name, CAS number or formula."""

from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

from prep.chemistry import quantities
from prep.chemistry.model import Measure, Solution, Substance
from prep.errors import PrepError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class Item:
    """A substance or a solution."""

    code: str
    name: str
    measure: Measure
    substance: Substance | None = None
    solution: Solution | None = None

    def amount(self, text: str, *, zero: bool = False) -> int:
        """A typed amount in the item's unit. Raises PrepError for mass where volume is counted, or back."""
        typed = quantities.amount(text, zero=zero)
        if typed.drops:
            raise PrepError(f'"{text[:40]}": drops are no amount of stock; write a volume or a mass.')
        if typed.measure is not self.measure:
            unit = "a volume such as 250 mL" if self.measure is Measure.VOLUME else "a mass such as 25 g"
            raise PrepError(f'"{text[:40]}": {self.name} is counted by {self.measure.value}; write {unit}.')
        return typed.base


def find_item(name: str, substances: "Mapping[str, Substance]", solutions: "Mapping[str, Solution]") -> Item:
    """The one item of that name. Raises PrepError naming near matches, or the several that fit."""
    wanted = name.strip()
    if wanted in solutions:
        return of_solution(solutions[wanted])
    if wanted in substances:
        return of_substance(substances[wanted])
    low = _spelled(wanted)
    found: dict[str, Item] = {}
    for s in substances.values():
        if low == _spelled(s.name) or wanted in (s.cas, s.formula):
            found[s.code] = of_substance(s)
        elif low in map(_spelled, s.other_names):
            # "Copper sulfate" is said of the crystals and of the powder: a third of the weight is between them.
            for one in substances.values():
                if one.solute == s.solute and one.form is s.form:
                    found[one.code] = of_substance(one)
    for solution in solutions.values():
        if low == _spelled(solution.name):
            found[solution.code] = of_solution(solution)
    if len(found) == 1:
        return next(iter(found.values()))
    if found:
        raise PrepError(f'"{wanted[:60]}" may be {", ".join(sorted(found))}; give one of these codes.')
    near = get_close_matches(low, [*substances, *solutions], n=3, cutoff=0.5)
    hint = f" Near: {', '.join(near)}." if near else ""
    raise PrepError(f'"{wanted[:60]}" is neither a substance nor a solution on file.{hint}')


def _spelled(name: str) -> str:
    """A name for comparing: lower case, and one spelling of sulfur."""
    return name.lower().replace("sulph", "sulf")


def in_inventory(connection: "Connection", name: str) -> Item:
    """As `find_item`, in an open inventory."""
    from prep.store import queries

    return find_item(name, queries.substances(connection), queries.solutions(connection))


def of_substance(substance: Substance) -> Item:
    """A substance as an item."""
    return Item(substance.code, substance.name, substance.measure, substance=substance)


def of_solution(solution: Solution) -> Item:
    """A solution as an item."""
    return Item(solution.code, solution.name, Measure.VOLUME, solution=solution)
