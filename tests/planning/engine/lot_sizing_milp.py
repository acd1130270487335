"""The batching model as a mixed-integer programme, and random cases for it.

Written from the model's statement and not from the programme under test: binaries say which batch serves which
want, on which day it is made and in which size; how much of each want it serves is free. Solved by HiGHS.
"""

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from fractions import Fraction

from prep.planning.engine.lot_sizing import BatchSchedule, Costs, Want

TODAY = date(2026, 3, 2)


@dataclass(frozen=True)
class Case:
    """One problem: what `batch` is given, with the working days listed."""

    wants: tuple[Want, ...]
    shelf_life_days: int
    sizes: tuple[int, ...] | None
    days: tuple[date, ...]
    today: date
    costs: Costs

    def last_workday(self, day: date) -> date | None:
        """The last listed day on or before a day."""
        return max((d for d in self.days if d <= day), default=None)


def allowed_days(case: Case, want: Want) -> list[date]:
    """Every working day on which a want may be made, straight from the statement."""
    if want.fresh:
        days = [d for d in case.days if d == want.needed_on]
    else:
        keeps = timedelta(days=case.shelf_life_days)
        days = [d for d in case.days if d <= want.ready_by and d <= want.needed_on and d + keeps >= want.needed_on]
    return [d for d in days if d >= case.today and (want.not_before is None or d >= want.not_before)]


def random_case(rng: random.Random, most_wants: int = 4, span: int = 10) -> Case:
    """A case with closures, a short shelf life, vessels, wants too large for any, late materials, fresh ones."""
    days = tuple(
        TODAY + timedelta(days=n)
        for n in range(-3, span + 3)
        if (TODAY + timedelta(days=n)).weekday() < 5 and rng.random() < 0.9
    )
    sizes = rng.choice([(20, 50, 100), (25, 100), (30, 40, 60), (60,), (30, 90, 250), None])
    fresh_share = rng.choice([0, 0, 0, 0.3])
    wants = []
    for number in range(rng.randint(2, most_wants)):
        needed = TODAY + timedelta(days=rng.randrange(1, span))
        amount = rng.randint(1, 60) if rng.random() < 0.9 else rng.randint(60, 130)
        late = TODAY + timedelta(days=rng.randrange(5)) if rng.random() < 0.15 else None
        ready = needed - timedelta(days=rng.choice([0, 1, 1, 1, 2, 3]))
        wants.append(Want(f"w{number}", amount, needed, ready, rng.random() < fresh_share, late))
    price = {on: rng.randint(5, 40) for on in days}
    costs = Costs(
        Fraction(rng.choice([0, 1, 5, 15, 40])),
        Fraction(rng.choice([0, 1, 3, 10]), 10),
        Fraction(rng.choice([0, 1, 5, 20]), 100),
        (lambda on: price.get(on, 0)) if rng.random() < 0.25 else None,
        {sizes[0]: Fraction(rng.choice([2, 10]))} if sizes and rng.random() < 0.4 else {},
    )
    return Case(tuple(wants), rng.choice([1, 2, 4, 7, 30]), sizes, days, TODAY, costs)


def cost_of(found: BatchSchedule, wants: Iterable[Want], costs: Costs) -> Fraction:
    """What the batches cost in all, straight from the statement."""
    used_on = {want.id: want.needed_on for want in wants}
    held = sum(p.amount * (used_on[p.id] - one.make_on).days for one in found.batches for p in one.serves)
    makes = (costs.make if costs.make_on is None else Fraction(costs.make_on(one.make_on)) for one in found.batches)
    extra = sum(costs.extra.get(one.amount, Fraction(0)) for one in found.batches)
    return sum(makes, Fraction(0)) + extra + costs.wasted * found.wasted + costs.held * held


