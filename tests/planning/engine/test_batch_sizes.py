"""What a room makes at once: the usual batch, and when less."""

from dataclasses import replace

import pytest

from prep.chemistry.model import SET_BY_SCHOOL, InstrumentKind, MethodStep, SmallBatch, Solution, StepKind
from prep.chemistry.preparation.vessels import Bench
from prep.planning.engine.batch_sizes import is_round, small_because, usual_sizes
from prep.planning.engine.lots import measured_sizes
from prep.planning.model import StockRule
from prep.services.catalogue.seed import Catalogue
from tests.planning.test_plan import bottle, plan, school

ML = 1_000_000
POSSIBLE = tuple(n * ML for n in (21, 50, 100, 230, 250, 500, 950, 1000))


def _solution(**more: object) -> Solution:
    return replace(Solution("x", "X", "x", None, 365, usual_nl=500 * ML), **more)  # type: ignore[arg-type]


def test_a_round_volume_is_one_that_people_make_and_bottle() -> None:
    assert [ml for ml in (6, 10, 21, 25, 44, 75, 100, 230, 250, 380, 500, 600, 1200, 1500) if is_round(ml * ML)] == [
        10,
        25,
        100,
        250,
        500,
        1500,
    ]


def test_what_is_made_for_its_use_is_made_nearer_to_it_but_no_less_than_a_person_makes() -> None:
    possible = tuple(n * ML for n in (2, 5, 8, 10, 20, 40, 50, 70, 80, 100, 400, 500))
    fresh = _solution(made_fresh=True)
    assert [size // ML for size in usual_sizes(fresh, possible)] == [40, 50, 70, 80, 100, 400, 500]
    dear = replace(fresh, small_batch=SmallBatch.COSTLY)
    assert [size // ML for size in usual_sizes(dear, possible)] == [10, 20, 40, 50, 70, 80, 100, 400, 500]
    for worked in (StepKind.BOIL, StepKind.HEAT, StepKind.FILTER):
        much = replace(dear, method_steps=(MethodStep(worked, minutes=1),))
        assert [size // ML for size in usual_sizes(much, possible)] == [50, 70, 80, 100, 400, 500]
    assert [size // ML for size in usual_sizes(fresh, possible[:2])] == [5]
    for_weeks = _solution(shelf_life_days=14)
    assert [size // ML for size in usual_sizes(for_weeks, possible)] == [100, 400, 500]
    small = replace(for_weeks, usual_nl=50 * ML)
    assert [size // ML for size in usual_sizes(small, possible)] == [50, 70, 80, 100, 400, 500]
    for_a_month = replace(for_weeks, shelf_life_days=30, usual_nl=200 * ML)
    assert [size // ML for size in usual_sizes(for_a_month, possible)] == [100, 400, 500]


def test_what_is_found_afterwards_is_made_up_to_any_line_of_a_cylinder(catalogue: Catalogue) -> None:
    """Permanganate and thiosulfate are no standards as weighed (USP, Volumetric Solutions): no flask is needed."""
    bench = Bench(catalogue, catalogue.instruments)
    for code, least in (("kmno4-0.02", 150), ("thiosulfate-0.01", 60), ("naoh-0.1", 1500)):
        sizes = bench.sizes(code)
        assert least * ML in sizes, code
        assert bench.vessel(code, least * ML).kind is InstrumentKind.CYLINDER, code
    assert bench.vessel("naoh-0.1", 1000 * ML).kind is InstrumentKind.FLASK  # as exact as can be, of a found stock
    for code in ("kio3-0.02", "agno3-0.1", "edta-0.01"):  # these are standards as weighed, or as diluted
        assert {bench.vessel(code, size).kind for size in bench.sizes(code) if size <= 500 * ML} == {
            InstrumentKind.FLASK
        }


def test_of_a_recipe_enough_is_made_that_its_solids_can_be_weighed(catalogue: Catalogue) -> None:
    bench, solution = Bench(catalogue, catalogue.instruments), catalogue.solutions["ninhydrin-0.2"]
    sizes = usual_sizes(solution, bench.sizes(solution.code))
    found = measured_sizes(bench, solution, sizes, {}, lean=False).sizes
    assert sizes[0] == 10 * ML
    assert found[0] == 20 * ML  # 0.040 g, within a tenth on the finest balance
    assert measured_sizes(bench, solution, sizes, {}, lean=True).sizes == sizes


@pytest.mark.parametrize(
    ("solution", "least"),
    [
        (_solution(), 500),
        (_solution(usual_nl=0), 50),
        (_solution(usual_nl=300 * ML), 500),
        (_solution(usual_nl=5000 * ML), 1000),
        (_solution(made_fresh=True), 50),
        (_solution(shelf_life_days=1), 50),
        (_solution(shelf_life_days=14), 100),
        (_solution(shelf_life_days=15), 250),
        (_solution(shelf_life_days=31), 250),
        (_solution(shelf_life_days=32), 500),
        (_solution(shelf_life_days=30, sources={"usual": SET_BY_SCHOOL}), 500),
        (_solution(shelf_life_days=14, sources={"usual": SET_BY_SCHOOL}), 500),
        (_solution(small_batch=SmallBatch.COSTLY), 50),
        (_solution(small_batch=SmallBatch.HAZARD), 50),
    ],
)
def test_no_less_than_the_usual_batch_unless_there_is_a_reason(solution: Solution, least: int) -> None:
    assert usual_sizes(solution, POSSIBLE)[0] == least * ML
    assert 230 * ML not in usual_sizes(solution, POSSIBLE)
    assert bool(small_because(solution)) == (least < 500 and solution.usual_nl == 500 * ML)


def test_the_usual_batch_is_made_where_little_is_needed(catalogue: Catalogue) -> None:
    (batch,) = plan(school(catalogue, bottle("sodium-chloride", 500), item="nacl-0.1", per=20)).batches
    assert batch.amount == catalogue.solutions["nacl-0.1"].usual_nl


def test_where_little_is_held_as_much_is_made_as_there_is_enough_for(catalogue: Catalogue) -> None:
    # 2.922 g make the usual 500 mL.
    stock = school(
        catalogue,
        bottle("sodium-chloride", 2),
        item="nacl-0.1",
        per=20,
        rules={"sodium-chloride": StockRule("sodium-chloride", 0, (500 * ML,), 90)},
    )
    (batch,) = plan(stock).batches
    assert batch.amount == 300 * ML
    assert batch.takes[0].ref == "K1"


def test_every_shipped_solution_has_a_usual_batch(catalogue: Catalogue) -> None:
    for solution in catalogue.solutions.values():
        assert solution.usual_nl >= 50 * ML, solution.code
        assert solution.sources["usual"], solution.code


def test_no_litre_of_iodine_is_made_for_a_fifth_of_a_litre_of_a_weaker_one(catalogue: Catalogue) -> None:
    """12.7 g of iodine and 20 g of iodide, to use a twentieth of them."""
    stock = school(
        catalogue,
        bottle("iodine", 100),
        bottle("potassium-iodide", 250, code="K2"),
        item="iodine-0.01",
        per=50,
    )
    amounts = {batch.solution: batch.amount // ML for batch in plan(stock).batches}
    assert amounts["iodine-0.05"] <= 100
