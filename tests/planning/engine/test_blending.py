"""A part from one source and the rest from another, where none alone suffices."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from prep.chemistry.model import RecipeLine, Strength, StrengthKind
from prep.planning.model import Booking, Bottle, Demo, Horizon, Need, Plan, Snapshot
from prep.planning.plan import make_plan
from prep.reports.plan.document import plan_document
from prep.services.catalogue.on_file import OnFile
from tests.planning.checker import check_plan
from tests.planning.test_plan import school

TODAY = date(2027, 1, 11)
END = TODAY + timedelta(days=30)
ML = 1_000_000


def _plan(stock: Snapshot) -> Plan:
    plan = make_plan(stock, Horizon(TODAY, END))
    assert check_plan(plan_document(plan, stock), stock) == []
    return plan


def _bottle(code: str, item: str, amount: float) -> Bottle:
    return Bottle(code, item, round(amount * ML))


def test_two_hydrates_make_one_solution(catalogue: OnFile) -> None:
    # 300 mL of 1 mol/L takes 32 g of the anhydrous salt or 86 g of the decahydrate; there are 20 g and 60 g.
    stock = school(
        catalogue,
        _bottle("K1", "sodium-carbonate", 20),
        _bottle("K2", "sodium-carbonate-10-water", 60),
        item="sodium-carbonate-1",
        per=250,
    )
    plan = _plan(stock)
    assert plan.requirements[0].short == 0
    (batch,) = plan.batches
    assert batch.route == "blend"
    assert sorted(t.ref for t in batch.takes) == ["K1", "K2"]
    assert "no one source suffices" in batch.why
    assert batch.uncertainty_pct is None  # the decahydrate loses water as it stands: weighing tells about
    assert [step for step in batch.steps if "K1" in step.text]
    assert [step for step in batch.steps if "K2" in step.text]


def test_two_concentrates_make_one_stock(catalogue: OnFile) -> None:
    stock = school(
        catalogue,
        _bottle("K1", "hydrochloric-acid", 25),
        _bottle("K2", "hydrochloric-acid-32", 30),
        item="hcl-1",
        per=350,
    )
    plan = _plan(stock)
    assert plan.requirements[0].short == 0
    assert [b.route for b in plan.batches if b.route == "blend"]
    assert {t.ref for b in plan.batches for t in b.takes if t.kind == "bottle"} == {"K1", "K2"}


def test_a_strength_that_cannot_be_made_again_is_blended_with_the_solid(catalogue: OnFile) -> None:
    # 500 mL of 0.5 mol/L: the stock gives half of it, the solid the rest; neither is enough alone.
    stock = school(
        catalogue,
        _bottle("K1", "cuso4-1", 130),
        _bottle("K2", "copper-sulfate-5-water", 40),
        item="cuso4-0.5",
        per=480,
    )
    plan = _plan(stock)
    assert plan.requirements[0].short == 0


def test_one_source_that_suffices_is_not_mixed(catalogue: OnFile) -> None:
    stock = school(
        catalogue,
        _bottle("K1", "sodium-carbonate", 200),
        _bottle("K2", "sodium-carbonate-10-water", 60),
        item="sodium-carbonate-1",
        per=250,
    )
    assert [b.route for b in _plan(stock).batches] == ["dissolve"]


def test_what_two_do_not_cover_stays_short_and_is_said(catalogue: OnFile) -> None:
    stock = school(
        catalogue,
        _bottle("K1", "sodium-carbonate", 5),
        _bottle("K2", "sodium-carbonate-10-water", 20),
        item="sodium-carbonate-1",
        per=250,
    )
    plan = _plan(stock)
    assert plan.requirements[0].short
    assert any(f.severity == "stop" and f.about == plan.requirements[0].id for f in plan.findings)


def test_a_part_of_a_recipe_is_shared_between_two_hydrates(catalogue: OnFile) -> None:
    base = catalogue.solutions["hcl-1"]
    mix = replace(
        base,
        code="mix",
        name="Mixture",
        strength=None,
        made_from=(),
        recipe=(RecipeLine("sodium-carbonate", 10 * ML), RecipeLine("sodium-chloride", 5 * ML)),
        recipe_nl=100 * ML,
    )
    stock = school(
        catalogue,
        _bottle("K1", "sodium-carbonate", 20),
        _bottle("K2", "sodium-carbonate-10-water", 60),
        _bottle("K3", "sodium-chloride", 100),
    )
    stock = replace(
        stock,
        catalogue=replace(catalogue, solutions={**catalogue.solutions, "mix": mix}),
        demos={"d": Demo("d", "D", (Need("mix", 250 * ML),), spare=mix.tolerance_pct * 0)},
        bookings=(Booking("B0", TODAY + timedelta(days=7), "", "", "", "d", 1),),
    )
    plan = _plan(stock)
    assert plan.requirements[0].short == 0
    assert [sorted(t.ref for t in b.takes) for b in plan.batches] == [["K1", "K2", "K3"]]


def test_a_buffer_is_made_from_another_pair_that_gives_the_same_totals(catalogue: OnFile) -> None:
    stock = school(
        catalogue,
        _bottle("K1", "sodium-acetate", 100),
        _bottle("K2", "hcl-1", 500),
        item="buffer-4.6",
        per=200,
    )
    plan = _plan(stock)
    assert plan.requirements[0].short == 0
    (batch,) = plan.batches
    assert sorted(t.item for t in batch.takes) == ["hcl-1", "sodium-acetate"]
    assert any("conserved" in line.text for line in batch.working)
    assert any("pH with a meter" in step.text for step in batch.steps)


def test_a_buffer_that_its_card_can_make_is_made_so(catalogue: OnFile) -> None:
    stock = school(
        catalogue,
        _bottle("K1", "sodium-acetate", 100),
        _bottle("K2", "hcl-1", 500),
        _bottle("K3", "ethanoic-1", 500),
        _bottle("K4", "sodium-ethanoate-1", 500),
        item="buffer-4.6",
        per=200,
    )
    assert {t.ref for b in _plan(stock).batches for t in b.takes} == {"K3", "K4"}


# Another strength blended ------------------------------------------------------------------------------


def _mol(code: str, item: str, amount: float, found: str) -> Bottle:
    return replace(_bottle(code, item, amount), strength=Strength(Decimal(found), StrengthKind.MOL_PER_L))


def test_a_stronger_and_a_weaker_solution_make_one_between(catalogue: OnFile) -> None:
    # 250 mL of 1 mol/L need 250 mmol: 100 mL at 2 mol/L hold 200, 100 of the 400 mL at 0.5 mol/L the rest.
    stock = school(catalogue, _bottle("K1", "hcl-2", 100), _bottle("K2", "hcl-0.5", 400), item="hcl-1", per=250)
    plan = _plan(stock)
    assert plan.requirements[0].short == 0
    (batch,) = plan.batches
    assert batch.route == "blend"
    used = {t.ref: t.used / ML for t in batch.takes}
    assert set(used) == {"K1", "K2"}
    assert used["K1"] * 2 + used["K2"] * 0.5 == pytest.approx(250, rel=0.01)
    assert sum(used.values()) <= 250
    assert "hcl-0.5" in batch.why
    assert any("C V = C1 V1 + C2 V2" in line.text for line in batch.working)
    assert batch.uncertainty_pct is not None


def test_no_blend_is_more_than_its_volume(catalogue: OnFile) -> None:
    # 200 of 250 mmol are in the strong one; the rest would be 500 mL of 0.1 mol/L.
    stock = school(catalogue, _bottle("K1", "hcl-2", 100), _bottle("K2", "hcl-0.1", 2000), item="hcl-1", per=250)
    plan = _plan(stock)
    assert plan.requirements[0].short == 50 * ML  # 200 mL are made of the strong one alone
    assert [b.route for b in plan.batches] == ["dilute"]


def test_a_weaker_bottle_below_its_label_still_fits(catalogue: OnFile) -> None:
    stock = school(catalogue, _bottle("K1", "hcl-2", 100), _mol("K2", "hcl-0.5", 400, "0.42"), item="hcl-1", per=250)
    plan = _plan(stock)
    assert plan.requirements[0].short == 0
    used = {t.ref: t.used / ML for t in plan.batches[0].takes}
    assert used["K1"] * 2 + used["K2"] * 0.42 == pytest.approx(250, rel=0.01)
    assert sum(used.values()) <= 250


def test_what_another_booking_wants_is_not_blended_away(catalogue: OnFile) -> None:
    stock = school(catalogue, _bottle("K1", "hcl-2", 100), _bottle("K2", "hcl-0.5", 400), item="hcl-1", per=250)
    stock = replace(
        stock,
        demos={**stock.demos, "e": Demo("e", "E", (Need("hcl-0.5", 380 * ML),), spare=Decimal(0))},
        bookings=(*stock.bookings, Booking("B9", TODAY + timedelta(days=20), "", "", "", "e", 1)),
    )
    plan = _plan(stock)
    assert {n.booking: bool(n.short) for n in plan.requirements} == {"B0": True, "B9": False}


def test_three_sources_where_two_do_not_suffice(catalogue: OnFile) -> None:
    # 440 mL of 1 mol/L are made as 500 mL: no two of 120, 130 and 290 mmol are enough.
    stock = school(
        catalogue,
        _bottle("K1", "hcl-2", 60),
        _bottle("K2", "hydrochloric-acid", 11),
        _bottle("K3", "hydrochloric-acid-32", 28),
        item="hcl-1",
        per=440,
    )
    plan = _plan(stock)
    assert plan.requirements[0].short == 0
    assert max(len({t.ref for t in b.takes if t.kind == "bottle"}) for b in plan.batches) == 3


def test_two_strong_and_a_weak_source(catalogue: OnFile) -> None:
    stock = school(
        catalogue,
        _bottle("K1", "hcl-2", 60),
        _bottle("K2", "hydrochloric-acid-32", 8),
        _bottle("K3", "hcl-0.5", 300),
        item="hcl-1",
        per=250,
    )
    plan = _plan(stock)
    assert plan.requirements[0].short == 0
    (batch,) = plan.batches
    assert sorted({t.ref for t in batch.takes}) == ["K1", "K2", "K3"]


def test_old_stock_that_goes_off_is_used_up_in_a_stronger_make(catalogue: OnFile) -> None:
    old = replace(_bottle("K2", "hcl-0.5", 600), use_by=TODAY + timedelta(days=12))
    stock = school(catalogue, _bottle("K1", "hcl-2", 1000), old, item="hcl-1", per=250)
    plan = _plan(stock)
    (batch,) = plan.batches
    used = {t.ref: t.used / ML for t in batch.takes}
    assert used["K2"] == pytest.approx(600, rel=0.1)
    assert used["K1"] * 2 + used["K2"] * 0.5 == pytest.approx(1000, rel=0.01)
    assert "uses up hcl-0.5" in batch.why


def test_old_stock_that_keeps_is_left_alone(catalogue: OnFile) -> None:
    stock = school(catalogue, _bottle("K1", "hcl-2", 1000), _bottle("K2", "hcl-0.5", 100), item="hcl-1", per=250)
    assert [b.route for b in _plan(stock).batches] == ["dilute"]


def test_no_weaker_solution_is_made_for_a_blend(catalogue: OnFile) -> None:
    stock = school(catalogue, _bottle("K1", "hcl-2", 100), item="hcl-1", per=250)
    assert [b.route for b in _plan(stock).batches] == ["dilute"]


def test_a_blend_outlasts_the_walks_that_another_shortage_takes(catalogue: OnFile) -> None:
    old = replace(_bottle("K2", "hcl-0.5", 600), use_by=TODAY + timedelta(days=12))
    stock = school(catalogue, _bottle("K1", "hcl-2", 1000), old, item="hcl-1", per=250)
    stock = replace(
        stock,
        demos={**stock.demos, "e": Demo("e", "E", (Need("cuso4-1", 50 * ML),), spare=Decimal(0))},
        bookings=(*stock.bookings, Booking("B9", TODAY + timedelta(days=7), "", "", "", "e", 1)),
    )
    plan = _plan(stock)
    assert {n.booking: bool(n.short) for n in plan.requirements} == {"B0": False, "B9": True}
    assert {t.ref for b in plan.batches for t in b.takes} == {"K1", "K2"}
