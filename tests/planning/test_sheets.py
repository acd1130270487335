"""The sheet of every solution can be followed: nothing overflows, and an intermediate is stronger than its product."""

import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

import pytest

from prep.chemistry.model import Solution, Strength, StrengthKind
from prep.chemistry.preparation.instructions import MakeSheets
from prep.chemistry.preparation.steps import DrawnItem
from prep.chemistry.preparation.vessels import Bench
from prep.chemistry.quantities import amount
from prep.planning.model import Need
from prep.resources import seed_data
from prep.services.calc.weighing import Weighing, dissolve
from prep.services.catalogue.seed import read_catalogue
from tests.planning.test_plan import bottle, plan, school

CATALOGUE = read_catalogue(seed_data())
BENCH = Bench(CATALOGUE, CATALOGUE.instruments)
SHEETS = MakeSheets(BENCH)
ML = 1_000_000
VOLUME = r"([0-9.]+ (?:mL|L|µL))"


def sheets() -> Iterator[tuple[str, int, int]]:
    """Every solution in a small, a middling and its largest volume, by each of its routes."""
    for code in CATALOGUE.solutions:
        sizes = BENCH.sizes(code)
        for size in {sizes[0], sizes[len(sizes) // 2], sizes[-1]}:
            for number in range(len(BENCH.routes(code))):
                yield code, size, number


@pytest.mark.parametrize(("code", "size", "number"), list(sheets()))
def test_what_goes_in_before_the_mark_fits_the_volume(code: str, size: int, number: int) -> None:
    solution, route = CATALOGUE.solutions[code], BENCH.routes(code)[number]
    options = [part.options[0] for part in route.parts]
    drawn = []
    for option in options:
        if option.item != "water":
            taken = BENCH.measured(option.item, option.needed(size), solution, size).taken
            drawn.append(DrawnItem(option.item, taken, "bottle K6G7"))
    steps = [step.text for step in SHEETS.write_up(solution, route, options, size, drawn).steps]
    room = 0
    for text in steps:
        if text.startswith(("First an intermediate", "Then a second")):
            continue
        if text.startswith(("Put about", "Measure")) or re.match(r"Dissolve it in about", text):
            room += amount(re.search(VOLUME, text)[1]).base  # type: ignore[index]
    # A recipe is measured to the division of its cylinder (5 mL of 500), so it may run over by less than that.
    assert room <= size * 1.01 + 400_000, steps
    marked = any(text.startswith(("Make ", "Together ", "Add ")) for text in steps)
    assert marked or solution.no_flask  # saturated, or shaken in its bottle


def test_no_sheet_asks_for_a_volume_larger_than_its_flask() -> None:
    for code in ("oxalic-0.05", "indigo-carmine-0.5", "bromine-water"):
        solution, route = CATALOGUE.solutions[code], BENCH.routes(code)[0]
        for size in BENCH.sizes(code)[:6]:
            option = route.parts[0].options[0]
            found = BENCH.how(option.item, option.needed(size), solution, size)
            if found is None:  # less than half a drop
                assert option.needed(size) < 25_000
                continue
            for step in found.dilutions:
                assert step.then.amount * 1_000_000 * 2 <= size


@pytest.mark.parametrize("code", ["sodium-chloride", "calcium-hydroxide", "copper-sulfate-5-water", "borax"])
def test_a_saturated_solution_is_made_as_it_is_calculated(code: str) -> None:
    # CRC Handbook of Chemistry and Physics, 91st ed., aqueous solubility; both allow for the assay.
    one = CATALOGUE.substances[code]
    full = Solution("full", "Full", one.solute, Strength(Decimal(0), StrengthKind.SATURATED), 30, made_from=(code,))
    bench = Bench(replace(CATALOGUE, solutions={**CATALOGUE.solutions, "full": full}), CATALOGUE.instruments)
    route, size = bench.routes("full")[0], 500_000_000
    (option,) = (o for o in route.parts[0].options if o.item == code)
    asked = dissolve(Weighing("saturated", "500 mL", formula=one.formula, assay=str(one.assay_pct)))
    assert float(option.per_nl * 500) == pytest.approx(asked.document["mass"]["value"])
    assert option.saturation is not None
    assert float(option.saturation.dissolves * 500) == pytest.approx(asked.document["dissolves"]["value"])
    assert float(option.saturation.water * 500) == pytest.approx(asked.document["water"]["value"])
    drawn = [DrawnItem(code, option.needed(size), "bottle K6G7")]
    said = " ".join(step.text for step in MakeSheets(bench).write_up(full, route, [option], size, drawn).steps)
    assert asked.says[1] in said  # how much dissolves, that solid remains, and how the clear solution is had
    assert asked.says[0].partition(" of water, ")[2] in said


def test_a_bottle_that_another_make_draws_on_later_is_not_emptied() -> None:
    """What is said of a bottle at the bench holds whichever of the day's makes is done first."""
    acid = bottle("hydrochloric-acid", 120, 300), bottle("hydrochloric-acid", 1000, 900, code="K2")
    stock = school(CATALOGUE, *acid, item="hcl-2", per=950)
    needs = (*stock.demos["d"].needs, Need("hcl-1", 950 * ML))
    stock = replace(stock, demos={"d": replace(stock.demos["d"], needs=needs)})
    both = {batch.solution: batch for batch in plan(stock).batches}
    (poured,) = (step.text for step in both["hcl-2"].steps if "the rest from" in step.text)
    assert re.search(r"\(34 mL from bottle K1, and the rest from bottle K2\)", poured)
    (alone,) = plan(replace(stock, demos={"d": replace(stock.demos["d"], needs=needs[:1])})).batches
    assert "(all that is in bottle K1, and the rest from bottle K2)" in " ".join(step.text for step in alone.steps)


def test_a_solvent_of_two_bottles_names_both() -> None:
    solution, route = CATALOGUE.solutions["eriochrome-0.5"], BENCH.routes("eriochrome-0.5")[0]
    options = [part.options[0] for part in route.parts]
    solvent = solution.make_up_with
    drawn = [DrawnItem(o.item, o.needed(100 * ML), "bottle K6G7") for o in options if o.item != solvent]
    drawn += [DrawnItem(solvent, 60 * ML, "bottle K1"), DrawnItem(solvent, 40 * ML, "bottle K2")]
    said = " ".join(step.text for step in SHEETS.write_up(solution, route, options, 100 * ML, drawn).steps)
    assert "(bottle K1, then bottle K2)" in said
