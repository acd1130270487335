"""The whole plan: the independent checker on the sample school and on random ones, and single rules."""

import json
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from importlib import resources

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from prep.errors import PrepError
from prep.planning.model import Booking, Bottle, Calendar, Demo, Horizon, Need, Plan, Snapshot, StockRule
from prep.planning.plan import make_plan
from prep.reports.plan.document import plan_document
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.plan import plan as plan_service
from prep.services.plan import snapshot as plan_snapshot
from tests.planning.checker import check_plan
from tests.planning.schools import END, TODAY, schools

ML = 1_000_000


@cache
def shipped() -> OnFile:
    """Read once, and no fixture: a failing example need not print it."""
    return read_catalogue(seed_data())


@pytest.fixture(scope="module")
def sample() -> plan_snapshot.Sample:
    return plan_snapshot.sample()


@pytest.fixture(scope="module")
def sample_plan(sample: plan_snapshot.Sample) -> Plan:
    return make_plan(sample.snapshot, Horizon(sample.start, sample.end))


def test_the_checker_passes_the_sample_school(sample: plan_snapshot.Sample, sample_plan: Plan) -> None:
    assert check_plan(plan_document(sample_plan, sample.snapshot), sample.snapshot) == []


def test_the_document_is_what_its_schema_says(sample: plan_snapshot.Sample) -> None:
    import jsonschema

    drawn = plan_service.draw_up(sample.snapshot, Horizon(sample.start, sample.end))
    schema = json.loads(resources.files("prep.reports.plan").joinpath("plan.schema.json").read_text())
    document = json.loads(json.dumps(plan_document(drawn.plan, drawn.snapshot)))
    jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker()).validate(document)


def test_the_same_input_gives_the_same_bytes(sample: plan_snapshot.Sample) -> None:
    horizon = Horizon(sample.start, sample.end)
    backwards = replace(
        sample.snapshot,
        bookings=sample.snapshot.bookings[::-1],
        bottles=sample.snapshot.bottles[::-1],
        catalogue=replace(sample.snapshot.catalogue, substances=dict(reversed(sample.snapshot.substances.items()))),
    )
    one, other = (json.dumps(plan_document(make_plan(s, horizon), s)) for s in (sample.snapshot, sample.snapshot))
    assert one == other
    turned = plan_document(make_plan(backwards, horizon), backwards)
    assert json.dumps(turned) == one


@given(st.data())
@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_the_checker_passes_random_schools(data: st.DataObject) -> None:
    stock, horizon = data.draw(schools(shipped()))
    plan = make_plan(stock, horizon)
    assert check_plan(plan_document(plan, stock), stock) == []


def test_the_checker_can_fail(sample: plan_snapshot.Sample, sample_plan: Plan) -> None:
    """Each of the four statements, broken once."""
    document = plan_document(sample_plan, sample.snapshot)

    def broken(change) -> list[str]:  # type: ignore[no-untyped-def]
        copy = json.loads(json.dumps(document))
        change(copy)
        return check_plan(copy, sample.snapshot)

    served = next(i for i, n in enumerate(document["requirements"]) if any("bottle" in s for s in n["served"]))
    assert broken(lambda d: d["requirements"][served]["served"].clear())
    dilution = next(
        i
        for i, b in enumerate(document["batches"])
        if b["route"].startswith("dilute") and b["strength"]["unit"] == "mol/L"
    )
    take = document["batches"][dilution]["takes"][0]["amount"]
    assert broken(lambda d: d["batches"][dilution]["takes"][0]["amount"].update(value=take["value"] * 1.5))
    assert broken(lambda d: d["batches"][dilution].update(use_by="2027-01-01"))
    drained = next(i for i, b in enumerate(document["bottles"]) if b["takes"])
    assert broken(lambda d: d["bottles"][drained]["end"].update(value=-1.0))


# Single rules, on a school of one demo -----------------------------------------------------------------


def school(
    catalogue: OnFile,
    *bottles: Bottle,
    item: str = "hcl-1",
    per: int = 100,
    on: tuple[int, ...] = (7,),
    rules: dict[str, StockRule] | None = None,
    closed: tuple[int, ...] = (),
    fresh: bool = False,
) -> Snapshot:
    return Snapshot(
        today=TODAY,
        catalogue=catalogue,
        demos={
            "d": Demo(
                "d",
                "D",
                (Need(item, per * ML, fresh=fresh),),
                spare=catalogue.solutions["hcl-1"].tolerance_pct * 0,
            )
        },
        bookings=tuple(Booking(f"B{n}", TODAY + timedelta(days=d), "", "", "", "d", 1) for n, d in enumerate(on)),
        bottles=bottles,
        orders=(),
        rules=rules or {},
        instruments=catalogue.instruments,
        calendar=Calendar(closed={TODAY + timedelta(days=d): "closed" for d in closed}),
    )


