"""What is printed for the bench: instruments, figures, intermediate dilutions, and how exact it comes out."""

from decimal import Decimal
from fractions import Fraction
from functools import cache
from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Instrument, InstrumentKind, Solution, Strength, StrengthKind, Substance
from prep.chemistry.preparation.instructions import MakeSheets
from prep.chemistry.preparation.routes import RouteKind
from prep.chemistry.preparation.steps import DrawnItem, gives
from prep.chemistry.preparation.uncertainty_budget import Budgets
from prep.chemistry.preparation.vessels import Bench
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue

ML = 1_000_000
SALT = Substance("salt", "Salt", "NaCl", "salt", Form.SOLID, assay_pct=Decimal(100))


@cache
def catalogue() -> OnFile:
    return read_catalogue(seed_data())


@cache
def shipped() -> Bench:
    return Bench(catalogue(), tuple(catalogue().instruments))


def brine(code: str, mol_per_l: str, tolerance: str = "1") -> Solution:
    strength = Strength(Decimal(mol_per_l), StrengthKind.MOL_PER_L)
    return Solution(code, f"Salt, {mol_per_l} mol/L", "salt", strength, 30, tolerance_pct=Decimal(tolerance))


def instrument(code: str, kind: InstrumentKind, capacity: str, tolerance: str, resolution: str) -> Instrument:
    return Instrument(code, code, kind, Decimal(capacity), Decimal(tolerance), Decimal(resolution))


FLASK = instrument("flask-100", InstrumentKind.FLASK, "100", "0.1", "100")
PIPETTE = instrument("pipette-1", InstrumentKind.PIPETTE, "1", "0.006", "1")
TEN = instrument("pipette-10", InstrumentKind.PIPETTE, "10", "0.02", "10")
BALANCE = instrument("balance", InstrumentKind.BALANCE, "200", "0.001", "0.001")


def room(*solutions: Solution, instruments: tuple[Instrument, ...] = (FLASK, PIPETTE, TEN, BALANCE)) -> Bench:
    return Bench(Catalogue({"salt": SALT}, {s.code: s for s in solutions}), instruments)


def text_of(bench: Bench, code: str, kind: RouteKind, amount: int = 100 * ML) -> tuple[list[str], Decimal | None]:
    (route,) = (r for r in bench.routes(code) if r.kind is kind)
    sheet = MakeSheets(bench).write_up(bench.solutions[code], route, [p.options[0] for p in route.parts], amount, ())
    return [step.text for step in sheet.steps], sheet.uncertainty_pct


def test_a_weighed_solution_adds_up_by_hand() -> None:
    """EURACHEM/CITAC Guide CG4, 3rd ed. (2012), example A1's model: c = m P / V, all in quadrature."""
    steps, pct = text_of(room(brine("s", "0.1")), "s", RouteKind.DISSOLVE)
    mass = 0.5844
    weighed = sqrt(2) * sqrt(0.001**2 / 3 + 0.0005**2 / 3) / mass
    volume = sqrt(0.1**2 / 6 + (100 * 2.1e-4 * 4) ** 2 / 3) / 100
    purity, molar_mass = 0.005 / sqrt(3), 1e-4 / sqrt(3)
    expected = 200 * sqrt(weighed**2 + volume**2 + purity**2 + molar_mass**2)
    assert float(pct or 0) == pytest.approx(expected, abs=0.05 * expected)
    assert steps[0].startswith("Weigh 0.584 g with the balance")
    assert "It gives 0.1000 +- 0.0007 mol/L (k = 2)" in steps[-2]


def test_a_small_step_goes_through_two_intermediates_and_shows_both() -> None:
    bench = room(brine("strong", "1"), brine("weak", "0.00001", "5"))
    steps, pct = text_of(bench, "weak", RouteKind.DILUTE)
    one, two, three = steps[1:4]
    assert one.startswith("First an intermediate: measure 1 mL with the pipette-1: Salt, 1 mol/L; make it up")
    assert two.startswith("Then a second intermediate: measure")
    assert "of the first; make it up to the mark in the flask-100" in two
    assert "of the second intermediate; add it slowly" in three
    out = bench.measured("strong", 1000, bench.solutions["weak"], 10**9)
    taken, reaches = out.taken, out.reaches
    assert (taken, reaches) == (1 * ML, 1000)
    assert pct is not None
    assert pct <= 5
    assert "measure 1 mL with" in two
    assert three.startswith("Measure 10 mL with the pipette-10")
    stock = Budgets(bench).strength_of("strong").standard
    small, ten, flask = 0.006 / sqrt(6), 0.02 / 10 / sqrt(6), 0.1 / 100 / sqrt(6)
    by_hand = 200 * sqrt(stock**2 + 2 * small**2 + ten**2 + 3 * flask**2)
    assert float(pct) == pytest.approx(by_hand, rel=0.03)


