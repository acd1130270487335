"""What to make when: the least-cost batches for one solution's wants in date order.

Stated model. Batches are used up in the order in which they are made, and serve the wants in date order: a batch
serves from where the one before it ended, until it is empty or until after some want the rest of it is thrown
away; so what one leaves over serves the next wants, and a want may be served by two. (Where holding costs, or a
make's cost hangs on its day, each want is served by one batch; one larger than the largest size by the fewest, in
equal parts.) It is made on one working day on which every want that it serves may be made: not before today or
before what it is made from is there, no later than the earliest `ready_by`, and in date at the last use. Its
volume is one of the possible sizes. Wants to be made fresh are made on the day of use; wants with a period are
batched only with others of it. The cost is that of each make (a small one may need an intermediate dilution), of
what is made and not wanted, and of holding each want from its make to its use; `batch` finds the least, exactly.

The method is the dynamic programme of Wagner & Whitin, "Dynamic Version of the Economic Lot Size Model",
Management Science 5 (1958) 89-96, over how much of the wants is covered instead of over periods: covering more
for no higher cost is never worse, so that each cost is looked at once, with the most that it covers (the search
by least cost of Dijkstra, "A Note on Two Problems in Connexion with Graphs", Numerische Mathematik 1 (1959)
269-271).
"""

import heapq
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate, groupby
from math import inf, lcm

from prep.chemistry.interval import Interval
from prep.planning.workdays import OrdinalDays, by_number
from prep.plurals import plural
from prep.records import record

_NL_PER_L = 10**9
_PERIODS = 10_000  # more than any period's number


@record(frozen=True, slots=True)
class Want:
    """An amount (nL) to be ready by a day and used on one, and the first day on which it can be made.

    `period`: its number in the day of use, where what is made does not keep from one to the next; 0 = none.
    """

    id: str
    amount: int
    needed_on: date
    ready_by: date
    fresh: bool = False
    not_before: date | None = None
    period: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Costs:
    """What a make, each nL thrown away and each nL held for a day cost, in any one unit (minutes of work).

    `make_on` gives a make's cost by its day instead; then every working day that serves is weighed up, where
    otherwise the latest is best. `extra` is what a make of a size (nL) costs on top.
    """

    make: Fraction
    wasted: Fraction
    held: Fraction
    make_on: Callable[[date], int | Fraction] | None = None
    extra: Mapping[int, Fraction] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if min(self.make, self.wasted, self.held, *self.extra.values()) < 0:
            raise ValueError("costs cannot be below 0")

    @classmethod
    def per_litre(cls, make_minutes: int | Fraction, wasted: Fraction, day_held: Fraction) -> "Costs":
        """Convert costs per make, per litre thrown away and per litre held for a day to costs per nL."""
        return cls(Fraction(make_minutes), Fraction(wasted) / _NL_PER_L, Fraction(day_held) / _NL_PER_L)


@record(frozen=True, slots=True)
class MadeLot:
    """One making: `amount` nL on `make_on`, of which `serves` (want id, nL) in date order."""

    make_on: date
    amount: int
    serves: tuple[tuple[str, int], ...]
    first_use: date
    last_use: date
    period: int = 0

    @property
    def left_over(self) -> int:
        """What is made and not wanted, in nL."""
        return self.amount - sum(amount for _, amount in self.serves)


@record(frozen=True, slots=True)
class UnmetWant:
    """A want that no batch can serve. `code` is no-working-day, out-of-date, not-fresh or too-late."""

    id: str
    amount: int
    code: str
    reason: str


@record(frozen=True, slots=True)
class BatchSchedule:
    """The batches by make date, and what cannot be met."""

    batches: tuple[MadeLot, ...]
    unmet: tuple[UnmetWant, ...]

    @property
    def wasted(self) -> int:
        """What is made and not wanted, in nL."""
        return sum(one.left_over for one in self.batches)


@dataclass(slots=True)
class _Piece:
    """A want; dates as ordinals. It may be made from `early` to `late`, a working day."""

    id: str
    amount: int
    use: int
    early: int
    late: int
    group: int  # 0, or the day of use and the period


