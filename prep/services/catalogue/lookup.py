"""Looking things up: substances, solutions, demos, in the inventory or among the shipped ones."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Solution, Substance
from prep.chemistry.word_search import holding, nearest
from prep.errors import NotOnFile, PrepError
from prep.planning.model import Demo
from prep.planning.set_out import ReckonedDemo
from prep.services.bookings.requests import find_demo_in
from prep.services.catalogue.names import Only, candidates, choose_item, find_item
from prep.services.catalogue.on_file import OnFile
from prep.services.inventory import session

RecordKind = Literal["substance", "solution", "demo"]


def known(db: Path | None) -> OnFile:
    """Read everything on file in an inventory."""
    from prep.store import queries  # imported here: predictions for the sample school need none

    with session.reading(db) as connection:
        catalogue = queries.catalogue(connection)
        return OnFile(
            catalogue.substances,
            catalogue.solutions,
            queries.demos(connection),
            queries.rules(connection),
            held=frozenset(queries.items_held(connection)),
        )


def names(db: Path | None) -> dict[str, str]:
    """Read what each demo, solution and substance on file is called, by its code."""
    on_file = known(db)
    return {
        one.code: one.name for kind in (on_file.substances, on_file.solutions, on_file.demos) for one in kind.values()
    }


def substance(on_file: OnFile, name: str) -> Substance:
    """Find one substance by its name. Raises PrepError."""
    item = find_item(name, on_file, only="substance", held=on_file.held)
    assert item.substance is not None
    return item.substance


def solution(on_file: OnFile, name: str) -> Solution:
    """Find one solution by its name. Raises PrepError."""
    item = find_item(name, on_file, only="solution", held=on_file.held)
    assert item.solution is not None
    return item.solution


def taken_as(on_file: OnFile, name: str, only: Only) -> str:
    """Tell what a name that may mean several things is taken for; empty where it means one. Raises PrepError."""
    return choose_item(name, on_file, only=only, held=on_file.held).says


def demo(on_file: OnFile, name: str) -> Demo:
    """Find a demo by code, name or old name, or by words that only one of them holds. Raises PrepError."""
    try:
        return find_demo_in(on_file.demos, name)
    except PrepError:
        found = holding(on_file.texts()["demo"], name)
        if len(found) == 1:
            return on_file.demos[found[0]]
        if 1 < len(found) <= 12:
            raise PrepError(f'"{name[:40]}" may be {", ".join(found)}; give one of these.') from None
        raise


def reckoned(demo: Demo, catalogue: Catalogue) -> ReckonedDemo:
    """Work out a demo's needs that are stated `until` a pH, from composition, and how each was found."""
    if not any(need.until for need in demo.needs):
        return ReckonedDemo(demo)
    from prep.planning.ph_demand import UntilReckoner

    return UntilReckoner(catalogue).reckoned(demo)


@dataclass(frozen=True, slots=True)
class SearchResult:
    """What a search found: codes, and the sentence that says so where none has all of the words."""

    codes: list[str]
    says: str = ""


def searched(on_file: OnFile, kind: RecordKind, search: str | None) -> SearchResult:
    """Search the codes of a kind: all of the words, else what they name, else what comes nearest.

    Raises PrepError where none does, naming the other kinds of which some do.
    """
    texts = on_file.texts()
    found = holding(texts[kind], search)
    if found or not search:
        return SearchResult(found)
    if near := _meant(on_file, kind, search) or nearest(texts[kind], search):
        return SearchResult(near, f'No {kind} on file has all of the words "{search[:60]}"; the nearest:')
    others = [f"{other}s do (prep {other} list)" for other in texts if other != kind and holding(texts[other], search)]
    more = f"; {' and '.join(others)}" if others else ""
    raise NotOnFile(f'No {kind} on file matches "{search}"{more}.')


def _meant(on_file: OnFile, kind: RecordKind, search: str) -> list[str]:
    """Find the codes that the words name, in whatever spelling."""
    if kind == "demo":
        with suppress(PrepError):
            return [find_demo_in(on_file.demos, search).code]
        return []
    return [one.code for one in candidates(search, on_file, kind)]


def matching(texts: Mapping[str, tuple[str, ...]], search: str | None) -> list[str]:
    """Find the codes whose code or other texts hold the words searched for; all of them without. Raises PrepError."""
    found = holding(texts, search)
    if search and not found:
        raise NotOnFile(f'Nothing on file matches "{search}".')
    return found