def plan(stock: Snapshot) -> Plan:
    made = make_plan(stock, Horizon(TODAY, END))
    assert check_plan(plan_document(made, stock), stock) == []
    return made


def bottle(item: str, ml: int, use_by: int | None = None, code: str = "K1") -> Bottle:
    return Bottle(code, item, ml * ML, None if use_by is None else TODAY + timedelta(days=use_by))


def test_what_is_on_the_shelf_is_not_made(catalogue: OnFile) -> None:
    made = plan(school(catalogue, bottle("hcl-1", 500)))
    assert made.batches == ()
    assert [s.ref for s in made.requirements[0].served] == ["K1"]


def test_what_goes_off_before_its_use_is_made_anew_and_said(catalogue: OnFile) -> None:
    stock = school(catalogue, bottle("hcl-1", 500, 5), bottle("hydrochloric-acid", 500, code="K2"))
    made = plan(stock)
    assert [b.solution for b in made.batches] == ["hcl-1"]
    assert "goes-off" in {f.code for f in made.findings}


def test_made_on_the_last_working_day_before_a_closure(catalogue: OnFile) -> None:
    # Monday 18 is booked; Friday 15 and the weekend are closed, so Thursday 14 it is.
    made = plan(school(catalogue, bottle("hydrochloric-acid", 500), on=(7,), closed=(4,)))
    assert [b.make_on for b in made.batches] == [date(2027, 1, 14)]


def test_made_fresh_is_made_on_the_day_even_with_stock_on_the_shelf(catalogue: OnFile) -> None:
    stock = school(catalogue, bottle("hcl-1", 500), bottle("hydrochloric-acid", 500, code="K2"), fresh=True)
    made = plan(stock)
    assert [b.make_on for b in made.batches] == [TODAY + timedelta(days=7)]


def test_a_stock_that_is_not_held_is_made_first(catalogue: OnFile) -> None:
    made = plan(school(catalogue, bottle("hydrochloric-acid", 500), item="hcl-0.01"))
    *_, stock, made_of_it = [b.solution for b in made.batches]
    assert (stock, made_of_it) == ("hcl-0.1", "hcl-0.01")
    assert {t.kind for b in made.batches for t in b.takes} == {"bottle", "batch"}


def test_another_hydrate_serves_by_its_own_molar_mass(catalogue: OnFile) -> None:
    stock = school(catalogue, bottle("sodium-carbonate-10-water", 900), item="sodium-carbonate-1", per=250)
    made = plan(stock)
    assert [t.item for b in made.batches for t in b.takes] == ["sodium-carbonate-10-water"]
    assert made.requirements[0].short == 0


def test_two_bookings_share_a_batch_within_its_shelf_life(catalogue: OnFile) -> None:
    made = plan(school(catalogue, bottle("hydrochloric-acid", 500), on=(7, 9, 11)))
    assert [len(b.serves) for b in made.batches] == [3]


def test_a_short_source_falls_back_to_the_next(catalogue: OnFile) -> None:
    stock = school(catalogue, bottle("hydrochloric-acid", 10), bottle("hydrochloric-acid-32", 500, code="K2"), per=400)
    made = plan(stock)
    assert made.requirements[0].short == 0
    assert {t.item for b in made.batches for t in b.takes} == {"hydrochloric-acid-32"}


def test_when_nothing_suffices_the_earlier_booking_is_served_and_the_later_is_said_to_be_short(
    catalogue: OnFile,
) -> None:
    rule = {"hydrochloric-acid": StockRule("hydrochloric-acid", 0, (2500 * ML,), 30)}
    made = plan(school(catalogue, bottle("hydrochloric-acid", 12), on=(7, 8), rules=rule))
    assert [need.short > 0 for need in made.requirements] == [False, True]
    late = [f for f in made.findings if f.code == "runs-out"]
    assert late
    assert late[0].cure


