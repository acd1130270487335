"""The documents of `plan why` and `plan --what-if` are what their schemas say."""

import json
from importlib import resources
from typing import Any

import jsonschema
import pytest

from prep.planning.pegging import why
from prep.reports.plan.pegging_view import difference_document, why_document
from prep.services.plan import plan as plan_service
from prep.services.plan.plan import DrawnPlan
from prep.services.plan.what_if import suppose


@pytest.fixture(scope="module")
def drawn() -> DrawnPlan:
    return plan_service.sample_plan(None, None, None)


def _validate(document: Any, name: str) -> None:
    schema = json.loads(resources.files("prep.reports").joinpath(f"{name}.schema.json").read_text())
    validator = jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())
    validator.validate(json.loads(json.dumps(document)))


def test_every_chain_of_the_plan_fits_its_schema(drawn: DrawnPlan) -> None:
    plan = drawn.plan
    ids = [*(n.id for n in plan.requirements), *(b.id for b in plan.batches), *(o.id for o in plan.orders)]
    for ref in [*ids, *(b.code for b in plan.bottles), "B1"]:
        _validate(why_document(why(plan, drawn.snapshot, ref), drawn.snapshot), "why")


@pytest.mark.parametrize(
    "changes",
    [
        ("booking B1 gone",),
        ("order P1 40 days late", "booking blue-bottle on 2027-01-20 x 9"),
        tuple(f"bottle {code} gone" for code in ("Q9V3", "B3W4", "H9V9")),
    ],
)
def test_every_difference_of_a_change_fits_its_schema(drawn: DrawnPlan, changes: tuple[str, ...]) -> None:
    found = suppose(drawn.snapshot, drawn.plan, drawn.plan.horizon, changes)
    assert found.difference
    _validate(difference_document(changes, found.difference, found.snapshot), "what_if")
