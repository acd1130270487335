"""Finding what a person named: an item by code, name, other name, CAS number or formula, with a strength or without."""

import re
from collections.abc import Collection, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from prep.chemistry import spelling
from prep.chemistry.catalogue import WATER, Catalogue, Item
from prep.errors import NotOnFile, PrepError, SeveralFit
from prep.records import record
from prep.resources import seed_table
from prep.services.catalogue.buffer_names import BufferName, are_alike, read_buffer
from prep.services.catalogue.name_search import NameSearch
from prep.services.input.checks import slip_in_cas_number
from prep.services.inventory import session
from prep.wording import AtTerminal, Sentence

if TYPE_CHECKING:
    from sqlalchemy import Connection

Only = Literal["substance", "solution"] | None

_BESIDE = re.compile(r"\s*\((?:s|l|g)\)$|^CAS(?:[ -]?(?:No|number|RN)\.?)?[:\s]\s*(?=\d)", re.IGNORECASE)
"""What is written beside a name: a state as in an equation, NaOH(s); `CAS no.` before its number."""


@record(frozen=True, slots=True)
class ChosenItem:
    """The item that a name was taken for, the others that it may mean, and whether it was because one is held."""

    name: str
    item: Item
    others: tuple[Item, ...] = ()
    held: bool = False
    read_as: str = ""

    @property
    def says(self) -> str:
        """The sentence that says what was chosen, and from what; empty where there was no choice."""
        read = f'"{self.name[:60]}" is read as "{self.read_as[:60]}"' if self.read_as else ""
        if not self.others:
            return f"{read}: {self.item.name} ({self.item.code})." if read else ""
        why = "which is held" if self.held else "the usual one"
        also = ", ".join(f"{one.name} ({one.code})" for one in self.others[:4])
        said = f"{read}, which" if read else f'"{self.name[:60]}"'
        return f"{said} is taken as {self.item.name} ({self.item.code}), {why}; also on file: {also}."


def find_item(
    name: str,
    catalogue: Catalogue,
    *,
    only: Only = None,
    held: Collection[str] | None = None,
) -> Item:
    """Find the one item of a name; raises PrepError as `choose_item`."""
    return choose_item(name, catalogue, only=only, held=held).item


def choose_item(
    name: str,
    catalogue: Catalogue,
    *,
    only: Only = None,
    held: Collection[str] | None = None,
) -> ChosenItem:
    """Choose the one item of a name, of those `only` asks for, and tell what else it may mean.

    Of several the one that is among the `held` codes is taken (None: those held as the catalogue says); where none
    is held, the hydrate, grade or buffer that is usual. Raises PrepError naming near matches, or the several that fit.
    """
    wanted = name.strip()
    if held is None:
        held = catalogue.held
    every = found = _candidates(wanted, catalogue, only)
    read_as = ""
    if not found and (right := without_slips(wanted, catalogue)) != wanted:
        every = found = _candidates(right, catalogue, only)
        read_as = right if found else ""
    here = [one for one in found if one.code in held]
    if len(found) > 1:
        found = here or usual(found)
    if len(found) == 1:
        others = tuple(one for one in every if one.code != found[0].code)
        return ChosenItem(wanted, found[0], others, bool(here), read_as)
    if found:
        codes = ", ".join(sorted(one.code for one in found))
        raise SeveralFit(f'"{wanted[:60]}" may be {codes}; give one of these codes.')
    if only and (of_others := candidates(wanted, catalogue)):
        raise NotOnFile(_of_the_other_kind(wanted, of_others[0]))
    said = NameSearch(wanted, catalogue)
    named = said.component
    if named and (entries := said.of_solute(said.solutes(named.what))):
        codes = ", ".join(sorted(solution.code for solution in entries))
        raise NotOnFile(f'"{wanted[:60]}": no solution of it on file is {named.strength}; there are {codes}.')
    if other := _listed(_other_forms(said, only)):
        raise NotOnFile(f'"{wanted[:60]}" is on file only as {other}.')
    if said.said.words == (WATER,):
        raise NotOnFile(f'"{wanted[:60]}" is not kept in stock: it comes from the tap or the still, and is no item.')
    if (buffer := read_buffer(wanted)) and only != "substance":
        raise NotOnFile(_no_such_buffer(wanted, buffer, catalogue))
    if slip := slip_in_cas_number(_BESIDE.sub("", wanted)):
        raise NotOnFile(slip)
    known: dict[str, tuple[str, ...]] = {
        code: (one.name,) for code, one in catalogue.solutions.items() if only != "substance"
    }
    known |= {one.code: (one.name, *one.other_names) for one in catalogue.named if only != "solution"}
    kind = f"no {only}" if only else "neither a substance nor a solution"
    raise NotOnFile(f'"{wanted[:60]}" is {kind} on file.{spelling.near(wanted, known)}')


