"""Orders: what the plan asks for, what was placed; what comes, by an order or not, and the labels of what is new."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from fastapi import Response

from prep.dates import read_day
from prep.errors import NotOnFile, PrepError
from prep.findings import Severity
from prep.planning.by_day import LineKind, PlanDays
from prep.plurals import plural
from prep.reports.finding_texts import with_cure
from prep.reports.formatting import ItemNames, in_days
from prep.reports.plan.screen import why_ordered
from prep.services.people.roles import Right
from prep.services.plan import day_lines
from prep.services.safety import controlled_register, placement
from prep.services.school import usual
from prep.services.stock import changes, listing, orders, places
from prep.store.school.orders import Purchase
from prep.web.forms import Field, TypedForm, WebForm, day_field, in_words
from prep.web.page_request import At, NextPage, PageRequest, PageState, choices, place_field
from prep.web.rights import needs, router
from prep.wording import Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.bottles import HeldBottle

routes = router()
MOST_NEW = 500
"""Bottles that may be received at once, each of which has its label."""
SHEETS = ("A4, 2 x 7", "A4, 3 x 8", "A4, 2 x 4", "single 60 x 40 mm")


@routes.get("/orders", include_in_schema=False)
@needs(Right.SEE_STOCK)
def listed(here: At, all: str = "") -> Response:
    """List what is to be ordered, and what is on its way."""
    drawn = here.plan()
    names = ItemNames(drawn.snapshot)
    wanted = [(line, names, why_ordered(line)) for line in drawn.plan.orders]
    placed = orders.list_orders(here.db, all == "1")
    today = len(PlanDays(drawn.plan, drawn.snapshot).of(here.today).orders)
    items = [line.item for line in drawn.plan.orders] + [o.item for o in placed]
    marks = here.read(drawn, ("controlled", tuple(items)), lambda: controlled_register.marks_for(here.db, items))
    controlled = [(names.of(item), [one.said for one in found]) for item, found in marks.items()]
    return here.show("orders.html", wanted=wanted, placed=placed, shown=orders.shown, all=all, now=today,
                     controlled=controlled)  # fmt: skip


def _place_form(here: PageRequest, item: str, packs: str, pack: str) -> WebForm:
    return WebForm(
        "/orders",
        (
            Field("item", "What", value=item, required=True),
            Field("packs", "How many packs", "number", "--packs", packs or "1"),
            Field("pack", "Pack", "text", "--pack", pack, "such as 500 g; its usual one, if left empty"),
            Field("due", "Comes on", "date", "--due", hint="after its usual days, if left empty"),
        ),
        "It is ordered",
        seen=_on_its_way(here, item).drawn_from if item else "",
    )


@routes.get("/orders/new", include_in_schema=False)
@needs(Right.WORK)
def place_page(here: At, item: str = "", packs: str = "", pack: str = "") -> Response:
    """Show the form for an order that was placed."""
    form = _place_form(here, item[:100], packs[:9], pack[:20])
    return here.show("form.html", title="Write down an order", form=form, back="/orders")


@routes.post("/orders", include_in_schema=False)
@needs(Right.WORK)
def place(here: At) -> Response:
    """Write down an order that was placed."""

    def do() -> NextPage:
        typed = here.typed
        due = read_day(typed["due"], Flag("--due"), here.today) if typed["due"] else None
        request = orders.OrderRequest(typed["item"], typed.number("packs", 1), typed.amount("pack"), due)
        with day_lines.logging_order(here.today):
            made = orders.placed(here.db, request, here.act())
        return NextPage("/orders", f"{made.code}: {orders.shown(made)} of {made.name}, due {made.due}.")

    item = here.typed["item"]
    asked = here.typed["seen"].startswith(f"{item}:")  # else it is an order of something else than the page was of
    still = here.unchanged(lambda: _on_its_way(here, item)) if asked else None
    return here.answer(_place_form(here, item, "", ""), "Write down an order", do, still)


def _arrive_form(here: PageRequest, order: Purchase) -> WebForm:
    return WebForm(
        f"/orders/{order.code}/arrived",
        (
            Field("packs", f"How many packs came, of {order.packs}", "number", "--packs", str(order.packs)),
            place_field(here, order.item, usual.ARRIVED, "Where they are put"),
            Field("use_by", "Use by", "date", "--use-by"),
            Field("lot", "Lot", option="--lot"),
            Field("rest", "The rest will not come", "tick", "--cancel-rest"),
            day_field(label="Came on", hint="today, if left empty"),
        ),
        "Put on the shelf",
        seen=state_of(order),
    )


def state_of(order: Purchase) -> str:
    """Write what an order's page was drawn from, to see whether it has changed since."""
    return f"{order.packs}|{order.status}|{order.due}"


