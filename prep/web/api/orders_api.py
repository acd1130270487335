"""Orders: what is on its way, what was placed, what came."""

from datetime import date
from typing import Annotated

from fastapi import Query
from pydantic import BaseModel, Field

from prep.planning.overdue import comes_on_the_day, days_late, waiting
from prep.reports.stock import order_document
from prep.services.people.roles import Right
from prep.services.safety import controlled_register
from prep.services.stock import orders
from prep.web.api.documents import PROBLEMS, Code, Document, Text, placed_documents, tells_job
from prep.web.page_request import At
from prep.web.rights import needs, router

routes = router()


class PlacedOrder(BaseModel):
    """An order that was placed."""

    item: Text
    packs: Annotated[int, Field(ge=1, le=1000)] = 1
    pack: Text | None = None
    due: date | None = None


class OrderArrival(BaseModel):
    """What came of an order; without `packs`, all of it."""

    location: Text | None = None
    use_by: date | None = None
    lot: Text = ""
    packs: Annotated[int, Field(ge=1, le=1000)] | None = None
    cancel_rest: bool = False


@routes.get("/api/orders", responses=PROBLEMS)
@needs(Right.SEE_STOCK)
def order_list(here: At, all: Annotated[bool, Query()] = False) -> list[Document]:
    """List orders on their way, as under `placed` in `prep order list --json`; with `all`, past ones too."""
    found, drawn = orders.list_orders(here.db, all), here.plan()
    waits = waiting(drawn.plan.requirements, drawn.plan.batches)
    same_day = comes_on_the_day(drawn.snapshot.orders, drawn.plan.requirements, drawn.plan.batches)
    marks = controlled_register.marks_for(here.db, [o.item for o in found])
    return [
        order_document(o)
        | {
            "days_late": days_late(o, here.today) if o.status == "placed" else 0,
            "waiting": list(waits.get(o.code, ())),
            "on_the_day": list(same_day.get(o.code, ())),
            "controlled": [one.said for one in marks.get(o.item, ())],
        }
        for o in found
    ]


@routes.post("/api/orders", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def placed(here: At, new: PlacedOrder) -> Document:
    """Write down an order, as `prep order placed --json`."""
    made = orders.placed(here.db, orders.OrderRequest(new.item, new.packs, new.pack, new.due), here.act())
    marks = controlled_register.marks_for(here.db, [made.item]).get(made.item, ())
    return order_document(made) | {"controlled": [one.said for one in marks]}


@routes.post("/api/orders/{code}/arrived", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def arrived(here: At, code: Code, came: OrderArrival) -> list[Document]:
    """Put on the shelf what an order brought, and list the bottles."""
    delivery = orders.Delivery(came.location, came.use_by, came.lot, came.packs, came.cancel_rest)
    return placed_documents(here.db, orders.arrived(here.db, code, delivery, here.act()).bottles)


@routes.post("/api/orders/{code}/cancel", responses=PROBLEMS)
@needs(Right.WORK)
@tells_job
def cancel(here: At, code: Code) -> Document:
    """Cancel an order, as `prep order cancel --json`."""
    return order_document(orders.cancel(here.db, code, here.act()))
