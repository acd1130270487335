"""A make that stands on the books of its day already: it may have been logged twice."""

from pathlib import Path

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.services.inventory import session
from prep.services.making.make import MadeBatch
from prep.store.jobs import batches
from prep.wording import AtTerminal, Sentence


def told(db: Path | None, made: MadeBatch) -> list[str]:
    """Say which other make of as much of it is on the books of the same day, and how this one is taken back.

    Raises PrepError.
    """
    batch = made.instructions.batch
    with session.reading(db) as connection:
        on_that_day = batches.of_day(connection, batch.solution, batch.make_on)
    mine = next((one for one in on_that_day if one.job == made.job), None)
    if mine is None:
        return []
    others = [one for one in on_that_day if one.job != mine.job and one.amount == mine.amount]
    return [
        Sentence(
            f"Mind: {quantities.show(one.amount, Measure.VOLUME)} of it was logged for the same day already, as "
            f"job {one.job} (bottle {', '.join(one.bottles)})",
            AtTerminal(f"; if that is the same make: prep stock undo {made.job}", "; undo this one if it is the same."),
        )
        for one in others[-1:]
    ]
