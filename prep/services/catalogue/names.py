"""Finding what a person named: an item by code, name, other name, CAS number or formula, with a strength or without."""

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, Literal

from prep.chemistry import spelling
from prep.chemistry.catalogue import Catalogue, Item
from prep.errors import NotOnFile, PrepError
from prep.resources import seed_table
from prep.services.catalogue.name_search import Search

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

    Of several the one that is among the `held` codes is taken; where none is held, the hydrate or grade that is
    usually sold. Raises PrepError naming near matches, or the several that fit.
    """
    wanted = name.strip()
    found = candidates(wanted, catalogue, only)
    if len(found) > 1:
        found = [one for one in found if one.code in held] or usual(found)
    if len(found) == 1:
        return found[0]
    if found:
        codes = ", ".join(sorted(one.code for one in found))
        raise PrepError(f'"{wanted[:60]}" may be {codes}; give one of these codes.')
    if only and (others := candidates(wanted, catalogue)):
        raise NotOnFile(_of_the_other_kind(wanted, others[0]))
    said = Search(wanted, catalogue)
    solutes, strength = said.strong()
    if entries := said.of_solute(solutes):
        codes = ", ".join(sorted(solution.code for solution in entries))
        raise NotOnFile(f'"{wanted[:60]}": no solution of it on file is {strength}; there are {codes}.')
    if other := _other_forms(said, only):
        raise NotOnFile(f'"{wanted[:60]}" is on file only as {other}.')
    known: dict[str, tuple[str, ...]] = {
        code: (one.name,) for code, one in catalogue.solutions.items() if only != "substance"
    }
    known |= {code: (one.name, *one.other_names) for code, one in catalogue.substances.items() if only != "solution"}
    kind = f"no {only}" if only else "neither a substance nor a solution"
    raise NotOnFile(f'"{wanted[:60]}" is {kind} on file.{spelling.near(wanted, known)}')


def find_alike(name: str, catalogue: Catalogue) -> Item:
    """As `find_item`, but of the grades and hydrates of one solute the usual one: their solutions are the same."""
    found = candidates(name, catalogue)
    if len({one.substance.solute if one.substance else one.code for one in found}) == 1:
        return usual(found)[0]
    return find_item(name, catalogue)


def candidates(
    name: str,
    catalogue: Catalogue,
    only: Only = None,
) -> list[Item]:
    """All that a name may mean, what it was written for first; empty where it means nothing on file."""
    for way in Search(name.strip(), catalogue).ways():
        found = {one.code: one for one in way if only is None or (only == "solution") is (one.solution is not None)}
        if found:
            return list(found.values())
    return []


def item_with_cas(
    name: str,
    cas: str,
    catalogue: Catalogue,
    held: Collection[str] = (),
) -> Item:
    """The item of a name and a CAS number, either of which may be empty or unknown.

    A number chooses among the hydrates of a name, and stands for a name that is not on file. Raises PrepError where
    the two are of different solutes, and as `find_item`.
    """
    numbered = [catalogue.item(code) for code, s in catalogue.substances.items() if s.cas == cas.strip()]
    named = candidates(name, catalogue) if name.strip() else numbered
    if not numbered:
        return find_item(name or cas, catalogue, held=held)
    codes = {one.code for one in numbered}
    both = [one for one in named if one.code in codes] or ([] if named else numbered)
    if len(both) > 1:
        both = [one for one in both if one.code in held] or usual(both)
    if len(both) == 1:
        return both[0]
    solutes = {one.substance.solute for one in numbered if one.substance}
    if named and not any(_solute(one) in solutes for one in named):
        listed = ", ".join(sorted(codes))
        raise PrepError(f'"{name[:60]}" and the CAS number {cas[:20]} ({listed}) are not the same; correct one.')
    return find_item(name or cas, catalogue, held=held)


def _solute(one: Item) -> str:
    return one.substance.solute if one.substance else one.solution.solute if one.solution else ""


def usual(found: Sequence[Item]) -> list[Item]:
    """Of the hydrates or grades of one solute the one that is usually sold; all of them where none is known to be."""
    if len({one.substance.solute if one.substance else one.code for one in found}) != 1:
        return list(found)
    known = {row["code"] for row in seed_table("usual_forms")}
    chosen = [one for one in found if one.code in known]
    return chosen if len(chosen) == 1 else list(found)


def in_inventory(connection: "Connection", name: str, *, only: Only = None, here: bool = False) -> Item:
    """As `find_item`, in an open inventory; `here`: of several the one that has a bottle with something in it."""
    from prep.store import queries

    catalogue = queries.catalogue(connection)
    held = queries.items_held(connection) if here else ()
    return find_item(name, catalogue, only=only, held=held)


def _other_forms(said: Search, only: Only) -> str:
    """The hydrates and grades on file of a name that says another."""
    bare = " ".join(said.said.words)
    if only == "solution" or not bare or said.said.made or bare == said.wanted.casefold():
        return ""
    found = [one for one in Search(bare, Catalogue(said.catalogue.substances)).by_words() if one.substance]
    return ", ".join(f"{one.name} ({one.code})" for one in found)


def _of_the_other_kind(wanted: str, found: Item) -> str:
    if found.solution is not None:
        return f'"{wanted[:60]}" is a solution ({found.code}), not a substance as bought; see: prep solution list'
    return f"{found.name} is a substance as bought; only solutions are made, and none of it is on file."
