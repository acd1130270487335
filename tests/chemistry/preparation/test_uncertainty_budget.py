"""What goes into the uncertainty of a make, and when there is none to give."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import hypot

import pytest

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import (
    Form,
    Instrument,
    InstrumentKind,
    RecipeLine,
    Solution,
    Strength,
    StrengthKind,
    Substance,
)
from prep.chemistry.preparation.instructions import MakeSheets
from prep.chemistry.preparation.routes import Route, RouteKind, RoutePart
from prep.chemistry.preparation.uncertainty_budget import Budgets
from prep.chemistry.preparation.vessels import Bench, VesselWork
from prep.chemistry.quantities import BASE_PER_UNIT

ML = BASE_PER_UNIT
SALT = Substance("salt", "Salt", "NaCl", "salt", Form.SOLID, assay_pct=Decimal(100))
SPIRIT = Substance("spirit", "Spirit", "C2H5OH", "spirit", Form.LIQUID, assay_pct=Decimal(96))
FLASK = Instrument("flask-100", "flask", InstrumentKind.FLASK, Decimal(100), Decimal("0.1"), Decimal(100))
TEN = Instrument("pipette-10", "pipette", InstrumentKind.PIPETTE, Decimal(10), Decimal("0.02"), Decimal(10))
BALANCE = Instrument("balance", "balance", InstrumentKind.BALANCE, Decimal(200), Decimal("0.001"), Decimal("0.001"))


def brine(code: str, mol_per_l: str) -> Solution:
    return Solution(code, code, "salt", Strength(Decimal(mol_per_l), StrengthKind.MOL_PER_L), 30)


def room(*solutions: Solution, instruments: tuple[Instrument, ...] = (FLASK, TEN, BALANCE)) -> Bench:
    return Bench(Catalogue({"salt": SALT, "spirit": SPIRIT}, {s.code: s for s in solutions}), instruments)


def work(bench: Bench, code: str, kind: RouteKind) -> VesselWork:
    (route,) = (r for r in bench.routes(code) if r.kind is kind)
    return bench.work(bench.solutions[code], route, [part.options[0] for part in route.parts], 100 * ML)


def test_a_part_of_the_solute_makes_a_part_of_the_uncertainty() -> None:
    bench = room(brine("strong", "1"), brine("weak", "0.2"))
    whole = {kind: work(bench, "weak", kind) for kind in (RouteKind.DILUTE, RouteKind.DISSOLVE)}
    halves = [
        replace(one.route.parts[0].options[0], per_nl=one.route.parts[0].options[0].per_nl / 2, share=Fraction(1, 2))
        for one in whole.values()
    ]
    route = Route(RouteKind.BLEND, tuple(RoutePart((half,)) for half in halves))
    result = Budgets(bench).of(bench.work(bench.solutions["weak"], route, halves, 100 * ML))
    assert result is not None
    *parts, vessel = result.parts
    assert {part.power for part in parts} == {0.5}
    assert vessel.power == -1
    assert result.relative == pytest.approx(hypot(*(p.standard / p.value / 2 for p in parts), vessel.relative))


def test_there_is_none_where_a_part_is_not_measured() -> None:
    bench = room(brine("strong", "1"), brine("weak", "0.1"), instruments=(FLASK, BALANCE))
    dilution = work(bench, "weak", RouteKind.DILUTE)
    assert dilution.portions[0].found is None
    assert Budgets(bench).of(dilution) is None
    assert Budgets(bench).of(work(bench, "weak", RouteKind.DISSOLVE)) is not None


def test_liquids_that_fill_the_volume_are_not_made_up_to_a_mark() -> None:
    bench = room(brine("strong", "1"), brine("weak", "0.999"))
    dilution = work(bench, "weak", RouteKind.DILUTE)
    assert not dilution.to_the_mark
    assert Budgets(bench).of(dilution) is None
    options = [part.options[0] for part in dilution.route.parts]
    sheet = MakeSheets(bench).write_up(dilution.solution, dilution.route, options, 100 * ML, ())
    assert any(step.text == "Together they make 100 mL; mix well." for step in sheet.steps)
    assert work(bench, "strong", RouteKind.DISSOLVE).to_the_mark


def test_what_it_is_made_up_with_is_no_portion() -> None:
    tincture = Solution(
        *("tincture", "Tincture", "", None, 30),
        recipe=(RecipeLine("salt", ML),),
        recipe_nl=100 * ML,
        make_up_with="spirit",
    )
    made = work(room(tincture), "tincture", RouteKind.RECIPE)
    assert [portion.item for portion in made.portions] == ["salt"]
    assert (made.free, made.to_the_mark) == (1, True)
