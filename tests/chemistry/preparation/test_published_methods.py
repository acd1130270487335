"""The preparations of common bench reagents against published methods: amounts, order, heat, standing, keeping.

Each row of preparations.csv names its source: amounts in g or mL to a litre, what comes before what, phrases that the
steps hold and such as they must not hold, and the class of what it is made and measured in. A primary standard goes
into a volumetric flask; what is standardised afterwards, an indicator or a test reagent does not (ISO 1042: a mark is
worth nothing to a strength that is only about known). Solids are weighed; liquids go by cylinder, but for those that
`measured` names.
"""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from prep.chemistry.model import Measure, StepKind
from prep.chemistry.preparation.instructions import MakeSheets
from prep.chemistry.preparation.steps import DrawnItem, to_tick
from prep.chemistry.preparation.vessels import Bench
from prep.resources import seed_data
from prep.services.catalogue.seed import read_catalogue

CATALOGUE = read_catalogue(seed_data())
BENCH = Bench(CATALOGUE, CATALOGUE.instruments)
SHEETS = MakeSheets(BENCH)
ML = 1_000_000
with (Path(__file__).parents[1] / "data" / "preparations.csv").open(encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file))


def pairs(text: str, sign: str) -> list[tuple[str, str]]:
    found = [part.partition(sign) for part in text.split(";") if part]
    return [(one, other) for one, _, other in found]


@pytest.mark.parametrize("row", ROWS, ids=[row["solution"] for row in ROWS])
def test_it_is_made_as_published(row: dict[str, str]) -> None:
    code, published = row["solution"], dict(pairs(row["per_litre"], "="))
    solution = CATALOGUE.solutions[code]
    route = next(r for r in BENCH.routes(code) if set(published) <= {p.options[0].item for p in r.parts})
    options = [part.options[0] for part in route.parts]
    for option in options:
        if option.item in published:
            wanted, within = float(published[option.item]), float(row["within_pct"]) / 100
            assert float(option.per_nl) * 1000 == pytest.approx(wanted, rel=within), (option.item, row["source"])
    size = min((s for s in BENCH.sizes(code) if s >= 500 * ML), default=BENCH.sizes(code)[-1])
    drawn = [
        DrawnItem(o.item, BENCH.measured(o.item, o.needed(size), solution, size).taken, "bottle K6G7")
        for o in options
        if o.item != "water"
    ]
    sheet = SHEETS.write_up(solution, route, options, size, drawn)
    said = " ".join(to_tick(sheet.steps))
    for phrase in filter(None, row["says"].split(";")):
        assert phrase in said, row["source"]
    for phrase in filter(None, row["never"].split(";")):
        assert phrase not in said, row["source"]
        # ISO 1042: a flask's mark is worth nothing to a strength that is known by weighing to no better than "about".
        assert phrase != "It gives" or "volumetric flask" not in said
    for first, then in pairs(row["order"], "<"):
        assert said.index(BENCH.named(first)) < said.index(BENCH.named(then)), row["source"]
    assert row["vessel"] in sheet.vessel, row["source"]
    kinds = {one.code: one.kind for one in CATALOGUE.instruments}
    others = dict(pairs(row["measured"], "="))
    for step in sheet.steps:
        if step.kind is StepKind.ADD and step.instrument and step.item != "water":
            usual = "balance" if BENCH.measure_of(step.item) is Measure.MASS else "measuring cylinder"
            assert kinds[step.instrument].value == others.get(step.item, usual), (step.text, row["source"])
    assert set(filter(None, row["keeping"].split(";"))) <= set(solution.keeping), row["source"]


def test_forty_preparations_are_checked_and_each_names_its_source() -> None:
    assert len({row["solution"] for row in ROWS}) >= 40
    assert all(row["source"] for row in ROWS)


@pytest.mark.parametrize("code", ["kmno4-0.002", "thiosulfate-0.01", "hcl-0.01"])
def test_weak_volumetric_solutions_are_made_fresh(code: str) -> None:
    """British Pharmacopoeia, appendix on volumetric solutions: those below 0.1 M are freshly prepared."""
    assert CATALOGUE.solutions[code].made_fresh


@pytest.mark.parametrize("code", ["khp-0.1", "oxalic-0.05", "sodium-carbonate-0.05", "edta-0.1", "kio3-0.02"])
def test_a_standard_is_made_up_in_a_volumetric_flask(code: str) -> None:
    """ISO 1042, class A or B: a standard is made up to a mark that is within a third of its tolerance."""
    solution = CATALOGUE.solutions[code]
    vessel = BENCH.vessel(code, next(s for s in BENCH.sizes(code) if s >= 250 * ML))
    assert "flask" in vessel.name
    assert vessel.tolerance * 300 <= Decimal(solution.tolerance_pct) * vessel.capacity
