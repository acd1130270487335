"""What-if: each kind of change as a person writes it, its effect, and what is not understood."""

from datetime import timedelta

import pytest

from prep.errors import PrepError
from prep.planning.model import Horizon, Plan
from prep.planning.plan import make_plan
from prep.services.plan import snapshot as loaded
from prep.services.plan.what_if import SupposedPlan, changed_by, suppose


@pytest.fixture(scope="module")
def sample() -> loaded.Sample:
    return loaded.sample()


@pytest.fixture(scope="module")
def present(sample: loaded.Sample) -> Plan:
    return make_plan(sample.snapshot, Horizon(sample.start, sample.end))


def _suppose(sample: loaded.Sample, present: Plan, *changes: str) -> SupposedPlan:
    return suppose(sample.snapshot, present, present.horizon, changes)


def test_nothing_supposed_changes_nothing(sample: loaded.Sample, present: Plan) -> None:
    assert not _suppose(sample, present).difference


def test_a_bottle_gone_is_drawn_on_no_more(sample: loaded.Sample, present: Plan) -> None:
    used = next(line for line in present.bottles if any(d.user.kind == "requirement" for d in line.takes))
    found = _suppose(sample, present, f"bottle {used.code} gone")
    assert found.difference
    assert all(s.ref != used.code for n in found.plan.requirements for s in n.served)


def test_every_bottle_of_an_item_gone_puts_its_first_bookings_at_risk(sample: loaded.Sample, present: Plan) -> None:
    rules = sample.snapshot.rules
    soon = next(
        n
        for n in present.requirements
        if n.item in rules
        and {s.kind for s in n.served} == {"bottle"}
        and n.needed_on < sample.snapshot.today + timedelta(days=rules[n.item].lead_days)
        and all(order.item != n.item for order in sample.snapshot.orders)
    )
    gone = [f"bottle {b.code} gone" for b in sample.snapshot.bottles if b.item == soon.item]
    found = _suppose(sample, present, *gone).difference
    assert soon.booking in found.at_risk
    assert [n.short for n in found.short if n.id == soon.id] == [soon.amount]
    assert any(c.after and c.after.item == soon.item for c in found.orders)


def test_a_booking_added_shows_what_is_made_for_it(sample: loaded.Sample, present: Plan) -> None:
    on = sample.start + timedelta(days=16)
    found = _suppose(sample, present, f"booking copper-electrolysis on {on} x 3")
    assert [n.booking for n in found.plan.requirements if n.booking.startswith("new-")]
    assert any(c.after and any(s.ref.startswith("new-1.") for s in c.after.serves) for c in found.difference.makes)


def test_a_booking_moved_or_cancelled(sample: loaded.Sample, present: Plan) -> None:
    on = sample.start + timedelta(days=9)
    moved = _suppose(sample, present, f"booking B1 on {on}")
    assert {n.needed_on for n in moved.plan.requirements if n.booking == "B1"} == {on}
    gone = _suppose(sample, present, "booking B1 cancelled")
    assert all(n.booking != "B1" for n in gone.plan.requirements)


def test_a_delivery_late_puts_bookings_at_risk(sample: loaded.Sample, present: Plan) -> None:
    placed = next(o for o in sample.snapshot.orders if any(t.ref == o.code for b in present.batches for t in b.takes))
    late = changed_by(sample.snapshot, f"order {placed.code} 30 days late")
    assert next(o.due for o in late.orders if o.code == placed.code) == placed.due + timedelta(days=30)
    assert _suppose(sample, present, f"order {placed.code} 30 late").difference


def test_what_only_reads_otherwise_is_not_gone(sample: loaded.Sample, present: Plan) -> None:
    stop = next(f for f in present.findings if f.code == "runs-out")
    item = next(n for n in present.requirements if n.id == stop.about).item
    bottles = [f"bottle {b.code} gone" for b in sample.snapshot.bottles if b.item.startswith(item.partition("-")[0])]
    for changes in (bottles, ["order P1 5 days late"], [*bottles, "order P1 5 days late"]):
        found = _suppose(sample, present, *changes).difference
        new = {(f.code, f.about) for f in found.new_findings}
        assert not new & {(f.code, f.about) for f in found.gone_findings}
    assert any(f.about == stop.about and f != stop for f in found.new_findings)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "rain",
        "bottle NONE gone",
        "booking nothing on 2027-01-20",
        "booking B1 on 2027-13-01",
        "booking B1 on 1999-01-01",
        "booking copper-electrolysis on 2027-01-20 x 0",
        "order NONE 3 days late",
        "booking NONE gone",
        "order P1 -3 days late",
    ],
)
def test_what_is_no_change_is_said(sample: loaded.Sample, text: str) -> None:
    with pytest.raises(PrepError):
        changed_by(sample.snapshot, text)
