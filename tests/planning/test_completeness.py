"""STOP means that nothing serves it: what a plan calls short, an exact model of the same school cannot serve either."""

import os
import random
from datetime import date, timedelta
from decimal import Decimal

from prep.planning.model import Booking, Bottle, Calendar, Demo, Horizon, Need, OpenOrder, Snapshot, StockRule
from prep.planning.plan import make_plan
from prep.services.catalogue.on_file import OnFile
from tests.planning.completeness_milp import served_besides

TODAY = date(2027, 1, 11)
END = TODAY + timedelta(days=14)
ML = 1_000_000
SCHOOLS = int(os.environ.get("PREP_TEST_SCHOOLS", "12"))
FAMILIES = (
    ("hydrochloric-acid", ("hcl-2", "hcl-1", "hcl-0.1")),
    ("potassium-permanganate", ("kmno4-0.02", "kmno4-0.002")),
    ("silver-nitrate", ("agno3-0.1", "agno3-0.02")),
    ("copper-sulfate-5-water", ("cuso4-1", "cuso4-0.1")),
    ("sodium-hydroxide", ("naoh-2", "naoh-0.4")),
    ("potassium-iodide", ("ki-0.5", "ki-0.1")),
)


def school(catalogue: OnFile, seed: int) -> Snapshot:
    """A few bookings of one or two families, little held, orders on their way, closed days."""
    rng = random.Random(seed)
    families = rng.sample(FAMILIES, rng.randint(1, 2))
    solutions = [code for _, codes in families for code in codes]
    reagents = [reagent for reagent, _ in families]
    demos = {
        f"d{n}": Demo(
            f"d{n}",
            "D",
            tuple(
                Need(code, rng.choice((5, 20, 50, 120, 300, 600)) * ML, fresh=rng.random() < 0.1 and code in solutions)
                for code in rng.sample(solutions + reagents[: rng.random() < 0.3], rng.randint(1, 2))
            ),
            Decimal(0),
        )
        for n in range(3)
    }
    bookings = tuple(
        Booking(f"B{n}", TODAY + timedelta(days=rng.randint(0, 14)), "", "", "", rng.choice(sorted(demos)), 1)
        for n in range(rng.randint(2, 6))
    )
    bottles = []
    for number in range(rng.randint(0, 6)):
        item = rng.choice(solutions + reagents * 2)
        most = 400 if item in solutions else 25
        use_by = None if rng.random() < 0.5 else TODAY + timedelta(days=rng.randint(-1, 14))
        bottles.append(Bottle(f"K{number}", item, rng.randint(1, most) * ML, use_by, "PREP"))
    orders = tuple(
        OpenOrder(f"P{n}", rng.choice(reagents), rng.choice((5, 25, 100)) * ML, TODAY + timedelta(rng.randint(0, 14)))
        for n in range(rng.randint(0, 2))
    )
    rules = {item: StockRule(item, 0, (100 * ML,), rng.choice((5, 9, 14, 30))) for item in reagents}
    closed = {TODAY + timedelta(days=rng.randint(0, 14)): "closed" for _ in range(rng.randint(0, 3))}
    return Snapshot(
        today=TODAY,
        catalogue=catalogue,
        demos=demos,
        bookings=bookings,
        bottles=tuple(bottles),
        orders=orders,
        rules=rules,
        instruments=catalogue.instruments,
        calendar=Calendar(closed=closed),
    )


def test_what_the_plan_calls_short_nothing_serves(catalogue: OnFile) -> None:
    judged = 0
    for seed in range(SCHOOLS):
        stock = school(catalogue, seed)
        plan = make_plan(stock, Horizon(TODAY, END))
        if any(need.short for need in plan.requirements):
            judged += 1
            assert served_besides(plan, stock) == 0, seed
    assert judged > SCHOOLS // 4


def test_a_need_that_nothing_serves_starves_no_other(catalogue: OnFile) -> None:
    """Of what takes only what is left over an order is still waited for; what goes off is used first, if for a part."""
    for seed in (165, 233, 261):
        stock = school(catalogue, seed)
        assert served_besides(make_plan(stock, Horizon(TODAY, END)), stock) == 0, seed


def test_what_makes_leave_over_goes_to_a_need_that_lacks_more(catalogue: OnFile) -> None:
    """Of 50 mL of hydrochloric acid a part is there: the need is short of the rest, not of all of it."""
    made = make_plan(school(catalogue, 105), Horizon(TODAY, END))
    (need,) = (one for one in made.requirements if one.id == "B0.hcl-1")
    assert 0 < need.short < need.amount
    assert need.short + sum(share.amount for share in need.served) == need.amount
