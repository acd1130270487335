"""Adds the cautions to a make: floor 1's planning and safety do not know each other."""

from dataclasses import replace
from typing import cast

from prep.planning.model import Batch, Plan, Snapshot
from prep.safety.cautions import Action, cautions_for

_ACTION = {"dilute": "dilute", "dilute concentrate": "dilute", "dissolve": "dissolve", "recipe": "recipe"}


def with_cautions(batch: Batch, snapshot: Snapshot) -> Batch:
    """The make with what to mind, by what goes in and what is done."""
    known = [snapshot.substances[i] for i in _reagents(batch, snapshot) if i in snapshot.substances]
    said = cautions_for(known, action=cast(Action, _ACTION[batch.route]))
    return replace(batch, cautions=tuple(dict.fromkeys(said)))


def cautioned(plan: Plan, snapshot: Snapshot) -> Plan:
    """The plan with cautions on every make."""
    return replace(plan, batches=tuple(with_cautions(batch, snapshot) for batch in plan.batches))


def _reagents(batch: Batch, snapshot: Snapshot) -> list[str]:
    """What goes in, and what the stocks that go in are made of, each once."""
    todo = [take.item for take in batch.takes]
    seen: list[str] = []
    while todo:
        item = todo.pop(0)
        if item in seen:
            continue
        seen.append(item)
        solution = snapshot.solutions.get(item)
        if solution is not None:
            todo += [line.item for line in solution.recipe]
            if not solution.recipe:
                group = sorted(s.code for s in snapshot.substances.values() if s.solute == solution.solute)
                todo += group[:1]
    return seen
