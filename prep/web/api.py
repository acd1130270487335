"""The commands' documents under /api, for programs: a key per person, described by OpenAPI."""

from datetime import date
from typing import Annotated, Any

from fastapi import Body, Path, Query, Request, Response
from fastapi.openapi.utils import get_openapi
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field

from prep.planning.by_day import Days
from prep.planning.pegging import why
from prep.reports.plan.document import day_document, plan_document
from prep.reports.plan.pegging_view import why_document
from prep.reports.stock import held_document, moved_document
from prep.services.people.roles import Right
from prep.services.stock import changes, listing, orders
from prep.services.stock.find import shelf
from prep.services.stocktake import stocktake
from prep.services.stocktake.entry import How
from prep.web.demos import document
from prep.web.here import At
from prep.web.rights import needs, router
from prep.web.today import day_of

routes = router()
Document = dict[str, Any]
Text = Annotated[str, Field(max_length=300)]
Short = Annotated[str, Query(max_length=100)]
Code = Annotated[str, Path(max_length=80)]
PROBLEMS: dict[int | str, dict[str, Any]] = {
    code: {"description": said, "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Problem"}}}}
    for code, said in (
        (400, "The request is no request of this page."),
        (401, "There is no key, or it is none."),
        (403, "The key, or its person, may not do that."),
        (404, "There is no such thing."),
        (409, "The answer is no: nothing was changed."),
        (422, "Something is wrong with what was sent: nothing was changed."),
        (429, "Too many wrong keys: wait."),
    )
}


class UseRequest(BaseModel):
    """An amount taken from a bottle."""

    amount: Text
    reason: Text = ""


class Move(BaseModel):
    """Where a bottle is put."""

    location: Text


class Receive(BaseModel):
    """New bottles."""

    item: Text
    amount: Text
    bottles: Annotated[int, Field(ge=1, le=500)] = 1
    location: Text | None = None
    use_by: date | None = None
    lot: Text = ""
    note: Text = ""


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


@routes.get("/api/openapi.json", include_in_schema=False)
@needs(Right.ANYONE)
def description(request: Request) -> Response:
    """The description of all this."""
    app = request.app
    found = get_openapi(title=app.title, version=app.version, description=app.description, routes=app.routes)
    parts = found.setdefault("components", {})
    parts["securitySchemes"] = {"key": {"type": "http", "scheme": "bearer"}}
    message = {"type": "object", "properties": {"message": {"type": "string"}}, "required": ["message"]}
    parts.setdefault("schemas", {})["Problem"] = {
        "type": "object",
        "properties": {"error": message},
        "required": ["error"],
    }
    found["security"] = [{"key": []}]
    return JSONResponse(found)


@routes.get("/api/me", responses=PROBLEMS)
@needs(Right.SIGNED_IN)
def me(here: At) -> Document:
    """Who the key stands for."""
    return {"name": here.me.name, "roles": sorted(here.me.roles)}


@routes.get("/api/plan", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def plan(here: At) -> Document:
    """The plan of the next six weeks, as `prep plan --json`."""
    drawn = here.plan()
    return plan_document(drawn.plan, drawn.snapshot)


@routes.get("/api/plan/day", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def plan_day(here: At, day: Annotated[str, Query(max_length=40)] = "") -> Document:
    """One day of it, as `prep plan --day DATE --json`."""
    on = day_of(here, day)
    drawn = here.plan(on)
    return day_document(Days(drawn.plan, drawn.snapshot).of(on), drawn.plan, drawn.snapshot)


@routes.get("/api/plan/why/{ref:path}", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def plan_why(here: At, ref: Annotated[str, Path(max_length=200)]) -> Document:
    """The chain behind one line, as `prep plan why ID --json`."""
    drawn = here.plan()
    return why_document(why(drawn.plan, drawn.snapshot, ref), drawn.snapshot)


@routes.get("/api/demos/{code}", responses=PROBLEMS)
@needs(Right.SEE_DEMOS)
def demo(here: At, code: Code, showings: Annotated[int, Query(ge=1, le=1000)] = 1) -> Document:
    """A demonstration, as `prep demo show NAME --json`."""
    return document(here, code, showings)


@routes.get("/api/stock", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def stock(here: At, q: Short = "", at: Short = "") -> list[Document]:
    """Bottles by any part of what is known of them."""
    return [held_document(h) for _, _, bottles in shelf(here.db, q, at).places for h in bottles]


@routes.get("/api/stock/{code}", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def bottle(here: At, code: Code) -> Document:
    """A bottle and its history, as `prep stock show CODE --json`."""
    held, moves = listing.show(here.db, code)
    return held_document(held) | {"history": [moved_document(m) for m in moves]}


@routes.post("/api/stock", responses=PROBLEMS)
@needs(Right.WORK)
def receive(here: At, new: Receive) -> list[Document]:
    """Put new bottles on the books, as `prep stock receive --json`."""
    receipt = changes.Receipt(new.item, new.amount, new.bottles, new.location, new.use_by, new.lot, new.note)
    return [held_document(h) for h in changes.receive(here.db, receipt, here.act())]


@routes.post("/api/stock/{code}/use", responses=PROBLEMS)
@needs(Right.WORK)
def use(here: At, code: Code, taken: UseRequest) -> Document:
    """Take an amount from a bottle, as `prep stock use --json`."""
    return held_document(changes.use(here.db, code, taken.amount, taken.reason, here.act()))


@routes.post("/api/stock/{code}/move", responses=PROBLEMS)
@needs(Right.WORK)
def move(here: At, code: Code, where: Move) -> Document:
    """Put a bottle somewhere else, as `prep stock move --json`."""
    return held_document(changes.move(here.db, code, where.location, here.act()))


@routes.post("/api/jobs/{job}/undo", responses=PROBLEMS)
@needs(Right.WORK)
def undo(here: At, job: Annotated[int, Path(ge=1, le=2**31 - 1)]) -> Document:
    """Reverse a job as a whole, as `prep stock undo --json`."""
    return {"job": changes.undo(here.db, job, here.act()), "reverses": job}


@routes.get("/api/history", responses=PROBLEMS)
@needs(Right.SEE_HISTORY)
def history(here: At, last: Annotated[int, Query(ge=1, le=2000)] = 50) -> list[Document]:
    """The newest lines of the ledger, as `prep stock history --json`."""
    return [moved_document(m) for m in listing.history(here.db, None, last)]


@routes.get("/api/orders", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def order_list(here: At) -> list[Document]:
    """Open orders, as `prep order list --json`."""
    from prep.chemistry.quantities import as_json

    return [
        {
            "code": o.code,
            "item": o.item,
            "packs": o.packs,
            "pack": as_json(o.pack, o.measure),
            "placed": o.placed.isoformat(),
            "due": o.due.isoformat(),
            "status": o.status,
            "by": o.by,
        }
        for o in orders.list_orders(here.db, False)
    ]


@routes.post("/api/counts/{code}/bottles/{bottle}", responses=PROBLEMS)
@needs(Right.COUNT)
def count(here: At, code: Code, bottle: Code, how: Annotated[CountRequest, Body()]) -> Document:
    """Write down one bottle of a count."""
    asked = How(
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
    entry = stocktake.enter(here.db, code, bottle, asked, here.act())
    return {"bottle": entry.bottle, "name": entry.name, "kind": entry.kind}
