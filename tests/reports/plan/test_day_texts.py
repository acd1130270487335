"""What a day's lines say of what is set out: figures that an instrument shows, and no share of two bottles but one."""

from datetime import date
from decimal import Decimal

import pytest

from prep.planning.by_day import PlanDays
from prep.planning.model import Booking, Bottle, Calendar, Demo, Horizon, Need, Snapshot
from prep.planning.plan import make_plan
from prep.reports.plan.day_texts import DayTexts
from prep.services.catalogue.on_file import OnFile

MONDAY = date(2027, 1, 11)
ML = 1_000_000


def said(catalogue: OnFile, held: dict[str, float], wanted: tuple[float, ...], item: str = "kcl-1") -> list[str]:
    """What is said of each booking's source, and what is fetched: bottles of `held` mL, one showing of each."""
    demos = {f"d{n}": Demo(f"d{n}", "D", (Need(item, round(ml * ML)),), Decimal(0)) for n, ml in enumerate(wanted)}
    stock = Snapshot(
        today=MONDAY,
        catalogue=catalogue,
        demos=demos,
        bookings=tuple(Booking(f"B{n}", MONDAY, f"P{n}", "", "", f"d{n}", 1) for n in range(len(wanted))),
        bottles=tuple(
            Bottle(code, item, round(ml * ML), date(2027, 2, day), "PREP")
            for day, (code, ml) in enumerate(held.items(), 1)
        ),
        orders=(),
        rules={},
        instruments=catalogue.instruments,
        calendar=Calendar(),
    )
    day = PlanDays(make_plan(stock, Horizon(MONDAY, MONDAY)), stock).of(MONDAY)
    texts = DayTexts(day, stock)
    return [texts.source(need) for need in day.needs] + [one.bottles for one in texts.fetches()]


def test_of_two_bottles_the_first_is_emptied_and_the_other_gives_the_rest(catalogue: OnFile) -> None:
    source, fetched = said(catalogue, {"G2Q4": 38.333, "K7Q2": 200}, (115,))
    assert source == "115 mL: all that is in G2Q4, PREP and the rest from K7Q2, PREP"
    assert "(all of it)" in fetched
    assert "38.333" not in fetched


def test_what_is_left_in_a_bottle_goes_to_the_last_lesson_of_the_day(catalogue: OnFile) -> None:
    first, second, _ = said(catalogue, {"G2Q4": 38.333, "K7Q2": 200}, (20, 50))
    assert first == "20 mL from G2Q4, PREP"
    assert second == "50 mL: all that is in G2Q4, PREP and the rest from K7Q2, PREP"


@pytest.mark.parametrize(
    ("held", "wanted", "expected"),
    [
        ({"G2Q4": 38.333}, 115, "SHORT of 80 mL and all that is in G2Q4, PREP"),
        ({"G2Q4": 38.333}, 38.333, "39 mL: all that is in G2Q4, PREP"),
        ({"G2Q4": 200}, 38.333, "39 mL from G2Q4, PREP"),
        ({}, 38.333, "SHORT of all of it"),
    ],
)
def test_no_figure_is_finer_than_what_is_set_out(
    catalogue: OnFile, held: dict[str, float], wanted: float, expected: str
) -> None:
    assert said(catalogue, held, (wanted,))[0] == expected
