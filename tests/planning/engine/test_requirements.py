"""What a booking needs, by when, and bookings that cannot stand."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Solution, Substance
from prep.planning.engine.requirements import NeededItem, needs_of, requirements
from prep.planning.model import Booking, Calendar, Demo, DemoKind, Horizon, Need, Snapshot
from prep.planning.workdays import Workdays

TODAY = date(2027, 1, 11)
CLOSED = {date(2027, 1, 15): "staff day"}
SALT = Substance("salt", "Salt", "NaCl", "salt", Form.SOLID)
BRINE = Solution("brine", "Brine", "salt", None, 30)
FRESH = Solution("fresh-brine", "Fresh brine", "salt", None, 1, made_fresh=True)


def snapshot(*bookings: Booking, needs: tuple[Need, ...]) -> Snapshot:
    return Snapshot(
        today=TODAY,
        catalogue=Catalogue({"salt": SALT}, {"brine": BRINE, "fresh-brine": FRESH}),
        demos={"show": Demo("show", "Show", needs)},
        bookings=bookings,
        bottles=(),
        orders=(),
        rules={},
        instruments=(),
        calendar=Calendar(closed=CLOSED),
    )


def booking(on: date, showings: int = 1, demo: str = "show") -> Booking:
    return Booking("K1", on, "P1", "Lab", "A. Teacher", demo, showings)


def run(*bookings: Booking, needs: tuple[Need, ...] = (Need("brine", 1000),)) -> tuple[list, list]:
    stock = snapshot(*bookings, needs=needs)
    days = Workdays(stock.calendar, TODAY - timedelta(days=60), TODAY + timedelta(days=90))
    return requirements(stock, Horizon(TODAY, TODAY + timedelta(days=30)), days)


def test_amount_is_per_showing_times_showings_plus_spare_plus_dead_volume() -> None:
    demo = Demo("d", "D", (Need("brine", 250, dead=20),), spare=Decimal("0.1"))
    assert needs_of(demo, 3) == {NeededItem("brine", False): 250 * 3 * 11 // 10 + 20}


@given(st.integers(1, 10**9), st.integers(1, 40), st.integers(0, 300), st.integers(0, 10**6))
def test_never_less_than_asked(per: int, showings: int, spare_pct: int, dead: int) -> None:
    demo = Demo("d", "D", (Need("brine", per, dead=dead),), spare=Decimal(spare_pct) / 100)
    got = needs_of(demo, showings)[NeededItem("brine", False)]
    assert got * 100 >= per * showings * (100 + spare_pct) + dead * 100 > (got - 1) * 100


def test_the_same_item_in_two_vessels_is_one_requirement() -> None:
    demands, _ = run(booking(TODAY), needs=(Need("brine", 100, "left"), Need("brine", 200, "right")))
    assert [d.item for d in demands] == ["brine"]


def test_ready_the_working_day_before_and_over_a_weekend_and_a_closed_day() -> None:
    demands, _ = run(booking(date(2027, 1, 18)))
    assert demands[0].ready_by == date(2027, 1, 14)  # not Friday 15, which is closed


def test_made_fresh_is_ready_on_the_day() -> None:
    demands, _ = run(booking(date(2027, 1, 18)), needs=(Need("fresh-brine", 10), Need("brine", 10, fresh=True)))
    assert {d.ready_by for d in demands} == {date(2027, 1, 18)}


def test_a_booking_on_a_closed_day_is_planned_and_said() -> None:
    demands, found = run(booking(date(2027, 1, 15)))
    assert len(demands) == 1
    assert [(f.severity, f.code) for f in found] == [("act", "booking-closed")]
    assert "staff day" in found[0].message


def test_a_past_booking_an_unknown_demo_and_no_showings_stop_with_a_cure() -> None:
    for bad, code in [
        (booking(date(2027, 1, 18), demo="nothing"), "unknown-demo"),
        (booking(date(2027, 1, 18), showings=0), "no-showings"),
    ]:
        demands, found = run(bad)
        assert demands == []
        assert [f.code for f in found] == [code]
        assert found[0].cure
    stock = snapshot(booking(date(2027, 1, 4)), needs=(Need("brine", 1),))
    days = Workdays(stock.calendar, TODAY - timedelta(days=60), TODAY)
    _, found = requirements(stock, Horizon(date(2027, 1, 1), TODAY), days)
    assert [f.code for f in found] == ["booking-past"]


def test_an_unknown_item_is_said_and_the_rest_stands() -> None:
    demands, found = run(booking(TODAY), needs=(Need("ghost", 5), Need("brine", 5), Need("water", 5)))
    assert [d.item for d in demands] == ["brine"]
    assert [f.code for f in found] == ["unknown-item"]


def test_ids_stay_apart_where_codes_have_dots() -> None:
    stock = snapshot(
        *(replace(booking(TODAY, demo=demo), code=code) for code, demo in (("K1", "one"), ("K1.x", "other"))),
        needs=(),
    )
    demos = {
        "one": Demo("one", "One", (Need("x.brine", 10), Need("brine", 10), Need("brine", 10, fresh=True))),
        "other": Demo("other", "Other", (Need("brine", 10), Need("brine.fresh", 10))),
    }
    more = {code: replace(BRINE, code=code) for code in ("x.brine", "brine.fresh")}
    stock = replace(stock, demos=demos, catalogue=replace(stock.catalogue, solutions={**stock.solutions, **more}))
    days = Workdays(stock.calendar, TODAY - timedelta(days=60), TODAY + timedelta(days=90))
    demands, _ = requirements(stock, Horizon(TODAY, TODAY), days)
    assert len(demands) == len({d.id for d in demands}) == 5


def test_a_class_practical_counts_its_sets_and_what_the_room_shares_once() -> None:
    """15 sets: 15 burettes' dead volume, and one beaker of what all draw on."""
    demo = Demo(
        "titration",
        "Titration",
        (Need("brine", 90, "burette", 15), Need("fresh-brine", 20, dead=5, shared=True)),
        spare=Decimal(0),
    )
    shown, done = needs_of(demo, 15), needs_of(replace(demo, kind=DemoKind.PRACTICAL), 15)
    assert shown[NeededItem("brine", False)] == 15 * 90 + 15
    assert done[NeededItem("brine", False)] == 15 * (90 + 15)
    fresh = NeededItem("fresh-brine", False)
    assert done[fresh] == shown[fresh] == 25


def test_what_must_be_asked_for_first_is_said_of_each_booking() -> None:
    stock = snapshot(booking(TODAY + timedelta(days=2)), needs=(Need("brine", 1000),))
    asks = replace(stock.demos["show"], ask_first="Only where the employer allows it.")
    days = Workdays(stock.calendar, TODAY - timedelta(days=60), TODAY + timedelta(days=90))
    horizon = Horizon(TODAY, TODAY + timedelta(days=30))
    _, found = requirements(replace(stock, demos={"show": asks}), horizon, days)
    assert [(f.code, f.severity, f.about) for f in found] == [("ask-first", "act", "K1")]
    allowed = replace(stock.bookings[0], allowed_by="the adviser", allowed_on=TODAY)
    _, found = requirements(replace(stock, demos={"show": asks}, bookings=(allowed,)), horizon, days)
    assert [(f.code, f.severity, f.about) for f in found] == [("allowed", "note", "K1")]
    assert f"allowed by the adviser on {TODAY}" in found[0].message
    assert requirements(stock, horizon, days)[1] == []