def least_cost(case: Case) -> tuple[float, set[str], float]:
    """The least total cost by HiGHS, the wants that cannot be met, and the seconds that HiGHS itself took."""
    import highspy

    costs = case.costs
    whole_wants = case.sizes is None or costs.held > 0 or costs.make_on is not None
    wants: list[tuple[Want, list[date]]] = []
    unmet: set[str] = set()
    for want in case.wants:
        days = allowed_days(case, want)
        if not days:
            unmet.add(want.id)
            continue
        count = -(-want.amount // case.sizes[-1]) if whole_wants and case.sizes is not None else 1
        shares = (want.amount // count + (k < want.amount % count) for k in range(count))
        wants += [(replace(want, amount=share), days) for share in shares]
    wants.sort(key=lambda w: (w[0].needed_on, w[1][-1], w[0].id))
    if not wants:
        return 0.0, unmet, 0.0
    solver = highspy.Highs()
    solver.silent()
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 1e-9)
    solver.setOptionValue("threads", 1)
    days = sorted({d for _, allowed in wants for d in allowed})
    whole = sum(want.amount for want, _ in wants)
    sizes: Sequence[int] = case.sizes if case.sizes is not None else (whole,)
    price = [float(costs.make if costs.make_on is None else costs.make_on(d)) for d in days]
    extra = [float(costs.extra.get(s, 0)) for s in sizes]
    wasted = float(costs.wasted) if case.sizes is not None else 0.0
    # No batching needs more: its batches are full or end with a want.
    most = len(wants) + (0 if whole_wants else sum(want.amount // sizes[0] for want, _ in wants))
    batches, items = range(most), range(len(wants))
    made = [[[solver.addBinary() for _ in sizes] for _ in days] for _ in batches]
    serves = [[solver.addBinary() for _ in items] for _ in batches]
    amount = [[[solver.addVariable(lb=0) for _ in items] for _ in days] for _ in batches]

    def total(terms):  # type: ignore[no-untyped-def]
        first, *rest = terms
        return sum(rest, start=1 * first)

    for k in batches:
        used = total(v for row in made[k] for v in row)
        solver.addConstr(used <= 1)
        if k:
            solver.addConstr(used - total(v for row in made[k - 1] for v in row) <= 0)
        volume = total(s * v for row in made[k] for s, v in zip(sizes, row, strict=True))
        content = total(v for row in amount[k] for v in row)
        solver.addConstr(content - volume <= 0)
        for i in items:
            want, allowed = wants[i]
            good = [v for t, d in enumerate(days) if d in allowed for v in made[k][t]]
            solver.addConstr(serves[k][i] - total(good) <= 0)
            solver.addConstr(total(amount[k][t][i] for t in range(len(days))) - want.amount * serves[k][i] <= 0)
            for t in range(len(days)):
                solver.addConstr(amount[k][t][i] - want.amount * total(made[k][t]) <= 0)
            for j in range(i):
                for later in range(k + 1, most):  # in date order
                    solver.addConstr(serves[k][i] + serves[later][j] <= 1)
    for i in items:
        solver.addConstr(total(amount[k][t][i] for k in batches for t in range(len(days))) == wants[i][0].amount)
        if whole_wants:
            solver.addConstr(total(serves[k][i] for k in batches) == 1)
    cost = total(
        (price[t] + extra[n] + wasted * sizes[n]) * made[k][t][n]
        for k in batches
        for t in range(len(days))
        for n in range(len(sizes))
    )
    for i in items:
        for t, day in enumerate(days):
            apart_days = float(costs.held) * (wants[i][0].needed_on - day).days
            cost = cost + total(apart_days * amount[k][t][i] for k in batches)
    solver.minimize(cost)
    seconds = solver.getRunTime()
    if solver.getModelStatus() == highspy.HighsModelStatus.kSolveError:
        # HiGHS 1.16 now and then presolves a feasible model to a point that violates it, and says so.
        solver.clearSolver()
        solver.setOptionValue("presolve", "off")
        solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        raise AssertionError(f"HiGHS: {solver.getModelStatus()}")
    return solver.getInfo().objective_function_value - wasted * whole, unmet, seconds
