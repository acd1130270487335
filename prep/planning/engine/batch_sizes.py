"""The volumes in which a solution is made: round ones that the room's vessels hold, from the usual batch up."""

from bisect import bisect_left
from collections.abc import Sequence
from functools import lru_cache

from prep.chemistry.model import SmallBatch, Solution, StepKind
from prep.plurals import plural

_ROUND = frozenset(("1", "15", "2", "25", "5"))
"""The figures of the volumes that people make and bottle: common practice, no source."""
_NEAR = _ROUND | {"12", "3", "35", "4", "45", "6", "7", "8", "9"}
"""The same, and those of what is made for its use and not for the shelf: common practice, no source."""
_WORKED = (StepKind.BOIL, StepKind.HEAT, StepKind.FILTER)
_LEAST_NL, _LEAST_WORKED_NL, _LEAST_DEAR_NL = 25_000_000, 50_000_000, 10_000_000
"""The least that a person makes, the least of what is boiled, warmed or filtered, and of what is costly or of high
hazard: common practice, no source."""
_SOON_DAYS = 3
"""What keeps no longer is made for its use, not for the shelf: common practice, no source."""
_FORTNIGHT_DAYS = 14
"""What keeps no longer is seldom wanted again in time: it is made nearer to its use, too, but for a while, and where
the school has set no usual batch itself: common practice, no source."""
_MONTH_DAYS = 31
"""What keeps no longer is booked as far ahead as it keeps: where its bookings need no more, half a usual batch is
made, unless the school has set that itself: common practice, no source."""
_LEAST_KEPT_NL = 100_000_000
"""The least that is made of what is kept for more than a few days, if a usual batch is no smaller: what less would
spare is not worth a bottle of an odd size; common practice, no source."""


def is_round(volume: int) -> bool:
    """Tell whether a volume (nL) is one that people make and bottle: 250 mL or 1.5 L, not 230 mL or 400 mL.

    >>> [ml for ml in (50, 100, 230, 250, 400, 950, 1500) if is_round(ml * 10**6)]
    [50, 100, 250, 1500]
    """
    return _figures(volume) in _ROUND


def _figures(volume: int) -> str:
    return str(volume).rstrip("0")


def small_because(solution: Solution) -> str:
    """Say why a solution may be made in less than its usual batch; empty where it may not."""
    if solution.made_fresh or not solution.shelf_life_days:
        return "it is made fresh"
    short_lived = f"it keeps for {plural(solution.shelf_life_days, 'day')} only"
    if solution.shelf_life_days <= _SOON_DAYS:
        return short_lived
    brief = solution.shelf_life_days <= _MONTH_DAYS and not solution.own_usual
    return {
        SmallBatch.NO: short_lived if brief else "",
        SmallBatch.COSTLY: "it is costly",
        SmallBatch.HAZARD: "it is of high hazard",
    }[solution.small_batch]


@lru_cache(maxsize=256)
def round_sizes(possible: tuple[int, ...]) -> tuple[int, ...]:
    """Choose the round ones of the volumes that a room can make; all of them where none is round."""
    return tuple(size for size in possible if is_round(size)) or possible


@lru_cache(maxsize=256)
def near_sizes(possible: tuple[int, ...]) -> tuple[int, ...]:
    """Choose the volumes that people would measure to come close to a use; all where none is such a one.

    `possible` is what the room can make.
    """
    return tuple(size for size in possible if _figures(size) in _NEAR) or possible


def _made_for_use(solution: Solution, possible: tuple[int, ...]) -> tuple[int, ...]:
    """Choose the volumes of what is not made for the shelf: close to its use, and no less than people make."""
    least = _LEAST_NL if solution.small_batch is SmallBatch.NO else _LEAST_DEAR_NL
    if any(step.kind in _WORKED for step in solution.method_steps):
        least = _LEAST_WORKED_NL
    if solution.small_batch is SmallBatch.NO and not solution.made_fresh and solution.shelf_life_days > _SOON_DAYS:
        least = max(least, min(_LEAST_KEPT_NL, solution.usual_nl))
    near = near_sizes(possible)
    if solution.small_batch is SmallBatch.NO and _FORTNIGHT_DAYS < solution.shelf_life_days <= _MONTH_DAYS:
        half = near[bisect_left(near, max(least, solution.usual_nl // 2)) : bisect_left(near, solution.usual_nl)]
        return (*half[:1], *near[bisect_left(near, solution.usual_nl) :]) or near[-1:]
    return near[bisect_left(near, least) :] or near[-1:]


_FEW = ("1", "2", "25", "5")


def few_sizes(possible: Sequence[int]) -> tuple[int, ...]:
    """Pick the sizes of flasks among the volumes that a room can make, to make a large volume in several makes.

    >>> [size // 10**6 for size in few_sizes([n * 10**7 for n in (5, 6, 10, 24, 25, 30, 100)])]
    [50, 100, 250, 1000]
    """
    return tuple(size for size in possible if _figures(size) in _FEW) or tuple(possible)


def usual_sizes(solution: Solution, possible: tuple[int, ...]) -> tuple[int, ...]:
    """List the volumes (nL, ascending) in which a room makes a solution as a rule.

    `possible` is what its vessels make. Where the usual batch is more than any vessel makes, the largest vessel's
    volume is the rule.
    """
    if small_because(solution):
        return _made_for_use(solution, possible)
    sizes = round_sizes(possible)
    usual = sizes[bisect_left(sizes, solution.usual_nl) :] or sizes[-1:]
    if solution.own_usual and solution.usual_nl in possible and solution.usual_nl < usual[0]:
        return (solution.usual_nl, *usual)  # 400 mL, if the school says so
    return usual
