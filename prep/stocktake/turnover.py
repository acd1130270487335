"""What went in and out of a bottle since its books were last right, added up by kind of job and direction.

Amounts are integers in the bottle's unit (ug or nL). Movements are independent of one another, so their
variances add (EURACHEM/CITAC Guide CG4, 3rd ed. (2012), section 8.2); each is spread evenly within the
half-width that `allowances` gives it (appendix E1: u = a/sqrt(3)).
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from math import sqrt
from typing import Protocol, TypeVar

from prep.chemistry.model import Measure
from prep.stocktake.tolerances import ARRIVALS, STATED, half_width


class Undoable(Protocol):
    """A movement with its number (0: none) and that of the one it undoes."""

    @property
    def id(self) -> int:
        """Its number in the ledger."""
        ...

    @property
    def reverses(self) -> int | None:
        """The number of the movement it undoes."""
        ...


M = TypeVar("M", bound=Undoable)


@dataclass(frozen=True, slots=True)
class PostedMovement:
    """One movement: signed `amount`, the `kind` of its job, and the movement it undoes, if any."""

    amount: int
    kind: str = ""
    id: int = 0
    reverses: int | None = None


@dataclass(frozen=True, slots=True)
class MovementFlow:
    """`times` movements of one kind and direction: their signed sum, and its standard uncertainty `u`."""

    kind: str
    amount: int
    u: float = 0.0
    times: int = 1


AS_IT_CAME = ARRIVALS | STATED
"""Kinds of job whose movements are added up only where all brought the same: how exact each is depends on it."""


def flow(
    kind: str,
    amount: int,
    times: int,
    squares: float,
    tolerance_pct: Decimal | None = None,
    measure: Measure = Measure.VOLUME,
) -> MovementFlow:
    """Add up `times` movements that sum to `amount`, their squares to `squares`, to one flow.

    What came (`AS_IT_CAME`) is added up only where all brought the same. What a make filled is within
    `tolerance_pct`, the solution's.
    """
    tolerance = tolerance_pct if kind == "make" and amount > 0 else None
    if kind in AS_IT_CAME:
        each = half_width(kind, amount // times, measure=measure)
        return MovementFlow(kind, amount, each * sqrt(times / 3), times)
    return MovementFlow(kind, amount, half_width(kind, 1.0, tolerance) * sqrt(squares / 3), times)


def add_up(
    movements: Iterable[PostedMovement], tolerance_pct: Decimal | None = None, measure: Measure = Measure.VOLUME
) -> tuple[MovementFlow, ...]:
    """Add up one bottle's movements by kind and direction, those left out that never happened."""
    alike: dict[tuple[str, int], list[int]] = defaultdict(list)
    for moved in standing(movements):
        alike[moved.kind, moved.amount if moved.kind in AS_IT_CAME else moved.amount > 0].append(moved.amount)
    return tuple(
        flow(kind, sum(amounts), len(amounts), float(sum(a * a for a in amounts)), tolerance_pct, measure)
        for (kind, _), amounts in alike.items()
    )


def standing(movements: Iterable[M]) -> tuple[M, ...]:
    """Pick the movements that stand: one that was undone, and what undid it, never happened in the bottle."""
    moved = tuple(movements)
    known = {m.id for m in moved if m.id}
    undone = {m.reverses for m in moved if m.reverses in known}
    return tuple(m for m in moved if not (m.id and m.id in undone) and m.reverses not in undone)
