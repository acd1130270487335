"""A solution's uncovered demands as lots: what is made when, how much of it, and whom it serves."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from prep.chemistry.model import Solution
from prep.planning.model import Policy
from prep.planning.requirements import Demand
from prep.planning.workdays import Workdays


@dataclass(frozen=True, slots=True)
class Lot:
    """One making: `amount` nL on `make_on`, serving whole demands (or equal parts of one too large)."""

    make_on: date
    amount: int
    serves: tuple[tuple[Demand, int], ...]


def lots(
    wanted: Sequence[tuple[Demand, int]],
    solution: Solution,
    sizes: Sequence[int],
    days: Workdays,
    today: date,
    policy: Policy,
) -> tuple[list[Lot], list[tuple[Demand, int, str]]]:
    largest = sizes[-1]
    unmet: list[tuple[Demand, int, str]] = []
    todo: list[tuple[date, date, Demand, int]] = []
    for demand, missing in wanted:
        latest = demand.needed_on if solution.made_fresh or demand.fresh else demand.ready_by
        last = days.last_to(max(latest, today))
        if last is None or last < today:
            last = days.next_from(today)
        if last is None or last > demand.needed_on or last < today:
            unmet.append((demand, missing, "no working day is left before it is needed."))
            continue
        if last + timedelta(days=solution.shelf_life_days) < demand.needed_on:
            unmet.append((demand, missing, f"made on {last}, it would be out of date by {demand.needed_on}."))
            continue
        parts = -(-missing // largest)
        for k in range(parts):
            share = missing // parts + (1 if k < missing % parts else 0)
            todo.append((last, demand.needed_on, demand, share))
    todo.sort(key=lambda t: (t[0], t[1], t[2].id))
    out: list[Lot] = []
    group: list[tuple[date, date, Demand, int]] = []

    def close() -> None:
        if not group:
            return
        total = sum(t[3] for t in group)
        amount = next(s for s in sizes if s >= total)
        merged: dict[str, tuple[Demand, int]] = {}
        for _, _, demand, share in group:
            merged[demand.id] = (demand, merged.get(demand.id, (demand, 0))[1] + share)
        out.append(Lot(group[0][0], amount, tuple(merged.values())))
        group.clear()

    for entry in todo:
        if group:
            make_on = group[0][0]
            total = sum(t[3] for t in group) + entry[3]
            good = make_on + timedelta(days=solution.shelf_life_days) >= entry[1]
            if total > largest or not good or ((entry[2].fresh or solution.made_fresh) and entry[1] != make_on):
                close()
        group.append(entry)
    close()
    return out, unmet
