"""Demonstrations of one's own: added from a file or from options, as variants of others, and found by any word."""

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.chemistry.catalogue import WATER
from prep.chemistry.model import Solution
from prep.errors import PrepError, Refused
from prep.planning.model import Demo
from prep.services.catalogue import lookup
from prep.services.catalogue.names import find_item
from prep.services.catalogue.on_file import OnFile
from prep.services.demos.demo_file import ReadDemo, code_of, read_demo, read_text_demo
from prep.services.input.act import Act
from prep.services.input.checks import within
from prep.services.inventory import session
from prep.store import queries
from prep.store.school import removal
from prep.wording import Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.services.bookings.showable import Showable


@dataclass(frozen=True, slots=True)
class AddedDemo:
    """A demo that was added (or would be), solutions that had to be new for it, and every mistake of its file."""

    demo: Demo | None
    solutions: tuple[Solution, ...] = ()
    mistakes: tuple[str, ...] = ()
    replaced: bool = False
    dangers: tuple[str, ...] = ()
    """What is given off, or worse, where a vessel's things meet."""
    taken: tuple[str, ...] = ()
    """What names were taken for that may mean several things, or had a wrong letter."""


@dataclass(frozen=True, slots=True)
class AddOptions:
    """How a demo is added: over one on file, or only looked at."""

    replace: bool = False
    dry_run: bool = False


@dataclass(frozen=True, slots=True)
class Variant:
    """A demo like another: items swapped by name, and items taken so many times as strong."""

    like: str
    name: str = ""
    code: str = ""
    swaps: Mapping[str, str] = field(default_factory=dict)
    stronger: Mapping[str, Decimal] = field(default_factory=dict)


def add_file(db: Path | None, path: Path, how: AddOptions, act: Act) -> AddedDemo:
    """Add a demo from its TOML file. With mistakes nothing is written. Raises PrepError, Refused if it is on file."""
    return _add(db, lambda on_file: read_demo(path, on_file), how, act)


def add_text(db: Path | None, text: str, how: AddOptions, act: Act) -> AddedDemo:
    """Add a demo from TOML as typed options give it. Raises as `add_file`."""
    return _add(db, lambda on_file: read_text_demo(text, "", on_file), how, act)


def first_mistake(db: Path | None, how: AddOptions) -> Callable[[str], str]:
    """Make what tells the first mistake of a demo's TOML, empty where there is none; the catalogue is read once."""
    on_file = lookup.known(db)

    def found(text: str) -> str:
        read = read_text_demo(text, "", on_file)
        if read.demo and read.demo.code in on_file.demos and not how.replace:
            return f'"{read.demo.code}" is on file already; give another name.'
        return next(iter(read.mistakes), "")

    return found


def _add(db: Path | None, read: Callable[[OnFile], ReadDemo], how: AddOptions, act: Act) -> AddedDemo:
    def work(connection: "Connection") -> AddedDemo:
        on_file = _on_file(connection)
        found = read(on_file)
        if found.demo is None:
            return AddedDemo(None, mistakes=found.mistakes)
        return replace(_addable(found.demo, (), on_file, how), taken=found.taken)

    return _put(db, work, how, act)


def add_variant(db: Path | None, asked: Variant, how: AddOptions, act: Act) -> AddedDemo:
    """Add a demo like another, with other items, or stronger ones. Raises PrepError, Refused if it is on file."""

    def work(connection: "Connection") -> AddedDemo:
        on_file = _on_file(connection)
        made = variant_of(asked, on_file)
        return _addable(made.demo, made.solutions, on_file, how)

    return _put(db, work, how, act)


@dataclass(frozen=True, slots=True)
class MadeVariant:
    """A variant of a demo, and its solutions that are not on file yet."""

    demo: Demo
    solutions: tuple[Solution, ...]


