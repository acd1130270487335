"""The batching model as a mixed-integer programme, and random cases for it.

Written from the model's statement and not from the programme under test: binaries say which batch serves which
want, on which day it is made and in which vessel size; nothing is enumerated as runs. Solved by HiGHS.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from prep.planning.engine.lot_sizing import Costs, Want

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


def random_case(rng: random.Random, most_wants: int = 7, span: int = 14) -> Case:
    """A case with closures, a short shelf life, vessels, wants too large for any, late materials, fresh ones."""
    days = tuple(
        TODAY + timedelta(days=n)
        for n in range(-3, span + 3)
        if (TODAY + timedelta(days=n)).weekday() < 5 and rng.random() < 0.9
    )
    sizes = rng.choice([(20, 50, 100), (25, 100), (10, 20, 25, 50), (60,), (30, 90, 250), None])
    fresh_share = rng.choice([0, 0, 0, 0.3])
    wants = []
    for number in range(rng.randint(2, most_wants)):
        needed = TODAY + timedelta(days=rng.randrange(1, span))
        amount = rng.randint(1, 60) if rng.random() < 0.9 else rng.randint(60, 160)
        late = TODAY + timedelta(days=rng.randrange(5)) if rng.random() < 0.15 else None
        ready = needed - timedelta(days=rng.choice([0, 1, 1, 1, 2, 3]))
        wants.append(Want(f"w{number}", amount, needed, ready, rng.random() < fresh_share, late))
    price = {on: rng.randint(5, 40) for on in days}
    costs = Costs(
        Fraction(rng.choice([0, 1, 5, 15, 40])),
        Fraction(rng.choice([0, 1, 3, 10]), 10),
        Fraction(rng.choice([0, 1, 5, 20]), 100),
        price.get if rng.random() < 0.25 else None,
    )
    if costs.make_on is not None:
        costs = Costs(costs.make, costs.wasted, costs.held, lambda on: price.get(on, 0))
    return Case(tuple(wants), rng.choice([1, 2, 4, 7, 30]), sizes, days, TODAY, costs)


def least_cost(case: Case) -> tuple[float, set[str], float]:
    """The least total cost by HiGHS, the wants that cannot be met, and the seconds that HiGHS itself took."""
    import highspy

    pieces: list[tuple[Want, int, list[date]]] = []
    unmet: set[str] = set()
    for want in case.wants:
        days = allowed_days(case, want)
        if not days:
            unmet.add(want.id)
            continue
        count = 1 if case.sizes is None else -(-want.amount // case.sizes[-1])
        for k in range(count):
            pieces.append((want, want.amount // count + (k < want.amount % count), days))
    pieces.sort(key=lambda p: (p[0].needed_on if p[0].fresh else date.min, p[0].needed_on, p[2][-1], p[0].id))
    if not pieces:
        return 0.0, unmet, 0.0
    solver = highspy.Highs()
    solver.silent()
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 1e-9)
    solver.setOptionValue("threads", 1)
    count, costs = len(pieces), case.costs
    days = sorted({d for _, _, allowed in pieces for d in allowed})
    sizes: Sequence[int] = case.sizes if case.sizes is not None else ()
    serves = [[solver.addBinary() for _ in range(count)] for _ in range(count)]  # want, batch
    made_on = [[solver.addBinary() for _ in days] for _ in range(count)]  # batch, day
    in_size = [[solver.addBinary() for _ in sizes] for _ in range(count)]  # batch, size
    from_day = [[solver.addBinary() for _ in days] for _ in range(count)]  # want, day
    price = [float(costs.make if costs.make_on is None else costs.make_on(d)) for d in days]
    for batch in range(count):
        used = sum(made_on[batch][1:], start=made_on[batch][0])
        solver.addConstr(used <= 1)
        if sizes:
            solver.addConstr(sum(in_size[batch][1:], start=in_size[batch][0]) - used == 0)
            content = sum(p[1] * serves[i][batch] for i, p in enumerate(pieces))
            solver.addConstr(content - sum(s * v for s, v in zip(sizes, in_size[batch], strict=True)) <= 0)
        for i, (_, _, allowed) in enumerate(pieces):
            good = [made_on[batch][t] for t, d in enumerate(days) if d in allowed]
            solver.addConstr(serves[i][batch] - sum(good[1:], start=good[0]) <= 0)
            for t in range(len(days)):
                solver.addConstr(from_day[i][t] - serves[i][batch] - made_on[batch][t] >= -1)
    solver.addConstr(1 * serves[0][0] == 1)
    for i, (want, _, _) in enumerate(pieces):
        solver.addConstr(sum(serves[i][1:], start=serves[i][0]) == 1)
        solver.addConstr(sum(from_day[i][1:], start=from_day[i][0]) == 1)
        if i + 1 == count:
            break
        after = pieces[i + 1][0]
        together = (want.fresh, want.needed_on) == (after.fresh, after.needed_on) or not (want.fresh or after.fresh)
        for batch in range(count):
            # In date order: the next want is served by the same batch or by the next one.
            earlier = serves[i][batch] + serves[i][batch - 1] if batch else 1 * serves[i][batch]
            solver.addConstr(serves[i + 1][batch] - earlier <= 0)
            if not together:
                solver.addConstr(serves[i][batch] + serves[i + 1][batch] <= 1)
    total = sum(price[t] * made_on[b][t] for b in range(count) for t in range(len(days)))
    for b in range(count):
        total = total + sum(float(costs.wasted) * s * v for s, v in zip(sizes, in_size[b], strict=True))
    constant = -float(costs.wasted) * sum(p[1] for p in pieces) if sizes else 0.0
    for i, (want, amount, _) in enumerate(pieces):
        for t, day in enumerate(days):
            total = total + float(costs.held) * amount * (want.needed_on - day).days * from_day[i][t]
    solver.minimize(total)
    seconds = solver.getRunTime()
    if solver.getModelStatus() == highspy.HighsModelStatus.kSolveError:
        # HiGHS 1.16 now and then presolves a feasible model to a point that violates it, and says so.
        solver.clearSolver()
        solver.setOptionValue("presolve", "off")
        solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        raise AssertionError(f"HiGHS: {solver.getModelStatus()}")
    return solver.getInfo().objective_function_value + constant, unmet, seconds