def _still(here: PageRequest, code: str) -> "Callable[[Connection], None]":
    """Check that an order is still as its page said. Raises PageTooOld."""

    def now() -> PageState:
        order = _one(here, code)
        due = f", due {in_days(str(order.due))}" if order.status == "placed" else ""
        said = f"Order {order.code} was changed while this page was open: {orders.shown(order)}, {order.status}{due}."
        return PageState(state_of(order), said)

    return here.unchanged(now)


def _on_its_way(here: PageRequest, item: str) -> PageState:
    """Write the open orders of an item as its page has them, and the sentence that says so."""
    open_ = [o for o in orders.list_orders(here.db, False) if item in (o.item, o.name)]
    listed = "; ".join(f"{o.code}, {orders.shown(o)}, due {in_days(str(o.due))}" for o in open_)
    codes = ",".join(o.code for o in open_)
    said = f"What is on its way was changed while this page was open: {listed or 'nothing now'}."
    return PageState(f"{item}:{codes}", said)


def _one(here: PageRequest, code: str) -> Purchase:
    found = next((o for o in orders.list_orders(here.db, True) if o.code == code), None)
    if found is None:
        raise NotOnFile(f'There is no order "{code[:20]}".')
    return found


@routes.get("/orders/{code}/arrived", include_in_schema=False)
@needs(Right.WORK)
def arrive_page(here: At, code: str) -> Response:
    """Show the form for what came of an order."""
    order = _one(here, code)
    title = f"{orders.shown(order)} of {order.name} came"
    more = (f"/orders/{order.code}/cancel", "It will not come: cancel it")
    return here.show("form.html", title=title, form=_arrive_form(here, order), back="/orders", more=more)


@routes.post("/orders/{code}/arrived", include_in_schema=False)
@needs(Right.WORK)
def arrive(here: At, code: str) -> Response:
    """Put on the shelf what an order brought."""
    order = _one(here, code)

    def do() -> NextPage:
        typed = here.typed
        until = read_day(typed["use_by"], Flag("--use-by"), here.today) if typed["use_by"] else None
        packs = typed.number("packs", order.packs)
        delivery = orders.Delivery(typed.maybe("location"), until, typed["lot"], packs, typed.ticked("rest"))
        with day_lines.logging_key(here.today, f"{LineKind.ARRIVED} {order.code}"):
            came = orders.arrived(here.db, code, delivery, here.act())
        return received(here, lambda: came.bottles)

    title = f"{orders.shown(order)} of {order.name} came"
    return here.answer(_arrive_form(here, order), title, do, _still(here, order.code))


def _cancel_form(order: Purchase) -> WebForm:
    about = f"{orders.shown(order)} of {order.name}, due {in_days(str(order.due))}. What it was for is planned anew."
    to = f"/orders/{order.code}/cancel"
    return WebForm(to, (), "Cancel the order", seen=state_of(order), danger=True, about=about)


@routes.get("/orders/{code}/cancel", include_in_schema=False)
@needs(Right.WORK)
def cancel_page(here: At, code: str) -> Response:
    """Ask before an order is cancelled."""
    order = _one(here, code)
    return here.show("form.html", title=f"Cancel order {order.code}", form=_cancel_form(order), back="/orders")


@routes.post("/orders/{code}/cancel", include_in_schema=False)
@needs(Right.WORK)
def cancel(here: At, code: str) -> Response:
    """Cancel an order."""
    order = _one(here, code)

    def do() -> NextPage:
        gone = orders.cancel(here.db, code, here.act())
        return NextPage("/orders", f"Order {gone.code} is cancelled.")

    return here.answer(_cancel_form(order), f"Cancel order {order.code}", do, _still(here, order.code))


# What comes ------------------------------------------------------------------------------------------


