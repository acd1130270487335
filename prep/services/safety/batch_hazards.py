"""Adds hazards and cautions to a make: floor 1's planning and safety do not know each other."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import cast

from prep.chemistry.model import StepKind, Strength, Substance
from prep.chemistry.preparation.steps import WrittenStep
from prep.chemistry.strength.bottled import as_found
from prep.errors import PrepError
from prep.planning.draws import LinkKind
from prep.planning.model import Batch, BatchHazards, Snapshot
from prep.safety.cautions import Action, AmountsTaken, at_step, cautions_for
from prep.safety.model import Classification
from prep.safety.solution_hazards import known_or_not, reagents_of

_ACTION = {
    "dilute": "dilute",
    "dilute concentrate": "dilute",
    "dissolve": "dissolve",
    "recipe": "recipe",
    "blend": "recipe",
}


class Cautioner:
    """What to mind of any make of one snapshot; each solution's hazards are worked out once."""

    def __init__(self, snapshot: Snapshot) -> None:
        self._snapshot = snapshot
        self._hazards: dict[str, Classification] = {}
        self._said: dict[str, BatchHazards] = {}
        self._reagents: dict[str, tuple[Substance, ...]] = {}
        self._cautions: dict[tuple[object, ...], tuple[str, ...]] = {}
        self._own = {bottle.code: bottle.strength for bottle in snapshot.bottles if bottle.strength}

    def of(self, batch: Batch, also: Iterable[str] = ()) -> Batch:
        """Add to a make its hazards and cautions; `also` are items that it still lacks."""
        items = tuple(dict.fromkeys([*(take.item for take in batch.takes), *also]))
        scale = _scale(batch)
        bottled = self._as_bottled(batch, items)
        own = ((code, one.name, one.assay_pct) for code, found in bottled.items() for one in found)
        key = (batch.solution, batch.route, items, *own, *scale.taken.items(), scale.volume, scale.cooled)
        if key not in self._cautions:
            known = self._snapshot
            taken = [one for found in bottled.values() for one in found]
            stocks = [item for item in items if item in known.solutions]
            within = [one for item in stocks for one in self._inside(item)]
            action = cast(Action, _ACTION[batch.route])
            classes = [self.hazards(item) for item in stocks]
            said = cautions_for(taken, self.hazards(batch.solution), action, classes, within, scale)
            self._cautions[key] = tuple(dict.fromkeys(said))
        if batch.solution not in self._said:
            self._said[batch.solution] = batch_hazards(self.hazards(batch.solution))
        steps = self._with_cautions(batch, scale, bottled)
        return replace(batch.rewritten(steps=steps), cautions=self._cautions[key], hazards=self._said[batch.solution])

    def _as_bottled(self, batch: Batch, items: Iterable[str]) -> dict[str, tuple[Substance, ...]]:
        """Find each substance of these as the bottles have it that the make draws on: at the strength of their own."""
        strengths: dict[str, dict[Strength | None, None]] = {}
        for take in batch.takes:
            own = self._own.get(take.ref) if take.kind is LinkKind.BOTTLE else None
            strengths.setdefault(take.item, {})[own] = None
        found: dict[str, tuple[Substance, ...]] = {}
        for item in items:
            if (on_file := self._snapshot.substances.get(item)) is not None:
                each = strengths.get(item, {None: None})
                found[item] = tuple(_at(on_file, strength) for strength in each)
        return found

    def _with_cautions(
        self, batch: Batch, scale: AmountsTaken, bottled: Mapping[str, Sequence[Substance]]
    ) -> tuple[WrittenStep, ...]:
        """Put each caution of a substance before the first step that takes it."""
        out: list[WrittenStep] = []
        seen: set[str] = set()
        action = cast(Action, _ACTION[batch.route])
        fumes = any(step.kind is StepKind.FUME_FROM for step in batch.steps)
        for step in batch.steps:
            if step.kind is StepKind.ADD and step.item in bottled and step.item not in seen:
                seen.add(step.item)
                said = (text for substance in bottled[step.item] for text in at_step(substance, action, scale))
                for text in dict.fromkeys(said):
                    if not (fumes and "fume cupboard" in text):  # a step before has moved the work there already
                        out.append(WrittenStep(text, kind=StepKind.CAUTION))
            out.append(step)
        return tuple(out)

    def hazards(self, solution: str) -> Classification:
        """Classify a solution; not known where its composition cannot be worked out."""
        if solution not in self._hazards:
            known = self._snapshot
            self._hazards[solution] = known_or_not(known.solutions[solution], known.catalogue)
        return self._hazards[solution]

    def _inside(self, item: str) -> tuple[Substance, ...]:
        if item not in self._reagents:
            known = self._snapshot
            self._reagents[item] = reagents_of([item], known.catalogue)
        return self._reagents[item]


def _at(substance: Substance, found: Strength | None) -> Substance:
    """Give a substance the strength of a bottle's own; as on file where it has none that can be read."""
    try:
        return as_found(substance, found) if found else substance
    except PrepError:
        return substance


def _scale(batch: Batch) -> AmountsTaken:
    """Sum how much of each item a make takes, and how much it makes."""
    taken: dict[str, int] = {}
    for take in batch.takes:
        taken[take.item] = taken.get(take.item, 0) + take.amount
    return AmountsTaken(taken, batch.amount, any(step.kind is StepKind.COOL for step in batch.steps))


def batch_hazards(found: Classification) -> BatchHazards:
    """Convert a classification to the plan's plain data."""
    return BatchHazards(
        signal=found.signal,
        h=tuple(one.code for one in found.h_statements),
        pictograms=found.pictograms,
        known=found.known,
        check_before_relying=found.check_before_relying,
        statements=statements_of(found),
    )


def in_a_line(found: Classification) -> str:
    """Write a classification in a line: `Danger: H314 Causes severe skin burns and eye damage.`"""
    said = statements_of(found)
    return f"{found.signal}: {said}" if found.signal else said


def statements_of(found: Classification) -> str:
    """Write a classification in a line as `in_a_line`, without the signal word."""
    line = " ".join(map(str, (*found.h_statements, *found.euh)))
    if not found.known:
        gap = f"no hazard data for {', '.join(found.unknown)}: treat as hazardous."
        return f"{line} Otherwise not known: {gap}" if line else f"Not known: {gap}"
    line = line or "Not classified as hazardous."
    return f"{line} (check before relying on it)" if found.check_before_relying else line


def with_cautions(batch: Batch, snapshot: Snapshot, also: Iterable[str] = ()) -> Batch:
    """Add to one make its hazards and what to mind."""
    return Cautioner(snapshot).of(batch, also)