def test_of_bookings_alike_the_smaller_number_is_served_and_bottles_are_listed_by_number(catalogue: OnFile) -> None:
    """B9 before B10, R2 before R10, as codes are counted elsewhere."""
    rule = {"magnesium-ribbon": StockRule("magnesium-ribbon", 0, (25 * ML,), 30)}
    there = (bottle("magnesium-ribbon", 60, code="R10"), bottle("magnesium-ribbon", 60, code="R2"))
    made = plan(school(catalogue, *there, item="magnesium-ribbon", on=(7,) * 11, rules=rule))
    assert [line.code for line in made.bottles] == ["R2", "R10"]
    assert [need.booking for need in made.requirements] == [f"B{n}" for n in range(11)]
    assert [need.booking for need in made.requirements if not need.short] == ["B0"]


def test_an_order_that_comes_in_time_serves(catalogue: OnFile) -> None:
    rule = {"hydrochloric-acid": StockRule("hydrochloric-acid", 0, (2500 * ML,), 5)}
    made = plan(school(catalogue, on=(14,), rules=rule))
    assert made.requirements[0].short == 0
    (line,) = made.orders
    assert line.order_by <= date(2027, 1, 17)
    assert not line.late


def test_nothing_is_dropped_when_there_is_no_working_day(catalogue: OnFile) -> None:
    made = plan(school(catalogue, bottle("hydrochloric-acid", 500), on=(2,), closed=tuple(range(-5, 60))))
    assert made.requirements[0].short == 100 * ML
    assert {f.severity for f in made.findings if f.about == made.requirements[0].id} == {"stop"}


def test_a_loop_among_recipes_is_named(catalogue: OnFile) -> None:
    stock = school(catalogue, item="hcl-1")
    one = replace(catalogue.solutions["hcl-1"], code="loop-a", made_from=("loop-b",), recipe_nl=ML)
    from prep.chemistry.model import RecipeLine

    looped = {
        "loop-a": replace(one, code="loop-a", recipe=(RecipeLine("loop-b", 1),)),
        "loop-b": replace(one, code="loop-b", recipe=(RecipeLine("loop-a", 1),)),
    }
    stock = replace(
        stock,
        catalogue=replace(catalogue, solutions={**catalogue.solutions, **looped}),
        demos={"d": Demo("d", "D", (Need("loop-a", ML),))},
    )
    with pytest.raises(PrepError, match="loop-a"):
        make_plan(stock, Horizon(TODAY, END))


def test_what_is_wanted_today_and_not_made_yet_is_said_in_one_sentence(catalogue: OnFile) -> None:
    stock = school(catalogue, bottle("hydrochloric-acid", 500), on=(0,))
    (one,) = [f for f in plan(stock).findings if f.code == "made-on-the-day"]
    assert one.message == "Wanted today and still to be made: Hydrochloric acid, 1 mol/L."
    two = replace(stock, demos={"d": Demo("d", "D", (Need("hcl-1", 50 * ML), Need("hcl-2", 50 * ML)), Decimal(0))})
    (both,) = [f for f in plan(two).findings if f.code == "made-on-the-day"]
    assert both.cure == "Make them first."
    assert "Hydrochloric acid, 1 mol/L" in both.message
    assert "Hydrochloric acid, 2 mol/L" in both.message


def test_a_make_is_no_smaller_for_a_later_need_that_can_be_ordered(catalogue: OnFile) -> None:
    # 780 mL of alcohol; 730 mL of it go into a litre of 70 % in three weeks, and an order comes in one week.
    needs = {"early": Need("agar-cubes", 150 * ML), "later": Need("ethanol-70", 990 * ML)}
    base = school(
        catalogue,
        bottle("ethanol-96", 780),
        Bottle("K2", "phenolphthalein", 100 * ML),
        Bottle("K3", "agar", 100 * ML),
        bottle("naoh-0.1", 400, 60, code="K4"),
        rules={"ethanol-96": StockRule("ethanol-96", 0, (2500 * ML,), 7)},
    )
    spare = base.demos["d"].spare
    demos = {code: Demo(code, code, (need,), spare=spare) for code, need in needs.items()}
    bookings = tuple(
        Booking(code, TODAY + timedelta(days=days), "", "", "", code, 1) for code, days in (("early", 2), ("later", 21))
    )
    made = plan(replace(base, demos=demos, bookings=bookings))
    amounts = {batch.solution: batch.amount // ML for batch in made.batches}
    assert (amounts["phenolphthalein-1"], amounts["ethanol-70"]) == (100, 1000)
    assert [order.item for order in made.orders] == ["ethanol-96"]