def test_the_last_figure_of_a_dilution_moves_what_is_stated() -> None:
    """1 mL into 100 mL, then 3.33 mL of that, which is set as 3.3 mL: a hundredth less."""
    graduated = instrument("graduated", InstrumentKind.GRADUATED_PIPETTE, "10", "0.05", "0.1")
    bench = room(brine("strong", "1"), brine("weak", "0.000333", "20"), instruments=(FLASK, PIPETTE, graduated))
    steps, pct = text_of(bench, "weak", RouteKind.DILUTE)
    assert "measure 1 mL" in steps[1]
    assert steps[2].startswith("Measure 3.3 mL with the graduated of the intermediate")
    assert "It gives 0.000330 +- 0.000007 mol/L (k = 2)." in steps[-2]
    stock = Budgets(bench).strength_of("strong").standard
    read = sqrt(0.05**2 / 6 + 0.05**2 / 3) / 3.33
    small, flask = 0.006 / sqrt(6), 0.1 / 100 / sqrt(6)
    by_hand = 200 * sqrt(stock**2 + small**2 + read**2 + 2 * flask**2)
    assert float(pct or 0) == pytest.approx(by_hand, rel=0.03)


def test_the_temperature_counts_where_a_mass_meets_a_volume_and_cancels_in_a_dilution() -> None:
    bench = room(brine("strong", "1"), brine("weak", "0.1"))
    for code, kind, counts in (("strong", RouteKind.DISSOLVE, True), ("weak", RouteKind.DILUTE, False)):
        (route,) = (r for r in bench.routes(code) if r.kind is kind)
        options = [p.options[0] for p in route.parts]
        sheet = MakeSheets(bench).write_up(bench.solutions[code], route, options, 100 * ML, ())
        (vessel,) = (line.text for line in sheet.working if line.text.startswith("flask-100:"))
        assert ("±4 C" in vessel) == counts


def test_a_found_strength_counts_for_how_exact_it_comes_out() -> None:
    bench = room(brine("stock", "1"), brine("weak", "0.1"))
    (route,) = (r for r in bench.routes("weak") if r.kind is RouteKind.DILUTE)
    options = [p.options[0] for p in route.parts]
    solution = bench.solutions["weak"]

    def pct(*drawn: DrawnItem) -> Decimal:
        return MakeSheets(bench).write_up(solution, route, options, 100 * ML, drawn).uncertainty_pct or Decimal(0)

    as_made = pct(DrawnItem("stock", 10 * ML, "bottle A"))
    found = pct(DrawnItem("stock", 10 * ML, "bottle A", Decimal("0.1")))
    assert found < as_made
    half = (DrawnItem("stock", 5 * ML, "bottle A", Decimal("0.1")), DrawnItem("stock", 5 * ML, "bottle B"))
    assert pct(*half) == as_made
    expected = sqrt(0.1**2 + (200 * 0.02 / 10 / sqrt(6)) ** 2 + (200 * 0.1 / 100 / sqrt(6)) ** 2)
    assert float(found) == pytest.approx(expected, rel=0.05)


def test_the_figure_follows_what_a_bottle_off_its_nominal_strength_gives() -> None:
    burette = instrument("burette", InstrumentKind.BURETTE, "50", "0.05", "0.1")
    bench = room(brine("stock", "1"), brine("weak", "0.1"), instruments=(FLASK, burette))
    (route,) = (r for r in bench.routes("weak") if r.kind is RouteKind.DILUTE)
    options = [p.options[0] for p in route.parts]
    drawn = [DrawnItem("stock", 9_700_000, "bottle A", Decimal("0.2"))]
    sheet = MakeSheets(bench).write_up(bench.solutions["weak"], route, options, 100 * ML, drawn)
    assert "Measure 9.7 mL with the burette" in sheet.steps[1].text


def test_every_make_of_the_catalogue_is_as_good_as_its_card_or_says_so() -> None:
    seen = 0
    bench = shipped()
    sheets = MakeSheets(bench)
    for code, solution in catalogue().solutions.items():
        for route in bench.routes(code):
            volumes = bench.sizes(code)
            for amount in {volumes[0], volumes[len(volumes) // 2], volumes[-1]}:
                sheet = sheets.write_up(solution, route, [p.options[0] for p in route.parts], amount, ())
                words = " ".join(step.text for step in sheet.steps)
                if sheet.uncertainty_pct is None:
                    assert "It gives" not in words
                    continue
                assert sheet.strength is not None
                assert f"It gives {gives(sheet.strength, sheet.uncertainty_pct)}." in words
                assert ("Its entry asks for" in words) == (sheet.uncertainty_pct > solution.tolerance_pct)
                seen += 1
    assert seen > 200


@settings(max_examples=60, deadline=None)
@given(st.decimals("0.00001", "0.5", places=5).filter(bool), st.sampled_from(["0.5", "1", "2", "5"]), st.booleans())
def test_a_route_is_never_worse_than_what_it_claims(strength: Decimal, tolerance: str, weigh: bool) -> None:
    bench = Bench(
        Catalogue(
            {"salt": SALT}, {"stock": brine("stock", "1", "0.5"), "made": brine("made", str(strength), tolerance)}
        ),
        tuple(catalogue().instruments),
    )
    steps, pct = text_of(bench, "made", RouteKind.DISSOLVE if weigh else RouteKind.DILUTE, 250 * ML)
    if pct is None:
        assert any("nothing in the room measures that" in step for step in steps)
    else:
        assert pct <= Decimal(tolerance) or any("may be off by" in step for step in steps)


def test_what_reaches_the_product_is_what_the_dilutions_leave() -> None:
    bench = room(brine("strong", "1"), brine("weak", "0.001"))
    solution = bench.solutions["weak"]
    out = bench.measured("strong", 100_000, solution, 10**9)
    taken, reaches = out.taken, out.reaches
    assert taken > reaches
    assert abs(Fraction(reaches, 100_000) - 1) <= Fraction(solution.tolerance_pct) / 100
