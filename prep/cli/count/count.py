"""`prep count`: the term-end count, from the sheet to the report."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep import dates
from prep.cli import common
from prep.cli.count import signers
from prep.errors import Refused
from prep.plurals import plural

if TYPE_CHECKING:
    from prep.services.stocktake.results import CountEntry, Progress

app = common.group("The term-end count: open, sheet, enter, list, close, report.")

Which = Annotated[
    str | None, typer.Option("--count", metavar="CODE", help="Which count; default: the one that is open.")
]


app.command()(signers.signers)


@app.command("open")
def open_(
    location: Annotated[str | None, typer.Option("--at", help="Only this location; default: all.")] = None,
    blind: Annotated[bool, typer.Option("--blind", help="The sheet does not say what the books say.")] = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Open a count of a location, or of the whole store.

    Example: prep count open --at ACID --blind
    """
    from prep.reports.stocktake import count_view
    from prep.services.stocktake import stocktake

    opened = stocktake.open_count(db, location, blind, common.act(by, on))
    if as_json:
        common.show_json(count_view.count_document(opened.count) | {"bottles": len(opened.lines)})
        return
    typer.echo(
        f"Count {opened.count.code} of {opened.count.location or 'all places'} is open: {len(opened.lines)} "
        "bottles to look for.\nNext: prep count sheet --pdf sheet.pdf; prep count enter CODE AMOUNT"
    )


@app.command()
@common.reads
def sheet(
    pdf: Annotated[Path | None, typer.Option("--pdf", metavar="FILE", help="The sheet to print.")] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="The sheet to fill in.")] = None,
    count: Which = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Print what to look for, in walking order: on screen, on paper, or as a file to fill in.

    Example: prep count sheet --pdf sheet.pdf --csv sheet.csv
    """
    from prep.reports.stocktake import count_view
    from prep.services.stocktake import stocktake

    found = stocktake.sheet(db, count)
    if as_json:
        common.show_json(count_view.count_document(found.count) | {"bottles": count_view.list_document(found)})
    if pdf is None and csv is None:
        if not as_json:
            count_view.show_list(found)
        return
    from prep.reports.output_files import OutputFile, write_files
    from prep.reports.stocktake import count_sheet

    place = found.count.location or "all places"
    written = []
    if csv is not None:
        written.append(OutputFile(csv, count_sheet.count_csv(count_view.printed_rows(found, paper=False))))
    if pdf is not None:
        title = f"Count {found.count.code}: {place}"
        sheet = count_sheet.count_pdf(count_view.printed_rows(found, paper=True), title, found.school)
        written.append(OutputFile(pdf, sheet))
    write_files(written)
    if not as_json:
        typer.echo(f"Wrote {', '.join(str(f) for f in (pdf, csv) if f)}: {plural(len(found.lines), 'bottle')}.")


@app.command()
def enter(
    bottle: Annotated[str, typer.Argument(help="The code on its label.")],
    amount: Annotated[str | None, typer.Argument(help='What is in it, such as "250 mL"; 0 if empty.')] = None,
    gross: Annotated[str | None, typer.Option("--gross", help="Its weight with the bottle, cap on.")] = None,
    tare: Annotated[str | None, typer.Option("--tare", help="The weight of the empty bottle.")] = None,
    balance: Annotated[str | None, typer.Option("--balance", help="The balance used.")] = None,
    density: Annotated[str | None, typer.Option("--density", help='Of a liquid, such as "1.18 g/mL".')] = None,
    level: Annotated[int | None, typer.Option("--level", help="Tenths of full, 0 to 10.")] = None,
    full: Annotated[str | None, typer.Option("--full", help="With --level: what it holds when full.")] = None,
    unopened: Annotated[bool, typer.Option("--unopened", help="As it came, not opened.")] = False,
    not_found: Annotated[bool, typer.Option("--not-found", help="Looked for, not there.")] = False,
    unreadable: Annotated[bool, typer.Option("--unreadable", help="Its label cannot be read.")] = False,
    at: Annotated[str | None, typer.Option("--at", help="Where it stands, if not where the books say.")] = None,
    note: Annotated[str, typer.Option("--note", help="Why it differs, if you know.")] = "",
    count: Which = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Write down one bottle; the latest entry of a bottle stands.

    Example: prep count enter K7Q2 "250 g"

    Example: prep count enter K7Q2 --gross "612.4 g" --tare "310.0 g"
    """
    from prep.services.stocktake import stocktake
    from prep.services.stocktake.entry import TypedCount

    how = TypedCount(amount, gross, tare, balance, density, level, full, unopened, not_found, unreadable, at, note)
    _said(stocktake.enter(db, count, bottle, how, common.act(by)), as_json)


