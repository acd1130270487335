"""`prep stock history` and `prep stock trace`: what was done, and where a bottle came from and went."""

from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common
from prep.cli.stock import regulator
from prep.cli.stock.arguments import Reason

if TYPE_CHECKING:
    from prep.store.jobs.history import HistoryLine


@common.reads
def history(
    bottle: Annotated[str | None, typer.Argument(help="Only this bottle.")] = None,
    last: Annotated[int, typer.Option("--last", help="How many lines.")] = 50,
    item: regulator.Item = None,
    location: regulator.At = None,
    cas: regulator.Cas = None,
    hazard: regulator.Hazard = None,
    supplier: regulator.Supplier = None,
    since: regulator.Since = None,
    until: regulator.UpToDay = None,
    kinds: Annotated[list[str] | None, typer.Option("--kind", help="Only this kind of job, such as use.")] = None,
    csv: regulator.Csv = None,
    pdf: regulator.Pdf = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List the newest lines of the ledger.

    Example: prep stock history --last 20

    Example: prep stock history --cas 7697-37-2 --since 2026-09-01 --kind use --csv nitric.csv
    """
    from prep.reports.stock import moved_document
    from prep.services.stock import listing

    asked = (item, location, cas, hazard, supplier, since, until, kinds)
    if any(asked) or pdf is not None:
        from prep.services.stock import register

        days = (regulator.day_of(since, "--since"), regulator.day_of(until, "--until"))
        query = register.RegisterQuery(item, cas, hazard, location, supplier, *days, tuple(kinds or ()))
    if any(asked):
        moves = register.history(db, query)
        moves = [m for m in moves if bottle is None or m.bottle == bottle.strip().upper()]
    else:
        moves = listing.history(db, bottle, last)
    if csv or pdf:
        from prep.reports import register_lists as lists_out
        from prep.services.catalogue import lookup

        names = {} if pdf is None else lookup.names(db)
        heading = () if pdf is None else register.heading(db, query, common.today())
        common.write_lists(lists_out.moves(moves, names), csv, pdf, as_json, heading)
        if not as_json:
            return
    if as_json:
        common.show_json([moved_document(m) for m in moves])
    else:
        show_moves(moves)


@common.reads
def trace(
    thing: Annotated[str, typer.Argument(metavar="BOTTLE|LOT|BOOKING", help="A bottle, a lot, or a booking.")],
    quarantine: Annotated[
        bool, typer.Option("--quarantine", help="Recalled: take all that holds any of it out of service.")
    ] = False,
    reason: Reason = "",
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Trace what a bottle, a lot or a booking came from, and everything that got some of it.

    Example: prep stock trace K7Q2

    Example: prep stock trace L77 --quarantine --reason "recalled by the supplier"
    """
    from prep.reports.stocktake import genealogy_view
    from prep.services.stock import recall

    found = recall.recall(db, thing, reason, common.act(by, on)) if quarantine else recall.trace(db, thing)
    if as_json:
        document = genealogy_view.document(found.start, found.kind, found.up, found.down)
        if quarantine:
            document |= {"quarantined": list(found.quarantined), "job": found.job}
        common.show_json(document)
        return
    from prep.reports import terminal

    for one in genealogy_view.tables(found.up, found.down):
        terminal.say(one.title, bold=True)
        if one.rows:
            terminal.table(one.headers, one.rows, right=one.figures)
        else:
            terminal.say("Nothing.", indent=2)
    if quarantine:
        common.told()
        terminal.say(f"In quarantine by job {found.job}: {', '.join(found.quarantined)}.")


def show_moves(moves: "list[HistoryLine]") -> None:
    """Print movements, one a line."""
    from prep.chemistry import quantities
    from prep.reports import terminal

    rows = [
        (
            str(m.job),
            m.on.isoformat(),
            m.kind if m.reverses is None else f"{m.kind} of {m.reverses}",
            m.bottle,
            ("+" if m.amount > 0 else "") + quantities.show(m.amount, m.measure) if m.amount else "",
            m.by,
            m.reason,
        )
        for m in moves
    ]
    terminal.table(("Job", "On", "What", "Bottle", "Amount", "By", "Why"), rows, right=(0, 4))
