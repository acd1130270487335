"""`prep plan`: what to make, from what, what each booking gets, what is consumed, what to order."""

import sys
from datetime import UTC, date, datetime, time
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common
from prep.cli.plan import settings
from prep.errors import PrepError, Refused
from prep.findings import Severity
from prep.plurals import plural
from prep.records import record

if TYPE_CHECKING:
    from collections.abc import Callable

    from prep.planning.by_day import PlanDay
    from prep.services.plan.day_lines import NumberedLines
    from prep.services.plan.plan import DrawnPlan

_LONG_S = 2.0

app = common.group(
    "What to make today and this half term, from what; what it takes; what to order by when.\n\n"
    "Example: prep plan --weeks 2",
    bare=True,
)
app.command("settings")(common.reads(settings.settings))
app.add_typer(settings.closed, name="closed")

Sample = Annotated[bool, typer.Option("--sample", help="Run on the invented sample school; nothing is kept.")]


@app.callback(invoke_without_command=True)
def plan(
    context: typer.Context,
    start: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First booking day; default: today.")
    ] = None,
    end: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last booking day.")] = None,
    weeks: Annotated[int | None, typer.Option("--weeks", help="How many weeks from the first day; default: 6.")] = None,
    strict: Annotated[
        bool,
        typer.Option(
            "--strict", help="Exit 1 if a need is short, a booking is left out, or a day has not the minutes."
        ),
    ] = False,
    on: Annotated[
        str | None,
        typer.Option(
            "--day", metavar="DATE", help='Only this day, whole: "today" or a date; with --pdf, of its sheet.'
        ),
    ] = None,
    steps: Annotated[bool, typer.Option("--steps", help="The whole plan, with the steps of each make.")] = False,
    brief: Annotated[bool, typer.Option("--brief", help="The whole plan, without the steps.")] = False,
    csv_folder: Annotated[
        Path | None,
        typer.Option("--csv", metavar="FOLDER", help="Write requirements, makes, takes and orders there."),
    ] = None,
    pdf: Annotated[
        tuple[str, Path] | None,
        typer.Option("--pdf", metavar="day|week FILE", help="Write the sheet of a day or of a week as PDF."),
    ] = None,
    ics: Annotated[
        Path | None,
        typer.Option("--ics", metavar="FILE", help="Write makes and order-by days as a calendar (iCalendar)."),
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
    """Plan the booked demonstrations: in short, today first; one day whole; or everything.

    Example: prep plan

    Example: prep plan --day today

    Example: prep plan --weeks 2 --steps
    """
    if context.invoked_subcommand:
        return
    from prep.services.plan import plan as plan_service

    start, end = common.iso(start, "--from"), common.iso(end, "--to")
    if sample:
        drawn = plan_service.sample_plan(start, end, weeks)
    else:
        drawn = plan_service.plan(db, start, end, weeks, common.today(), _progress())
    if what_if:
        _what_if(drawn, what_if, as_json=as_json)
        return
    if on is not None and pdf is None and (csv_folder or ics):
        raise PrepError("--day goes with --pdf, or alone: --csv and --ics write the whole plan.")
    written = _write(drawn, csv_folder, pdf, _Sheet(on, start, db, sample), ics)
    if written and not as_json:
        typer.echo(f"Wrote {'; '.join(written)}.")
    if as_json or not written:
        _show(
            drawn,
            None if written else on,
            db,
            whole=steps or brief,
            brief=brief and not steps,
            sample=sample,
            as_json=as_json,
        )
    if strict and (
        stops := [f for f in drawn.plan.findings if f.severity == Severity.STOP or f.code == "day-too-full"]
    ):
        times = plural(len(stops), "time")
        raise Refused(
            f"The plan says STOP {times}: a need is short, a day is too full, or a booking is left out; see the plan."
        )


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
    """Follow the chain behind one line of the plan: from booking to bottle or order, with amounts and working.

    Example: prep plan why B12
    """
    from prep.planning.pegging import why as chain
    from prep.reports.plan import pegging_view
    from prep.services.plan import plan as plan_service

    drawn = (
        plan_service.sample_plan(start, end, weeks)
        if sample
        else plan_service.plan(db, start, end, weeks, common.today())
    )
    link = chain(drawn.plan, drawn.snapshot, ref)
    if as_json:
        common.show_json(pegging_view.why_document(link, drawn.snapshot))
    else:
        pegging_view.show_why(link, drawn.snapshot)


def _progress() -> "Callable[[int, int], None] | None":
    """Make the reporter that tells a person at a terminal how far a plan is, once it takes long."""
    if not sys.stderr.isatty():
        return None
    began = monotonic()

    def tell(done: int, of: int) -> None:
        if monotonic() - began > _LONG_S:
            last = done + 1 >= of
            said = " " * 20 + "\r" if last else f"Planning: {100 * done // max(1, of)} %"
            print(f"\r{said}", end="", file=sys.stderr, flush=True)

    return tell


@record(frozen=True, slots=True)
class _Sheet:
    """Which sheet is asked for: of the day `on` (None: `start`, else today), and whose numbers its lines have."""

    on: str | None
    start: str | None
    db: Path | None
    sample: bool


def _write(
    drawn: "DrawnPlan", csv_folder: Path | None, pdf: tuple[str, Path] | None, sheet: _Sheet, ics: Path | None
) -> list[str]:
    """Render all that is asked for, then write it; says what was written where. Raises PrepError."""
    from prep.reports.output_files import OutputFile, make_folder, write_files

    files: list[OutputFile] = []
    said: list[str] = []
    if csv_folder is not None:
        from prep.reports.plan.csv_tables import csv_files

        files += csv_files(drawn.plan, drawn.snapshot, csv_folder)
        said.append(f"{', '.join(one.path.name for one in files)} to {csv_folder}")
    if pdf is not None:
        span, file = pdf
        files.append(OutputFile(file, _pdf(drawn, span, sheet)))
        said.append(f"the {span} sheet to {file}")
    if ics is not None:
        files.append(OutputFile(ics, _ics(drawn.cautioned())))
        said.append(f"the makes and order-by days to {ics}")
    if csv_folder is not None:
        make_folder(csv_folder)
    write_files(files)
    return said


def _numbered(found: "PlanDay", drawn: "DrawnPlan", db: Path | None, *, sample: bool) -> "NumberedLines":
    """Number a day's lines: an inventory keeps the numbers for the day."""
    from prep.services.plan import day_lines

    return day_lines.of_sample(found) if sample else day_lines.number(db, found, drawn.snapshot)


def _show(
    drawn: "DrawnPlan", on: str | None, db: Path | None, *, whole: bool, brief: bool, sample: bool, as_json: bool
) -> None:
    """Print a day, the whole plan, or the overview."""
    if on is not None:
        day = _day(drawn, on)
        drawn = drawn.cautioned([day])
    elif as_json or whole:
        drawn = drawn.cautioned()
    plan, snapshot = drawn.plan, drawn.snapshot
    if on is not None:
        from prep.planning.by_day import PlanDays
        from prep.reports.terminal import paged

        if as_json:
            from prep.reports.plan.document import day_document

            common.show_json(day_document(PlanDays(plan, snapshot).of(day), plan, snapshot))
        else:
            from prep.reports.plan.day_screen import show_day

            numbered = _numbered(PlanDays(plan, snapshot).of(day), drawn, db, sample=sample)
            with paged():
                show_day(plan, snapshot, day, numbered.numbers, numbered.logged)
    elif as_json:
        from prep.reports.plan.document import plan_document

        common.show_json(plan_document(plan, snapshot))
    elif whole:
        from prep.reports.plan.screen import show_plan
        from prep.reports.terminal import paged

        with paged():
            show_plan(plan, snapshot, brief=brief)
    else:
        from prep.reports.plan.overview_screen import show_overview

        show_overview(plan, snapshot, f"prep plan{' --sample' if sample else ''}")


def _day(drawn: "DrawnPlan", text: str) -> date:
    """Read the day that was asked for, within the plan. Raises PrepError."""
    today, last = drawn.plan.today, drawn.plan.horizon.end
    on = common.a_date(text, "--day", today)
    if not today <= on <= max(today, last):
        raise PrepError(f"--day {on} is not in the plan, which runs from {today} to {last}; --to makes it longer.")
    return on


def _pdf(drawn: "DrawnPlan", span: str, sheet: _Sheet) -> bytes:
    from prep.planning.by_day import PlanDays
    from prep.reports.plan.day_sheet import day_sheet, week_sheet
    from prep.reports.plan.sheet_rows import day_rows, week_of, with_done
    from prep.services.plan import day_lines

    text, option = (sheet.on, "--day") if sheet.on is not None else (sheet.start, "--from")
    first = common.a_date(text, option, drawn.plan.today)
    if span == "day":
        found = PlanDays(drawn.plan, drawn.snapshot).of(first)
        numbers = _numbered(found, drawn, sheet.db, sample=sheet.sample).numbers
        (row,) = day_rows(drawn.cautioned([first]).plan, drawn.snapshot, [first], numbers)
        if first == drawn.plan.today and not sheet.sample:
            row = with_done(row, day_lines.done(sheet.db, first))
        return day_sheet(row, drawn.school)
    if span == "week":
        days = week_of(first, drawn.plan, drawn.snapshot)
        if not days:
            raise PrepError(f"the week from {first} has no working day; give another first day with --day.")
        return week_sheet(day_rows(drawn.cautioned(days).plan, drawn.snapshot, days), drawn.school)
    raise PrepError(f'--pdf "{span[:20]}" is no sheet; write --pdf day FILE or --pdf week FILE.')


def _ics(drawn: "DrawnPlan") -> bytes:
    from prep.reports.calendar import write_tasks
    from prep.reports.plan.sheet_rows import task_rows

    # Stamped with the plan's own day, so that the same plan gives the same file.
    stamp = datetime.combine(drawn.plan.today, time(), UTC)
    return write_tasks(task_rows(drawn.plan, drawn.snapshot), stamp, drawn.school or "Prep room")


def _what_if(drawn: "DrawnPlan", changes: list[str], *, as_json: bool) -> None:
    from prep.reports.plan import pegging_view
    from prep.services.plan.what_if import suppose

    found = suppose(drawn.snapshot, drawn.plan, drawn.plan.horizon, changes, drawn.policy)
    if as_json:
        common.show_json(pegging_view.difference_document(changes, found.difference, found.snapshot))
    else:
        pegging_view.show_difference(changes, found.difference, drawn.snapshot, found.snapshot)
