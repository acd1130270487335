"""What a technician would say of the plans' makes: `python -m tests.bench practice`, for the sample and random schools.

Counted, not timed: makes for the bookings, makes below the usual batch, intermediate dilutions, needs called short;
and every make that breaks one of `tests.practice_rules`, each with an example.
"""

from collections import Counter
from collections.abc import Iterator

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from prep.planning.engine.batch_sizes import is_round
from prep.planning.model import Plan, Snapshot
from prep.planning.plan import make_plan
from prep.resources import seed_data
from prep.services.catalogue.seed import read_catalogue
from prep.services.plan.plan import sample_plan
from tests.planning.schools import schools
from tests.practice_rules import RULES, broken, named

SCHOOLS = 100


def figures(plan: Plan, snapshot: Snapshot, examples: dict[str, str]) -> Counter[str]:
    """The figures of one plan; `examples` gets the first make that breaks a rule."""
    counted: Counter[str] = Counter()
    counted["bookings"] = len({need.booking for need in plan.requirements})
    counted["makes"] = len(plan.batches)
    counted["short"] = sum(1 for need in plan.requirements if need.short)
    for batch in plan.batches:
        usual = snapshot.catalogue.solutions[batch.solution].usual_nl
        counted["below usual, with a reason"] += batch.amount < usual
        counted["between two round volumes, with a reason"] += not is_round(batch.amount)
        counted["in a volumetric flask"] += "volumetric flask" in batch.vessel
        counted["intermediates"] += any(take.used != take.amount for take in batch.takes)
        for rule, said in broken(batch, snapshot):
            counted[rule] += 1
            examples.setdefault(rule, f"{batch.id}: {said}")
        counted["minutes"] += batch.minutes
        counted["mL left over"] += batch.left_over // 10**6
    return counted


def rows() -> Iterator[tuple[str, Counter[str], dict[str, str]]]:
    """The sample school, and the sum of the random ones."""
    drawn = sample_plan(None, None, None)
    examples: dict[str, str] = {}
    yield "sample school", figures(drawn.plan, drawn.snapshot, examples), examples
    catalogue = read_catalogue(seed_data())
    total: Counter[str] = Counter()
    seen: dict[str, str] = {}

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
        total.update(figures(make_plan(stock, horizon), stock, seen))

    each()
    yield f"{SCHOOLS} random schools", total, seen


NAMES = (
    "bookings",
    "makes",
    "minutes",
    "below usual, with a reason",
    "between two round volumes, with a reason",
    "in a volumetric flask",
    "intermediates",
    "mL left over",
    "short",
)


def practice() -> bool:
    """Print the figures; False where a make breaks a rule."""
    fine = True
    for name, counted, examples in rows():
        print(f"{name}:")
        for figure in NAMES:
            print(f"  {figure:<44} {counted[figure]:>8}")
        for rule in RULES:
            said = named(rule)
            print(f"  {said:<44} {counted[said]:>8}  {examples.get(said, '')}".rstrip())
            fine &= not counted[said]
    return fine
