"""The chain behind a line of the plan: complete, adding up, and the same read from either end."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from prep.errors import PrepError
from prep.planning.model import Bottle, Horizon, Plan
from prep.planning.pegging import PeggingLink, why, why_unused
from prep.planning.plan import make_plan
from prep.services.plan import snapshot as loaded


@pytest.fixture(scope="module")
def sample() -> loaded.Sample:
    return loaded.sample()


@pytest.fixture(scope="module")
def plan(sample: loaded.Sample) -> Plan:
    return make_plan(sample.snapshot, Horizon(sample.start, sample.end))


def _all(link: PeggingLink) -> Iterator[PeggingLink]:
    yield link
    for below in link.down:
        yield from _all(below)


def test_every_requirement_leads_down_to_bottles_and_orders_that_add_up(sample: loaded.Sample, plan: Plan) -> None:
    for need in plan.requirements:
        link = why(plan, sample.snapshot, need.id)
        assert sum(below.amount for below in link.down) == need.amount
        for one in _all(link):
            assert one.down or one.kind in ("bottle", "order", "shortage"), one.ref
            assert one.kind != "batch" or one.working


def test_every_bottle_leads_up_to_the_bookings_that_draw_on_it(sample: loaded.Sample, plan: Plan) -> None:
    bookings = {b.code for b in sample.snapshot.bookings}
    drawn = [line for line in plan.bottles if line.takes]
    assert drawn
    for line in drawn:
        link = why(plan, sample.snapshot, line.code)
        assert sum(above.amount for above in link.up) == line.start - line.end
        todo = list(link.up)
        while todo:
            above = todo.pop()
            todo += above.up
            assert above.up or above.ref.partition(".")[0] in bookings


def test_every_batch_and_order_has_its_chain(sample: loaded.Sample, plan: Plan) -> None:
    for batch in plan.batches:
        link = why(plan, sample.snapshot, batch.id)
        assert len(link.down) == len(batch.takes)
        assert sum(above.amount for above in link.up) == batch.amount - batch.left_over
    for line in plan.orders:
        link = why(plan, sample.snapshot, line.id)
        assert any(line.why in sentence for sentence in link.says)
        assert why(plan, sample.snapshot, line.item).ref == link.ref
    for placed in sample.snapshot.orders:
        assert why(plan, sample.snapshot, placed.code).kind == "order"


def test_each_size_of_an_order_is_asked_for_by_its_id_and_by_the_item(sample: loaded.Sample, plan: Plan) -> None:
    first = plan.orders[0]
    second = replace(first, id=f"{first.order}+2", for_=())
    two = replace(plan, orders=(first, second, *plan.orders[1:]))
    asked = [why(two, sample.snapshot, ref) for ref in (first.order, first.item, second.id, f"{first.item}+2")]
    assert {one.ref for one in asked} == {first.order}
    assert len({one.amount for one in asked}) == 1


def test_a_booking_names_all_that_it_gets(sample: loaded.Sample, plan: Plan) -> None:
    link = why(plan, sample.snapshot, "B1")
    assert [below.ref for below in link.down] == [n.id for n in plan.requirements if n.booking == "B1"]


def test_what_the_plan_does_not_have_is_said_with_what_is_near(sample: loaded.Sample, plan: Plan) -> None:
    near = plan.batches[0].id[:-1]
    with pytest.raises(PrepError, match=plan.batches[0].id.partition("@")[0]):
        why(plan, sample.snapshot, near)


def test_a_bottle_whose_found_strength_is_off_says_so_and_another_does_not(sample: loaded.Sample, plan: Plan) -> None:
    stock = sample.snapshot
    need = next(n for n in plan.requirements if n.item == "naoh-1" or n.item == "hcl-1")
    own = stock.solutions[need.item].strength
    assert own is not None
    for ratio, off in ((Decimal("0.9"), True), (Decimal("0.999"), False)):
        found = replace(own, value=own.value * ratio)
        bottle = Bottle("F1", need.item, 500_000_000, need.needed_on + timedelta(days=300), "PREP", strength=found)
        standing = replace(stock, bottles=(*stock.bottles, bottle))
        again = make_plan(standing, Horizon(sample.start, sample.end))
        said = why_unused(bottle, again, standing)
        assert ("not set out: found" in said) is off, said
        if off:
            assert str(found) in said
            assert "% off the" in said
            served = {share.ref for one in again.requirements for share in one.served}
            assert "F1" not in served
