"""One thing done in every school of a group, a few at a time; a school that fails keeps no other waiting."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from prep.errors import PrepError
from prep.findings import Severity
from prep.plurals import plural
from prep.services.input.progress import Watcher, nobody
from prep.services.inventory import backup
from prep.services.plan import plan as plan_service
from prep.services.schools.school_list import GroupSchool

AT_ONCE = 4


@dataclass(frozen=True, slots=True)
class SchoolOutcome:
    """What came of it in one school: a line to read, whether all is well, and the same as data."""

    school: GroupSchool
    says: str
    ok: bool
    data: dict[str, Any] = field(default_factory=dict)


def in_each(
    schools: Sequence[GroupSchool], do: Callable[[GroupSchool], SchoolOutcome], watcher: Watcher = nobody
) -> list[SchoolOutcome]:
    """Do it in each school, at most `AT_ONCE` at a time; returns the outcomes in the order of the list."""
    found: dict[str, SchoolOutcome] = {}
    with ThreadPoolExecutor(AT_ONCE) as pool:
        waiting = {pool.submit(do, school): school for school in schools}
        for number, future in enumerate(as_completed(waiting), 1):
            school = waiting[future]
            try:
                found[school.code] = future.result()
            except PrepError as problem:
                found[school.code] = SchoolOutcome(school, problem.sentence, False, {"error": problem.sentence})
            watcher(number, len(schools))
    return [found[school.code] for school in schools]


def checked(school: GroupSchool) -> SchoolOutcome:
    """Check whether a school's books are clean."""
    found = backup.check(school.db)
    seal = backup.sealed(school.db)
    says = (
        f"clean; seal of {plural(seal.jobs, 'job')}: {seal.head}"
        if not found
        else f"{len(found)} wrong: {found[0].message}"
    )
    return SchoolOutcome(school, says, not found, {"wrong": [one.message for one in found], "seal": seal.head})


def upgraded(school: GroupSchool) -> SchoolOutcome:
    """Bring a school's inventory up to date."""
    done = backup.upgrade(school.db)
    says = f"is of revision {done.after}" + ("" if done.before == done.after else f", was {done.before}")
    return SchoolOutcome(school, says, True, {"before": done.before, "after": done.after})


def planned(today: date, weeks: int) -> Callable[[GroupSchool], SchoolOutcome]:
    """Plan a school's weeks from today."""

    def do(school: GroupSchool) -> SchoolOutcome:
        plan = plan_service.plan(school.db, None, None, weeks, today).plan
        stops = [one for one in plan.findings if one.severity == Severity.STOP]
        says = f"{len(plan.batches)} to make, {len(plan.orders)} to order" + (
            f", {len(stops)} stand without: {stops[0].message}" if stops else ""
        )
        data = {"batches": len(plan.batches), "orders": len(plan.orders), "stops": [one.message for one in stops]}
        return SchoolOutcome(school, says, not stops, data)

    return do
