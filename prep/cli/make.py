"""`prep make`: how to make a solution from what is held, and logging it."""

from typing import Annotated

import typer

from prep.cli import common


def make(
    solution: Annotated[str, typer.Argument(help="The solution's code or name (prep solution list).")],
    volume: Annotated[str, typer.Option("--volume", help='How much at least, such as "500 mL".')],
    source: Annotated[
        str | None, typer.Option("--from", metavar="ITEM", help="Make it from this source.")
    ] = None,
    log: Annotated[
        bool, typer.Option("--log", help="It is made: take from the bottles, fill a new one.")
    ] = False,
    location: Annotated[str | None, typer.Option("--at", help="With --log: where the new bottle stands.")] = None,
    bottles: Annotated[int, typer.Option("--bottles", help="With --log: into how many bottles.")] = 1,
    found: Annotated[
        str | None,
        typer.Option("--found", metavar="STRENGTH", help="With --log: the strength that a titration gave."),
    ] = None,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """What to weigh or measure, with which vessel, in which order, to what mark.

    Example: prep make hcl-1 --volume "1 L"

    Example: prep make hcl-1 --volume "1 L" --log --by "R. Vane"
    """
    from prep.errors import PrepError
    from prep.services import making

    day = common.a_date(on, "--on")
    if not log:
        if location is not None or found is not None or bottles != 1:
            raise PrepError("--at, --bottles and --found go with --log.")
        shown = making.instructions(db, solution, volume, source, day)
        made = None
    else:
        made = making.log(db, solution, volume, source, location, bottles, found, common.who(by), day)
        shown = made.instructions
    if as_json:
        from prep.reports.plan_json import batch_document

        document = batch_document(shown.batch, shown.snapshot)
        document["missing"] = [{"item": name, "amount": amount} for name, amount in shown.missing]
        if made is not None:
            document |= {"job": made.job, "bottles": [b.code for b in made.bottles]}
        common.show_json(document)
        return
    from prep.reports import make_screen

    make_screen.show(shown.batch, shown.snapshot, shown.missing)
    if made is not None:
        for bottle in made.bottles:
            typer.echo(
                f"Logged as job {made.job}: bottle {bottle.code} holds {bottle.shown}, use by {bottle.use_by}, "
                f"at {bottle.location}. Write {bottle.code} on its label."
            )
