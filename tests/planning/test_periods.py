"""What does not keep is made for one period at a time, and the sheet says for which."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import RecipeLine
from prep.planning.engine.lot_sizing import Want, batch
from prep.planning.model import Batch, Booking, Bottle, Calendar, Demo, Horizon, Need, Plan, Snapshot
from prep.planning.plan import make_plan
from prep.planning.workdays import in_order_of_the_day, period_number
from prep.reports.plan.document import plan_document
from prep.services.catalogue.on_file import OnFile
from tests.planning.checker import check_plan

TODAY = date(2027, 1, 11)
END = TODAY + timedelta(days=30)
ML = 1_000_000


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("P3", 3),
        ("3", 3),
        ("Period 4", 4),
        ("p. 12", 12),
        ("2nd", 2),
        ("P3-4", 3),
        ("9:45", 945),
        ("10.05-10.50", 1005),
        ("", 0),
        ("after lunch", 0),
        ("all day", 0),
        ("P12345", 0),
    ],
)
def test_a_period_has_the_number_it_begins_with(text: str, number: int) -> None:
    assert period_number(text) == number


def _stock(catalogue: OnFile, *periods: str, keeps: int = 0, item: str = "fehling") -> Snapshot:
    solutions = dict(catalogue.solutions)
    solutions["fehling"] = replace(solutions["fehling"], shelf_life_days=keeps)
    solutions["mix"] = replace(
        solutions["fehling"],
        code="mix",
        name="Mixture",
        recipe=(RecipeLine("fehling", 50 * ML), RecipeLine("water", 50 * ML)),
        recipe_nl=100 * ML,
    )
    return Snapshot(
        today=TODAY,
        catalogue=Catalogue(catalogue.substances, solutions),
        demos={"d": Demo("d", "D", (Need(item, 20 * ML),), spare=Decimal(0))},
        bookings=tuple(
            Booking(f"B{n}", TODAY + timedelta(days=3), period, "", "", "d", 1) for n, period in enumerate(periods)
        ),
        bottles=(Bottle("K1", "fehling-a", 500 * ML), Bottle("K2", "fehling-b", 500 * ML)),
        orders=(),
        rules={},
        instruments=catalogue.instruments,
        calendar=Calendar(),
    )


def _plan(stock: Snapshot) -> Plan:
    plan = make_plan(stock, Horizon(TODAY, END))
    assert check_plan(plan_document(plan, stock), stock) == []
    assert all(need.short == 0 for need in plan.requirements)
    return plan


def _for(batch: Batch) -> set[str]:
    return {share.ref.partition(".")[0] for share in batch.serves}


def test_what_does_not_keep_is_made_for_each_period(catalogue: OnFile) -> None:
    made = _plan(_stock(catalogue, "P5", "P2", "Period 2")).batches
    assert [_for(b) for b in made] == [{"B1", "B2"}, {"B0"}]  # the earlier period first
    assert [b.steps[0].text.partition(",")[0] for b in made] == ["Make it just before P2", "Make it just before P5"]


def test_what_keeps_for_a_day_serves_every_period_of_it(catalogue: OnFile) -> None:
    (made,) = _plan(_stock(catalogue, "P5", "P2", keeps=1)).batches
    assert _for(made) == {"B0", "B1"}
    assert not [step for step in made.steps if step.text.startswith("Make it just before")]


def test_periods_without_a_number_are_the_whole_day(catalogue: OnFile) -> None:
    made = _plan(_stock(catalogue, "", "morning", "P2")).batches
    assert sorted(map(sorted, map(_for, made))) == [["B0", "B1"], ["B2"]]


def test_the_same_period_of_two_days_is_two(catalogue: OnFile) -> None:
    stock = _stock(catalogue, "P2", "P2")
    late = replace(stock.bookings[1], on=TODAY + timedelta(days=4))
    plan = _plan(replace(stock, bookings=(stock.bookings[0], late)))
    assert [b.make_on for b in plan.batches] == [TODAY + timedelta(days=3), TODAY + timedelta(days=4)]


def test_what_it_is_made_from_is_for_the_same_period(catalogue: OnFile) -> None:
    plan = _plan(_stock(catalogue, "P2", "P5", item="mix"))
    said = [(b.solution, b.steps[0].text.partition(",")[0].rpartition(" ")[2]) for b in plan.batches]
    assert sorted(said) == [("fehling", "P2"), ("fehling", "P5"), ("mix", "P2"), ("mix", "P5")]
    uses = {b.id: {t.ref for t in b.takes if t.kind == "batch"} for b in plan.batches if b.solution == "mix"}
    period = {b.id: b.steps[0].text.partition(",")[0] for b in plan.batches}
    assert all(period[mix] == period[ref] for mix, refs in uses.items() for ref in refs)


def test_wants_of_a_period_are_batched_together_and_in_the_order_of_the_day() -> None:
    wants = [Want(f"w{n}", 10, TODAY, TODAY, n == 0, period=period) for n, period in enumerate((3, 1, 3, 0, 0))]
    found = batch(wants, shelf_life_days=0, sizes=None, last_workday=lambda day: day, today=TODAY)
    assert [(b.period, [part.id for part in b.serves]) for b in found.batches] == [
        (0, ["w3", "w4"]),
        (1, ["w1"]),
        (3, ["w0", "w2"]),
    ]


def test_a_day_is_in_the_order_of_its_periods() -> None:
    """The second before the tenth, as numbers; of one period by room, the ninth booking before the tenth."""
    said = [("B10", "P2", "S1"), ("B9", "P2", "S1"), ("B1", "P10", "S1"), ("B2", "9:45", "S1"), ("B3", "", "S1")]
    day = [Booking(code, date(2027, 1, 12), period, room, "", "x", 1) for code, period, room in said]
    assert [b.code for b in sorted(day, key=in_order_of_the_day)] == ["B3", "B9", "B10", "B1", "B2"]
