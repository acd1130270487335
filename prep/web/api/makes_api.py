"""Making: how a solution is made, and writing down that it was."""

from typing import Annotated

from fastapi import Query
from pydantic import BaseModel, Field

from prep.reports.make_documents import make_document
from prep.services.making import make
from prep.services.people.roles import Right
from prep.services.safety import placement
from prep.web.api.documents import PROBLEMS, Document, Text, tells_job
from prep.web.page_request import At
from prep.web.rights import needs, router

routes = router()


class MadeSolution(BaseModel):
    """A make: of what, how much, what was taken (BOTTLE=AMOUNT, else as the instructions say), what came out."""

    solution: Text
    volume: Text
    taken: Annotated[list[Text], Field(max_length=60)] = []
    made: Text | None = None
    location: Text | None = None
    bottles: Annotated[int, Field(ge=1, le=50)] = 1


@routes.get("/api/makes", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def instructions(
    here: At,
    solution: Annotated[str, Query(max_length=100)],
    volume: Annotated[str, Query(max_length=40)],
    source: Annotated[str | None, Query(max_length=100)] = None,
) -> Document:
    """Tell how to make a volume of a solution today, as `prep make SOLUTION --volume VOLUME --json`."""
    return make_document(make.instructions(here.db, solution, volume, source, here.today))


@routes.post("/api/makes", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def log(here: At, new: MadeSolution) -> Document:
    """Write down a make, as `prep make SOLUTION --volume VOLUME --log --json`."""
    asked = make.MakeRequest(
        new.solution, new.volume, taken=new.taken, came=new.made, location=new.location, bottles=new.bottles
    )
    made = make.log(here.db, asked, here.act())
    beside = placement.beside(here.db, made.bottles)
    return make_document(made.instructions, made, beside[made.bottles[0].code])
