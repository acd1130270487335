"""No booking is called short that can be served, and the reason given is the true one."""

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from prep.planning.model import Booking, Bottle, Calendar, Demo, Horizon, Need, OpenOrder, Plan, Snapshot, StockRule
from prep.planning.plan import make_plan
from prep.reports.plan.document import plan_document
from prep.services.catalogue.on_file import OnFile
from tests.planning.checker import check_plan

TODAY = date(2027, 1, 11)
UNIT = 1_000_000


def school(
    catalogue: OnFile,
    booked: Mapping[date, str],
    bottles: Mapping[str, int],
    orders: tuple[OpenOrder, ...] = (),
    *,
    lead: Mapping[str, int] | None = None,
    demos: Mapping[str, Demo] | None = None,
    closed: tuple[date, ...] = (),
) -> Snapshot:
    """A demo booked for each of some days; `bottles` as mL or g of each item."""
    return Snapshot(
        today=TODAY,
        catalogue=catalogue,
        demos=demos or catalogue.demos,
        bookings=tuple(
            Booking(f"B{n}", on, "", "", "", demo, 1) for n, (on, demo) in enumerate(sorted(booked.items()))
        ),
        bottles=tuple(Bottle(f"K{n}", item, held * UNIT, None) for n, (item, held) in enumerate(bottles.items())),
        orders=orders,
        rules={item: StockRule(item, 0, (100 * UNIT,), days) for item, days in (lead or {}).items()},
        instruments=catalogue.instruments,
        calendar=Calendar(closed=dict.fromkeys(closed, "closed")),
    )


def planned(stock: Snapshot, weeks: int = 6) -> Plan:
    made = make_plan(stock, Horizon(TODAY, TODAY + timedelta(weeks=weeks)))
    assert check_plan(plan_document(made, stock), stock) == []
    return made


def one(item: str, amount: int, *, code: str = "d") -> dict[str, Demo]:
    return {code: Demo(code, "D", (Need(item, amount * UNIT),), Decimal(0))}


def short(plan: Plan) -> dict[str, float]:
    return {need.id: need.short / UNIT for need in plan.requirements if need.short}


def test_a_booking_that_nothing_serves_denies_no_later_one(catalogue: OnFile) -> None:
    # No permanganate before the 18th: the first is lost, for the second it is ordered.
    held = {"sulfuric-acid-96": 500, "oxalic-acid": 100, "manganese-sulfate-1-water": 100, "h2so4-2": 500}
    stock = school(
        catalogue,
        {date(2027, 1, 13): "autocatalysis", date(2027, 2, 10): "autocatalysis"},
        {item: amount for item, amount in held.items() if item in catalogue},
        lead={"potassium-permanganate": 7, "oxalic-acid": 7, "manganese-sulfate-1-water": 7},
    )
    made = planned(stock)
    assert {ref.split(".")[0] for ref in short(made)} == {"B0"}
    assert "potassium-permanganate" in {line.item for line in made.orders}


def test_an_order_on_its_way_is_counted_when_a_lot_is_broken_up(catalogue: OnFile) -> None:
    # One gram makes the first 50 mL of 0.1 mol/L; the second waits for the order.
    demos = {"d": Demo("d", "D", (Need("agno3-0.1", 45 * UNIT),), Decimal(0))}
    stock = school(
        catalogue,
        {date(2027, 1, 14): "d", date(2027, 1, 28): "d"},
        {"silver-nitrate": 1},
        (OpenOrder("P1", "silver-nitrate", 25 * UNIT, date(2027, 1, 20)),),
        demos=demos,
    )
    assert short(planned(stock)) == {}


def test_an_earlier_booking_does_not_starve_while_a_later_one_is_served(catalogue: OnFile) -> None:
    # 104 mL make 1200 mL of 1 mol/L; what is booked after the 22nd is made from the order.
    stock = school(
        catalogue,
        {date(2027, 1, 15): "d", date(2027, 1, 20): "d", date(2027, 1, 26): "d"},
        {"hydrochloric-acid": 104},
        (OpenOrder("P1", "hydrochloric-acid", 2500 * UNIT, date(2027, 1, 22)),),
        demos=one("hcl-1", 600),
        lead={"hydrochloric-acid": 14},
    )
    assert short(planned(stock)) == {}


