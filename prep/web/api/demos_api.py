"""Demonstrations: the list, one of them, what it will show."""

from typing import Annotated

from fastapi import Query

from prep.dates import read_day
from prep.reports.catalogue import demo_document, possible_document, set_out_document
from prep.reports.demo.prediction_view import prediction_document
from prep.services.catalogue import lookup
from prep.services.demos.prediction import predict
from prep.services.people.roles import Right
from prep.web.api.documents import PROBLEMS, Code, DayText, Document, Short
from prep.web.demos import could_be_shown
from prep.web.page_request import At
from prep.web.rights import needs, router
from prep.wording import Flag

routes = router()


@routes.get("/api/demos", responses=PROBLEMS)
@needs(Right.SEE_DEMOS)
def demos(here: At, q: Short = "", can: DayText = "") -> list[Document]:
    """List demonstrations, all or those that match words, as `prep demo list SEARCH --json`.

    With `can`, those that could be shown on that day, as with `--can DATE`; on a full day that takes some seconds.
    """
    on_file = lookup.known(here.db)
    codes, said = lookup.searched(on_file, "demo", q or None).codes, {}
    if can:
        on = read_day(can, Flag("--can"), here.today)
        possible = could_be_shown(here, on, frozenset(codes))
        codes, said = possible.codes, {"can_be_shown": possible_document(on, possible.not_asked)}
    return [demo_document(on_file.demos[code], on_file.substances) | said for code in codes]


@routes.get("/api/demos/{code}", responses=PROBLEMS)
@needs(Right.SEE_DEMOS)
def demo(here: At, code: Code, showings: Annotated[int, Query(ge=1, le=1000)] = 1) -> Document:
    """Show a demonstration and what so many showings take, as `prep demo show NAME --json`."""
    on_file = lookup.known(here.db)
    return set_out_document(lookup.demo(on_file, code), showings, on_file)


@routes.get("/api/demos/{code}/prediction", responses=PROBLEMS)
@needs(Right.SEE_DEMOS)
def prediction(here: At, code: Code, drops: Annotated[int | None, Query(ge=1, le=1000)] = None) -> Document:
    """Predict what a demonstration will show, as `prep demo predict NAME --json`."""
    on_file = lookup.known(here.db)
    return prediction_document(predict(lookup.demo(on_file, code), on_file, drops))
