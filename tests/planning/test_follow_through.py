"""A plan that is carried out is not another one the next morning: over 28 days what was planned is what is made.

Random schools that hold enough; each morning's makes are made and the day's bookings served as the plan says, and
the next morning it is planned anew. `PREP_TEST_FOLLOWED` sets the number of schools.
"""

import os
import random
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from prep.planning.draws import LinkKind
from prep.planning.model import Booking, Bottle, Calendar, Demo, Horizon, Need, Plan, Snapshot
from prep.planning.plan import make_plan
from prep.services.catalogue.on_file import OnFile

TODAY = date(2027, 1, 11)
DAYS = 28
END = TODAY + timedelta(days=DAYS)
ML = 1_000_000
SCHOOLS = int(os.environ.get("PREP_TEST_FOLLOWED", "3"))
SOLUTIONS = ("hcl-1", "hcl-0.1", "naoh-0.4", "cuso4-1", "cuso4-0.1", "agno3-0.1", "ki-0.5", "kmno4-0.02", "starch-1")
REAGENTS = {
    "hydrochloric-acid": 2500,
    "sodium-hydroxide": 1000,
    "copper-sulfate-5-water": 1000,
    "silver-nitrate": 100,
    "potassium-iodide": 500,
    "potassium-permanganate": 500,
    "soluble-starch": 500,
}


def school(catalogue: OnFile, seed: int) -> Snapshot:
    rng = random.Random(seed)
    demos = {
        f"d{n}": Demo(
            f"d{n}",
            "D",
            tuple(Need(code, rng.choice((20, 50, 120, 300)) * ML) for code in rng.sample(SOLUTIONS, rng.randint(1, 3))),
            Decimal(0),
        )
        for n in range(4)
    }
    days = [TODAY + timedelta(days=n) for n in range(1, DAYS) if (TODAY + timedelta(days=n)).weekday() < 5]
    bookings = tuple(Booking(f"B{n:02}", rng.choice(days), "", "", "", f"d{rng.randrange(4)}", 1) for n in range(14))
    return Snapshot(
        today=TODAY,
        catalogue=catalogue,
        demos=demos,
        bookings=bookings,
        bottles=tuple(
            Bottle(f"K{n}", item, held * ML, None, "PREP")
            for n, (item, held) in enumerate(REAGENTS.items())
            if item in catalogue.substances
        ),
        orders=(),
        rules={},
        instruments=catalogue.instruments,
        calendar=Calendar(closed={rng.choice(days): "closed"}),
    )


def _makes(plan: Plan) -> Counter[tuple[date, str, int]]:
    return Counter((batch.make_on, batch.solution, batch.amount) for batch in plan.batches)


def _carried_out(stock: Snapshot, plan: Plan) -> Snapshot:
    """The school the next morning: the day's makes made, its bookings served, both as the plan says."""
    today, gone = stock.today, Counter[str]()
    made: dict[str, Bottle] = {}
    for batch in plan.batches:
        if batch.make_on == today:
            code = f"M{today:%m%d}{batch.solution}{len(made)}"
            made[batch.id] = Bottle(code, batch.solution, batch.amount, batch.use_by, "PREP", received=today)
            for take in batch.takes:
                gone[made[take.ref].code if take.kind is LinkKind.BATCH else take.ref] += take.amount
    for need in plan.requirements:
        if need.needed_on == today:
            for share in need.served:
                gone[made[share.ref].code if share.kind is LinkKind.BATCH else share.ref] += share.amount
    bottles = (*stock.bottles, *made.values())
    return replace(
        stock,
        today=today + timedelta(days=1),
        bottles=tuple(replace(one, amount=one.amount - gone[one.code]) for one in bottles),
        bookings=tuple(one for one in stock.bookings if one.on > today),
    )


@pytest.mark.parametrize(("seed", "minutes"), [*((seed, 240) for seed in range(SCHOOLS)), (8, 30)])
def test_what_is_planned_is_what_is_made(catalogue: OnFile, seed: int, minutes: int) -> None:
    # School 8 makes one solution in two lots, of which only the first is to be levelled.
    stock = school(catalogue, seed)
    stock = replace(stock, calendar=replace(stock.calendar, minutes_per_day=minutes))
    first = make_plan(stock, Horizon(TODAY, END))
    short = {need.id for need in first.requirements if need.short}
    done = Counter[tuple[date, str, int]]()
    for _ in range(DAYS + 1):
        plan = make_plan(stock, Horizon(stock.today, END))
        assert {need.id for need in plan.requirements if need.short} <= short
        done += Counter({key: n for key, n in _makes(plan).items() if key[0] == stock.today})
        stock = _carried_out(stock, plan)
    assert done == _makes(first)
