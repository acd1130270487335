"""`prep stock`: what is on the shelves, what comes and goes, and the way back."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep.books import BottleStatus
from prep.cli import common
from prep.cli.make import standardise
from prep.cli.stock import history, pour, regulator
from prep.cli.stock.arguments import Bottle, Reason
from prep.errors import PrepError

if TYPE_CHECKING:
    from prep.store.bottles import HeldBottle

app = common.group("The shelves: list, receive, use, discard, move, and undo what was wrong.")

app.command("standardise")(standardise.standardise)
app.command("list")(regulator.list_)
app.command()(regulator.totals)
app.command()(regulator.limit)
app.command()(regulator.control)
app.command()(regulator.controlled)
app.command()(history.history)
app.command()(history.trace)
app.command()(pour.decant)
app.command()(pour.split)
app.command()(pour.found)
app.command("top-up")(pour.top_up)
app.command("pour-together")(pour.pour_together)


@app.command()
@common.reads
def show(bottle: Bottle, db: common.Db = None, as_json: common.AsJson = False) -> None:
    """Show one bottle and its history.

    Example: prep stock show K7Q2
    """
    from prep.reports.stock import held_document, moved_document
    from prep.services.stock import listing

    shown = listing.show(db, bottle)
    held, moves = shown.bottle, shown.moves
    if as_json:
        common.show_json({**held_document(held), "history": [moved_document(m) for m in moves]})
        return
    _show_held(held, db)
    history.show_moves(moves)


@app.command()
def receive(
    item: Annotated[str, typer.Argument(help="Substance or solution: its code or name.")],
    amount: Annotated[str, typer.Argument(help='What one bottle holds, such as "500 g".')],
    bottles: Annotated[int, typer.Option("--bottles", help="How many such bottles.")] = 1,
    location: Annotated[str | None, typer.Option("--at", help="Where it is put.")] = None,
    use_by: Annotated[str | None, typer.Option("--use-by", metavar="DATE", help="As its label says.")] = None,
    lot: Annotated[str, typer.Option("--lot", help="The supplier's lot.")] = "",
    strength: Annotated[
        str | None, typer.Option("--strength", help='As its label says, such as "70 % w/w" or "100 vol".')
    ] = None,
    supplier: Annotated[str, typer.Option("--supplier", help="Who it was bought from.")] = "",
    cost: Annotated[str | None, typer.Option("--cost", help="What one bottle cost, such as 12.50.")] = None,
    note: Annotated[str, typer.Option("--note", help="Anything else on the label.")] = "",
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put new bottles on the books and give them codes.

    Without --at they go where the same item stands, or to the only place there is.

    Example: prep stock receive "sodium chloride" "500 g" --use-by 2030-01-31

    Example: prep stock receive "nitric acid" "1 L" --strength "70 % w/w" --at ACID --cost 24.50
    """
    from prep.reports.stock import held_document
    from prep.services.safety import placement
    from prep.services.stock import changes

    until = common.a_use_by(use_by)
    receipt = changes.Receipt(item, amount, bottles, location, until, lot, note, strength, supplier, cost)
    choice = "" if as_json else common.choice(db, item)
    held = changes.receive(db, receipt, common.act(by, on))
    beside = placement.beside(db, held)
    if as_json:
        common.show_json(
            common.with_job(held_document(h) | {"notes": common.shelf_notes(beside[h.code])} for h in held)
        )
        return
    common.took(item, held[0].item, held[0].name, choice)
    for h in held:
        strong = f" [{h.strength}]" if h.strength is not None else ""
        typer.echo(f"{h.code}  {h.shown} of {h.name}{strong}, at {h.location}. Write {h.code} on its label.")
    common.show_shelf_notes(beside)


