"""What a technician would say of the plans' makes: `python -m tests.bench practice`, for the sample and random schools.

Counted, not timed: makes for the bookings, makes below the usual batch with and without a reason printed,
intermediate dilutions, measurements that take a third filling, and needs called short.
"""

import re
from collections import Counter
from collections.abc import Iterator

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from prep.planning.model import Plan, Snapshot
from prep.planning.plan import make_plan
from prep.resources import seed_data
from prep.services.catalogue.seed import read_catalogue
from prep.services.plan.plan import sample_plan
from tests.planning.schools import schools

SCHOOLS = 100
_FILLINGS = re.compile(r"\b(\d+) (?:x|fillings|times)\b")


def figures(plan: Plan, snapshot: Snapshot) -> Counter[str]:
    """The figures of one plan."""
    counted: Counter[str] = Counter()
    counted["bookings"] = len({need.booking for need in plan.requirements})
    counted["makes"] = len(plan.batches)
    counted["short"] = sum(1 for need in plan.requirements if need.short)
    for batch in plan.batches:
        usual = snapshot.catalogue.solutions[batch.solution].usual_nl
        if batch.amount < usual:
            counted["below usual"] += 1
            counted["below usual, no reason"] += "less than the usual" not in batch.why
        counted["intermediates"] += any(take.used != take.amount for take in batch.takes)
        counted["third fillings"] += any(
            int(found[1]) > 2 for step in batch.steps if step.instrument for found in _FILLINGS.finditer(step.text)
        )
        counted["minutes"] += batch.minutes
        counted["mL left over"] += batch.left_over // 10**6
    return counted


def rows() -> Iterator[tuple[str, Counter[str]]]:
    """The sample school, and the sum of the random ones."""
    drawn = sample_plan(None, None, None)
    yield "sample school", figures(drawn.plan, drawn.snapshot)
    catalogue = read_catalogue(seed_data())
    total: Counter[str] = Counter()

    @settings(
        max_examples=SCHOOLS,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def each(data: st.DataObject) -> None:
        stock, horizon = data.draw(schools(catalogue))
        total.update(figures(make_plan(stock, horizon), stock))

    each()
    yield f"{SCHOOLS} random schools", total


NAMES = (
    "bookings",
    "makes",
    "minutes",
    "below usual",
    "below usual, no reason",
    "intermediates",
    "third fillings",
    "mL left over",
    "short",
)


def practice() -> bool:
    """Print the figures; False where a make is below its usual batch without a reason or is filled three times."""
    fine = True
    for name, counted in rows():
        print(f"{name}:")
        for figure in NAMES:
            print(f"  {figure:<24} {counted[figure]:>8}")
        fine &= not counted["below usual, no reason"] and not counted["third fillings"]
    return fine