@app.command()
def found(
    item: Annotated[str | None, typer.Argument(help="Substance or solution; nothing if unreadable.")] = None,
    amount: Annotated[str | None, typer.Argument(help='What is in it, such as "250 mL".')] = None,
    at: Annotated[str, typer.Option("--at", help="Where it stands.")] = "",
    note: Annotated[str, typer.Option("--note", help="What can be said of it.")] = "",
    count: Which = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Write down a bottle that is not on the books; without an item, one whose label cannot be read.

    Of such a one the amount alone may be said: prep count found "30 g" --at PREP. It is put on the books on closing,
    in quarantine, as not identified.

    Example: prep count found "sodium chloride" "250 g" --at PREP
    """
    from prep.services.stocktake import stocktake
    from prep.services.stocktake.entry import TypedFind, is_amount

    if item is not None and amount is None and is_amount(item):  # of what nobody can read, how much there is
        item, amount = None, item
    entry = stocktake.found(db, count, TypedFind(item, amount, at, note), common.act(by))
    if not as_json:
        common.took(item, "", entry.name)
    _said(entry, as_json)


@app.command("import")
def import_(
    file: Annotated[Path, typer.Argument(help="The sheet as CSV, filled in.")],
    mapped: common.Map = None,
    dry_run: common.DryRun = False,
    count: Which = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Take the counts of a returned sheet; a wrong row is named, the rest is kept.

    Columns: code, count; if wanted location, counter, tare, note, and name for what is not on the books. A unit may
    stand in the heading: count (g). Others are named and passed over. A ? before the name: not on file.

    Example: prep count import sheet.csv --by "R. Vane"
    """
    from prep.reports.stocktake import count_view
    from prep.services.files.imports import mapping
    from prep.services.stocktake import stocktake

    with common.bar("Rows", as_json) as watcher:
        sheet = stocktake.SheetFile(file, mapping(mapped or []), dry_run)
        done = stocktake.import_sheet(db, count, sheet, common.act(by), watcher)
    taken, wrong = done.entries, done.refused
    if as_json:
        document = {"taken": [count_view.entry_document(e) for e in taken], "refused": list(wrong)}
        common.show_json(document | {"repeated": done.repeated, "not_read": list(done.not_read)})
    else:
        for sentence in wrong:
            typer.echo(sentence)
        if done.not_read:
            typer.echo(f"Not read: {', '.join(done.not_read)}.")
        again = f", {done.repeated} there already" if done.repeated else ""
        if dry_run:
            for entry in taken:
                typer.echo(f"{entry.bottle or 'a bottle not on the books'}, {entry.name}: would be taken.")
        typer.echo(f"{len(taken)} {'would be ' if dry_run else ''}taken, {len(wrong)} refused{again}.")
    if wrong:
        rest = "nothing was written" if dry_run else "the rest is kept"
        raise Refused(f"{len(wrong)} row{'s were' if len(wrong) > 1 else ' was'} refused; {rest}.")


@app.command("list")
@common.reads
def list_(
    everything: Annotated[bool, typer.Option("--all", help="Every count, not how far one is.")] = False,
    count: Which = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List what is still to be counted, and what to look at again.

    Example: prep count list
    """
    from prep.reports.stocktake import count_view
    from prep.services.stocktake import stocktake

    if everything:
        known = stocktake.counts(db)
        if as_json:
            common.show_json([count_view.count_document(c) for c in known])
            return
        for c in known:
            shut = f", closed {c.closed_on} by {c.closed_by} (job {c.job})" if c.job else ""
            common.tell(
                f"{c.code}  {c.location or 'all places'}  {c.status}, opened {c.opened_on} by {c.opened_by}{shut}"
            )
        typer.echo(f"{plural(len(known), 'count')}.")
        return
    state = stocktake.progress(db, count)
    verdicts = {v.bottle: v for v in state.verdicts}
    if as_json:
        from prep.reports.stocktake.count_tables import verdict_json

        again = [{"bottle": code} if state.count.blind else verdict_json(verdicts[code]) for code in state.recount]
        document = {"missing": [line.code for line in state.missing], "recount": again}
        common.show_json(count_view.count_document(state.count) | {"entries": state.entries} | document)
        return
    from prep.reports import terminal

    terminal.say(f"Count {state.count.code}: {len(state.verdicts)} counted, {len(state.missing)} still to count.")
    if state.missing:
        rows = [(line.code, line.name, line.place) for line in state.missing]
        terminal.say("Still to count", bold=True)
        terminal.table(("Bottle", "Holds", "At"), rows)
    if state.recount:
        again_ = [
            (c, state.names[c], *(() if state.count.blind else (verdicts[c].sentence,)), _times(c, state))
            for c in state.recount
        ]
        heads = ("Bottle", "Holds", *(() if state.count.blind else ("Differs",)), "Counted")
        terminal.say()
        terminal.say("Look at these again", bold=True)
        terminal.table(heads, again_)
    elif state.verdicts:
        terminal.say("Nothing differs by more than measuring explains.")


@app.command()
def close(
    partial: Annotated[bool, typer.Option("--partial", help="Leave what is not counted as it is.")] = False,
    as_counted: Annotated[bool, typer.Option("--as-counted", help="Without counting again.")] = False,
    count: Which = None,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Post the adjustments, sign off, and fix what went before.

    Example: prep count close --by "R. Vane"
    """
    from prep.reports.stocktake import count_view
    from prep.services.stocktake import adjustments

    done = adjustments.close(db, count, adjustments.LeftOpen(partial, as_counted), common.act(by, on))
    if as_json:
        from prep.reports.stocktake.count_tables import verdict_json

        common.show_json(
            count_view.count_document(done.count)
            | {
                "adjusted": [verdict_json(v) for v in done.adjusted],
                "not_counted": done.not_counted,
                "new_bottles": [b.code for b in done.new_bottles],
            }
        )
        return
    common.told()
    explained = sum(not verdict.flagged for verdict in done.adjusted)
    for bottle in done.new_bottles:
        typer.echo(f"{bottle.code}: {bottle.shown} of {bottle.name} at {bottle.location}, new on the books.")
    typer.echo(
        f"Count {done.count.code} is closed as job {done.job}: {len(done.adjusted)} adjustments, "
        f"{done.not_counted} not counted. What is dated before {dates.day(done.count.closed_on)} is fixed for what was "
        "counted."
    )
    if explained:
        typer.echo(f"{explained} of them are no more than measuring explains: prep count report has them all.")
    for verdict in done.adjusted:  # bottles to look into come last, each on a line of its own
        if verdict.flagged:
            typer.echo(f"{verdict.bottle}: {verdict.sentence}.")


@app.command()
def drop(
    code: Annotated[str, typer.Argument(metavar="COUNT", help="Its code, from: prep count list --all.")],
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Give up an open count; nothing is changed.

    Example: prep count drop C3
    """
    from prep.reports.stocktake import count_view
    from prep.services.stocktake import stocktake

    gone = stocktake.drop(db, code, common.act(by))
    common.show_json(count_view.count_document(gone)) if as_json else typer.echo(
        common.numbered(f"Count {gone.code} is dropped.")
    )


@app.command()
@common.reads
def report(
    count: Which = None,
    on: Annotated[str | None, typer.Option("--on", metavar="DATE", help="Judge dates by this day.")] = None,
    csv_folder: Annotated[Path | None, typer.Option("--csv", metavar="FOLDER", help="Write each table there.")] = None,
    pdf: Annotated[Path | None, typer.Option("--pdf", metavar="FILE", help="The report to print.")] = None,
    signed: Annotated[
        int | None, typer.Option("--signed", metavar="JOB", help="As that sign-off had it, though it was taken back.")
    ] = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Report what the count says of the whole store.

    Example: prep count report --count C1 --pdf report.pdf
    """
    from prep.reports import output_files
    from prep.reports.stocktake import count_tables, count_view, signed_report
    from prep.safety.deferral import DEFERRAL
    from prep.services.stocktake import report as stocktake_report

    made = stocktake_report.of_count(db, count, common.a_date(on, "--on") if on else None, common.today(), signed)
    taken, said = made.count, made.says
    page = signed_report.paper(made)
    every = [*count_tables.sections(said)[:1], *page.parts[2:]]
    tables = count_tables.csv_files(every, csv_folder) if csv_folder is not None else []
    paper = [output_files.OutputFile(pdf, count_tables.report_pdf(said, page))] if pdf is not None else []
    if csv_folder is not None:
        output_files.make_folder(csv_folder)
    output_files.write_files([*tables, *paper])
    if csv_folder is not None and not as_json:
        typer.echo(f"Wrote {len(tables)} tables to {csv_folder}.")
    if pdf is not None and not as_json:
        typer.echo(f"Wrote {pdf}.")
    if as_json:
        common.show_json(count_view.count_document(taken) | count_tables.document(said) | signed_report.document(made))
    elif csv_folder is None and pdf is None:
        from prep.reports import terminal

        terminal.say(page.title, bold=True)
        for line in [*page.heading, count_tables.summary(said), DEFERRAL]:
            terminal.say(line)
        first, *rest = (one for one in page.parts if one.slug != "inventory")
        for section in (*rest, first):  # flagged bottles last, just above the prompt
            if section.rows:
                terminal.say()
                terminal.say(section.title, bold=True)
                count_view.show_section(section)


def _said(entry: "CountEntry", as_json: bool) -> None:
    from prep.reports.stocktake import count_view

    if as_json:
        common.show_json(count_view.entry_document(entry))
        return
    from prep.chemistry import quantities

    if entry.kind == "not found":
        what = "not found"
    elif entry.measure is None:
        what = "written down"
    else:
        what = quantities.show(entry.amount, entry.measure)
    says = f"; {entry.verdict.sentence}" if entry.verdict and entry.kind != "not found" else ""
    typer.echo(f"{entry.bottle or 'Not on the books'} ({entry.name}): {what}{says}.")
    if says and entry.verdict and entry.verdict.difference:
        typer.echo(f"Most of what measuring explains comes from {entry.verdict.mostly}.")


def _times(code: str, state: "Progress") -> str:
    return "once" if code in state.once else "again, not alike" if code in state.disagreeing else "again"
