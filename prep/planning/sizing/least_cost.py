"""The search for the cheapest lots of one run of wants, exactly.

The dynamic programme of Wagner & Whitin (1958), over how much of the wants is covered: covering more for no higher
cost is never worse, so that each cost is looked at once, with the most that it covers (the search by least cost of
Dijkstra, 1959). What an answer that is known costs, and the least that the rest can cost, bound the search (branch and
bound: Land & Doig, "An Automatic Method of Solving Discrete Programming Problems", Econometrica 28 (1960) 497-520).
"""

import heapq
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from itertools import accumulate
from math import inf

from prep.planning.workdays import OrdinalDays
from prep.records import record

_CLOSE = 100  # how many times the span in which the least cost is known to lie goes into it, if that is close
_PARTS = (65536, 4096, 256, 16)  # of that span, where the cheapest are looked for first
_MOST = 120_000  # steps worth taking to know exactly what an amount costs at least


@dataclass(slots=True)
class Piece:
    """A want; dates as ordinals. It may be made from `early` to `late`, a working day."""

    id: str
    amount: int
    use: int
    early: int
    late: int
    group: int  # 0, or the day of use and the period


@dataclass(slots=True)
class Arc:
    """One batch: it covers the wants from `start` to `end` (nL, all in order), is of `size`, and made on `day`."""

    start: int
    end: int
    size: int
    day: int
    cost: int


@record(frozen=True, slots=True)
class Weights:
    """Costs as whole numbers on one scale, so that sums are exact and equal costs are equal."""

    make: int
    wasted: int
    held: int
    extra: Mapping[int, int]
    make_on: Mapping[int, int] | None = None

    def of(self, size: int) -> int:
        """Price a make of a size as if all of it were thrown away, but for its day."""
        return (self.make if self.make_on is None else 0) + self.extra.get(size, 0) + self.wasted * size


