"""`prep plan`: what to make, from what, what each booking gets, what is consumed, what to order."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.services.planning import Drawn

app = common.group(
    "What to make today and this half term, from what; what it takes; what to order by when.\n\n"
    "Example: prep plan --weeks 2",
    bare=True,
)

Sample = Annotated[bool, typer.Option("--sample", help="Run on the invented sample school; nothing is kept.")]


@app.callback(invoke_without_command=True)
def plan(
    context: typer.Context,
    start: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First booking day; default: today.")
    ] = None,
    end: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last booking day.")] = None,
    weeks: Annotated[int | None, typer.Option("--weeks", help="How many weeks from the first day; default: 6.")] = None,
    strict: Annotated[bool, typer.Option("--strict", help="Exit 1 if any requirement is short.")] = False,
    brief: Annotated[bool, typer.Option("--brief", help="Without the steps of each make.")] = False,
    csv_folder: Annotated[
        Path | None,
        typer.Option("--csv", metavar="FOLDER", help="Write requirements, makes, takes and orders there."),
    ] = None,
    what_if: Annotated[
        list[str] | None,
        typer.Option(
            "--what-if",
            metavar="CHANGE",
            help='What would change, such as "bottle K7 gone", "booking rates on 2027-01-20", "order P1 5 days late".',
        ),
    ] = None,
    sample: Sample = False,
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

    drawn = planning.sample_plan(start, end, weeks) if sample else planning.plan(db, start, end, weeks, date.today())
    if what_if:
        _what_if(drawn, what_if, as_json=as_json)
        return
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


@app.command()
def why(
    ref: Annotated[
        str, typer.Argument(metavar="ID", help="A booking, requirement, batch, order or bottle, as the plan names it.")
    ],
    start: Annotated[str | None, typer.Option("--from", metavar="DATE", help="First booking day.")] = None,
    end: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last booking day.")] = None,
    weeks: Annotated[int | None, typer.Option("--weeks", help="How many weeks from the first day.")] = None,
    sample: Sample = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """The chain behind one line of the plan: from booking to bottle or order, with amounts and working.

    Example: prep plan why B12
    """
    from prep.planning.why import why as chain
    from prep.reports import why_report
    from prep.services import planning

    drawn = planning.sample_plan(start, end, weeks) if sample else planning.plan(db, start, end, weeks, date.today())
    link = chain(drawn.plan, drawn.snapshot, ref)
    if as_json:
        common.show_json(why_report.why_document(link, drawn.snapshot))
    else:
        why_report.show_why(link, drawn.snapshot)


def _what_if(drawn: "Drawn", changes: list[str], *, as_json: bool) -> None:
    from prep.reports import why_report
    from prep.services.supposing import suppose

    found = suppose(drawn.snapshot, drawn.plan, drawn.plan.horizon, changes)
    if as_json:
        common.show_json(why_report.difference_document(changes, found.difference, found.snapshot))
    else:
        why_report.show_difference(changes, found.difference, drawn.snapshot, found.snapshot)
