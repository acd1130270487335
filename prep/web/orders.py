"""Orders: what the plan asks for, what was placed, what came."""

from fastapi import Response

from prep.dates import read_day
from prep.errors import NotOnFile
from prep.planning.by_day import Days, LineKind
from prep.reports.formatting import Names
from prep.reports.plan.screen import why_ordered
from prep.services.people.roles import Right
from prep.services.plan import day_lines
from prep.services.safety import controlled_register
from prep.services.stock import orders, places
from prep.store.school.orders import Purchase
from prep.web.forms import Field, WebForm, day_field
from prep.web.here import At, Here, choices
from prep.web.receiving import received
from prep.web.rights import needs, router
from prep.web.today import mark_done

routes = router()


@routes.get("/orders", include_in_schema=False)
@needs(Right.SEE_STOCK)
def listed(here: At, all: str = "") -> Response:
    """What is to be ordered, and what is on its way."""
    drawn = here.plan()
    names = Names(drawn.snapshot)
    wanted = [(line, names, why_ordered(line)) for line in drawn.plan.orders]
    placed = orders.list_orders(here.db, all == "1")
    today = len(Days(drawn.plan, drawn.snapshot).of(here.today).orders)
    items = [line.item for line in drawn.plan.orders] + [o.item for o in placed]
    marks = here.read(drawn, ("controlled", tuple(items)), lambda: controlled_register.marks_for(here.db, items))
    controlled = [(names.of(item), [one.said for one in found]) for item, found in marks.items()]
    return here.show("orders.html", wanted=wanted, placed=placed, shown=orders.shown, all=all, now=today,
                     controlled=controlled)  # fmt: skip


def _place_form(item: str, packs: str, pack: str) -> WebForm:
    return WebForm(
        "/orders",
        (
            Field("item", "What", value=item, required=True),
            Field("packs", "How many packs", "number", "--packs", packs or "1"),
            Field("pack", "Pack", "text", "--pack", pack, "such as 500 g; its usual one, if left empty"),
            Field("due", "Comes on", "date", "--due", hint="after its usual days, if left empty"),
        ),
        "It is ordered",
    )


@routes.get("/orders/new", include_in_schema=False)
@needs(Right.WORK)
def place_page(here: At, item: str = "", packs: str = "", pack: str = "") -> Response:
    """Write down an order."""
    form = _place_form(item[:100], packs[:9], pack[:20])
    return here.show("form.html", title="Write down an order", form=form, back="/orders")


@routes.post("/orders", include_in_schema=False)
@needs(Right.WORK)
def place(here: At) -> Response:
    """Write down an order that was placed."""

    def do() -> tuple[str, str]:
        typed = here.typed
        due = read_day(typed["due"], "--due", here.today) if typed["due"] else None
        request = orders.OrderRequest(typed["item"], typed.number("packs", 1), typed.maybe("pack"), due)
        made = orders.placed(here.db, request, here.act())
        key = f"{LineKind.ORDER} {made.item} {made.pack}"
        mark_done(here, key, day_lines.job_of(here.db, "purchase", made.code, here.act()))
        return "/orders", f"{made.code}: {orders.shown(made)} of {made.name}, due {made.due}."

    return here.answer(_place_form("", "", ""), "Write down an order", do)


def _arrive_form(here: Here, order: Purchase) -> WebForm:
    stands = choices(places.list_places(here.db), "where it always stands")
    return WebForm(
        f"/orders/{order.code}/arrived",
        (
            Field("packs", f"How many of the {order.packs} packs came", "number", "--packs", str(order.packs)),
            Field(
                "location",
                "Where they are put",
                "choice",
                "--at",
                choices=stands,
            ),
            Field("use_by", "Use by", "date", "--use-by"),
            Field("lot", "Lot", option="--lot"),
            Field("rest", "The rest will not come", "tick", "--cancel-rest"),
            day_field(label="Came on", hint="today, if left empty"),
        ),
        "Put on the shelf",
        seen=f"{order.packs}|{order.status}",
    )


def _one(here: Here, code: str) -> Purchase:
    found = next((o for o in orders.list_orders(here.db, True) if o.code == code), None)
    if found is None:
        raise NotOnFile(f'There is no order "{code[:20]}".')
    return found


@routes.get("/orders/{code}/arrived", include_in_schema=False)
@needs(Right.WORK)
def arrive_page(here: At, code: str) -> Response:
    """What came of an order."""
    order = _one(here, code)
    title = f"{orders.shown(order)} of {order.name} came"
    return here.show("form.html", title=title, form=_arrive_form(here, order), back="/orders")


@routes.post("/orders/{code}/arrived", include_in_schema=False)
@needs(Right.WORK)
def arrive(here: At, code: str) -> Response:
    """Put on the shelf what came."""
    order = _one(here, code)

    def do() -> tuple[str, str]:
        typed = here.typed
        until = read_day(typed["use_by"], "--use-by", here.today) if typed["use_by"] else None
        packs = typed.number("packs", order.packs)
        delivery = orders.Delivery(typed.maybe("location"), until, typed["lot"], packs, typed.ticked("rest"))
        came = orders.arrived(here.db, code, delivery, here.act())
        mark_done(here, f"{LineKind.ARRIVED} {code}", day_lines.job_of(here.db, "purchase", code, here.act()))
        return received(here, lambda: came.bottles)

    return here.answer(_arrive_form(here, order), f"{orders.shown(order)} of {order.name} came", do)


@routes.post("/orders/{code}/cancel", include_in_schema=False)
@needs(Right.WORK)
def cancel(here: At, code: str) -> Response:
    """Cancel an order."""
    form = WebForm(f"/orders/{code}/cancel", (), "Cancel the order", danger=True)

    def do() -> tuple[str, str]:
        gone = orders.cancel(here.db, code, here.act())
        return "/orders", f"Order {gone.code} is cancelled."

    return here.answer(form, f"Cancel order {code[:20]}", do)
