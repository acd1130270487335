"""Finding what a person named: an item by code, name, other name, CAS number or formula, with a strength or without."""

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from prep.chemistry import quantities, spelling
from prep.chemistry.catalogue import Catalogue, Item
from prep.chemistry.formula.formulas import as_written, respelled
from prep.chemistry.model import Measure, Solution, Strength, Substance
from prep.errors import PrepError

if TYPE_CHECKING:
    from sqlalchemy import Connection

Only = Literal["substance", "solution"] | None


def find_item(
    name: str,
    catalogue: Catalogue,
    *,
    only: Only = None,
    held: Collection[str] = (),
) -> Item:
    """The one item of that name, of those `only` asks for.

    Of several the one that is among the `held` codes is taken. Raises PrepError naming near matches, or the
    several that fit.
    """
    wanted = name.strip()
    found = candidates(wanted, catalogue, only)
    if len(found) > 1 and len(here := [one for one in found if one.code in held]) == 1:
        found = here
    if len(found) == 1:
        return found[0]
    if found:
        codes = ", ".join(sorted(one.code for one in found))
        raise PrepError(f'"{wanted[:60]}" may be {codes}; give one of these codes.')
    if only and (others := candidates(wanted, catalogue)):
        raise PrepError(_of_the_other_kind(wanted, others[0]))
    said = _Said(wanted, catalogue)
    solutes, strength = said.strong()
    if cards := said.of_solute(solutes):
        codes = ", ".join(sorted(card.code for card in cards))
        raise PrepError(f'"{wanted[:60]}": no solution of it on file is {strength}; there are {codes}.')
    known: dict[str, tuple[str, ...]] = {
        code: (one.name,) for code, one in catalogue.solutions.items() if only != "substance"
    }
    known |= {code: (one.name, *one.other_names) for code, one in catalogue.substances.items() if only != "solution"}
    kind = f"no {only}" if only else "neither a substance nor a solution"
    raise PrepError(f'"{wanted[:60]}" is {kind} on file.{spelling.near(wanted, known)}')


def find_alike(name: str, catalogue: Catalogue) -> Item:
    """As `find_item`, but of the grades and hydrates of one solute the first: their solutions are the same."""
    found = candidates(name, catalogue)
    if len({one.substance.solute if one.substance else one.code for one in found}) == 1:
        return found[0]
    return find_item(name, catalogue)


def candidates(
    name: str,
    catalogue: Catalogue,
    only: Only = None,
) -> list[Item]:
    """All that a name may mean, what it was written for first; empty where it means nothing on file."""
    for way in _Said(name.strip(), catalogue).ways():
        found = {one.code: one for one in way if only is None or (only == "solution") is (one.solution is not None)}
        if found:
            return list(found.values())
    return []


def in_inventory(connection: "Connection", name: str, *, only: Only = None, here: bool = False) -> Item:
    """As `find_item`, in an open inventory; `here`: of several the one that has a bottle with something in it."""
    from prep.store import queries

    catalogue = queries.catalogue(connection)
    held = queries.items_held(connection) if here else ()
    return find_item(name, catalogue, only=only, held=held)


def of_substance(substance: Substance) -> Item:
    """A substance as an item."""
    return Item(substance.code, substance.name, substance.measure, substance=substance)


def of_solution(solution: Solution) -> Item:
    """A solution as an item."""
    return Item(solution.code, solution.name, Measure.VOLUME, solution=solution)


@dataclass(frozen=True, slots=True)
class _Said:
    """A name, and what it is looked for among: each way to name something, the surest first in `ways`."""

    wanted: str
    catalogue: Catalogue

    def ways(self) -> Iterator[Iterator[Item]]:
        yield from (self.by_code(), self.by_name(), self.by_formula(), self.by_strength(), self.by_solute())
        yield self.by_head()

    def by_code(self) -> Iterator[Item]:
        if self.wanted in self.catalogue.solutions:
            yield of_solution(self.catalogue.solutions[self.wanted])
        elif self.wanted in self.catalogue.substances:
            yield of_substance(self.catalogue.substances[self.wanted])

    def by_name(self) -> Iterator[Item]:
        low, formula = spelling.key(self.wanted), as_written(self.wanted)
        if not low:
            return
        others = []
        for s in self.catalogue.substances.values():
            if low == spelling.key(s.name) or formula in (s.cas, s.formula):
                yield of_substance(s)
            elif low in map(spelling.key, s.other_names):
                others.append(s)
        yield from (of_solution(card) for card in self.catalogue.solutions.values() if low == spelling.key(card.name))
        yield from map(of_substance, others)
        for s in others:
            # "Copper sulfate" is said of the crystals and of the powder: a third of the weight is between them.
            for one in self.catalogue.substances.values():
                alike = one.solute == s.solute and one.form is s.form
                if alike and any(spelling.begins(self.wanted, longer) for longer in (one.name, *one.other_names)):
                    yield of_substance(one)

    def by_formula(self) -> Iterator[Item]:
        if formula := respelled(self.wanted, (s.formula for s in self.catalogue.substances.values())):
            yield from _Said(formula, Catalogue(self.catalogue.substances)).by_name()

    def by_strength(self) -> Iterator[Item]:
        solutes, strength = self.strong()
        yield from (of_solution(card) for card in self.of_solute(solutes) if card.strength == strength)

    def by_solute(self) -> Iterator[Item]:
        yield from map(of_solution, self.of_solute(self.solutes(self.wanted)))

    def by_head(self) -> Iterator[Item]:
        """`Phenolphthalein indicator` of `Phenolphthalein indicator, 0.1 %`; a code in other letters."""
        low = spelling.key(self.wanted)
        for one in (
            *map(of_substance, self.catalogue.substances.values()),
            *map(of_solution, self.catalogue.solutions.values()),
        ):
            if low and low in (spelling.key(one.name.partition(",")[0]), spelling.key(one.code)):
                yield one

    def strong(self) -> tuple[set[str], Strength | None]:
        """The solutes and the strength that the words name; nothing where they name none."""
        try:
            what, strength = quantities.component(self.wanted)
        except PrepError:
            return set(), None
        return self.solutes(what), strength

    def of_solute(self, solutes: Collection[str]) -> list[Solution]:
        return [card for card in self.catalogue.solutions.values() if card.solute in solutes]

    def solutes(self, what: str) -> set[str]:
        """The solutes of the substances of a name, with the word `solution` after it or without."""
        for spelled in (what, re.sub(r"\s*(solution|\(aq\))$", "", what, flags=re.IGNORECASE)):
            said = _Said(spelled, Catalogue(self.catalogue.substances))
            for way in (said.by_code(), said.by_name(), said.by_formula()):
                if found := {one.substance.solute for one in way if one.substance}:
                    return found - {""}
        return set()


def _of_the_other_kind(wanted: str, found: Item) -> str:
    if found.solution is not None:
        return f'"{wanted[:60]}" is a solution ({found.code}), not a substance as bought; see: prep solution list'
    return f"{found.name} is a substance as bought; only solutions are made, and none of it is on file."
