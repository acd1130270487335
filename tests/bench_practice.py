"""What a technician would say of the plans' makes: `python -m tests.bench practice`, for the sample and random schools.

Counted, not timed: makes for the bookings, makes below the usual batch, intermediate dilutions, needs called short;
and every make that breaks one of `tests.practice_rules`, each with an example.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from prep.chemistry.preparation.vessels import Bench
from prep.planning.engine.batch_sizes import is_round
from prep.planning.model import Plan, Snapshot
from prep.planning.plan import make_plan
from prep.resources import seed_data
from prep.services.catalogue.seed import read_catalogue
from prep.services.plan.plan import sample_plan
from tests.planning.schools import schools
from tests.practice_rules import RULES, broken, named

SCHOOLS = 100
FIRST_BOOKINGS, MOST_MAKES = 88, 98
"""The sample's bookings as they were at first, and the makes for them that are too many: 99 were made once."""
FIRST = f"sample school, its first {FIRST_BOOKINGS} bookings"


def fewest_makes(plan: Plan, snapshot: Snapshot) -> int:
    """Count the makes that no plan of these solutions can do without: by the days they keep, and the largest vessel.

    Worked out anew, from what is made for whom: the days on which something must be made that is still in date at each
    use are the fewest points that meet all intervals, found greedily (from memory: Gavril, SIAM Journal on Computing 1
    (1972) 180-187).
    """
    needed = {need.id: need.needed_on for need in plan.requirements} | {one.id: one.make_on for one in plan.batches}
    bench, uses = Bench(snapshot.catalogue, snapshot.instruments), defaultdict[str, list[tuple[date, int]]](list)
    for batch in plan.batches:
        uses[batch.solution] += [(needed[share.ref], share.amount) for share in batch.serves]
    fewest = 0
    for code, wanted in uses.items():
        keeps, makes, made = timedelta(days=snapshot.catalogue.solutions[code].shelf_life_days), 0, date.min
        for use in sorted(day for day, _ in wanted):
            if not makes or made < use - keeps:
                makes, made = makes + 1, use
        fewest += max(makes, -(-sum(amount for _, amount in wanted) // bench.sizes(code)[-1]))
    return fewest


def figures(plan: Plan, snapshot: Snapshot, examples: dict[str, str]) -> Counter[str]:
    """The figures of one plan; `examples` gets the first make that breaks a rule."""
    counted: Counter[str] = Counter()
    counted["bookings"] = len({need.booking for need in plan.requirements})
    counted["makes"] = len(plan.batches)
    counted["makes at the fewest, by days and vessels"] = fewest_makes(plan, snapshot)
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
    first = tuple(one for one in drawn.snapshot.bookings if int(one.code[1:]) <= FIRST_BOOKINGS)
    fewer = replace(drawn.snapshot, bookings=first)
    yield FIRST, figures(make_plan(fewer, drawn.plan.horizon), fewer, examples), examples
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
    "makes at the fewest, by days and vessels",
    "minutes",
    "below usual, with a reason",
    "between two round volumes, with a reason",
    "in a volumetric flask",
    "intermediates",
    "mL left over",
    "short",
)


def practice() -> bool:
    """Print the figures; False where a make breaks a rule, or more is made than once was for the same bookings."""
    fine = True
    for name, counted, examples in rows():
        print(f"{name}:")
        for figure in NAMES:
            print(f"  {figure:<44} {counted[figure]:>8}")
        print(f"  {'makes for each booking':<44} {counted['makes'] / max(1, counted['bookings']):>8.2f}")
        fine &= name != FIRST or counted["makes"] <= MOST_MAKES
        for rule in RULES:
            said = named(rule)
            print(f"  {said:<44} {counted[said]:>8}  {examples.get(said, '')}".rstrip())
            fine &= not counted[said]
    return fine