def batch(
    wants: Iterable[Want],
    *,
    shelf_life_days: int,
    sizes: Sequence[int] | None,
    last_workday: Callable[[date], date | None],
    today: date,
    costs: Costs | None = None,
) -> BatchSchedule:
    """Choose the least-cost batches for `wants`; without `costs` the fewest, then least waste, made latest.

    `sizes` are the volumes (nL) that the vessels make, ascending; None = any volume, exactly. `last_workday`
    gives the last working day on or before a day, or None (`Workdays.last_to`). The answer depends on nothing
    but its input. Work grows with the wants times the number of sizes; with a cost of holding, times the length of
    the longest run that one batch could serve.
    Raises ValueError for amounts below 1, sizes that do not ascend from above 0, or no size at all.
    """
    if sizes is not None and (not sizes or sizes[0] <= 0 or list(sizes) != sorted(set(sizes))):
        raise ValueError("sizes must ascend from above 0")
    work = OrdinalDays(last_workday)
    whole = sizes is None or (costs is not None and (costs.held > 0 or costs.make_on is not None))
    volumes = tuple(sizes) if sizes else None
    pieces: list[_Piece] = []
    unmet: list[UnmetWant] = []
    for want in wants:
        if want.amount < 1:
            raise ValueError(f"{want.id}: an amount of {want.amount} is no want")
        window = _window(want, shelf_life_days, work, today)
        if isinstance(window, UnmetWant):
            unmet.append(window)
        else:
            pieces += _pieces(want, window, sizes[-1] if whole and sizes else want.amount)
    pieces.sort(key=lambda p: (p.group, p.use, p.late, len(p.id), p.id))  # B2 before B10
    found: list[MadeLot] = []
    for _, group in groupby(pieces, key=lambda p: p.group):
        run = list(group)
        prices = _prices(run, volumes, costs) if costs is None or costs.make_on else _always(volumes, costs)
        found += (_batched(run, arc) for arc in _least_cost(run, None if sizes and not whole else work, prices))
    found.sort(key=lambda b: (b.make_on, b.first_use, b.period, by_number(b.serves[0][0])))
    return BatchSchedule(tuple(found), tuple(sorted(unmet, key=lambda u: by_number(u.id))))


def _window(want: Want, shelf_days: int, work: OrdinalDays, today: date) -> Interval[int] | UnmetWant:
    """Find the first and last working day (ordinals) on which the want may be made; or why there is none."""

    def no(code: str, reason: str) -> UnmetWant:
        return UnmetWant(want.id, want.amount, code, reason)

    use, start = want.needed_on.toordinal(), today.toordinal()
    if use < start:
        return no("too-late", f"it was needed on {want.needed_on}, which is past.")
    if want.fresh:
        if work.last(use) != use:
            return no("not-fresh", f"{want.needed_on} is no working day, and it is to be made fresh.")
        if want.not_before is not None and want.not_before > want.needed_on:
            return no("too-late", f"what it is made from comes on {want.not_before} only.")
        return Interval(use, use)
    late = work.last(min(want.ready_by.toordinal(), use))
    if not late or late < start:
        return no("no-working-day", f"no working day is left before {want.needed_on}.")
    if late + shelf_days < use:
        made, days = date.fromordinal(late), plural(shelf_days, "day")
        return no("out-of-date", f"made on {made} it would be out of date by {want.needed_on}: it keeps for {days}.")
    early = max(start, use - shelf_days)
    if want.not_before is not None and want.not_before.toordinal() > early:
        early = want.not_before.toordinal()
        if late < early:
            return no("too-late", f"what it is made from comes on {want.not_before} only.")
    return Interval(early, late)


