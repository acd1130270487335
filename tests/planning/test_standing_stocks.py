"""A stock that stands there anyway comes before the concentrate: common practice, no source."""

from datetime import date

from prep.planning.draws import LinkKind
from prep.services.catalogue.on_file import OnFile
from prep.services.plan import plan as plan_service
from tests.planning.test_plan import bottle, plan, school


def test_what_a_make_leaves_over_of_a_stock_is_taken_and_not_the_concentrate() -> None:
    """860 mL of molar acid stand there on the day: a tenth of a litre of it, not 8.6 mL of concentrated acid."""
    drawn = plan_service.sample_plan(None, None, None)
    stocks = [b for b in drawn.plan.batches if b.solution == "hcl-1"]
    spare = {b.id: b.left_over for b in stocks}
    (late,) = [b for b in drawn.plan.batches if b.solution == "hcl-0.1" and b.make_on == date(2027, 2, 5)]
    assert [take.item for take in late.takes] == ["hcl-1"]
    assert all(take.kind is LinkKind.BATCH and take.ref in spare for take in late.takes)
    assert "have its strength found" not in " ".join(step.text for step in late.steps)


def test_where_nothing_is_left_over_the_concentrate_is_taken_in_one_step(catalogue: OnFile) -> None:
    stock = school(catalogue, bottle("hydrochloric-acid", 500), item="hcl-0.5", per=100)
    (made,) = plan(stock).batches
    assert [take.item for take in made.takes] == ["hydrochloric-acid"]
