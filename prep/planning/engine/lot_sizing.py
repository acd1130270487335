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

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate
from math import gcd, lcm

from prep.chemistry.interval import Interval
from prep.planning.sizing.least_cost import Arc, Piece, Prices, Weights, least_cost
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
class WantPart:
    """How much [nL] of a want a lot serves."""

    id: str
    amount: int


@record(frozen=True, slots=True)
class MadeLot:
    """One making: `amount` nL on `make_on`, of which `serves` says for what, in date order."""

    make_on: date
    amount: int
    serves: tuple[WantPart, ...]
    first_use: date
    last_use: date
    period: int = 0

    @property
    def left_over(self) -> int:
        """What is made and not wanted, in nL."""
        return self.amount - sum(part.amount for part in self.serves)


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
    pieces: list[Piece] = []
    unmet: list[UnmetWant] = []
    windows: dict[object, Interval[int] | UnmetWant] = {}  # by the days that decide them: many wants have the same
    for want in wants:
        if want.amount < 1:
            raise ValueError(f"{want.id}: an amount of {want.amount} is no want")
        dates = want.needed_on, want.ready_by, want.fresh, want.not_before
        window = windows.get(dates)
        if window is None:
            window = windows[dates] = _window(want, shelf_life_days, work, today)
        if isinstance(window, UnmetWant):
            unmet.append(replace(window, id=want.id, amount=want.amount))
        else:
            pieces += _pieces(want, window, sizes[-1] if whole and sizes else want.amount)
    pieces.sort(key=lambda p: (p.group, p.use, p.late, len(p.id), p.id))  # B2 before B10
    found: list[MadeLot] = []
    for run in _apart(pieces):
        prices = _prices(run, volumes, costs) if costs is None or costs.make_on else _always(volumes, costs)
        ends = list(accumulate([piece.amount for piece in run]))
        arcs = least_cost(run, ends, None if sizes and not whole else work, prices)
        found += [_batched(run, ends, arc) for arc in arcs]
    found.sort(key=lambda b: (b.make_on, b.first_use, b.period, by_number(b.serves[0].id)))
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


def _pieces(want: Want, window: Interval[int], most: int) -> list[Piece]:
    """Split the want into the fewest pieces of at most `most`, as equal as can be."""
    use = want.needed_on.toordinal()
    group = use * _PERIODS + want.period if want.period else 0
    if want.amount <= most:
        return [Piece(want.id, want.amount, use, window.low, window.high, group)]
    count = -(-want.amount // most)
    share, more = divmod(want.amount, count)
    return [Piece(want.id, share + (number < more), use, window.low, window.high, group) for number in range(count)]


def _apart(pieces: Sequence[Piece]) -> Iterator[Sequence[Piece]]:
    """Cut the wants, in order, where no batch serves the one before and the one after: each run is chosen for alone."""
    start = 0
    for at in range(1, len(pieces)):
        one, other = pieces[at - 1], pieces[at]
        if one.group != other.group or one.late < other.early or other.late < one.early:
            yield pieces[start:at]
            start = at
    if pieces:
        yield pieces[start:]


def _prices(pieces: Sequence[Piece], sizes: tuple[int, ...] | None, costs: Costs | None) -> Prices:
    weights = _weights(pieces, sizes, costs)
    of = {size: weights.of(size) for size in sizes or ()}
    cheapest: list[int] = []
    for size in reversed(sizes or ()):
        cheapest.append(size if not cheapest or of[size] <= of[cheapest[-1]] else cheapest[-1])
    return Prices(weights, sizes, of, tuple(cheapest[::-1]), gcd(*sizes or ()))


@lru_cache(maxsize=256)
def _always(sizes: tuple[int, ...] | None, costs: Costs) -> Prices:
    """Price the sizes where a make costs the same whatever is wanted, and when."""
    return _prices((), sizes, costs)


def _weights(pieces: Sequence[Piece], sizes: Sequence[int] | None, costs: Costs | None) -> Weights:
    if costs is None:
        # Without costs the fewest makes count first: one make costs more than all that can be wasted.
        return Weights((len(pieces) + 1) * (sizes[-1] if sizes else 0) + sum(p.amount for p in pieces) + 1, 1, 0, {})
    make_on = costs.make_on
    extra = {size: Fraction(cost) for size, cost in costs.extra.items()}
    scale = lcm(*(cost.denominator for cost in (costs.make, costs.wasted, costs.held, *extra.values())))
    days: dict[int, Fraction] = {}
    if make_on is not None:
        for on in range(min(p.early for p in pieces), max(p.late for p in pieces) + 1):
            days[on] = Fraction(make_on(date.fromordinal(on)))
            scale = lcm(scale, days[on].denominator)
    return Weights(
        int(costs.make * scale),
        int(costs.wasted * scale),
        int(costs.held * scale),
        {size: int(cost * scale) for size, cost in extra.items()},
        {on: int(cost * scale) for on, cost in days.items()} if make_on is not None else None,
    )


def _batched(pieces: Sequence[Piece], ends: Sequence[int], arc: Arc) -> MadeLot:
    serves: dict[str, int] = {}
    first, last = bisect_right(ends, arc.start), bisect_left(ends, arc.end)
    done = arc.start
    for piece, end in zip(pieces[first : last + 1], ends[first : last + 1], strict=True):
        until = min(arc.end, end)
        serves[piece.id] = serves.get(piece.id, 0) + until - done
        done = until
    first_use, last_use = date.fromordinal(pieces[first].use), date.fromordinal(pieces[last].use)
    return MadeLot(
        date.fromordinal(arc.day),
        arc.size,
        tuple(map(WantPart, serves, serves.values())),
        first_use,
        last_use,
        pieces[0].group % _PERIODS,
    )