@app.command()
def use(
    bottle: Bottle,
    amount: Annotated[str, typer.Argument(help='How much, such as "12.5 g".')],
    reason: Reason = "",
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Take an amount from a bottle.

    Example: prep stock use K7Q2 "12.5 g" --reason "crystal growing"
    """
    from prep.services.stock import changes

    held = changes.use(db, bottle, amount, reason, common.act(by, on))
    _said(held, f"{held.code}: {held.shown} of {held.name} left.", as_json)


@app.command()
def discard(
    bottles: Annotated[list[str], typer.Argument(metavar="BOTTLE...", help="Codes on their labels.")],
    amount: Annotated[str | None, typer.Option(help="Only so much of one bottle, which stays open.")] = None,
    reason: Reason = "",
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Write off what is left in bottles, and close them; or, with --amount, a part of one.

    Example: prep stock discard K7Q2 --reason "out of date"

    Example: prep stock discard K7Q2 --amount "20 g" --reason "spilled"
    """
    from prep.reports.stock import held_document
    from prep.services.stock import changes

    gone = changes.discard(db, bottles, reason, common.act(by, on), amount)
    if as_json:
        common.show_json(common.with_job(held_document(h) for h in gone))
        return
    for held in gone:
        if amount is None:
            typer.echo(common.numbered(f"{held.code} ({held.name}) is written off."))
        else:
            left = f"{amount.strip()} of {held.code} ({held.name}) is written off; {held.shown} left."
            typer.echo(common.numbered(left))


@app.command()
def move(
    bottle: Bottle,
    location: Annotated[str, typer.Argument(help="Where to.")],
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put a bottle somewhere else.

    Example: prep stock move K7Q2 ACID
    """
    from prep.reports.stock import held_document
    from prep.services.safety import placement
    from prep.services.stock import changes

    held = changes.move(db, bottle, location, common.act(by, on))
    beside = placement.beside(db, [held])
    if as_json:
        common.show_json(held_document(held) | {"notes": common.shelf_notes(beside[held.code])})
        return
    typer.echo(common.numbered(f"{held.code} is at {held.location}."))
    common.show_shelf_notes(beside)


@app.command()
def correct(
    bottle: Bottle,
    use_by: Annotated[str | None, typer.Option("--use-by", metavar="DATE", help="As its label says, or none.")] = None,
    opened: Annotated[
        str | None, typer.Option("--opened", metavar="DATE", help="The day it was opened, or none.")
    ] = None,
    lot: Annotated[str | None, typer.Option("--lot", help="The supplier's lot.")] = None,
    tare: Annotated[str | None, typer.Option("--tare", metavar="MASS", help="What it weighs when empty.")] = None,
    strength: Annotated[str | None, typer.Option("--strength", help="As its label says, or none.")] = None,
    supplier: Annotated[str | None, typer.Option("--supplier", help="Who it was bought from.")] = None,
    cost: Annotated[str | None, typer.Option("--cost", help="What it cost full, or none.")] = None,
    note: Annotated[str | None, typer.Option("--note", help="Anything else on the label.")] = None,
    reason: Reason = "",
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Correct what the books say of a bottle's label, as a job that can be undone.

    Example: prep stock correct K7Q2 --use-by 2031-06-30 --tare "312.4 g"
    """
    from prep.reports.stock import held_document
    from prep.services.stock import changes

    given = changes.Correction(use_by, opened, lot, tare, note, strength, supplier, cost)
    held = changes.correct(db, bottle, given, reason, common.act(by, on))
    if as_json:
        common.show_json(held_document(held))
    else:
        _show_held(held, db)


@app.command()
def quarantine(
    bottle: Bottle,
    reason: Reason = "",
    release: Annotated[bool, typer.Option("--release", help="Put it back in service.")] = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Keep a bottle from being used, or release it.

    Example: prep stock quarantine K7Q2 --reason "label unreadable"
    """
    from prep.services.stock import changes

    status = BottleStatus.IN_SERVICE if release else BottleStatus.QUARANTINE
    held = changes.set_status(db, bottle, status, reason, common.act(by, on))
    _said(held, f"{held.code} is {held.status}.", as_json)


@app.command()
def undo(
    job: Annotated[int, typer.Argument(help="The job's number, from: prep stock history.")],
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Reverse a job as a whole; both stay on the books.

    Example: prep stock undo 12
    """
    from prep.services.stock import changes

    new = changes.undo(db, job, common.act(by, on))
    if as_json:
        common.show_json({"job": new, "reverses": job})
    else:
        common.told()
        typer.echo(f"Job {job} is undone by job {new}.")


@app.command("import")
def import_(
    file: Annotated[Path, typer.Argument(help="CSV with item and amount and, if wanted, the rest of a label.")],
    mapped: common.Map = None,
    location: Annotated[
        str | None, typer.Option("--at", help="Where bottles stand whose row does not say where.")
    ] = None,
    dry_run: common.DryRun = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put a spreadsheet of bottles on the books: all of its rows, or none.

    Columns: item (or cas), amount; if wanted unit, bottles (how many), use_by, location, code, lot, received, opened,
    strength, tare, supplier, cost (of the full bottle), status, note. Others are named and passed over.

    Example: prep stock import store.csv --map item=Chemical --map amount=Size --dry-run
    """
    from prep.services.files.imports import mapping
    from prep.services.stock import bottle_import

    pairs = mapping(mapped or [])
    with common.bar("Bottles", as_json) as watcher:
        done = bottle_import.import_stock(
            db, bottle_import.StockFile(file, pairs, location), dry_run, common.act(by, on), watcher
        )
    common.show_fates(done, dry_run, as_json)


@app.command()
@common.reads
def place(
    code: Annotated[str | None, typer.Argument(help="A short code, such as ACID.")] = None,
    name: Annotated[str, typer.Argument(help="Its name.")] = "",
    order: Annotated[int | None, typer.Option("--order", help="Its place in the walk round the room.")] = None,
    rename: Annotated[bool, typer.Option("--rename", help="It is there already, and gets this name.")] = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List the locations, add one, or give one another name.

    Example: prep stock place COLD "Cold store"
    """
    from prep.services.stock import places

    if code is not None:
        (places.rename_place if rename else places.add_place)(db, code, name, order, common.act(by))
    elif rename:
        raise PrepError("Say with its code which location is renamed.")
    found = places.list_places(db)
    if as_json:
        common.show_json([{"code": c, "name": n} for c, n in found.items()])
        return
    for known, called in found.items():
        typer.echo(f"{known}  {called}")


def _found(held: "HeldBottle") -> str:
    within = f" within {held.strength_uncertainty_pct} % (k = 2)" if held.strength_uncertainty_pct else ""
    return f"{held.strength}{within}" if held.strength else ""


def _show_held(held: "HeldBottle", db: Path | None) -> None:
    from prep.chemistry import quantities
    from prep.chemistry.model import Measure
    from prep.chemistry.preparation.after_opening import good_until
    from prep.reports import terminal
    from prep.reports.formatting import day
    from prep.services.school import usual

    good = good_until(held.item, held.use_by, held.opened, usual.read(db).days_open)
    terminal.say(f"{held.code}  {held.name}  {held.shown}", bold=True)
    for label, value in (
        ("status", held.status),
        ("at", held.location),
        ("strength", _found(held)),
        ("use by", day(held.use_by)),
        ("received", day(held.received)),
        ("opened", day(held.opened)),
        ("once opened good to", day(good) if good != held.use_by else ""),
        ("made by", held.made_by),
        ("lot", held.lot),
        ("supplier", held.supplier),
        ("cost when full", held.cost),
        ("note", held.note),
        ("weighs when empty", quantities.show(held.tare, Measure.MASS, None) if held.tare else ""),
    ):
        if value:
            terminal.say(f"{label}: {value}", indent=2)


def _said(held: "HeldBottle", sentence: str, as_json: bool) -> None:
    from prep.reports.stock import held_document

    if as_json:
        common.show_json(held_document(held))
    else:
        typer.echo(common.numbered(sentence))
