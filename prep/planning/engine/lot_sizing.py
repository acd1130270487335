"""What to make when: the least-cost batches for one solution's wants in date order.

Stated model. A batch serves a run of wants that follow one another by date, each whole (one larger than the
largest vessel is first split evenly into the fewest vessel-fuls). It is made on one working day on which every
one of them may be made: not before today or before what it is made from is there, no later than the earliest
`ready_by`, and in date at the last use. Its volume is the smallest possible size that holds the run. Wants to
be made fresh are batched by themselves, on the day of use; wants with a period only with others of it. The cost
is that of each make, of what is thrown away, and of holding each want from its make to its use; `batch` finds
the least total, exactly.

The method is the dynamic programme of Wagner & Whitin, "Dynamic Version of the Economic Lot Size Model",
Management Science 5 (1958) 89-96, over runs of wants instead of periods.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import pairwise
from math import lcm

_NL_PER_L = 10**9
_PERIODS = 10_000
"""More than any period's number."""


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class Costs:
    """What a make, each nL thrown away and each nL held for a day cost, in any one unit (minutes of work).

    `make_on` gives a make's cost by its day instead; then every working day that serves is weighed up, where
    otherwise the latest is best.
    """

    make: Fraction
    wasted: Fraction
    held: Fraction
    make_on: Callable[[date], int | Fraction] | None = None

    def __post_init__(self) -> None:
        if min(self.make, self.wasted, self.held) < 0:
            raise ValueError("costs cannot be below 0")

    @classmethod
    def per_litre(cls, make_minutes: int | Fraction, wasted: Fraction, day_held: Fraction) -> "Costs":
        """Costs from minutes a make, per litre thrown away and per litre held for a day."""
        return cls(Fraction(make_minutes), Fraction(wasted) / _NL_PER_L, Fraction(day_held) / _NL_PER_L)


@dataclass(frozen=True, slots=True)
class Batched:
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


@dataclass(frozen=True, slots=True)
class Unmet:
    """A want that no batch can serve. `code` is no-working-day, out-of-date, not-fresh or too-late."""

    id: str
    amount: int
    code: str
    reason: str


@dataclass(frozen=True, slots=True)
class Batching:
    """The batches by make date, what cannot be met, and the totals. `cost` is None without `Costs`."""

    batches: tuple[Batched, ...]
    unmet: tuple[Unmet, ...]
    wasted: int
    held: int  # nL x days from make to use
    cost: Fraction | None = None


@dataclass(frozen=True, slots=True)
class _Piece:
    """A want, or a part of one; dates as ordinals. It may be made from `early` to `late`, a working day."""

    id: str
    amount: int
    use: int
    early: int
    late: int
    group: int  # 0, or the day of use of what is made fresh and its period


def batch(
    wants: Iterable[Want],
    *,
    shelf_life_days: int,
    sizes: Sequence[int] | None,
    last_workday: Callable[[date], date | None],
    today: date,
    costs: Costs | None = None,
) -> Batching:
    """The least-cost batches for `wants`; without `costs` the fewest, then least waste, then the freshest.

    `sizes` are the volumes (nL) that the vessels make, ascending; None = any volume, exactly. `last_workday`
    gives the last working day on or before a day, or None (`Workdays.last_to`). The answer depends on nothing
    but its input. Work grows with the wants times the length of the longest run that one batch could serve.
    Raises ValueError for amounts below 1, sizes that do not ascend from above 0, or no size at all.
    """
    if sizes is not None and (not sizes or sizes[0] <= 0 or any(a >= b for a, b in pairwise(sizes))):
        raise ValueError("sizes must ascend from above 0")
    largest = sizes[-1] if sizes is not None else None
    work = _Workdays(last_workday)
    pieces: list[_Piece] = []
    unmet: list[Unmet] = []
    for want in wants:
        if want.amount < 1:
            raise ValueError(f"{want.id}: an amount of {want.amount} is no want")
        window = _window(want, shelf_life_days, work, today)
        if isinstance(window, Unmet):
            unmet.append(window)
        else:
            pieces += _split(want, window, largest)
    pieces.sort(key=lambda p: (p.group, p.use, p.late, p.id))
    runs = _least_cost(pieces, sizes, work, costs)
    batches = sorted(
        (_batched(pieces[start:end], day, sizes) for start, end, day in runs),
        key=lambda b: (b.make_on, b.first_use, b.period, b.serves[0][0]),
    )
    held = sum(p.amount * (p.use - day) for start, end, day in runs for p in pieces[start:end])
    wasted = sum(b.left_over for b in batches)
    unmet.sort(key=lambda u: u.id)
    return Batching(tuple(batches), tuple(unmet), wasted, held, _total(batches, wasted, held, costs))


class _Workdays:
    """The last working day on or before a day, by ordinal and remembered; 0 = none."""

    def __init__(self, last_workday: Callable[[date], date | None]) -> None:
        self._ask = last_workday
        self._known: dict[int, int] = {}

    def last(self, day: int) -> int:
        known = self._known.get(day)
        if known is None:
            found = self._ask(date.fromordinal(day)) if day > 0 else None
            known = self._known[day] = found.toordinal() if found is not None else 0
        return known

    def between(self, early: int, late: int) -> list[int]:
        """Working days from `early` to `late`, the latest first."""
        out: list[int] = []
        day = self.last(late)
        while day and day >= early:
            out.append(day)
            day = self.last(day - 1)
        return out


