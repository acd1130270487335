"""Demonstrations: the list, one of them, what it will show."""

from typing import Annotated

from fastapi import Query

from prep.reports.catalogue import demo_document
from prep.reports.demo.prediction_view import prediction_document
from prep.services.catalogue import lookup
from prep.services.demos.prediction import predict
from prep.services.people.roles import Right
from prep.web.api.documents import PROBLEMS, Code, Document, Short
from prep.web.demos import document
from prep.web.page_request import At
from prep.web.rights import needs, router

routes = router()


@routes.get("/api/demos", responses=PROBLEMS)
@needs(Right.SEE_DEMOS)
def demos(here: At, q: Short = "") -> list[Document]:
    """List demonstrations, all or those that match words, as `prep demo list SEARCH --json`."""
    on_file = lookup.known(here.db)
    codes = lookup.searched(on_file, "demo", q or None).codes
    return [demo_document(on_file.demos[code], on_file.substances) for code in codes]


@routes.get("/api/demos/{code}", responses=PROBLEMS)
@needs(Right.SEE_DEMOS)
def demo(here: At, code: Code, showings: Annotated[int, Query(ge=1, le=1000)] = 1) -> Document:
    """Show a demonstration and what so many showings take, as `prep demo show NAME --json`."""
    return document(here, code, showings)


@routes.get("/api/demos/{code}/prediction", responses=PROBLEMS)
@needs(Right.SEE_DEMOS)
def prediction(here: At, code: Code, drops: Annotated[int | None, Query(ge=1, le=1000)] = None) -> Document:
    """Predict what a demonstration will show, as `prep demo predict NAME --json`."""
    on_file = lookup.known(here.db)
    return prediction_document(predict(lookup.demo(on_file, code), on_file, drops))