def variant_of(asked: Variant, on_file: OnFile) -> MadeVariant:
    """Make a variant of a demo, and the solutions not on file yet. Raises PrepError for what is not in the demo."""
    like = lookup.demo(on_file, asked.like)
    there = {need.item for need in like.needs}
    other: dict[str, str] = {}
    for said, instead in asked.swaps.items():
        old = _item_of(said, there, like, on_file)
        other[old] = _instead_of(old, instead, on_file)
    new: dict[str, Solution] = {}
    for said, factor in asked.stronger.items():
        code = _item_of(said, there, like, on_file)
        stronger = times_as_strong(other.get(code, code), factor, on_file)
        other[code] = stronger.code
        if stronger.code not in on_file.solutions:
            new[stronger.code] = stronger
    if not other:
        raise PrepError("Say what is different: ", Flag("--swap"), " ITEM=OTHER, or ", Flag("--stronger"), " ITEM=10.")
    for old, instead in other.items():
        measure = on_file.item(instead).measure
        if instead not in new and measure is not on_file.item(old).measure:
            raise PrepError(f"{instead} is counted by {measure.value} and {old} is not; swap like for like.")
    names = [new[one].name if one in new else on_file.name(one) for one in other.values()]
    name = asked.name or f"{like.name}, with {' and '.join(names)}"
    needs = tuple(replace(need, item=other.get(need.item, need.item)) for need in like.needs)
    return MadeVariant(
        replace(like, code=asked.code or code_of(name), name=name, needs=needs, other_names=()),
        tuple(new.values()),
    )


def _has_words(name: str, said: str) -> bool:
    """Tell whether each word that was said is one of a name's."""
    return set(re.findall(r"[\w./%]+", said.casefold())) <= set(re.findall(r"[\w./%]+", name.casefold()))


def _solute_of(code: str, on_file: OnFile) -> str:
    found = on_file.solutions.get(code) or on_file.substances.get(code)
    return found.solute if found else ""


def _instead_of(old: str, said: str, on_file: OnFile) -> str:
    """Find what is to be taken instead: a solution of that name where the demo takes one. Raises PrepError."""
    code = find_item(said, on_file).code
    if old in on_file.solutions and code in on_file.substances:
        named = [c for c, s in on_file.solutions.items() if _has_words(s.name, said)]
        alike = [c for c in named if on_file.solutions[c].purpose == on_file.solutions[old].purpose]
        if len(alike or named) == 1:
            return (alike or named)[0]
    return code


def _item_of(said: str, there: set[str], demo: Demo, on_file: OnFile) -> str:
    """Find the item of a demo that is meant: by code or name, or by words that only one of them has in its name."""
    if said in there:
        return said
    named = [one for one in sorted(there) if _has_words(on_file.name(one), said)]
    try:
        code = find_item(said, on_file, held=there).code
    except PrepError:
        if len(named) != 1:
            raise
        return named[0]
    if code in there:
        return code
    solute = _solute_of(code, on_file)
    alike = named or [one for one in sorted(there) if solute and _solute_of(one, on_file) == solute]
    if len(alike) == 1:
        return alike[0]
    takes = ", ".join(f"{on_file.name(one)} ({one})" for one in sorted(there - {WATER}))
    raise PrepError(f"{demo.name} takes no {on_file.name(code)}; it takes {takes}.")


def times_as_strong(code: str, factor: Decimal, on_file: OnFile) -> Solution:
    """Find the solution that is so many times as strong, or make a new one. Raises PrepError where none can be."""
    solution = on_file.solutions.get(code)
    if solution is None:
        raise PrepError(f"{on_file.name(code)} is no solution; only a solution can be taken stronger.")
    if not factor.is_finite() or not 0 < factor <= 1000:
        raise PrepError(f"{factor} is no number of times as strong; write such as 10 or 0.1.")
    if solution.strength is not None and not solution.recipe:
        wanted = replace(solution.strength, value=(solution.strength.value * factor).normalize())
        for one in on_file.solutions.values():
            if (one.solute, one.strength_of) == (solution.solute, solution.strength_of) and one.strength == wanted:
                return one
        strength = replace(wanted, value=Decimal(f"{wanted.value:f}"))
        made = replace(
            solution,
            code=f"{solution.code}-x{factor:f}",
            name=f"{solution.bare_name}, {strength}",
            strength=strength,
            made_from=(),
            sources={"strength": f"{factor:f} times {solution.code}", **solution.sources},
        )
        return _checked(made, on_file)
    if not solution.recipe:
        raise PrepError(f"{solution.name} has neither a strength nor a recipe to take {factor:f} times.")
    recipe = tuple(
        line if line.item == WATER else replace(line, amount=int(line.amount * factor)) for line in solution.recipe
    )
    code_, name = f"{solution.code}-x{factor:f}", f"{solution.name}, {factor:f} times as strong"
    return _checked(replace(solution, code=code_, name=name, recipe=recipe, strength=None), on_file)


