"""The shelves: bottles, what happens to them, the ledger's newest lines."""

from datetime import date
from typing import Annotated, Literal

from fastapi import Query
from pydantic import BaseModel, Field

from prep.books import BottleStatus
from prep.reports.stock import held_document, moved_document
from prep.services.people.roles import Right
from prep.services.stock import changes, listing
from prep.services.stock.find import shelf
from prep.web.api.documents import PROBLEMS, Code, Document, Number, Short, Text, placed_documents, tells_job
from prep.web.history import undone
from prep.web.page_request import At
from prep.web.rights import needs, router

routes = router()


class UseRequest(BaseModel):
    """An amount taken from a bottle."""

    amount: Text
    reason: Text = ""


class BottleMove(BaseModel):
    """Where a bottle is put."""

    location: Text


class ReasonGiven(BaseModel):
    """Why something is done."""

    reason: Text = ""


class BottleReceipt(BaseModel):
    """New bottles."""

    item: Text
    amount: Text
    bottles: Annotated[int, Field(ge=1, le=500)] = 1
    location: Text | None = None
    use_by: date | None = None
    lot: Text = ""
    note: Text = ""


@routes.get("/api/stock", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def stock(here: At, q: Short = "", at: Short = "") -> list[Document]:
    """List bottles by words: parts of a name, code, lot, CAS number or formula; with `at`, those of a place."""
    return [held_document(h) for place in shelf(here.db, q, at).places for h in place.bottles]


@routes.get("/api/stock/{code}", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def bottle(here: At, code: Code) -> Document:
    """Show a bottle and its history, as `prep stock show CODE --json`."""
    shown = listing.show(here.db, code)
    held, moves = shown.bottle, shown.moves
    return held_document(held) | {"history": [moved_document(m) for m in moves]}


@routes.post("/api/stock", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def receive(here: At, new: BottleReceipt) -> list[Document]:
    """Put new bottles on the books, as `prep stock receive --json`."""
    receipt = changes.Receipt(new.item, new.amount, new.bottles, new.location, new.use_by, new.lot, new.note)
    return placed_documents(here.db, changes.receive(here.db, receipt, here.act()))


@routes.post("/api/stock/{code}/use", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def use(here: At, code: Code, taken: UseRequest) -> Document:
    """Take an amount from a bottle, as `prep stock use --json`."""
    return held_document(changes.use(here.db, code, taken.amount, taken.reason, here.act()))


@routes.post("/api/stock/{code}/move", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def move(here: At, code: Code, where: BottleMove) -> Document:
    """Put a bottle somewhere else, as `prep stock move --json`."""
    return placed_documents(here.db, [changes.move(here.db, code, where.location, here.act())])[0]


@routes.post("/api/stock/{code}/discard", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def discard(here: At, code: Code, why: ReasonGiven) -> list[Document]:
    """Write off what is left in a bottle, as `prep stock discard --json`."""
    return [held_document(h) for h in changes.discard(here.db, [code], why.reason, here.act())]


@routes.post("/api/stock/{code}/{status}", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def set_status(here: At, code: Code, status: Literal["quarantine", "release"], why: ReasonGiven) -> Document:
    """Keep a bottle from being used, or release it, as `prep stock quarantine` and `release`."""
    new = BottleStatus.QUARANTINE if status == "quarantine" else BottleStatus.IN_SERVICE
    return held_document(changes.set_status(here.db, code, new, why.reason, here.act()))


@routes.post("/api/jobs/{job}/undo", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def undo(here: At, job: Number) -> Document:
    """Reverse a job as a whole, as `prep stock undo --json`; a sign-off only for whoever is of the office as well."""
    return {"job": undone(here, job), "reverses": job}


@routes.get("/api/history", responses=PROBLEMS)
@needs(Right.SEE_HISTORY)
def history(here: At, last: Annotated[int, Query(ge=1, le=2000)] = 50) -> list[Document]:
    """List the newest lines of the ledger, as `prep stock history --json`."""
    return [moved_document(m) for m in listing.history(here.db, None, last)]
