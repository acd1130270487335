"""The plan, a day of it, the chain behind a line, what a change would do."""

from typing import Annotated

from fastapi import Path, Query
from pydantic import StringConstraints

from prep.planning.by_day import PlanDays
from prep.planning.pegging import why
from prep.reports.plan.document import day_document, plan_document
from prep.reports.plan.pegging_view import difference_document, why_document
from prep.services.people.roles import Right
from prep.services.plan.what_if import suppose
from prep.web.api.documents import PROBLEMS, DayText, Document
from prep.web.page_request import At
from prep.web.rights import needs, router
from prep.web.today import MOST_CHANGES, day_of

routes = router()
ChangeText = Annotated[str, StringConstraints(max_length=200)]


@routes.get("/api/plan", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def plan(here: At) -> Document:
    """Show the plan of the next six weeks, as `prep plan --json`."""
    drawn = here.plan()
    whole = here.read(drawn, "cautioned", drawn.cautioned)
    return plan_document(whole.plan, whole.snapshot)


@routes.get("/api/plan/day", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def plan_day(here: At, day: DayText = "") -> Document:
    """Show one day of the plan, as `prep plan --day DATE --json`."""
    on = day_of(here, day)
    drawn = here.plan(on).cautioned([on])
    return day_document(PlanDays(drawn.plan, drawn.snapshot).of(on), drawn.plan, drawn.snapshot)


@routes.get("/api/plan/why/{ref:path}", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def plan_why(here: At, ref: Annotated[str, Path(max_length=200)]) -> Document:
    """Explain one line of the plan by the chain behind it, as `prep plan why ID --json`."""
    drawn = here.plan()
    return why_document(why(drawn.plan, drawn.snapshot, ref), drawn.snapshot)


@routes.get("/api/plan/what-if", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def plan_what_if(here: At, change: Annotated[list[ChangeText], Query(max_length=MOST_CHANGES)]) -> Document:
    """Compare the plan with what changes would make of it, as `prep plan what-if CHANGE... --json`; writes nothing."""
    drawn = here.plan()
    found = suppose(drawn.snapshot, drawn.plan, drawn.plan.horizon, change, drawn.policy)
    return difference_document(change, found.difference, found.snapshot)