def find_alike(name: str, catalogue: Catalogue) -> Item:
    """Find an item as `find_item`, but the usual one of a solute's grades and hydrates: their solutions are alike."""
    found = candidates(name, catalogue)
    if len({one.substance.solute if one.substance else one.code for one in found}) == 1:
        return usual(found)[0]
    return find_item(name, catalogue)


def candidates(
    name: str,
    catalogue: Catalogue,
    only: Only = None,
) -> list[Item]:
    """Find all that a name may mean, the likeliest first, a wrong letter put right; empty where it means nothing."""
    wanted = name.strip()
    return _candidates(wanted, catalogue, only) or _candidates(without_slips(wanted, catalogue), catalogue, only)


def without_slips(name: str, catalogue: Catalogue) -> str:
    """Correct words of a name that have one wrong letter, by the words of the catalogue and of the trade."""
    if not spelling.words([name]):
        return name  # too short to have a slip put right
    names = [s.name for s in catalogue.solutions.values()]
    names += [one for s in catalogue.named for one in (s.name, *s.other_names)]
    return spelling.mended(name, spelling.words(names) | _trade())


@cache
def _trade() -> frozenset[str]:
    rows = seed_table("name_words")
    acids = spelling.words(row["name"] for row in seed_table("species"))  # carbonic acid is no slip for carbolic
    return (
        spelling.words(row[column] for row in rows for column in ("written", "means")) | acids | {"hydrate", "hydrated"}
    )


def _candidates(wanted: str, catalogue: Catalogue, only: Only) -> list[Item]:
    for way in NameSearch(_BESIDE.sub("", wanted), catalogue).ways():
        found = {one.code: one for one in way if only is None or (only == "solution") is (one.solution is not None)}
        if found:
            return list(found.values())
    return []


def choose_with_cas(
    name: str,
    cas: str,
    catalogue: Catalogue,
    held: Collection[str] = (),
) -> ChosenItem:
    """Choose the item of a name and a CAS number, either of which may be empty or unknown.

    A number chooses among the hydrates of a name, and stands for a name that is not on file. Raises PrepError where
    the two are of different solutes, where the number has a slip, and as `choose_item`.
    """
    if slip := slip_in_cas_number(cas.strip()):
        raise PrepError(slip)
    numbered = [catalogue.item(s.code) for s in catalogue.named if s.cas == cas.strip()]
    wanted = name.strip()
    named = candidates(name, catalogue) if wanted else numbered
    if not numbered:
        return choose_item(name or cas, catalogue, held=held)
    codes = {one.code for one in numbered}
    both = [one for one in named if one.code in codes] or ([] if named else numbered)
    if len(both) > 1:
        both = [one for one in both if one.code in held] or usual(both)
    if len(both) == 1:
        right = without_slips(wanted, catalogue)
        mended = right != wanted and named and not _candidates(wanted, catalogue, None)
        return ChosenItem(wanted, both[0], read_as=right if mended else "")
    solutes = {one.substance.solute for one in numbered if one.substance}
    if named and not any(_solute(one) in solutes for one in named):
        listed = ", ".join(sorted(codes))
        raise PrepError(f'"{name[:60]}" and the CAS number {cas[:20]} ({listed}) are not the same; correct one.')
    return choose_item(name or cas, catalogue, held=held)


