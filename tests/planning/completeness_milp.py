"""What a small school can serve at most: an exact mixed-integer model, to judge what a plan calls short.

Written anew from the school's data: supplies with their days, lots of what bookings ask for, in sizes that the room
makes, from each single source that it measures well enough, and what can still be ordered. Minutes, minima and costs
bind nothing in it.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

import highspy
import numpy as np

from prep.chemistry.preparation.routes import RouteOption
from prep.chemistry.preparation.vessels import Bench
from prep.planning.model import Plan, Snapshot

ML = 1_000_000
_MOST_SIZES = 4


@dataclass(slots=True)
class _Model:
    """Columns and rows while they grow; a row is at most, or just, its right side."""

    whole: list[bool] = field(default_factory=list)
    gain: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    rows: list[tuple[list[tuple[int, float]], float, float]] = field(default_factory=list)

    def column(self, *, whole: bool = False, gain: float = 0, most: float = np.inf) -> int:
        self.whole.append(whole)
        self.gain.append(gain)
        self.most.append(most)
        return len(self.gain) - 1

    def row(self, terms: list[tuple[int, float]], low: float, high: float) -> None:
        merged: dict[int, float] = defaultdict(float)  # HiGHS leaves out a row that names a column twice
        for column, value in terms:
            merged[column] += value
        self.rows.append((list(merged.items()), low, high))

    def solve(self) -> float:
        solver = highspy.Highs()
        solver.silent()
        solver.setOptionValue("threads", 1)
        solver.setOptionValue("mip_rel_gap", 0.0)
        solver.setOptionValue("time_limit", 600.0)
        inf = solver.inf
        for most, whole, gain in zip(self.most, self.whole, self.gain, strict=True):
            solver.addVar(0.0, min(most, inf))
            column = solver.getNumCol() - 1
            solver.changeColCost(column, -gain)
            if whole:
                solver.changeColIntegrality(column, highspy.HighsVarType.kInteger)
        for terms, low, high in self.rows:
            columns = np.array([column for column, _ in terms], dtype=np.int32)
            values = np.array([value for _, value in terms], dtype=np.float64)
            solver.addRow(max(low, -inf), min(high, inf), len(terms), columns, values)
        solver.run()
        if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            raise AssertionError(f"HiGHS: {solver.getModelStatus()}")
        return -float(solver.getInfo().objective_function_value)


def served_besides(plan: Plan, stock: Snapshot) -> int:
    """The most of the needs that the plan calls short which can be served whole, with all served that it serves."""
    return _School(plan, stock).solve()


class _School:
    def __init__(self, plan: Plan, stock: Snapshot) -> None:
        self.plan, self.stock = plan, stock
        self.bench = Bench(stock.catalogue, stock.instruments)
        self.model = _Model()
        last = plan.horizon.end
        span = [stock.today + timedelta(days=n) for n in range((last - stock.today).days + 1)]
        self.days = [day for day in span if stock.calendar.works(day)]
        # item -> (first day, last day, column terms of what it may give at most)
        self.out: dict[object, list[tuple[int, float]]] = defaultdict(list)
        self.supplies = self._supplies()
        self.into: dict[tuple[str, date], list[tuple[int, float]]] = defaultdict(list)
        self.lots: dict[tuple[str, date], list[tuple[int, float]]] = defaultdict(list)

    def solve(self) -> int:
        self._makes()
        for need in self.plan.requirements:
            self._requirement(need.id)
        for (item, day), wants in list(self.into.items()):
            flows = [(column, -1.0) for column in self._flows(item, day, day)]
            self.model.row([*wants, *flows], 0, 0)
        for key, flows in self.out.items():
            kind, *rest = key  # type: ignore[misc]
            if kind == "lot":
                item, day = rest
                self.model.row([*flows, *((c, -v) for c, v in self.lots[item, day])], -np.inf, 0)
            else:
                self.model.row(flows, 0, rest[1])
        return round(self.model.solve())

    def _supplies(self) -> dict[str, list[tuple[tuple[object, ...], date, date, date]]]:
        """Per item: (key with the amount, ready from, made or come on, use by)."""
        out: dict[str, list[tuple[tuple[object, ...], date, date, date]]] = defaultdict(list)
        today = self.stock.today
        for b in self.stock.bottles:
            if b.status == "in service":
                since = b.received or date.min
                key = ("bottle", b.code, b.amount / ML)
                out[b.item].append((key, since if since > today else date.min, since, b.use_by or date.max))
        for o in self.stock.orders:
            due = max(o.due, today)
            out[o.item].append((("order", o.code, o.amount / ML), due, due, date.max))
        for code in self.stock.rules:
            comes = today + timedelta(days=self.stock.rules[code].lead_days)
            comes = next((day for day in self.days if day >= comes), date.max)
            if comes < date.max:
                out[code].append((("new", code, np.inf), comes, comes, date.max))
        return out

    def _flows(
        self, item: str, ready: date, use: date, *, fresh: bool = False, latest: date | None = None
    ) -> Iterator[int]:
        """A column for each supply and each lot that may serve on the day."""
        for key, first, since, last in self.supplies.get(item, ()):
            if last >= use and ((since == use) if fresh else first <= ready):
                column = self.model.column()
                self.out[key].append((column, 1.0))
                yield column
        solution = self.stock.solutions.get(item)
        if solution is None:
            return
        for day in self.days:
            good = day <= use <= day + timedelta(days=solution.shelf_life_days)
            if good and ((day == use) if fresh else day <= (latest or ready)) and self.lots.get((item, day)):
                column = self.model.column()
                self.out["lot", item, day].append((column, 1.0))
                yield column

    def _requirement(self, ref: str) -> None:
        need = next(n for n in self.plan.requirements if n.id == ref)
        fresh = any(d.fresh for d in self.stock.demos[self._demo(need.booking)].needs if d.item == need.item)
        solution = self.stock.solutions.get(need.item)
        latest = self._latest(need.ready_by, need.needed_on, solution.shelf_life_days) if solution else None
        flows = list(self._flows(need.item, need.ready_by, need.needed_on, fresh=fresh, latest=latest))
        amount = need.amount / ML
        if need.short:
            whole = self.model.column(whole=True, gain=1, most=1)
            self.model.row([*((c, 1.0) for c in flows), (whole, -amount)], -1e-9, np.inf)
        else:
            self.model.row([(c, 1.0) for c in flows], amount * (1 - 1e-9), amount)

    def _demo(self, booking: str) -> str:
        return next(b.demo for b in self.stock.bookings if b.code == booking)

    def _latest(self, ready: date, use: date, keeps: int) -> date:
        """The last day of making: by when it should be ready; the day of use where it keeps no longer."""
        last = max((d for d in self.days if d <= max(ready, self.stock.today)), default=None)
        last = last or next((d for d in self.days if d <= use), date.min)
        return last if last + timedelta(days=keeps) >= use else use

    def _makes(self) -> None:
        for code in sorted({n.item for n in self.plan.requirements} & self.stock.solutions.keys()):
            for size, options in self._ways(code):
                for day in self.days:
                    column = self.model.column(whole=True, most=4)
                    self.lots[code, day].append((column, size / ML))
                    for option, taken in options:
                        self.into[option.item, day].append((column, taken / ML))

        useful = {need.id for need in self.plan.requirements if not need.short}
        for batch in reversed(self.plan.batches):  # what it blends of several sources, too, and the stocks for it
            if not useful & {share.ref for share in batch.serves}:
                continue
            useful.add(batch.id)
            column = self.model.column(whole=True, most=1)
            self.lots[batch.solution, batch.make_on].append((column, batch.amount / ML))
            for take in batch.takes:
                self.into[take.item, batch.make_on].append((column, take.amount / ML))

    def _ways(self, code: str) -> Iterator[tuple[int, list[tuple[RouteOption, int]]]]:
        solution, bench = self.stock.solutions[code], self.bench
        wanted = sum(n.amount for n in self.plan.requirements)
        sizes = [s for s in bench.sizes(code) if s <= 2 * wanted] or list(bench.sizes(code)[:1])
        step = -(-len(sizes) // _MOST_SIZES)
        for size in sorted({*sizes[::step], sizes[0], sizes[-1]}):
            for route in bench.routes(code):
                if solution.recipe:
                    combos = [[part.options[0] for part in route.parts]]
                else:
                    combos = [[option] for option in route.parts[0].options]
                for options in combos:
                    real = [o for o in options if o.item != "water"]
                    if all(bench.measurable(o, solution, size) for o in real):
                        yield size, [(o, self._least(o, code, size)) for o in real]

    def _least(self, option: RouteOption, code: str, size: int) -> int:
        """What a lot takes at least: as it is measured, but no less than is in it: many small lots gain nothing."""
        needed = option.needed(size)
        return max(needed, self.bench.measured(option.item, needed, self.stock.solutions[code], size).taken)