@record(frozen=True, slots=True)
class Prices:
    """The sizes, ascending, and what a make of each costs; for each the cheapest of it and the larger ones."""

    weights: Weights
    sizes: tuple[int, ...] | None
    of: Mapping[int, int]
    cheapest: tuple[int, ...]
    unit: int  # of which all sizes are multiples
    # The least that so many units cost to cover, as far as it is known.
    covering: list[int] = field(default_factory=lambda: [0])

    def cover(self, amount: int) -> int:
        """Work out the least that it costs to cover an amount, and each up to it; 0 where that is too much work."""
        known, unit = self.covering, self.unit
        units = -(-amount // unit)
        if units * len(self.of) > _MOST:
            return 0
        steps = [(size // unit, cost) for size, cost in self.of.items()]
        for number in range(len(known), units + 1):
            known.append(min([cost + known[max(0, number - step)] for step, cost in steps]))
        return known[units]

    def at_least(self, amount: int, makes: int = 0) -> int:
        """Find the least that so many makes or more, which cover an amount, can cost, as `of` counts."""
        makes = max(makes, -(-amount // self.sizes[-1])) if self.sizes else makes
        return makes * self.weights.make + self.weights.wasted * amount


def least_cost(pieces: Sequence[Piece], ends: Sequence[int], work: OrdinalDays | None, prices: Prices) -> list[Arc]:
    """Find the cheapest batches of one run of wants, in order; `work` where each piece is served by one.

    `ends` are the wants' amounts, added up.
    """
    if work is not None:
        return _search(partial(_runs, pieces, ends, prices, work), ends, prices, [], inf)
    arcs, total = partial(_far, pieces, ends, prices), ends[-1]
    far = [next(arcs(0))]
    while far[-1].end < total:
        far.append(next(arcs(far[-1].end)))
    most = sum([arc.cost for arc in far])
    if len(far) == 1 and most < prices.at_least(total, makes=2):
        return far
    fewest = _fewest_makes(pieces)
    least = prices.at_least(total, fewest[0])
    if most - least > least // _CLOSE:
        least = max(least, prices.cover(total))
        for part in _PARTS:
            if found := _search(arcs, ends, prices, fewest, least + (most - least) // part):
                return found
    return _search(arcs, ends, prices, fewest, most)


def _search(
    arcs: Callable[[int], Iterator[Arc]], ends: Sequence[int], prices: Prices, fewest: Sequence[int], most: float
) -> list[Arc]:
    """Find the cheapest batches, of all that cost no more than `most`; none where all cost more.

    `arcs` lists the batches from a place on, `fewest` how many are needed at least from each want on; where it is
    empty, nothing is bounded.
    """
    total, weights, covering, unit = ends[-1], prices.weights, prices.covering, prices.unit
    bound = bool(fewest)
    exact = bound and unit * (len(covering) - 1) >= total
    # In order of cost; of equals what covers most, then large batches. `came` is the chain of arcs that led there.
    labels: list[tuple[int, int, int, int, tuple[Arc, object] | None]] = [(0, 0, 0, 0, None)]
    covered, number = -1, 0
    reached: dict[int, tuple[float, int]] = {}  # how cheaply so much is covered, and from where
    while labels:
        cost, less, _, _, came = heapq.heappop(labels)
        if -less <= covered:
            continue  # batches that cost no more cover as much already
        covered = -less
        if covered == total:
            break
        for arc in arcs(covered):
            end, so_far = arc.end, cost + arc.cost
            if bound:
                rest = prices.at_least(total - end, fewest[bisect_right(ends, end)])
                if cost + weights.make + weights.wasted * (end - covered) + rest > most:
                    break  # whatever covers the rest costs too much, and smaller ones leave more of it
                if so_far + rest > most or (exact and so_far + covering[-((end - total) // unit)] > most):
                    continue
            if (so_far, -covered) >= reached.get(end, (inf, 0)):
                continue  # as much is covered by batches that cost no more
            reached[end] = so_far, -covered
            number += 1
            heapq.heappush(labels, (so_far, -end, -covered, number, (arc, came)))
    else:
        return []
    out: list[Arc] = []
    step: object = came
    while isinstance(step, tuple):
        out.append(step[0])
        step = step[1]
    return out[::-1]


def _fewest_makes(pieces: Sequence[Piece]) -> list[int]:
    """Count the makes that the wants from each on take at least, each serving as many as their days allow."""
    soonest = list(accumulate((piece.early for piece in reversed(pieces)), min))[::-1]
    fewest = [0] * (len(pieces) + 1)
    for at in range(len(pieces) - 1, -1, -1):
        fewest[at] = 1 + fewest[bisect_right(soonest, pieces[at].late)]
    return fewest


def _far(pieces: Sequence[Piece], ends: Sequence[int], prices: Prices, start: int) -> Iterator[Arc]:
    """Try each size, large ones first, as far as it goes on the latest day that serves; no cost of holding."""
    sizes = prices.sizes or ()
    index = bisect_right(ends, start)
    reach, early, late = start, 0, pieces[index].late
    lates: list[int] = []
    for at in range(index, len(pieces)):
        early, low = max(early, pieces[at].early), min(late, pieces[at].late)
        if low < early or reach - start >= sizes[-1]:
            break
        late, reach = low, ends[at]
        lates.append(late)
    enough = bisect_left(sizes, reach - start)  # a larger size covers no more wants
    if enough < len(sizes):
        size = prices.cheapest[enough]
        yield Arc(start, reach, size, lates[-1], prices.of[size])
    for number in range(enough - 1, -1, -1):
        size = sizes[number]
        end = start + size
        yield Arc(start, end, size, lates[bisect_left(ends, end, index) - index], prices.of[size])


def _runs(pieces: Sequence[Piece], ends: Sequence[int], prices: Prices, work: OrdinalDays, start: int) -> Iterator[Arc]:
    """List every run of whole pieces that one batch from `start` could serve, at its least cost."""
    sizes, weights = prices.sizes, prices.weights
    early, late, moment = 0, date.max.toordinal(), 0
    for at in range(bisect_right(ends, start), len(pieces)):
        piece, end = pieces[at], ends[at]
        early, late = max(early, piece.early), min(late, piece.late)
        amount = end - start
        if late < early or (sizes is not None and amount > sizes[-1]):
            return
        moment += piece.amount * piece.use
        size = amount if sizes is None else prices.cheapest[bisect_left(sizes, amount)]
        fixed = weights.of(size) + weights.held * moment
        if weights.make_on is None:
            yield Arc(start, end, size, late, fixed - weights.held * late * amount)
        else:
            on_day = weights.make_on
            cost, day = min((on_day[on] - weights.held * on * amount, -on) for on in work.between(early, late))
            yield Arc(start, end, size, -day, fixed + cost)
