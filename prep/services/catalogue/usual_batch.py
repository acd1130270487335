"""What a room makes of a solution at once, as a rule."""

from bisect import bisect_left
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.chemistry import quantities
from prep.chemistry.model import SET_BY_SCHOOL, Measure, Solution
from prep.chemistry.preparation.vessels import Bench
from prep.errors import PrepError
from prep.planning.engine.batch_sizes import small_because
from prep.services.catalogue.names import in_inventory
from prep.services.input.act import BeforeAfter
from prep.services.input.checks import naming
from prep.services.inventory import session
from prep.store import ledger, queries, seeding
from prep.wording import Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection


def shown(solution: Solution) -> str:
    """Say the usual batch: `usually made 500 mL at once; less where that would waste: costly`."""
    if not solution.usual_nl:
        return "no usual batch"
    because = small_because(solution)
    less = f"; less where less is needed, as {because}" if because else ""
    return f"usually made {quantities.show(solution.usual_nl, Measure.VOLUME)} at once{less}"


def read_usual(text: str, solution: Solution, bench: Bench) -> int:
    """Read a usual batch [nL] of a solution, one that the room can make.

    Raises PrepError for no volume, more than the room's largest vessel for it holds, less than it can measure, or one
    between those that it makes.
    """
    with naming(Flag("--usual")):
        base = round(quantities.volume_ml(text) * quantities.BASE_PER_UNIT)
    sizes, volume = bench.sizes(solution.code), quantities.show(base, Measure.VOLUME)
    within = f"of {solution.name} to within {solution.tolerance_pct.normalize():f} %"
    if base > sizes[-1]:
        most = quantities.show(sizes[-1], Measure.VOLUME)
        raise PrepError(
            Flag("--usual"), f" {volume} is more than any vessel of the room makes {within}: {most} at most."
        )
    if base < sizes[0]:
        least = quantities.show(sizes[0], Measure.VOLUME)
        raise PrepError(Flag("--usual"), f" {volume} is less than the room can make {within}: {least} at least.")
    if base not in sizes:
        at = bisect_left(sizes, base)
        below, above = (quantities.show(size, Measure.VOLUME) for size in sizes[at - 1 : at + 1])
        raise PrepError(
            Flag("--usual"),
            f" {volume} is no volume that the room makes of {solution.name}: write {below} or {above}.",
        )
    return base


def set_usual(db: Path | None, name: str, usual: str, by: str, on: date) -> Solution:
    """Set the usual batch of a solution; who did stands in the history.

    Raises PrepError as `read_usual` does.
    """

    def work(connection: "Connection") -> BeforeAfter[Solution]:
        found = in_inventory(connection, name)
        solutions = queries.solutions(connection)
        solution = solutions.get(found.code)
        if solution is None:
            raise PrepError(f"{found.name} is bought, not made; only a solution has a usual batch.")
        base = read_usual(usual, solution, Bench(queries.catalogue(connection), queries.instruments(connection)))
        return BeforeAfter(
            solution, replace(solution, usual_nl=base, sources=solution.sources | {"usual": SET_BY_SCHOOL})
        )

    def post(connection: "Connection", change: BeforeAfter[Solution]) -> Solution:
        solution, after = change.before, change.after
        if after.usual_nl != solution.usual_nl or not solution.own_usual:
            seeding.set_usual(connection, after.code, after.usual_nl)
            note = f"solution set: {solution.code}: {shown(solution)} -> {shown(after)}"
            ledger.begin(connection, JobKind.SETTINGS, by, on, note)
        return after

    return session.worked_out(db, work, post)