def _pieces(want: Want, window: Interval[int], most: int) -> list[_Piece]:
    """Split the want into the fewest pieces of at most `most`, as equal as can be."""
    count = -(-want.amount // most)
    share, more = divmod(want.amount, count)
    use = want.needed_on.toordinal()
    group = use * _PERIODS + want.period if want.period else 0
    return [_Piece(want.id, share + (number < more), use, window.low, window.high, group) for number in range(count)]


@dataclass(slots=True)
class _Arc:
    """One batch: it covers the wants from `start` to `end` (nL, all in order), is of `size`, and made on `day`."""

    start: int
    end: int
    size: int
    day: int
    cost: int


@record(frozen=True, slots=True)
class _Weights:
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
class _Prices:
    """The sizes, ascending, and what a make of each costs; for each the cheapest of it and the larger ones."""

    weights: _Weights
    sizes: tuple[int, ...] | None
    of: Mapping[int, int]
    cheapest: tuple[int, ...]

    def at_least(self, amount: int, makes: int = 0) -> int:
        """Find the least that so many makes or more, which cover an amount, can cost, as `of` counts."""
        makes = max(makes, -(-amount // self.sizes[-1])) if self.sizes else makes
        return makes * self.weights.make + self.weights.wasted * amount


def _prices(pieces: Sequence[_Piece], sizes: tuple[int, ...] | None, costs: Costs | None) -> _Prices:
    weights = _weights(pieces, sizes, costs)
    of = {size: weights.of(size) for size in sizes or ()}
    cheapest: list[int] = []
    for size in reversed(sizes or ()):
        cheapest.append(size if not cheapest or of[size] <= of[cheapest[-1]] else cheapest[-1])
    return _Prices(weights, sizes, of, tuple(cheapest[::-1]))


@lru_cache(maxsize=256)
def _always(sizes: tuple[int, ...] | None, costs: Costs) -> _Prices:
    """Price the sizes where a make costs the same whatever is wanted, and when."""
    return _prices((), sizes, costs)


def _least_cost(pieces: Sequence[_Piece], work: OrdinalDays | None, prices: _Prices) -> list[_Arc]:
    """Find the cheapest batches of one group of wants, in order; `work` where each piece is served by one."""
    ends, fewest = list(accumulate(p.amount for p in pieces)), _fewest_makes(pieces)
    # In order of cost; of equals what covers most, then large batches. `came` is the chain of arcs that led there.
    labels: list[tuple[int, int, int, int, tuple[_Arc, object] | None]] = [(0, 0, 0, 0, None)]
    covered, number = -1, 0
    reached: dict[int, tuple[float, int]] = {}  # how cheaply so much is covered, and from where
    far = _each_as_far_as_it_goes(pieces, ends, prices) if work is None else []
    most = sum(arc.cost for arc in far)
    if len(far) == 1 and most < prices.at_least(ends[-1], makes=2):
        return far
    while labels:
        cost, less, _, _, came = heapq.heappop(labels)
        if -less <= covered:
            continue  # batches that cost no more cover as much already
        covered = -less
        if covered == ends[-1]:
            break
        arcs = _far(pieces, ends, covered, prices) if work is None else _runs(pieces, ends, covered, prices, work)
        for arc in arcs:
            so_far = cost + arc.cost, -arc.start
            if so_far >= reached.get(arc.end, (inf, 0)):
                continue  # as much is covered by batches that cost no more
            makes = fewest[bisect_right(ends, arc.end)]
            if far and so_far[0] + prices.at_least(ends[-1] - arc.end, makes) > most:
                continue  # a known answer costs less, whatever covers the rest
            reached[arc.end] = so_far
            number += 1
            heapq.heappush(labels, (so_far[0], -arc.end, -arc.start, number, (arc, came)))
    out: list[_Arc] = []
    step: object = came
    while isinstance(step, tuple):
        out.append(step[0])
        step = step[1]
    return out[::-1]


def _fewest_makes(pieces: Sequence[_Piece]) -> list[int]:
    """Count the makes that the wants from each on take at least, each serving as many as their days allow."""
    soonest = list(accumulate((piece.early for piece in reversed(pieces)), min))[::-1]
    fewest = [0] * (len(pieces) + 1)
    for at in range(len(pieces) - 1, -1, -1):
        fewest[at] = 1 + fewest[bisect_right(soonest, pieces[at].late)]
    return fewest


def _each_as_far_as_it_goes(pieces: Sequence[_Piece], ends: Sequence[int], prices: _Prices) -> list[_Arc]:
    """Cover all the wants by batches that each go as far as one can: the cheapest cannot cost more."""
    arcs = [next(_far(pieces, ends, 0, prices))]
    while arcs[-1].end < ends[-1]:
        arcs.append(next(_far(pieces, ends, arcs[-1].end, prices)))
    return arcs


def _far(pieces: Sequence[_Piece], ends: Sequence[int], start: int, prices: _Prices) -> Iterator[_Arc]:
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
        yield _Arc(start, reach, size, lates[-1], prices.of[size])
    for number in range(enough - 1, -1, -1):
        size = sizes[number]
        end = start + size
        yield _Arc(start, end, size, lates[bisect_left(ends, end, index) - index], prices.of[size])


def _runs(
    pieces: Sequence[_Piece], ends: Sequence[int], start: int, prices: _Prices, work: OrdinalDays
) -> Iterator[_Arc]:
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
            yield _Arc(start, end, size, late, fixed - weights.held * late * amount)
        else:
            on_day = weights.make_on
            cost, day = min((on_day[on] - weights.held * on * amount, -on) for on in work.between(early, late))
            yield _Arc(start, end, size, -day, fixed + cost)


def _weights(pieces: Sequence[_Piece], sizes: Sequence[int] | None, costs: Costs | None) -> _Weights:
    if costs is None:
        # Without costs the fewest makes count first: one make costs more than all that can be wasted.
        return _Weights((len(pieces) + 1) * (sizes[-1] if sizes else 0) + sum(p.amount for p in pieces) + 1, 1, 0, {})
    make_on = costs.make_on
    extra = {size: Fraction(cost) for size, cost in costs.extra.items()}
    scale = lcm(*(cost.denominator for cost in (costs.make, costs.wasted, costs.held, *extra.values())))
    days: dict[int, Fraction] = {}
    if make_on is not None:
        for on in range(min(p.early for p in pieces), max(p.late for p in pieces) + 1):
            days[on] = Fraction(make_on(date.fromordinal(on)))
            scale = lcm(scale, days[on].denominator)
    return _Weights(
        int(costs.make * scale),
        int(costs.wasted * scale),
        int(costs.held * scale),
        {size: int(cost * scale) for size, cost in extra.items()},
        {on: int(cost * scale) for on, cost in days.items()} if make_on is not None else None,
    )


def _batched(pieces: Sequence[_Piece], arc: _Arc) -> MadeLot:
    serves: dict[str, int] = {}
    uses: list[int] = []
    at = 0
    for piece in pieces:
        share = min(arc.end, at + piece.amount) - max(arc.start, at)
        at += piece.amount
        if share > 0:
            serves[piece.id] = serves.get(piece.id, 0) + share
            uses.append(piece.use)
        elif at > arc.end:
            break
    first, last = date.fromordinal(uses[0]), date.fromordinal(uses[-1])
    return MadeLot(date.fromordinal(arc.day), arc.size, tuple(serves.items()), first, last, pieces[0].group % _PERIODS)