def test_what_cannot_all_be_served_is_served_earliest_first(catalogue: OnFile) -> None:
    stock = school(
        catalogue,
        {date(2027, 1, 15): "d", date(2027, 1, 18): "d", date(2027, 1, 20): "d"},
        {"hydrochloric-acid": 60},
        (OpenOrder("P1", "hydrochloric-acid", 2500 * UNIT, date(2027, 1, 22)),),
        demos=one("hcl-1", 600),
        lead={"hydrochloric-acid": 14},
    )
    assert set(short(planned(stock))) == {"B1.hcl-1", "B2.hcl-1"}


def test_a_need_is_short_by_the_part_that_lacks(catalogue: OnFile) -> None:
    # 22 mL of the concentrate make 250 mL of 1 mol/L; the rest of 400 mL lacks.
    stock = school(
        catalogue,
        {date(2027, 1, 15): "d"},
        {"hydrochloric-acid": 22},
        demos=one("hcl-1", 400),
        lead={"hydrochloric-acid": 30},
    )
    assert short(planned(stock)) == {"B0.hcl-1": 150.0}


def test_what_needs_the_only_source_waits_for_the_order_that_others_can_do_without(catalogue: OnFile) -> None:
    # Copper sulfate for all before the order comes, if the large need of the 22nd waits for it.
    demos = {
        "early": Demo("early", "D", (Need("cuso4-0.1", 300 * UNIT), Need("cuso4-1", 5 * UNIT)), Decimal(0)),
        "late": Demo("late", "D", (Need("cuso4-0.1", 600 * UNIT), Need("cuso4-1", 120 * UNIT)), Decimal(0)),
    }
    stock = school(
        catalogue,
        {date(2027, 1, 13): "early", date(2027, 1, 16): "early", date(2027, 1, 22): "late"},
        {"copper-sulfate-5-water": 42},
        lead={"copper-sulfate-5-water": 5},
        demos=demos,
    )
    assert short(planned(stock)) == {}


def test_what_is_to_stand_is_made_late_rather_than_not_at_all(catalogue: OnFile) -> None:
    # Permanganate comes on the 19th and is used on the 20th; that it is to stand is said, not made a shortage.
    stock = school(
        catalogue,
        {date(2027, 1, 20): "d"},
        {},
        (OpenOrder("P1", "potassium-permanganate", 100 * UNIT, date(2027, 1, 19)),),
        demos=one("kmno4-0.02", 50),
        closed=(date(2027, 1, 18),),
    )
    assert short(planned(stock)) == {}


def test_every_lot_of_a_source_that_runs_short_is_given_another(catalogue: OnFile) -> None:
    # The stock would have to be made before the order comes; the solid is there on the day itself.
    stock = school(
        catalogue,
        {date(2027, 1, 20): "d"},
        {},
        demos=one("kmno4-0.02", 120),
        lead={"potassium-permanganate": 5},
        closed=(date(2027, 1, 14), date(2027, 1, 17), date(2027, 1, 21)),
    )
    assert short(planned(stock)) == {}


def test_a_closed_day_is_the_reason_that_is_given(catalogue: OnFile) -> None:
    closed = tuple(TODAY + timedelta(days=n) for n in range(5))
    stock = school(
        catalogue, {date(2027, 1, 13): "d"}, {"hydrochloric-acid": 500}, demos=one("hcl-1", 100), closed=closed
    )
    (need,) = planned(stock).requirements
    assert need.short
    assert "no working day is left" in need.why


def test_what_does_not_dissolve_is_the_reason_that_is_given(catalogue: OnFile) -> None:
    # Calcium hydroxide dissolves to 0.02 mol/L: no bottle and no order cures a tenth.
    limewater = catalogue.solutions["limewater"]
    tenth = replace(
        catalogue.solutions["naoh-0.4"], code="lime-0.4", name="Lime", solute=limewater.solute, made_from=()
    )
    richer = replace(catalogue, solutions={**catalogue.solutions, "lime-0.4": tenth})
    stock = school(
        richer,
        {date(2027, 1, 20): "d"},
        {"calcium-hydroxide": 500},
        demos=one("lime-0.4", 100),
        lead={"calcium-hydroxide": 2},
    )
    (need,) = planned(stock).requirements
    assert need.short
    assert "dissolve" in need.why
    assert "nothing on file" not in need.why


def test_the_least_that_can_be_made_is_the_reason_that_is_given(catalogue: OnFile) -> None:
    # Half a millilitre of concentrate makes 5 mL of 1 mol/L, and no vessel of the room makes so little.
    stock = school(
        catalogue,
        {date(2027, 1, 15): "d"},
        {"hydrochloric-acid": 1},
        demos=one("hcl-1", 5),
        lead={"hydrochloric-acid": 30},
    )
    (need,) = planned(stock).requirements
    assert need.short
    assert "the least that the room makes and measures of it is 50 mL" in need.why


