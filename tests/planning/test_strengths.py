"""Schools rich in solutions of one solute, judged by the independent checker: blends, shared dilutions, periods."""

import random
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Solution, Strength, StrengthKind
from prep.planning.model import Booking, Bottle, Calendar, Demo, Horizon, Need, Plan, Snapshot
from prep.planning.plan import make_plan
from prep.reports.plan.document import plan_document
from prep.services.catalogue.on_file import OnFile
from tests.planning.checker import check_plan

TODAY = date(2027, 1, 11)
END = TODAY + timedelta(days=40)
ML = 1_000_000
FAMILIES = (
    ("hcl-5", "hcl-2", "hcl-1", "hcl-0.5", "hcl-0.1", "hydrochloric-acid", "hydrochloric-acid-32"),
    ("naoh-2", "naoh-1", "naoh-0.5", "naoh-0.4", "naoh-0.1", "sodium-hydroxide"),
    ("cuso4-1", "cuso4-0.5", "cuso4-0.1", "copper-sulfate-5-water"),
    ("kmno4-0.1", "kmno4-0.02", "kmno4-0.002", "potassium-permanganate"),
)
WEAK = ("0.0002", "0.0005", "0.001", "0.00002", "0.0001")


def _found(rng: random.Random, solution: Solution | None) -> Strength | None:
    if solution is None or solution.strength is None or rng.random() < 0.6:
        return None
    return Strength(solution.strength.value * Decimal(rng.randint(70, 125)) / 100, StrengthKind.MOL_PER_L)


def _school(catalogue: OnFile, seed: int) -> Snapshot:
    rng = random.Random(seed)
    solutions = dict(catalogue.solutions)
    held = [code for family in rng.sample(FAMILIES, rng.randint(1, 2)) for code in family]
    wanted = [code for code in held if code in solutions]
    if seed % 2:  # so dilute that the stock is diluted first
        wanted = [f"x{number}" for number in range(rng.randint(2, 5))]
        for code in wanted:
            base = solutions[rng.choice(["hcl-0.1", "naoh-0.1", "kmno4-0.02"])]
            strength = Strength(Decimal(rng.choice(WEAK)), StrengthKind.MOL_PER_L)
            solutions[code] = replace(base, code=code, name=code, strength=strength, made_from=())
        held += ["hcl-1", "naoh-1", "kmno4-0.1"]
    demos = {
        f"d{n}": Demo(
            f"d{n}",
            "D",
            tuple(
                Need(rng.choice(wanted), rng.randint(5, 400) * ML, fresh=rng.random() < 0.1)
                for _ in range(rng.randint(1, 3))
            ),
            spare=Decimal(0),
        )
        for n in range(4)
    }
    bookings = tuple(
        Booking(f"B{n}", TODAY + timedelta(days=rng.randint(0, 25)), "", "", "", rng.choice(list(demos)), 1)
        for n in range(rng.randint(1, 8))
    )
    bottles = []
    for number in range(rng.randint(1, 14)):
        item = rng.choice(held)
        amount = rng.randint(1, 600 if item in solutions else 60) * ML
        use_by = None if rng.random() < 0.5 else TODAY + timedelta(days=rng.randint(-2, 30))
        found = _found(rng, solutions.get(item))
        bottles.append(Bottle(f"K{number}", item, amount, use_by, "", "in service", found))
    return Snapshot(
        today=TODAY,
        catalogue=Catalogue(catalogue.substances, solutions),
        demos=demos,
        bookings=bookings,
        bottles=tuple(bottles),
        orders=(),
        rules={},
        instruments=catalogue.instruments,
        calendar=Calendar(minutes_per_day=rng.choice([30, 60, 240])),
    )


def test_the_checker_passes_schools_of_many_strengths(catalogue: OnFile) -> None:
    met: Counter[str] = Counter()
    for seed in (*range(0, 400, 3), 387):
        stock = _school(catalogue, seed)
        plan = make_plan(stock, Horizon(TODAY, END))
        assert check_plan(plan_document(plan, stock), stock) == [], seed
        for batch in plan.batches:
            met["uses up"] += "uses up" in batch.why
            met["shared"] += any("Take the intermediate made for" in step.text for step in batch.steps)
            if batch.route == "blend":
                met["blend"] += 1
                poured = sum(take.used for take in batch.takes if take.item in stock.solutions)
                assert poured <= batch.amount, (seed, batch.id)
    assert min(met[kind] for kind in ("uses up", "shared", "blend")) > 0, met


def _diluted(catalogue: OnFile, *bottles: Bottle, also: str = "", amount: int = 900) -> Plan:
    """The plan for hydrochloric acid, 0.1 mol/L, which is diluted from 1 mol/L; `also` is booked beside it."""
    needs = [Need("hcl-0.1", amount * ML), *([Need(also, 900 * ML)] if also else ())]
    booked = Booking("B1", TODAY + timedelta(days=2), "", "", "", "d", 1)
    stock = replace(_school(catalogue, 0), catalogue=catalogue, bottles=bottles)
    stock = replace(stock, demos={"d": Demo("d", "D", tuple(needs), Decimal(0))}, bookings=(booked,))
    plan = make_plan(stock, Horizon(TODAY, END))
    assert check_plan(plan_document(plan, stock), stock) == []
    return plan


def test_no_dilution_is_known_better_than_the_stock_made_for_it(catalogue: OnFile) -> None:
    """Relative uncertainties add up in quadrature (JCGM 100:2008, 5.1.6), so that of a product is no smaller."""
    plan = _diluted(catalogue, Bottle("K1", "hydrochloric-acid", 500 * ML), also="hcl-1")
    stock, product = (next(b for b in plan.batches if b.solution == code) for code in ("hcl-1", "hcl-0.1"))
    assert [take.ref for take in product.takes] == [stock.id]
    assert stock.uncertainty_pct is not None
    assert product.uncertainty_pct is not None
    assert product.uncertainty_pct >= stock.uncertainty_pct > catalogue.solutions["hcl-1"].tolerance_pct
    assert any("before it is relied on" in step.text for step in product.steps)


def test_no_dilution_is_known_better_than_the_bottle_as_it_was_made(catalogue: OnFile) -> None:
    held = Bottle("K1", "hcl-1", 500 * ML, made_pct=Decimal("3.8"))
    found = replace(
        held, strength=Strength(Decimal(1), StrengthKind.MOL_PER_L), strength_uncertainty_pct=Decimal("0.5")
    )
    (made,), (standardised,) = (_diluted(catalogue, bottle).batches for bottle in (held, found))
    assert made.uncertainty_pct is not None
    assert standardised.uncertainty_pct is not None
    assert made.uncertainty_pct > Decimal("3.8") > 2 > standardised.uncertainty_pct > Decimal("0.5")


def test_a_second_place_that_nobody_found_makes_a_dilution_no_better(catalogue: OnFile) -> None:
    """Taken of both an unfound bottle and one made to 3.8 %: no better than the worse."""
    old, new = Bottle("K1", "hcl-1", 40 * ML), Bottle("K2", "hcl-1", 500 * ML, made_pct=Decimal("3.8"))
    (made,) = _diluted(catalogue, old, new).batches
    assert {take.ref for take in made.takes} == {"K1", "K2"}
    assert made.uncertainty_pct is not None
    assert made.uncertainty_pct > Decimal("3.8")
