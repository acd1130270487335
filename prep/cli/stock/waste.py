"""`prep waste`: the waste bottles, what was put into each, and when they were emptied."""

from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common
from prep.cli.stock.arguments import Reason

if TYPE_CHECKING:
    from prep.store.school.waste import WasteBottle

app = common.group("Waste bottles: one a stream, what went in, how full, when emptied.")

Code = Annotated[str, typer.Argument(help="The code of the waste bottle, such as W1.")]


@app.command()
def new(
    stream: Annotated[str, typer.Argument(help='What it takes, such as "heavy metals" (prep safety waste DEMO).')],
    full: Annotated[str, typer.Option("--full", help='What it takes, such as "2.5 L".')],
    location: Annotated[str, typer.Option("--at", help="Where it stands.")],
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put a waste bottle on the books.

    Example: prep waste new "heavy metals" --full "2.5 L" --at PREP
    """
    from prep.services.stock import waste_bottles

    _said(waste_bottles.new(db, stream, full, location, common.act(by, on)), as_json)


@app.command()
def put(
    code: Code,
    amount: Annotated[str | None, typer.Argument(help='How much, such as "150 mL".')] = None,
    what: Annotated[str, typer.Option("--what", help="What it is.")] = "",
    bottle: Annotated[
        str | None, typer.Option("--from", metavar="BOTTLE", help="A bottle on the books: all of it, or the amount.")
    ] = None,
    even_so: Annotated[
        bool, typer.Option("--even-so", help="It is in already, though it should not have met what is there.")
    ] = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Write down what went into a waste bottle.

    Example: prep waste put W1 "150 mL" --what "copper sulfate residues"

    Example: prep waste put W1 --from H2C4
    """
    from prep.services.stock import waste_bottles

    _said(
        waste_bottles.put(db, code, waste_bottles.WastePortion(amount, what, bottle, even_so), common.act(by, on)),
        as_json,
    )


@app.command()
def empty(
    code: Code,
    reason: Reason = "",
    close: Annotated[bool, typer.Option("--close", help="It goes away for good.")] = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Write down that a waste bottle was emptied or collected, and the day.

    Example: prep waste empty W1 --reason "collected by the licensed carrier"
    """
    from prep.services.stock import waste_bottles

    _said(waste_bottles.empty(db, code, reason, common.act(by, on), close), as_json)


@app.command("list")
@common.reads
def list_(db: common.Db = None, as_json: common.AsJson = False) -> None:
    """List every waste bottle and how full it is.

    Example: prep waste list
    """
    from prep.chemistry import quantities
    from prep.chemistry.model import Measure
    from prep.reports import terminal
    from prep.reports.school_documents import waste_document
    from prep.services.stock import waste_bottles

    found = waste_bottles.listed(db)
    if as_json:
        common.show_json([waste_document(one) for one in found])
        return
    rows = [
        (
            one.code,
            one.stream,
            quantities.show(one.holds, Measure.VOLUME),
            quantities.show(one.full, Measure.VOLUME),
            one.location,
            waste_bottles.says(one),
        )
        for one in found
    ]
    terminal.table(("Bottle", "Stream", "Holds", "Takes", "At", ""), rows, right=(2, 3))


@app.command()
@common.reads
def show(code: Code, db: common.Db = None, as_json: common.AsJson = False) -> None:
    """Show one waste bottle: what was put in, by whom, and when it was emptied.

    Example: prep waste show W1
    """
    from prep.chemistry import quantities
    from prep.chemistry.model import Measure
    from prep.reports import terminal
    from prep.reports.school_documents import waste_document
    from prep.services.stock import waste_bottles

    record = waste_bottles.show(db, code)
    if as_json:
        residues = [
            {
                "job": r.job,
                "on": r.on.isoformat(),
                "by": r.by,
                "amount": quantities.as_json(r.amount, Measure.VOLUME),
                "what": r.what,
            }
            for r in record.residues
        ]
        common.show_json(waste_document(record.bottle) | {"residues": residues})
        return
    terminal.say(_line(record.bottle), bold=True)
    rows = [
        (
            str(r.job),
            r.on.isoformat(),
            ("+" if r.amount > 0 else "-") + quantities.show(abs(r.amount), Measure.VOLUME),
            r.by,
            r.what,
        )
        for r in record.residues
    ]
    terminal.table(("Job", "On", "Amount", "By", "What"), rows, right=(0, 2))


def _said(one: "WasteBottle", as_json: bool) -> None:
    from prep.reports.school_documents import waste_document

    if as_json:
        common.show_json(waste_document(one))
    else:
        common.tell(_line(one))


def _line(one: "WasteBottle") -> str:
    from prep.chemistry import quantities
    from prep.chemistry.model import Measure
    from prep.services.stock import waste_bottles

    holds, full = (quantities.show(amount, Measure.VOLUME) for amount in (one.holds, one.full))
    says = waste_bottles.says(one)
    return f"{one.code}  {one.stream}: {holds} of {full}, at {one.location}" + (f"; {says}." if says else ".")
