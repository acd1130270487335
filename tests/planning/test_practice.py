"""No make of the sample school is one that a technician would shake the head at; and the rules do see such makes."""

from dataclasses import replace
from typing import Any

import pytest

from prep.chemistry.model import StepKind
from prep.chemistry.preparation.steps import WrittenStep
from prep.planning.model import Batch, Snapshot
from prep.planning.plan import make_plan
from prep.services.plan.plan import DrawnPlan, sample_plan
from tests.practice_rules import broken


@pytest.fixture(scope="module")
def drawn() -> DrawnPlan:
    return sample_plan(None, None, None)


def _rules(batch: Batch, snapshot: Snapshot) -> set[str]:
    return {rule for rule, _ in broken(batch, snapshot)}


def test_no_make_of_the_sample_breaks_a_rule(drawn: DrawnPlan) -> None:
    assert [(batch.id, *said) for batch in drawn.plan.batches for said in broken(batch, drawn.snapshot)] == []


def test_fewer_makes_than_bookings_took_when_each_make_stood_alone(drawn: DrawnPlan) -> None:
    """Without usual batches and what they leave over for later needs, these 88 bookings took 99 makes."""
    first = tuple(booking for booking in drawn.snapshot.bookings if int(booking.code[1:]) <= 88)
    plan = make_plan(replace(drawn.snapshot, bookings=first), drawn.plan.horizon)
    assert len(first) == 88
    assert len(plan.batches) < 99
    for batch in plan.batches:
        assert sum(take.used != take.amount for take in batch.takes) <= 1  # one intermediate at most


@pytest.mark.parametrize(
    ("code", "changed", "rule"),
    [
        ("naoh-0.1", {"vessel": "2 L volumetric flask"}, "flask for what is only about"),
        ("cuso4-0.5", {"vessel": "2 L volumetric flask"}, "flask where a cylinder does"),
        ("kmno4-0.02", {"steps": ()}, "method left out"),
        (
            "cuso4-0.5",
            {"steps": (WrittenStep("Weigh 1 g with the balance: salt; stir until it has dissolved."),)},
            "solid with nothing to dissolve it",
        ),
        (
            "cuso4-0.1",
            {
                "steps": (
                    WrittenStep(
                        "Measure 103.5 mL with the 250 mL cylinder: x", "cylinder-250", StepKind.ADD, "cuso4-1"
                    ),
                )
            },
            "figure off the scale",
        ),
        (
            "cuso4-0.1",
            {
                "steps": (
                    WrittenStep("Measure 90 mL with the 100 mL cylinder: x", "cylinder-100", StepKind.ADD, "cuso4-1"),
                )
            },
            "figures that differ",
        ),
    ],
)
def test_a_make_that_breaks_a_rule_is_seen(drawn: DrawnPlan, code: str, changed: dict[str, Any], rule: str) -> None:
    batch = next(one for one in drawn.plan.batches if one.solution == code)
    assert rule not in _rules(batch, drawn.snapshot)
    assert rule in _rules(batch.rewritten(**changed), drawn.snapshot)


def test_an_odd_volume_needs_its_reason(drawn: DrawnPlan) -> None:
    batch = next(one for one in drawn.plan.batches if one.solution == "cuso4-0.5")
    assert "odd batch" in _rules(replace(batch, amount=1_230_000_000), drawn.snapshot)
    assert "odd batch" in _rules(replace(batch, amount=4_000_000, why=""), drawn.snapshot)
