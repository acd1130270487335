"""The term-end count: opening, the list, entries, how far it is, closing, the report."""

from pydantic import BaseModel

from prep.reports.stocktake import count_tables, signed_report
from prep.reports.stocktake.count_view import count_document, entry_document, list_document, progress_document
from prep.services.people.roles import Right
from prep.services.stocktake import adjustments, report, stocktake
from prep.services.stocktake.entry import TypedCount, TypedFind
from prep.web.api.documents import PROBLEMS, Code, Document, Text, tells_job
from prep.web.page_request import At
from prep.web.rights import needs, router

routes = router()


class OpenedCount(BaseModel):
    """A count of a place, or of the whole store."""

    location: Text | None = None
    blind: bool = False


class CountRequest(BaseModel):
    """How a bottle was counted: one of amount, gross, level, unopened, not_found."""

    amount: Text | None = None
    gross: Text | None = None
    tare: Text | None = None
    level: int | None = None
    full: Text | None = None
    unopened: bool = False
    not_found: bool = False
    place: Text | None = None
    note: Text = ""


class FoundRequest(BaseModel):
    """A bottle that is not on the books."""

    item: Text | None = None
    amount: Text | None = None
    location: Text
    note: Text = ""


class CloseRequest(BaseModel):
    """Whether what is not counted is left as it is, and what differs is not counted again."""

    partial: bool = False
    as_counted: bool = False


@routes.get("/api/counts", responses=PROBLEMS)
@needs(Right.SEE_COUNT)
def counts(here: At) -> list[Document]:
    """List every count, as `prep count list --all --json`."""
    return [count_document(one) for one in stocktake.counts(here.db)]


@routes.post("/api/counts", responses=PROBLEMS)
@needs(Right.COUNT)
@tells_job
def open_count(here: At, new: OpenedCount) -> Document:
    """Open a count, as `prep count open --json`."""
    opened = stocktake.open_count(here.db, new.location, new.blind, here.act())
    return count_document(opened.count) | {"bottles": len(opened.lines)}


@routes.get("/api/counts/{code}", responses=PROBLEMS)
@needs(Right.SEE_COUNT)
def progress(here: At, code: Code) -> Document:
    """Tell how far an open count is, as `prep count list --count CODE --json`."""
    return progress_document(stocktake.progress(here.db, code))


@routes.get("/api/counts/{code}/sheet", responses=PROBLEMS)
@needs(Right.SEE_COUNT)
def sheet(here: At, code: Code) -> Document:
    """List the bottles that an open count looks for, as `prep count sheet --json`."""
    found = stocktake.sheet(here.db, code)
    return count_document(found.count) | {"bottles": list_document(found)}


@routes.post("/api/counts/{code}/bottles/{bottle}", responses=PROBLEMS)
@needs(Right.COUNT)
@tells_job
def enter(here: At, code: Code, bottle: Code, how: CountRequest) -> Document:
    """Write down one bottle of a count, as `prep count enter --json`."""
    asked = TypedCount(
        how.amount,
        how.gross,
        how.tare,
        level=how.level,
        full=how.full,
        unopened=how.unopened,
        not_found=how.not_found,
        place=how.place,
        note=how.note,
    )
    return entry_document(stocktake.enter(here.db, code, bottle, asked, here.act()))


@routes.post("/api/counts/{code}/found", responses=PROBLEMS)
@needs(Right.COUNT)
@tells_job
def found(here: At, code: Code, new: FoundRequest) -> Document:
    """Write down a bottle that is not on the books, as `prep count found --json`."""
    return entry_document(
        stocktake.found(here.db, code, TypedFind(new.item, new.amount, new.location, new.note), here.act())
    )


@routes.post("/api/counts/{code}/close", responses=PROBLEMS)
@needs(Right.COUNT)
@tells_job
def close(here: At, code: Code, how: CloseRequest) -> Document:
    """Close a count: post the differences and sign off, as `prep count close --json`."""
    done = adjustments.close(here.db, code, adjustments.LeftOpen(how.partial, how.as_counted), here.act())
    return count_document(done.count) | {
        "adjusted": [count_tables.verdict_json(v) for v in done.adjusted],
        "not_counted": done.not_counted,
        "new_bottles": [b.code for b in done.new_bottles],
    }


@routes.get("/api/counts/{code}/report", responses=PROBLEMS)
@needs(Right.SEE_COUNT)
def count_report(here: At, code: Code) -> Document:
    """Report what a count says of the whole store, as `prep count report --json`."""
    made = report.of_count(here.db, code, None, here.today)
    return count_document(made.count) | count_tables.document(made.says) | signed_report.document(made)
