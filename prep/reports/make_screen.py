"""One make on a terminal: takes, steps, cautions, working."""

from collections.abc import Sequence

from prep.planning.model import Batch, Snapshot
from prep.reports import screen
from prep.reports.plan_screen import DEFERRAL, show_steps
from prep.reports.words import Names, day


def show(batch: Batch, snapshot: Snapshot, missing: Sequence[tuple[str, str]]) -> None:
    """Print the instructions; what is missing comes first."""
    names = Names(snapshot)
    screen.say(
        f"{names.amount(batch.solution, batch.amount)} of {names.of(batch.solution)}, in the {batch.vessel}",
        bold=True,
    )
    screen.say(f"use by {day(batch.use_by)} if made {day(batch.make_on)}; about {batch.minutes} min", indent=2)
    if batch.hazards:
        screen.say(f"hazards: {batch.hazards.says}", indent=2)
    for name, amount in missing:
        screen.say(f"MISSING  {amount} of {name}", indent=2)
    screen.say()
    screen.say("TAKE", bold=True)
    for take in batch.takes:
        screen.say(
            f"{names.amount(take.item, take.amount)} of {names.of(take.item)} from {take.kind} {take.ref}",
            indent=2,
        )
    screen.say()
    if not batch.steps:  # it is done
        return
    screen.say("DO", bold=True)
    show_steps(batch.steps, indent=2)
    screen.say()
    screen.say("MIND", bold=True)
    for caution in batch.cautions:
        screen.say(f"! {caution}", indent=2, hang=2)
    screen.say(DEFERRAL, indent=2)
    screen.say()
    screen.say("WORKING", bold=True)
    screen.say(f"source: {batch.why}", indent=2)
    for line in batch.working:
        screen.say(line.text, indent=2)
        if line.source:
            screen.say(f"[{line.source}]", indent=4)
    screen.say()
