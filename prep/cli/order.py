"""`prep order`: what the plan says to buy, what was placed, what arrived."""

from typing import TYPE_CHECKING, Annotated

import typer

from prep import dates
from prep.books import OrderStatus
from prep.cli import common

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from prep.safety.controlled import ControlledEntry

app = common.group("Orders: what the plan says to buy, and recording what was placed and what arrived.")

Code = Annotated[str, typer.Argument(metavar="ORDER", help="Its code, from: prep order list.")]


@app.command("list")
@common.reads
def list_(
    weeks: Annotated[int | None, typer.Option("--weeks", help="How far ahead to plan; default: 6.")] = None,
    everything: Annotated[bool, typer.Option("--all", help="Arrived and cancelled orders too.")] = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List what the plan says to order by when, and what is on its way.

    Example: prep order list --weeks 4
    """
    from prep.planning.overdue import comes_on_the_day, days_late, waiting
    from prep.reports.stock import order_document
    from prep.services.plan import plan
    from prep.services.safety import controlled_register
    from prep.services.stock import orders

    drawn = plan.plan(db, None, None, weeks, common.today())
    on_way = orders.list_orders(db, everything)
    waits = waiting(drawn.plan.requirements, drawn.plan.batches)
    same_day = comes_on_the_day(drawn.snapshot.orders, drawn.plan.requirements, drawn.plan.batches)
    late = {o.code: days_late(o, common.today()) if o.status == OrderStatus.PLACED else 0 for o in on_way}
    marks = controlled_register.marks_for(db, [line.item for line in drawn.plan.orders] + [o.item for o in on_way])
    if as_json:
        from prep.reports.plan.document import plan_document

        document = plan_document(drawn.plan, drawn.snapshot)
        placed = [
            order_document(o)
            | {
                "days_late": late[o.code],
                "waiting": list(waits.get(o.code, ())),
                "on_the_day": list(same_day.get(o.code, ())),
            }
            for o in on_way
        ]
        wanted = [line | {"controlled": _acts(marks, str(line["item"]))} for line in document["orders"]]
        placed = [line | {"controlled": _acts(marks, str(line["item"]))} for line in placed]
        common.show_json({"to_order": wanted, "placed": placed})
        return
    from prep.reports import terminal
    from prep.reports.plan import screen as plan_screen

    plan_screen.show_orders(drawn.plan, drawn.snapshot)
    terminal.say()
    terminal.say("ON ITS WAY", bold=True)
    rows = [
        (
            o.code,
            orders.shown(o),
            o.name,
            o.placed.isoformat(),
            o.due.isoformat()
            + (f", OVERDUE by {late[o.code]} d" if late[o.code] else "")
            + (f", on the day of {', '.join(same_day[o.code])}" if o.code in same_day else ""),
            ", ".join(waits.get(o.code, ())),
        )
        + ((o.status,) if everything else ())
        for o in on_way
    ]
    head = ("Order", "Packs", "Item", "Placed", "Due", "For") + (("Status",) if everything else ())
    if rows:
        terminal.table(head, rows)
    else:
        terminal.say("Nothing.", indent=2)
    if marks:
        terminal.say()
        terminal.say("ON THE LIST OF CONTROLLED SUBSTANCES", bold=True)
        for item, acts in marks.items():
            name = drawn.snapshot.catalogue.item(item).name
            terminal.say(f"{name}: {'; '.join(one.said for one in acts)}", indent=2, hang=4)


@app.command()
def placed(
    item: Annotated[str, typer.Argument(help="The substance: its code or name.")],
    packs: Annotated[int, typer.Option("--packs", help="How many packs.")] = 1,
    pack: Annotated[str | None, typer.Option("--pack", help="What a pack holds; default: as on file.")] = None,
    due: Annotated[
        str | None, typer.Option("--due", metavar="DATE", help="When it comes; default: as on file.")
    ] = None,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Record that an order was placed; the plan counts on it from the day it is due.

    Example: prep order placed "sodium hydroxide" --packs 2 --pack "500 g"
    """
    from prep.reports.stock import order_document
    from prep.services.safety import controlled_register
    from prep.services.stock import orders

    day = common.a_date(due, "--due") if due else None
    order = orders.placed(db, orders.OrderRequest(item, packs, pack, day), common.act(by, on))
    marks = controlled_register.marks_for(db, [order.item]).get(order.item, ())
    if as_json:
        common.show_json(order_document(order) | {"controlled": [one.said for one in marks]})
    else:
        common.took(item, order.item, order.name)
        placed_ = f"{order.code}: {orders.shown(order)} of {order.name}, due {dates.day(order.due)}."
        typer.echo(common.numbered(placed_))
        for one in marks:
            typer.echo(f"Mind: {order.name} is on the list of controlled substances: {one.said}.")


@app.command()
def rule(
    item: Annotated[str, typer.Argument(help="The substance: its code or name.")],
    minimum: Annotated[
        str | None, typer.Option("--minimum", metavar="AMOUNT", help='What is kept at least; "0 g" for nothing.')
    ] = None,
    packs: Annotated[
        list[str] | None, typer.Option("--pack", metavar="AMOUNT", help="What a pack holds; once for each size.")
    ] = None,
    lead_days: Annotated[
        int | None, typer.Option("--lead-days", metavar="DAYS", help="How long an order takes.")
    ] = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Set what is kept of an item at least, its packs, how long an order takes; without options, show it.

    Example: prep order rule "sodium chloride" --minimum "100 g" --pack "500 g" --lead-days 10
    """
    from prep.services.stock import orders

    if minimum is None and not packs and lead_days is None:
        found = orders.minimum_of(db, item)
    else:
        found = orders.set_minimum(db, item, orders.MinimumRequest(minimum, packs or [], lead_days), common.act(by))
    if as_json:
        from prep.reports.catalogue import rule_document

        common.show_json({"item": found.item} | rule_document(found.rule, found.measure))
    else:
        from prep.reports import terminal

        terminal.say(f"{found.name}: {found.shown()}.")


@app.command()
def arrived(
    code: Code,
    location: Annotated[str | None, typer.Option("--at", help="Where it is put.")] = None,
    use_by: Annotated[str | None, typer.Option("--use-by", metavar="DATE", help="As its label says.")] = None,
    lot: Annotated[str, typer.Option("--lot", help="The supplier's lot.")] = "",
    strength: Annotated[str | None, typer.Option("--strength", help='As its label says, such as "70 % w/w".')] = None,
    supplier: Annotated[str, typer.Option("--supplier", help="Who it was bought from.")] = "",
    cost: Annotated[str | None, typer.Option("--cost", help="What one pack cost, such as 12.50.")] = None,
    packs: Annotated[
        int | None, typer.Option("--packs", help="How many came, if not all: the rest stays on order.")
    ] = None,
    cancel_rest: Annotated[bool, typer.Option("--cancel-rest", help="The rest will not come.")] = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put what an order brought on the shelf, one bottle a pack.

    Example: prep order arrived P3 --use-by 2031-06-30

    Example: prep order arrived P3 --packs 1 --cancel-rest
    """
    from prep.services.safety import placement
    from prep.services.stock import orders

    until = common.a_use_by(use_by)
    came = orders.arrived(
        db,
        code,
        orders.Delivery(location, until, lot, packs, cancel_rest, strength, supplier, cost),
        common.act(by, on),
    )
    beside = placement.beside(db, came.bottles)
    left = came.order.packs if came.order.status == OrderStatus.PLACED else 0
    if as_json:
        row = {"order": came.order.code, "packs_left": left}
        common.show_json(
            common.with_job(
                {"bottle": h.code, "item": h.item, "notes": common.shelf_notes(beside[h.code])} | row
                for h in came.bottles
            )
        )
        return
    for h in came.bottles:
        typer.echo(f"{h.code}  {h.shown} of {h.name}, at {h.location}. Write {h.code} on its label.")
    common.show_shelf_notes(beside)
    if left:
        typer.echo(f"{orders.shown(came.order)} stays on order {came.order.code}, due {dates.day(came.order.due)}.")


@app.command()
def cancel(code: Code, by: common.By = None, db: common.Db = None, as_json: common.AsJson = False) -> None:
    """Cancel an order that was placed.

    Example: prep order cancel P3
    """
    from prep.reports.stock import order_document
    from prep.services.stock import orders

    order = orders.cancel(db, code, common.act(by))
    if as_json:
        common.show_json(order_document(order) | {"status": OrderStatus.CANCELLED})
    else:
        typer.echo(common.numbered(f"{order.code} is cancelled."))


def _acts(marks: "Mapping[str, Sequence[ControlledEntry]]", item: str) -> list[str]:
    return [one.said for one in marks.get(item, ())]
