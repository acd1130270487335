"""`prep plan`: what to make, from what, what each booking gets, what is consumed, what to order."""

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from prep.cli import common

app = common.group(
    "What to make today and this half term, from what; what it takes; what to order by when.\n\n"
    "Example: prep plan --weeks 2",
    bare=True,
)


@app.callback(invoke_without_command=True)
def plan(
    context: typer.Context,
    start: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First booking day; default: today.")
    ] = None,
    end: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last booking day.")] = None,
    weeks: Annotated[
        int | None, typer.Option("--weeks", help="How many weeks from the first day; default: 6.")
    ] = None,
    strict: Annotated[bool, typer.Option("--strict", help="Exit 1 if any requirement is short.")] = False,
    brief: Annotated[bool, typer.Option("--brief", help="Without the steps of each make.")] = False,
    csv_folder: Annotated[
        Path | None,
        typer.Option("--csv", metavar="FOLDER", help="Write requirements, makes, takes and orders there."),
    ] = None,
    sample: Annotated[
        bool, typer.Option("--sample", help="Run on the invented sample school; nothing is kept.")
    ] = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Plan the booked demonstrations.

    Example: prep plan --weeks 2
    """
    if context.invoked_subcommand:
        return
    from prep.errors import Refused
    from prep.services import planning

    drawn = (
        planning.sample_plan(start, end, weeks) if sample else planning.plan(db, start, end, weeks, date.today())
    )
    if csv_folder is not None:
        from prep.reports.plan_csv import write_plan

        files = write_plan(drawn.plan, drawn.snapshot, csv_folder)
        if not as_json:
            typer.echo(f"Wrote {', '.join(f.name for f in files)} to {csv_folder}.")
    if as_json:
        from prep.reports.plan_json import plan_document

        common.show_json(plan_document(drawn.plan, drawn.snapshot))
    elif csv_folder is None:
        from prep.reports.plan_screen import show_plan

        show_plan(drawn.plan, drawn.snapshot, brief=brief)
    if strict and (short := [need for need in drawn.plan.requirements if need.short]):
        raise Refused(f"{len(short)} requirement{'s are' if len(short) > 1 else ' is'} short; see the plan.")
