"""One make on a terminal: takes, steps, cautions, working."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from prep.planning.model import Batch, Snapshot
from prep.reports import terminal
from prep.reports.formatting import ItemNames, day
from prep.reports.plan.screen import show_steps
from prep.safety.deferral import DEFERRAL

if TYPE_CHECKING:
    from prep.services.making.make import LackingItem


def show(batch: Batch, snapshot: Snapshot, missing: "Sequence[LackingItem]") -> None:
    """Print the instructions; what is missing comes first."""
    names = ItemNames(snapshot)
    terminal.say(
        f"{names.amount(batch.solution, batch.amount)} of {names.of(batch.solution)}, in the {batch.vessel}",
        bold=True,
    )
    terminal.say(f"use by {day(batch.use_by)} if made {day(batch.make_on)}; about {batch.minutes} min", indent=2)
    if batch.hazards:
        terminal.say(f"hazards: {batch.hazards.says}", indent=2)
    for lack in missing:
        terminal.say(f"MISSING  {lack.amount} of {lack.name}", indent=2)
    terminal.say()
    terminal.say("TAKE", bold=True)
    for take in batch.takes:
        terminal.say(
            f"{names.amount(take.item, take.amount)} of {names.drawn(take)} from {take.kind} {take.ref}",
            indent=2,
        )
    terminal.say()
    if not batch.steps:  # a make that is done already has no steps
        return
    terminal.say("DO", bold=True)
    show_steps(batch.steps, indent=2)
    terminal.say()
    terminal.say("MIND", bold=True)
    for caution in batch.other_cautions:
        terminal.say(f"! {caution}", indent=2, hang=2)
    terminal.say(DEFERRAL, indent=2)
    terminal.say()
    terminal.say("WORKING", bold=True)
    terminal.say(f"source: {batch.why}", indent=2)
    terminal.working(batch.working)
    terminal.say()