def _receive_form(here: PageRequest, item: str = "", things: int = 1) -> WebForm:
    stands = choices(places.list_places(here.db), "where it always stands")
    fields: list[Field] = []
    for number in range(1, things + 1):
        end = "" if number == 1 else f"-{number}"
        alone = things == 1
        if not alone:
            fields.append(Field(f"thing{end}", f"Thing {number}", "heading"))
        fields += [
            Field(
                f"item{end}",
                "What",
                value=item if number == 1 else "",
                required=number == 1,
                hint="name, formula, CAS number or code",
            ),
            Field(f"amount{end}", "What one bottle holds", required=number == 1, hint="such as 500 g"),
            Field(f"bottles{end}", "How many such bottles", "number", "--bottles" if alone else "", "1"),
            Field(f"location{end}", "Where it is put", "choice", "--at" if alone else "", choices=stands),
            Field(f"use_by{end}", "Use by", "date", "--use-by" if alone else "", hint="as its label says"),
            Field(f"lot{end}", "Lot", option="--lot" if alone else ""),
        ]
    if things > 1:
        fields.append(Field("all", "All of it", "heading"))
    fields += [
        Field("supplier", "From which supplier", option="--supplier"),
        Field("note", "Note", option="--note"),
        day_field(label="Came on", hint="today, if left empty"),
        Field("things", "", "hidden", value=str(things)),
    ]
    about = (
        "What is left empty is passed over; all of it is put on the books at once, or nothing." if things > 1 else ""
    )
    return WebForm("/receive", tuple(fields), "Put on the shelf", about=about)


MOST_THINGS = 12


@routes.get("/receive", include_in_schema=False)
@needs(Right.WORK)
def receive_page(here: At, item: str = "", things: int = 1) -> Response:
    """Show the form for new bottles: of one thing, or of all that came in one delivery."""
    several = min(max(things, 1), MOST_THINGS)
    title = "Receive bottles" if several == 1 else "Receive what came at once"
    form = _receive_form(here, item[:100], several)
    more = ("/receive?things=6", "Several things came at once") if several == 1 else None
    return here.show("form.html", title=title, form=form, back="/shelves", more=more)


def _receipts(typed: TypedForm, here: PageRequest) -> list[changes.Receipt]:
    """Read what was typed of each thing that came. Raises PrepError."""
    found = []
    for number in range(1, min(max(typed.number("things", 1), 1), MOST_THINGS) + 1):
        end = "" if number == 1 else f"-{number}"
        if number > 1 and not typed[f"item{end}"]:
            if typed[f"amount{end}"] or typed[f"lot{end}"]:
                raise PrepError(f"Thing {number}: say what it is.")
            continue
        until = read_day(typed[f"use_by{end}"], Flag("--use-by"), here.today) if typed[f"use_by{end}"] else None
        found.append(
            changes.Receipt(
                typed[f"item{end}"],
                typed.amount(f"amount{end}") or "",
                typed.number(f"bottles{end}", 1),
                typed.maybe(f"location{end}"),
                until,
                typed[f"lot{end}"],
                typed["note"],
                supplier=typed["supplier"],
            )
        )
    return found


@routes.post("/receive", include_in_schema=False)
@needs(Right.WORK)
def receive(here: At) -> Response:
    """Put new bottles on the books, all that came as one job."""
    typed = here.typed
    form = _receive_form(here, things=min(max(typed.number("things", 1), 1), MOST_THINGS))

    def do() -> NextPage:
        receipts = _receipts(typed, here)
        return received(here, lambda: changes.receive_all(here.db, receipts, here.act()))

    return here.answer(form, "Receive bottles", do)


def received(here: PageRequest, do: "Callable[[], Sequence[HeldBottle]]") -> NextPage:
    """Choose the page to go to, and what it says, once bottles have come."""
    held = do()
    of: dict[tuple[str, str], list[str]] = {}
    for one in held:
        of.setdefault((one.name, one.location), []).append(one.code)
    said = "; ".join(
        f"{plural(len(codes), 'bottle')} of {name} at {place}: {', '.join(codes)}"
        for (name, place), codes in of.items()
    )
    said += ". Write the code on its label."
    return NextPage(f"/new?codes={','.join(h.code for h in held)}", f"{said} {beside(here, held)}")


@routes.get("/new", include_in_schema=False)
@needs(Right.SEE_STOCK)
def new(here: At, codes: str) -> Response:
    """Show bottles that were just filled or received, and their labels."""
    wanted = [code for code in codes.split(",") if code][:MOST_NEW]
    if not wanted:
        raise NotOnFile("There is no bottle named.")
    return here.show("new.html", bottles=[listing.show(here.db, code).bottle for code in wanted], sheets=SHEETS)


def beside(here: PageRequest, held: "Sequence[HeldBottle]") -> str:
    """Warn of what must not stand beside new bottles where they are put; empty where nothing need be said."""
    found = [one for some in placement.beside(here.db, list(held)).values() for one in some]
    minds = (one for one in dict.fromkeys(found) if one.severity != Severity.NOTE)
    return " ".join(f"Mind: {in_words(with_cure(one))}" for one in minds)
