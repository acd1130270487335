"""A solution's uncovered demands as lots: what is made when, how much of it, and whom it serves.

A dynamic programme over the demands in date order: each lot serves a run of consecutive demands, is made on
the last working day that is in time for all of them, is in date for the last, and fits the largest vessel.
Fewest lots first, then least left over, then least time on the shelf. The form is that of Wagner & Whitin,
"Dynamic Version of the Economic Lot Size Model", Management Science 5 (1958) 89-96.
"""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from prep.chemistry.model import Solution
from prep.planning.requirements import Demand
from prep.planning.workdays import Workdays


@dataclass(frozen=True, slots=True)
class Lot:
    """One making: `amount` nL on `make_on`, serving whole demands (or equal parts of one too large)."""

    make_on: date
    amount: int
    serves: tuple[tuple[Demand, int], ...]


@dataclass(frozen=True, slots=True)
class _Piece:
    """A demand, or a part of one too large for any vessel, and the days between which making it serves."""

    demand: Demand
    amount: int
    latest: date
    alone: bool
    after: date


def lots(
    wanted: Sequence[tuple[Demand, int]],
    solution: Solution,
    sizes: Sequence[int],
    days: Workdays,
    today: date,
    after: Mapping[str, date],
) -> tuple[list[Lot], list[tuple[Demand, int, str]]]:
    """Lots for the missing amounts (nL), and what cannot be made in time with the reason.

    `sizes` are the volumes the room's vessels make, ascending. `after` holds, by demand id, the day from
    which what it is made from is there.
    """
    pieces: list[_Piece] = []
    unmet: list[tuple[Demand, int, str]] = []
    for demand, missing in wanted:
        latest, reason = _latest(demand, solution, days, today)
        if latest is None:
            unmet.append((demand, missing, reason))
            continue
        count = -(-missing // sizes[-1])
        for number in range(count):
            share = missing // count + (1 if number < missing % count else 0)
            pieces.append(_Piece(demand, share, latest, demand.fresh, after.get(demand.id, date.min)))
    pieces.sort(key=lambda p: (p.alone, p.demand.needed_on, p.latest, p.demand.id))
    return _best(pieces, solution.shelf_life_days, sizes), unmet


def _latest(demand: Demand, solution: Solution, days: Workdays, today: date) -> tuple[date | None, str]:
    """The last working day on which making it still serves; the day of use itself where it keeps no longer."""
    name = "" if demand.kind == "requirement" else " (for another make)"
    shelf = timedelta(days=solution.shelf_life_days)
    last = days.last_to(max(demand.ready_by, today))
    if last is None or last < today:
        last = days.next_from(today)
    if last is None or last > demand.needed_on:
        return None, f"no working day is left before it is needed{name}."
    if demand.fresh and last != demand.needed_on:
        return None, f"{demand.needed_on} is no working day, and it is to be made fresh{name}."
    if last + shelf >= demand.needed_on:
        return last, ""
    if demand.needed_on in days and demand.needed_on >= today:
        return demand.needed_on, ""
    return None, f"made on {last}, it would be out of date by {demand.needed_on}{name}."


def _best(pieces: Sequence[_Piece], shelf_days: int, sizes: Sequence[int]) -> list[Lot]:
    count = len(pieces)
    shelf = timedelta(days=shelf_days)
    # best[j]: (lots, left over, time on the shelf, start of the last lot) for the first j pieces.
    best: list[tuple[int, int, int, int]] = [(0, 0, 0, 0)] + [(count + 1, 0, 0, 0)] * count
    for end in range(1, count + 1):
        total = days_sum = 0
        make_on, after = date.max, date.min
        last = pieces[end - 1].demand.needed_on
        for start in range(end - 1, -1, -1):
            piece = pieces[start]
            if piece.alone != pieces[end - 1].alone or (piece.alone and piece.demand.needed_on != last):
                break
            total += piece.amount
            earlier = min(make_on, piece.latest)
            after = max(after, piece.after)
            if total > sizes[-1] or earlier + shelf < last or earlier < after:
                break
            make_on = earlier
            size = sizes[bisect_left(sizes, total)]
            # Days from an epoch less those of the make: the sum over the run needs no second walk.
            days_sum += piece.demand.needed_on.toordinal() * piece.amount
            held = days_sum - make_on.toordinal() * total
            before = best[start]
            found = (before[0] + 1, before[1] + size - total, before[2] + held, start)
            if found < best[end]:
                best[end] = found
    out: list[Lot] = []
    end = count
    while end:
        start = best[end][3]
        run = pieces[start:end]
        total = sum(p.amount for p in run)
        serves: dict[str, tuple[Demand, int]] = {}
        for piece in run:
            already = serves.get(piece.demand.id, (piece.demand, 0))[1]
            serves[piece.demand.id] = (piece.demand, already + piece.amount)
        make_on = min(p.latest for p in run)
        out.append(Lot(make_on, sizes[bisect_left(sizes, total)], tuple(serves.values())))
        end = start
    out.sort(key=lambda lot: (lot.make_on, lot.serves[0][0].needed_on, lot.serves[0][0].id))
    return out
