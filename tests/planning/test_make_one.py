"""One make on its own is the make that a plan would give: what a plan says can be made, `prep make` can log."""

import pytest

from prep.planning.draws import Take
from prep.planning.make_one import make_one
from prep.planning.model import Bottle, Snapshot
from prep.services.catalogue.on_file import OnFile
from tests.planning.test_plan import plan, school

ML = 1_000_000
SODA = ("sodium-carbonate", 20), ("sodium-carbonate-10-water", 60)


def _by_ref(take: Take) -> str:
    return take.ref


def _held(catalogue: OnFile, *held: tuple[str, float], item: str, per: int) -> Snapshot:
    bottles = (Bottle(f"K{n}", what, round(amount * ML)) for n, (what, amount) in enumerate(held))
    return school(catalogue, *bottles, item=item, per=per)


@pytest.mark.parametrize(
    ("held", "item", "per"),
    [
        (SODA, "sodium-carbonate-1", 250),  # two hydrates
        ((("hcl-2", 1000),), "hcl-1", 250),  # one source suffices
    ],
)
def test_it_is_made_as_the_plan_makes_it(
    catalogue: OnFile, held: tuple[tuple[str, float], ...], item: str, per: int
) -> None:
    stock = _held(catalogue, *held, item=item, per=per)
    (batch,) = (batch for batch in plan(stock).batches if batch.solution == item)
    single = make_one(stock, item, batch.amount)
    assert single.missing == ()
    assert single.batch.route == batch.route
    assert sorted(single.batch.takes, key=_by_ref) == sorted(batch.takes, key=_by_ref)
    assert single.batch.steps == batch.steps


def test_a_stock_that_can_be_made_first_is_missing_and_not_mixed_around(catalogue: OnFile) -> None:
    stock = _held(catalogue, ("hydrochloric-acid", 25), ("hydrochloric-acid-32", 30), item="hcl-1", per=350)
    assert len({batch.solution for batch in plan(stock).batches}) > 1
    single = make_one(stock, "hcl-1", 350 * ML)
    assert single.batch.route != "blend"
    assert len(single.missing) == 1


def test_the_one_source_asked_for_is_not_mixed_with_another(catalogue: OnFile) -> None:
    stock = _held(catalogue, *SODA, item="sodium-carbonate-1", per=250)
    single = make_one(stock, "sodium-carbonate-1", 250 * ML, "sodium-carbonate")
    assert [t.ref for t in single.batch.takes] == ["K0"]
    assert [lack.item for lack in single.missing] == ["sodium-carbonate"]


def test_a_weaker_solution_that_bookings_may_want_is_left_alone(catalogue: OnFile) -> None:
    """In a plan, which knows them, it gives a part: 250 mL of 1 mol/L take 62 g of the solid, and there are 50."""
    stock = _held(catalogue, ("copper-sulfate-5-water", 50), ("cuso4-0.5", 400), item="cuso4-1", per=250)
    assert {t.ref for batch in plan(stock).batches for t in batch.takes} == {"K0", "K1"}
    single = make_one(stock, "cuso4-1", 250 * ML)
    assert [lack.item for lack in single.missing] == ["copper-sulfate-5-water"]
    assert [t.ref for t in single.batch.takes] == ["K0"]


def test_what_nothing_measures_is_not_measured_but_its_stock_is_missing(catalogue: OnFile) -> None:
    """A litre of 0.01 mol/L takes 0.9 mL of the concentrated acid, which no cylinder shows to within its tolerance."""
    stock = _held(catalogue, ("hydrochloric-acid", 500), item="hcl-0.01", per=250)
    assert [lack.item for lack in make_one(stock, "hcl-0.01", 250 * ML).missing] == ["hcl-0.1"]
    asked = make_one(stock, "hcl-0.01", 1000 * ML, "hydrochloric-acid")
    assert [take.item for take in asked.batch.takes] == ["hydrochloric-acid"]
