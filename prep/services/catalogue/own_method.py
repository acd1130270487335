"""A school's own method of a solution, step by step, from a TOML file."""

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.books import JobKind
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import MethodStep, Solution, StepKind, StepPlace, degrees_said, place_said
from prep.errors import PrepError
from prep.services.catalogue.method_steps import read_method_step
from prep.services.catalogue.names import find_item, in_inventory
from prep.services.files.csv_file import Row, read_text
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.store import ledger, queries, seeding

if TYPE_CHECKING:
    from sqlalchemy import Connection

KEYS = "kind text item from share temperature_c up_to_c minutes goes_into source".split()
_MOST_STEPS, _LONGEST = 40, 300
_NEEDS = {
    StepKind.WATER: ("share",),
    StepKind.DISSOLVE: ("share",),
    StepKind.DRY: ("item", "temperature_c", "minutes"),
    StepKind.HEAT: ("temperature_c",),
    StepKind.STAND: ("minutes", "text"),
    StepKind.SETTLE: ("minutes", "text"),
    StepKind.FIRST: ("text",),
    StepKind.NOTE: ("text",),
    StepKind.CAUTION: ("text",),
    StepKind.CHECK: ("text",),
    StepKind.NO_FLASK: ("text",),
    StepKind.BOILED_WATER: ("text",),
    StepKind.MIX: ("text",),
    StepKind.SHAKE: ("text",),
    StepKind.POUR: ("text",),
    StepKind.DECANT: ("text",),
    StepKind.DROPS: ("item",),
}
"""What a step of a kind must say."""
_GO_INTO = {
    StepKind.WATER: (StepPlace.BEAKER,),
    StepKind.ADD: tuple(StepPlace),
    StepKind.DROPS: (StepPlace.BEAKER,),
    StepKind.MARK: (StepPlace.BEAKER,),
}
"""Where a step of a kind may go, if it says so."""
_HOTTEST_C, _COLDEST_C, _LONGEST_MINUTES = 1200, -80, 60 * 24 * 30


@dataclass(frozen=True, slots=True)
class MethodSet:
    """A solution with the method that it now has, and the job that set it."""

    solution: Solution
    job: int


class _Step(Row):
    """One step of the file, whose mistakes name it by its number."""

    __slots__ = ()

    def wrong(self, column: str, *why: str) -> PrepError:
        return PrepError(f'{self.file}, step {self.number}, "{column}": ', *why)


def set_method(db: Path | None, name: str, file: Path, act: Act) -> MethodSet:
    """Give a solution the steps of a file as its method, as a job that can be undone.

    Raises PrepError with a sentence for each mistake in the file; nothing is changed then.
    """
    text = read_text(file)

    def work(connection: "Connection") -> Solution:
        found = in_inventory(connection, name)
        catalogue = queries.catalogue(connection)
        solution = catalogue.solutions.get(found.code)
        if solution is None:
            raise PrepError(f"{found.name} is bought, not made; only a solution has a method.")
        return replace(solution, method="", method_steps=read_method(text, file.name, solution, catalogue))

    def post(connection: "Connection", solution: Solution) -> MethodSet:
        steps = solution.method_steps
        seeding.set_method(connection, solution.code, steps)
        job = ledger.begin(
            connection, JobKind.CATALOGUE, act.by, act.on, f"method of {solution.code}: {len(steps)} steps"
        )
        return MethodSet(solution, job)

    return session.worked_out(db, work, post)