def _solute(one: Item) -> str:
    return one.substance.solute if one.substance else one.solution.solute if one.solution else ""


def usual(found: Sequence[Item]) -> list[Item]:
    """Choose the usual one of a solute's hydrates or grades, or of buffers; all of them where none is known to be.

    Of buffers the first of the table is: one for everything before one for a purpose.
    """
    known = [row["code"] for row in seed_table("usual_forms")]
    chosen = sorted((one for one in found if one.code in known), key=lambda one: known.index(one.code))
    solutions = [one.solution for one in found if one.solution is not None]
    if chosen and len(solutions) == len(found) and are_alike(solutions):
        return chosen[:1]
    if len({one.substance.solute if one.substance else one.code for one in found}) != 1:
        return list(found)
    return chosen if len(chosen) == 1 else list(found)


def in_inventory(connection: "Connection", name: str, *, only: Only = None, here: bool = False) -> Item:
    """Find an item as `find_item`, in an open inventory; `here` prefers one that has a bottle with something in it."""
    from prep.store import queries

    held = queries.items_held(connection) if here else ()
    return find_item(name, queries.catalogue(connection), only=only, held=held)


def taken_as(db: Path | None, name: str, *, only: Only = None) -> str:
    """Tell what a name is taken for in an inventory where it may mean several things; empty where it may not."""
    from prep.store import queries

    with session.reading(db) as connection:
        try:
            found = choose_item(name, queries.catalogue(connection), only=only, held=queries.items_held(connection))
        except PrepError:  # an unknown name is told of where the item itself is asked for
            return ""
    return found.says


def other_forms(name: str, catalogue: Catalogue) -> str:
    """List the hydrates, grades and forms on file of a name that says another; empty where there are none."""
    return _listed(items_of_other_forms(name, catalogue))


def items_of_other_forms(name: str, catalogue: Catalogue) -> list[Item]:
    """Find the hydrates, grades and forms on file of a name that says another."""
    return _other_forms(NameSearch(name.strip(), catalogue), "substance")


def _listed(found: Sequence[Item]) -> str:
    return ", ".join(f"{one.name} ({one.code})" for one in found)


def _other_forms(said: NameSearch, only: Only) -> list[Item]:
    if only == "solution" or said.said.made:
        return []
    for words in dict.fromkeys((said.said.words, said.said.without_form.words)):
        bare = " ".join(words)
        if not bare or bare == said.wanted.casefold():
            continue
        if found := [one for one in NameSearch(bare, Catalogue(said.catalogue.substances)).by_words() if one.substance]:
            return found
    return []


def _no_such_buffer(wanted: str, said: BufferName, catalogue: Catalogue) -> str:
    """Tell what to do about a buffer that is not on file: say more, or make it from its pair."""
    near = said.near(catalogue.solutions.values())
    there = f" The nearest are {', '.join(near)}." if near else ""
    if said.ph is None:
        said_so = f'"{wanted[:60]}" does not say which buffer; say its pH, such as "pH 7 buffer"'
        return Sentence(said_so, AtTerminal(" (prep solution list)"), f".{there}")
    made = said.pair()
    how = AtTerminal(f" Make it: {made}") if made else " No pair that is usual makes one."
    return Sentence(f'"{wanted[:60]}" is no buffer on file.{there}', how)


def _of_the_other_kind(wanted: str, found: Item) -> str:
    if found.solution is not None:
        said = f'"{wanted[:60]}" is a solution ({found.code}), not a substance as bought'
        return Sentence(said, AtTerminal("; see: prep solution list", "."))
    return f"{found.name} is a substance as bought; only solutions are made, and none of it is on file."