def test_the_strength_that_the_school_buys_is_ordered(catalogue: OnFile) -> None:
    # Both ammonias are sold by the litre within a week; the entry of the 2 mol/L stock names the 28 % first.
    on = TODAY + timedelta(days=21)
    rules = {item: StockRule(item, 0, (1000 * UNIT,), 7) for item in ("ammonia", "ammonia-880")}

    def ordered(*held: str) -> set[str]:
        stock = school(catalogue, {on: "d"}, dict.fromkeys(held, 0), demos=one("ammonia-2", 400))
        plan = planned(replace(stock, rules=rules))
        assert short(plan) == {}
        return {line.item for line in plan.orders}

    assert ordered() == {"ammonia"}
    assert ordered("ammonia-880") == {"ammonia-880"}
    assert ordered("ammonia") == {"ammonia"}
    assert ordered("ammonia", "ammonia-880") == {"ammonia"}


def test_the_hydrate_that_the_school_buys_is_ordered_for_a_recipe_and_a_plain_solution(catalogue: OnFile) -> None:
    on = TODAY + timedelta(days=21)
    pair = ("sodium-carbonate", "sodium-carbonate-10-water")
    rules = {item: StockRule(item, 0, (500 * UNIT,), 7) for item in pair}
    held = {"trisodium-citrate-2-water": 500, "copper-sulfate-5-water": 500}
    for solution in ("sodium-carbonate-1", "benedict"):
        for bought in pair:
            stock = school(catalogue, {on: "d"}, {bought: 0, **held}, demos=one(solution, 200))
            plan = planned(replace(stock, rules=rules))
            assert {line.item for line in plan.orders} == {bought}, solution


def test_the_day_that_the_cure_names_is_the_first_that_is_served(catalogue: OnFile) -> None:
    def on(day: date, lead: int, orders: tuple[OpenOrder, ...] = ()) -> Plan:
        held = {"starch": 1}
        demos = one("hcl-1", 600)
        return planned(school(catalogue, {day: "d"}, held, orders, demos=demos, lead={"hydrochloric-acid": lead}))

    coming = (OpenOrder("P1", "hydrochloric-acid", 2500 * UNIT, date(2027, 1, 19)),)
    for first, lead, orders in ((date(2027, 1, 14), 7, ()), (date(2027, 1, 13), 28, coming)):
        (stop,) = (f for f in on(first, lead, orders).findings if f.code == "runs-out")
        assert "Order today" not in stop.cure
        found = re.search(r"served from (\S+) on", stop.cure)
        assert found is not None
        served = date.fromisoformat(found[1])
        days = [first + timedelta(days=n) for n in range((served - first).days + 1)]
        plans = [on(day, lead, orders) for day in days if day.weekday() < 5]
        assert [bool(short(plan)) for plan in plans] == [True] * (len(plans) - 1) + [False]


_OWN_AND_MADE = {
    "own": Demo("own", "D", (Need("hydrochloric-acid", 60 * UNIT),), Decimal(0)),
    "made": Demo("made", "D", (Need("hcl-2", 65 * UNIT),), Decimal(0)),
    "later": Demo("later", "D", (Need("hcl-2", 220 * UNIT),), Decimal(0)),
}


def test_no_more_is_made_of_a_reagent_than_leaves_what_is_booked_of_itself(catalogue: OnFile) -> None:
    # 65 mL of 2 mol/L take 12 mL of the concentrate, not the 69 mL of 400 mL: what is booked later waits for the order.
    stock = school(
        catalogue,
        {date(2027, 1, 14): "made", date(2027, 1, 15): "own", date(2027, 2, 9): "later"},
        {"hydrochloric-acid": 100},
        (OpenOrder("P1", "hydrochloric-acid", 1000 * UNIT, date(2027, 1, 18)),),
        demos=_OWN_AND_MADE,
        lead={"hydrochloric-acid": 14},
    )
    assert short(planned(stock)) == {}


def test_what_can_be_made_of_another_stock_leaves_a_reagent_to_what_is_booked_of_itself(catalogue: OnFile) -> None:
    stock = school(
        catalogue,
        {date(2027, 1, 14): "made", date(2027, 1, 15): "own"},
        {"hydrochloric-acid": 60, "hcl-5": 60},
        demos=_OWN_AND_MADE,
        lead={"hydrochloric-acid": 14},
    )
    assert short(planned(stock)) == {}