def read_method(text: str, name: str, solution: Solution, catalogue: Catalogue) -> tuple[MethodStep, ...]:
    """Read the steps of a method from a TOML text, one `[[step]]` each; `name` is what the file is called.

    Raises PrepError with a sentence, on a line of its own, for each mistake.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise PrepError(f"{name}: {problem}.") from None
    except RecursionError:
        raise PrepError(f"{name}: it nests too deeply.") from None
    tables = document.pop("step", [])
    mistakes = [f'{name}: "{key[:40]}" is not known here; write each step under [[step]].' for key in document]
    if not isinstance(tables, list) or not all(isinstance(one, dict) for one in tables):
        raise PrepError(f"{name}: write each step under [[step]].")
    if not 0 < len(tables) <= _MOST_STEPS:
        mistakes.append(f"{name}: a method has from 1 to {_MOST_STEPS} steps, each under [[step]].")
    steps: list[MethodStep] = []
    for number, given in enumerate(tables[:_MOST_STEPS], 1):
        try:
            steps.append(_step(name, number, given, solution, catalogue))
        except ExceptionGroup as wrong:
            mistakes += [str(one) for one in wrong.exceptions]
    if not mistakes:
        mistakes += [f"{name}: {why}" for why in _as_a_whole(steps, solution)]
    if mistakes:
        raise PrepError("\n".join(mistakes))
    return tuple(steps)


def _step(name: str, number: int, given: Mapping[str, Any], solution: Solution, catalogue: Catalogue) -> MethodStep:
    """Read one step. Raises a group with a PrepError for each mistake."""
    row = _Step(name, number, {key: _cell(value) for key, value in given.items()})
    wrong = [row.wrong(key[:40], f"this is not known; a step has: {', '.join(KEYS)}.") for key in given.keys() - KEYS]
    if row.text("kind") not in list(StepKind):
        choices = ", ".join(kind for kind in StepKind if kind is not StepKind.LABEL)
        wrong.append(row.wrong("kind", f'"{row.text("kind")[:40]}" is not one of: {choices}.'))
        raise ExceptionGroup("", wrong)
    kind = StepKind(row.text("kind"))
    for key in KEYS[1:]:  # read each key alone, so that every mistake is told
        try:
            one = read_method_step(_Step(name, number, {"kind": kind.value, key: row.text(key)}))
            _within(row, key, one, solution, catalogue)
        except PrepError as problem:
            wrong.append(problem)
    if kind is StepKind.LABEL:
        wrong.append(row.wrong("kind", "the label is the last step of every make; leave it out."))
    needed = [key for key in _NEEDS.get(kind, ()) if not row.text(key)]
    wrong += [row.wrong(key, f"a step of the kind {kind.value} must say it.") for key in needed]
    if wrong:
        raise ExceptionGroup("", wrong)
    step = read_method_step(row)
    if step.up_to_c is not None and (step.temperature_c is None or step.temperature_c > step.up_to_c):
        raise ExceptionGroup("", [row.wrong("up_to_c", "say temperature_c too, which is no warmer.")])
    if step.temperature_c is None and (said := degrees_said(kind, step.text)):
        step = replace(step, text="", temperature_c=said.low, up_to_c=said.high)
    place, source = step.goes_into or place_said(kind, step.text), step.source or "the school's own method"
    return replace(step, goes_into=place, item=_item(step, solution, catalogue), source=source)


def _cell(value: Any) -> str:
    return ";".join(map(str, value)) if isinstance(value, list) else str(value).strip()


def _within(row: Row, key: str, step: MethodStep, solution: Solution, catalogue: Catalogue) -> None:
    """Check that a step's value is one that a method can have. Raises PrepError."""
    if key in ("text", "source"):
        row.read(key, lambda cell: printable(cell, _LONGEST))
    elif key == "temperature_c" and step.temperature_c is not None:
        _check_celsius(row, key, step.temperature_c)
    elif key == "up_to_c" and step.up_to_c is not None:
        if step.kind is not StepKind.MARK:
            raise row.wrong(key, f"a step of the kind {step.kind.value} has one temperature.")
        _check_celsius(row, key, step.up_to_c)
    elif key == "goes_into" and step.goes_into and step.goes_into not in _GO_INTO.get(step.kind, ()):
        raise row.wrong(key, f"a step of the kind {step.kind.value} does not go there.")
    elif key == "minutes" and step.minutes > _LONGEST_MINUTES:
        raise row.wrong(key, f"this is at most {_LONGEST_MINUTES} minutes, which is 30 days.")
    elif key == "item" and step.item:
        try:
            item = _item(step, solution, catalogue)
        except PrepError as problem:
            raise row.wrong(key, problem.sentence) from None
        parts = [line.item for line in solution.recipe]
        if step.kind in (StepKind.ADD, StepKind.DROPS) and parts and item not in parts:
            raise row.wrong(key, f"{catalogue.name(item)} is not in the recipe of {solution.name}.")
        if step.kind is StepKind.DROPS and not parts:
            raise row.wrong(key, f"{solution.name} has no recipe, so nothing is added by drops.")
        if step.kind is StepKind.ADD and not parts and not _sources(item, solution, catalogue):
            raise row.wrong(key, f"{solution.name} is not made from {catalogue.name(item)}.")


def _check_celsius(row: Row, key: str, celsius: Decimal) -> None:
    if not _COLDEST_C <= celsius <= _HOTTEST_C:
        raise row.wrong(key, f"this is a temperature from {_COLDEST_C} to {_HOTTEST_C} °C.")


def _sources(item: str, solution: Solution, catalogue: Catalogue) -> bool:
    """Tell whether a solution without a recipe is made from an item."""
    substance = catalogue.substances.get(item)
    return item in solution.made_from or (substance is not None and substance.solute == solution.solute)


def _item(step: MethodStep, solution: Solution, catalogue: Catalogue) -> str:
    """Find the code of what a step adds or dries; as the recipe names it, where it is in the recipe."""
    if not step.item or step.item in (line.item for line in solution.recipe):
        return step.item
    return find_item(step.item, catalogue).code


def _as_a_whole(steps: Iterable[MethodStep], solution: Solution) -> Iterable[str]:
    """Find what is wrong with steps together that are right each by itself."""
    fuming, marked, added = False, False, set()
    for number, step in enumerate(steps, 1):
        if step.kind is StepKind.FUME_FROM:
            if fuming:
                yield f"step {number} goes into the fume cupboard, in which it is already."
            fuming = True
        elif step.kind is StepKind.FUME_TO:
            if not fuming:
                yield f"step {number} leaves the fume cupboard, into which no step before it goes."
            fuming = False
        elif step.kind is StepKind.MARK:
            if marked:
                yield f"step {number} makes it up to the mark a second time."
            marked = True
        elif step.kind is StepKind.ADD:
            if not step.item and solution.recipe:
                yield f"step {number} does not say what is added: item = one of its recipe."
            if (step.item, step.origins) in added:
                yield f"step {number} adds what was added before."
            added.add((step.item, step.origins))
    if fuming:
        yield "the method ends in the fume cupboard; say from where on it is out of it: fume cupboard to."
