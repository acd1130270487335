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
from typing import Any, TypeVar

from prep.planning.workdays import OrdinalDays
from prep.records import record

_T = TypeVar("_T")

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
        return _cheapest(partial(_runs, pieces, ends, prices, work), ends[-1])
    wants, total = _Wants(pieces, ends), ends[-1]
    far: list[_Step] = []
    while (start := far[-1][0] if far else 0) < total:
        far.append(next(wants.steps(start, prices)))
    most = sum([prices.of[size] for _, size in far])
    if len(far) == 1 and most < prices.at_least(total, makes=2):
        return wants.batches(far, prices)
    fewest = _fewest_makes(pieces)
    least = prices.at_least(total, fewest[0])
    if most - least > least // _CLOSE:
        least = max(least, prices.cover(total))
        for part in _PARTS:
            if found := _cheapest_within(wants, prices, fewest, least + (most - least) // part):
                return wants.batches(found, prices)
    return wants.batches(_cheapest_within(wants, prices, fewest, most), prices)


_Step = tuple[int, int]
"""A batch from where the one before ends: up to where it covers the wants, and its size."""


@dataclass(slots=True)
class _Wants:
    """Wants that one or more batches may share, and how far one goes from each: as far as one day serves them all."""

    pieces: Sequence[Piece]
    ends: Sequence[int]
    _reach: dict[int, int] = field(default_factory=dict)

    def steps(self, start: int, prices: Prices) -> Iterator[_Step]:
        """Try each size, large ones first, as far as it goes; no cost of holding."""
        sizes = prices.sizes or ()
        index = bisect_right(self.ends, start)
        reach = self._reach.get(index) or self._reach_of(index, sizes[-1])
        enough = bisect_left(sizes, reach - start)  # a larger size covers no more wants
        if enough < len(sizes):
            yield reach, prices.cheapest[enough]
        for size in reversed(sizes[:enough]):
            yield start + size, size

    def _reach_of(self, index: int, largest: int) -> int:
        early, late, last = 0, self.pieces[index].late, index
        most = self.ends[index] + largest
        for at in range(index, len(self.pieces)):
            piece = self.pieces[at]
            early, late = max(early, piece.early), min(late, piece.late)
            if late < early:
                break
            last = at
            if self.ends[at] > most:
                break  # farther than any batch that begins with this want
        reach = self._reach[index] = self.ends[last]
        return reach

    def batches(self, steps: Sequence[_Step], prices: Prices) -> list[Arc]:
        """Write the steps as batches, each made on the latest day that serves."""
        out: list[Arc] = []
        start = 0
        for end, size in steps:
            served = self.pieces[bisect_right(self.ends, start) : bisect_left(self.ends, end) + 1]
            out.append(Arc(start, end, size, min([piece.late for piece in served]), prices.of[size]))
            start = end
        return out


def _cheapest_within(wants: _Wants, prices: Prices, fewest: Sequence[int], most: int) -> list[_Step]:
    """Find the cheapest batches, of all that cost no more than `most`; none where all cost more.

    `fewest` says how many are needed at least from each want on.
    """
    ends, total = wants.ends, wants.ends[-1]
    costs, make, wasted = prices.of, prices.weights.make, prices.weights.wasted
    covering, unit, largest = prices.covering, prices.unit, max(costs)
    exact = unit * (len(covering) - 1) >= total
    # In order of cost; of equals what covers most, then large batches. `came` is the chain of steps that led there.
    labels: list[tuple[int, int, int, int, tuple[_Step, Any] | None]] = [(0, 0, 0, 0, None)]
    covered, number = -1, 0
    reached: dict[int, int] = {}  # how cheaply so much is covered
    while labels:
        cost, less, _, _, came = heapq.heappop(labels)
        if -less <= covered:
            continue  # batches that cost no more cover as much already
        covered = -less
        if covered == total:
            return _chain(came)
        for step in wants.steps(covered, prices):
            end, size = step
            so_far = cost + costs[size]
            if so_far > reached.get(end, most):
                continue  # too much, or as much is covered by batches that cost less
            left = total - end
            # What is left takes so many makes, each of which covers no more than the largest size.
            rest = make * max(fewest[bisect_right(ends, end)], -(-left // largest)) + wasted * left
            if cost + make + wasted * (end - covered) + rest > most:
                break  # whatever covers the rest costs too much, and smaller ones leave more of it
            if so_far + rest > most or (exact and so_far + covering[-(-left // unit)] > most):
                continue
            reached[end] = so_far
            number += 1
            heapq.heappush(labels, (so_far, -end, less, number, (step, came)))
    return []


def _cheapest(arcs: Callable[[int], Iterator[Arc]], total: int) -> list[Arc]:
    """Find the cheapest batches that cover so much; `arcs` lists those from a place on."""
    labels: list[tuple[int, int, int, int, tuple[Arc, Any] | None]] = [(0, 0, 0, 0, None)]
    covered, number = -1, 0
    reached: dict[int, tuple[float, int]] = {}  # how cheaply so much is covered, and from where
    while True:
        cost, less, _, _, came = heapq.heappop(labels)
        if -less <= covered:
            continue  # batches that cost no more cover as much already
        covered = -less
        if covered == total:
            return _chain(came)
        for arc in arcs(covered):
            end, so_far = arc.end, cost + arc.cost
            if (so_far, less) >= reached.get(end, (inf, 0)):
                continue  # as much is covered by batches that cost no more
            reached[end] = so_far, less
            number += 1
            heapq.heappush(labels, (so_far, -end, less, number, (arc, came)))


def _chain(came: tuple[_T, Any] | None) -> list[_T]:
    """List what led to a label, from the first on."""
    out: list[_T] = []
    while came is not None:
        step, came = came
        out.append(step)
    return out[::-1]


def _fewest_makes(pieces: Sequence[Piece]) -> list[int]:
    """Count the makes that the wants from each on take at least, each serving as many as their days allow."""
    soonest = list(accumulate((piece.early for piece in reversed(pieces)), min))[::-1]
    fewest = [0] * (len(pieces) + 1)
    for at in range(len(pieces) - 1, -1, -1):
        fewest[at] = 1 + fewest[bisect_right(soonest, pieces[at].late)]
    return fewest


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
