"""`prep plan`: loads what the plan may know, calls the core, and adds the cautions to the makes that are shown."""

from collections.abc import Collection
from dataclasses import field, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from prep.dates import read_day
from prep.errors import PrepError
from prep.planning import usage_factors
from prep.planning.engine.explode import Progress
from prep.planning.model import Horizon, Plan, Policy, Snapshot
from prep.planning.plan import make_plan
from prep.records import record
from prep.services.input.checks import within
from prep.services.inventory import session
from prep.services.plan import snapshot as plan_snapshot
from prep.services.plan.snapshot import load
from prep.services.school.settings import policy_of
from prep.wording import Flag, any_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

DEFAULT_WEEKS = 6
FURTHEST_DAYS = 3660


@record(frozen=True, slots=True)
class DrawnPlan:
    """A plan, the snapshot and the policy it was drawn from, and the school's name.

    Its makes are without hazards and cautions, which take as long as the plan itself: `cautioned` adds them.
    """

    plan: Plan
    snapshot: Snapshot
    policy: Policy = field(default_factory=Policy)
    school: str = ""

    def cautioned(self, days: Collection[date] | None = None) -> "DrawnPlan":
        """Add hazards and cautions to the plan's makes of these days, or to all."""
        from prep.services.safety.batch_hazards import Cautioner

        cautioner = Cautioner(self.snapshot)
        batches = tuple(
            cautioner.of(batch) if days is None or batch.make_on in days else batch for batch in self.plan.batches
        )
        return replace(self, plan=replace(self.plan, batches=batches))


def plan(
    db: Path | None,
    start: str | None,
    end: str | None,
    weeks: int | None,
    today: date,
    progress: Progress | None = None,
) -> DrawnPlan:
    """Plan the inventory's bookings. Raises PrepError for dates that are none or run backwards."""
    horizon = horizon_of(start, end, weeks, today, today + timedelta(weeks=DEFAULT_WEEKS), today)
    with session.reading(db) as connection:
        from prep.store import table_rows

        snapshot = load(connection, today)
        settings = table_rows.settings(connection)
        learned = _learned(connection)
    drawn = draw_up(snapshot, horizon, policy_of(settings), progress)
    booked = {b.demo for b in snapshot.bookings if b.stands and horizon.start <= b.on <= horizon.end}
    wanted = usage_factors.findings(one for one in learned if one.demo in booked)
    found = replace(drawn.plan, findings=(*drawn.plan.findings, *wanted))
    return replace(drawn, plan=found, school=str(settings.get("school", "")))


def _learned(connection: "Connection") -> tuple[usage_factors.LearnedUsage, ...]:
    """Read what the bookings so far have shown of the demos' figures."""
    from prep.store.jobs.usage import records

    return usage_factors.learn(records(connection))


def sample_plan(start: str | None, end: str | None, weeks: int | None) -> DrawnPlan:
    """Plan the invented school, on its own fixed dates."""
    sample = plan_snapshot.sample()
    horizon = horizon_of(start, end, weeks, sample.start, sample.end, sample.snapshot.today)
    drawn = draw_up(sample.snapshot, horizon)
    return replace(drawn, school="Sample school")


def draw_up(
    snapshot: Snapshot, horizon: Horizon, policy: Policy | None = None, progress: Progress | None = None
) -> DrawnPlan:
    """Draw up the plan of a snapshot."""
    policy = policy or Policy()
    return DrawnPlan(make_plan(snapshot, horizon, policy, progress), snapshot, policy)


def horizon_of(start: str | None, end: str | None, weeks: int | None, first: date, last: date, today: date) -> Horizon:
    """Work out the span that the options give, else `first` to `last`; words count from `today`. Raises PrepError."""
    if end is not None and weeks is not None:
        raise PrepError("Give either ", any_of("--to", "--weeks"), ", not both.")
    begins = read_day(start, Flag("--from"), today) if start is not None else first
    if abs((begins - today).days) > FURTHEST_DAYS:
        raise PrepError(Flag("--from"), f" {begins} is more than ten years from today; a plan begins nearer.")
    if weeks is not None:
        within(weeks, 1, 104, Flag("--weeks"))
        return Horizon(begins, begins + timedelta(days=7 * weeks - 1))
    if end is not None:
        ends = read_day(end, Flag("--to"), today)
    else:  # from a later day on, a plan of the same length
        ends = last if start is None or begins <= first else begins + (last - first)
    if ends < begins:
        raise PrepError(Flag("--to"), f" {ends} is before ", Flag("--from"), f" {begins}.")
    if (ends - begins).days > 800:
        raise PrepError("A plan spans at most 800 days.")
    return Horizon(begins, ends)