def _checked(solution: Solution, on_file: OnFile) -> Solution:
    from prep.chemistry.preparation.recipe_checks import check_recipe

    check_recipe(solution, on_file)
    return solution


TRIED = "Each is answered as a booking of it would be; where days are nearly full it is tried by itself."
"""What is said of an answer for many demonstrations at once."""


def possible(db: Path | None, on: date, today: date, codes: Collection[str] | None = None) -> "Showable":
    """Find the demos, of some or of all, that could be shown on a day, as things stand, one showing of each by itself.

    Raises PrepError for a day that is past or closed.
    """
    from prep.services.bookings.showable import showable

    return showable(db, on, today, codes)


def _put(db: Path | None, work: "Callable[[Connection], AddedDemo]", how: AddOptions, act: Act) -> AddedDemo:
    """Put a demo that was worked out before the lock on file, unless it is wrong or only looked at."""
    from prep.store import ledger, seeding

    def post(connection: "Connection", added: AddedDemo) -> AddedDemo:
        if added.demo is not None:
            note = f"demo {added.demo.code}{': replaced' if added.replaced else ''}"
            ledger.begin(connection, JobKind.CATALOGUE, act.by, act.on, note)
            if added.solutions:
                seeding.put_solutions(connection, added.solutions)
            removal.demos(connection, [added.demo.code])
            seeding.put_demos(connection, [added.demo])
        return added

    if how.dry_run:
        with session.reading(db) as connection:
            return work(connection)
    return session.worked_out(db, work, post)


def _addable(demo: Demo, new: Sequence[Solution], on_file: OnFile, how: AddOptions) -> AddedDemo:
    """Check that a demo can be put on file as it is. Raises PrepError; Refused where it is there."""
    within(len(demo.needs), 1, 200, "the things a demo needs")
    there = demo.code in on_file.demos
    if there and not how.replace:
        raise Refused(
            f'"{demo.code}" is on file already; give another code or name, or ', Flag("--replace"), " to write over it."
        )
    if demo.code in on_file:
        raise PrepError(f'"{demo.code}" is the code of an item; give the demo another.')
    then = replace(on_file, solutions={**on_file.solutions, **{one.code: one for one in new}})
    check_ends(demo, then)
    return AddedDemo(demo, tuple(new), (), there, dangers_of(demo, then))


def dangers_of(demo: Demo, on_file: OnFile) -> tuple[str, ...]:
    """Say what must not be made and would be in a demo's vessels."""
    from prep.services.demos.safety_notes import notes_of

    return tuple(line.text for line in notes_of(demo, on_file).may_be_made)


def check_ends(demo: Demo, on_file: OnFile) -> None:
    """Check that what is added until something happens ends, or has an amount. Raises PrepError."""
    if not any(need.until and not need.per_showing for need in demo.needs):
        return
    reckoned = lookup.reckoned(demo, on_file)
    said = {need.item for need in reckoned.demo.needs if need.until and not need.per_showing}
    for one in reckoned.untils:
        if one.why and one.item in said:
            minds = "".join(f" Mind: {danger}" for danger in dangers_of(demo, on_file))
            raise PrepError(f"{one.vessel}, {one.said}: {one.why} Give another end, or the amount itself.{minds}")


def _on_file(connection: "Connection") -> OnFile:
    catalogue = queries.catalogue(connection)
    return OnFile(catalogue.substances, catalogue.solutions, queries.demos(connection))