def _window(want: Want, shelf_days: int, work: _Workdays, today: date) -> tuple[int, int] | Unmet:
    """First and last working day, as ordinals, on which the want may be made; or why there is none."""

    def no(code: str, reason: str) -> Unmet:
        return Unmet(want.id, want.amount, code, reason)

    use, start = want.needed_on.toordinal(), today.toordinal()
    if use < start:
        return no("too-late", f"it was needed on {want.needed_on}, which is past.")
    if want.fresh:
        if work.last(use) != use:
            return no("not-fresh", f"{want.needed_on} is no working day, and it is to be made fresh.")
        if want.not_before is not None and want.not_before > want.needed_on:
            return no("too-late", f"what it is made from comes on {want.not_before} only.")
        return use, use
    late = work.last(min(want.ready_by.toordinal(), use))
    if not late or late < start:
        return no("no-working-day", f"no working day is left before {want.needed_on}.")
    if late + shelf_days < use:
        made = date.fromordinal(late)
        days = "1 day" if shelf_days == 1 else f"{shelf_days} days"
        return no(
            "out-of-date",
            f"made on {made} it would be out of date by {want.needed_on}: it keeps for {days}.",
        )
    early = max(start, use - shelf_days)
    if want.not_before is not None and want.not_before.toordinal() > early:
        early = want.not_before.toordinal()
        if late < early:
            return no("too-late", f"what it is made from comes on {want.not_before} only.")
    return early, late


def _split(want: Want, window: tuple[int, int], largest: int | None) -> list[_Piece]:
    """The want as pieces that fit the largest vessel: the fewest, as equal as whole nL allow."""
    count = 1 if largest is None else -(-want.amount // largest)
    share, more = divmod(want.amount, count)
    use = want.needed_on.toordinal()
    group = use * _PERIODS + want.period if want.fresh or want.period else 0
    return [_Piece(want.id, share + (number < more), use, *window, group) for number in range(count)]


def _least_cost(
    pieces: Sequence[_Piece], sizes: Sequence[int] | None, work: _Workdays, costs: Costs | None
) -> list[tuple[int, int, int]]:
    """The runs [start, end) of the cheapest batching, each with its day as an ordinal."""
    count = len(pieces)
    make, wasted, held, make_on = _weights(pieces, sizes, costs)
    largest = sizes[-1] if sizes is not None else None
    amounts = [p.amount for p in pieces]
    uses = [p.use for p in pieces]
    earlies = [p.early for p in pieces]
    lates = [p.late for p in pieces]
    groups = [p.group for p in pieces]
    # best[j]: least cost of the first j pieces; how[j]: start of its last run and that run's day.
    best: list[int] = [0] * (count + 1)
    how: list[tuple[int, int]] = [(0, 0)] * (count + 1)
    for end in range(1, count + 1):
        total = moment = early = 0
        late = lates[end - 1]
        group = groups[end - 1]
        least = -1
        for start in range(end - 1, -1, -1):
            # Each of these only tightens as the run grows backwards, so the first failure ends the search.
            if groups[start] != group:
                break
            amount = amounts[start]
            total += amount
            if largest is not None and total > largest:
                break
            if earlies[start] > early:
                early = earlies[start]
            if lates[start] < late:
                late = lates[start]
            if late < early:
                break
            moment += amount * uses[start]
            size = total if sizes is None else sizes[bisect_left(sizes, total)]
            base = best[start] + wasted * (size - total) + held * moment
            if make_on is None:
                cost, day = base + make - held * late * total, late
            else:
                cost, day = min((base + make_on(on) - held * on * total, -on) for on in work.between(early, late))
                day = -day
            if least < 0 or cost < least:
                least = cost
                how[end] = (start, day)
        best[end] = least
    runs: list[tuple[int, int, int]] = []
    end = count
    while end:
        start, day = how[end]
        runs.append((start, end, day))
        end = start
    runs.reverse()
    return runs


def _weights(
    pieces: Sequence[_Piece], sizes: Sequence[int] | None, costs: Costs | None
) -> tuple[int, int, int, Callable[[int], int] | None]:
    """Costs as whole numbers on one scale, so that sums are exact and equal costs are equal."""
    if costs is None:
        # Each weight outweighs all that the ones below it can ever add up to.
        most_held = sum(p.amount * (p.use - p.early) for p in pieces) + 1
        most_wasted = len(pieces) * (sizes[-1] if sizes is not None else 0) + 1
        return most_wasted * most_held, most_held, 1, None
    make_on = costs.make_on
    scale = lcm(costs.make.denominator, costs.wasted.denominator, costs.held.denominator)
    days: dict[int, Fraction] = {}
    if make_on is not None:
        first, last = min((p.early for p in pieces), default=0), max((p.late for p in pieces), default=-1)
        for on in range(first, last + 1):
            days[on] = Fraction(make_on(date.fromordinal(on)))
            scale = lcm(scale, days[on].denominator)
    by_day = {on: int(cost * scale) for on, cost in days.items()}
    return (
        int(costs.make * scale),
        int(costs.wasted * scale),
        int(costs.held * scale),
        by_day.__getitem__ if make_on is not None else None,
    )


def _batched(run: Sequence[_Piece], day: int, sizes: Sequence[int] | None) -> Batched:
    total = sum(p.amount for p in run)
    serves: dict[str, int] = {}
    for piece in run:
        serves[piece.id] = serves.get(piece.id, 0) + piece.amount
    amount = total if sizes is None else sizes[bisect_left(sizes, total)]
    first, last = date.fromordinal(run[0].use), date.fromordinal(run[-1].use)
    return Batched(date.fromordinal(day), amount, tuple(serves.items()), first, last, run[0].group % _PERIODS)


def _total(batches: Sequence[Batched], wasted: int, held: int, costs: Costs | None) -> Fraction | None:
    if costs is None:
        return None
    makes = (
        costs.make * len(batches)
        if costs.make_on is None
        else sum((Fraction(costs.make_on(b.make_on)) for b in batches), Fraction(0))
    )
    return makes + costs.wasted * wasted + costs.held * held
