"""`prep demo`: demonstrations on file and of one's own, predicted before they are shown."""

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common
from prep.errors import PrepError
from prep.services.input.checks import within

if TYPE_CHECKING:
    from prep.services.demos.demos import AddedDemo

app = common.group("Demonstrations: what one showing needs, one's own, and what it will show.")

NameSearch = Annotated[str | None, typer.Argument(help="Words to look for: a name, a substance, a principle.")]
Name = Annotated[str, typer.Argument(help="Its code or name, or words that only it holds.")]
Replace = Annotated[bool, typer.Option("--replace", help="Write over what is on file under the same code.")]


@app.command("list")
def demos(
    search: NameSearch = None,
    can: Annotated[
        str | None, typer.Option("--can", metavar="DATE", help="Only what could be shown that day, as things stand.")
    ] = None,
    sample: common.Sample = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List every demonstration on file, or those that words or a day leave.

    Example: prep demo list copper

    Example: prep demo list --can monday
    """
    from prep.services.catalogue import lookup
    from prep.services.demos import demos as service

    with common.sampled(db, sample) as opened:
        where, today = opened.path, opened.today
        on_file = lookup.known(where)
        hits = lookup.searched(on_file, "demo", search)
        if can is not None:
            day = common.a_date(can, "--can", today)
            possible = service.possible(where, day, today, hits.codes)
    found = [on_file.demos[code] for code in hits.codes if can is None or code in possible.codes]
    if as_json:
        from prep.reports.catalogue import demo_document, possible_document

        said = {} if can is None else {"can_be_shown": possible_document(day, possible.not_asked)}
        common.show_json([demo_document(d, on_file.substances) | said for d in found])
        return
    from prep.reports import terminal

    terminal.note(hits.says)
    names = [f"{one.name} (ask first)" if one.ask_first else one.name for one in found]
    needs = [", ".join(dict.fromkeys(need.item for need in one.needs)) for one in found]
    rows = list(zip((one.code for one in found), names, needs, strict=True))
    terminal.table(("Code", "Name", "Needs"), rows)
    terminal.say(
        f"{len(found)} {'on file' if can is None else 'could be shown, each by itself beside what is booked'}."
    )
    if can is not None:
        terminal.say(service.TRIED)
        if possible.not_asked:
            terminal.say(
                f"Not asked, as each needs a plan of its own on days this full: {', '.join(possible.not_asked)}. "
                "A word of its name asks for one: prep demo list WORD --can DATE"
            )


@app.command("show")
def show_demo(
    name: Name,
    showings: Annotated[int, typer.Option("--showings", help="For how many showings.")] = 1,
    toml: Annotated[bool, typer.Option("--toml", help="As a file to change and to add again.")] = False,
    sample: common.Sample = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Show one demonstration: what it needs, what it leaves, what to mind.

    Example: prep demo show silver-mirror --showings 3

    Example: prep demo show silver-mirror --toml
    """
    from prep.services.catalogue import lookup

    within(showings, 1, 1000, "--showings")
    on_file = common.on_file(db, sample=sample)
    found = lookup.demo(on_file, name)
    if toml:
        from prep.services.demos.demo_writer import toml_of

        sys.stdout.write(toml_of(found, on_file))
        return
    if not as_json:
        from prep.reports.demo.setting_out import show_demo as show

        reckoned = lookup.reckoned(found, on_file)
        show(reckoned.demo, showings, reckoned.untils, on_file.name, on_file)
        return
    from prep.reports.catalogue import set_out_document

    common.show_json(set_out_document(found, showings, on_file))


@app.command("add")
def add_demo(
    file: Annotated[Path, typer.Argument(help="A TOML file, such as prep demo show NAME --toml writes.")],
    replace: Replace = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only say what is wrong with it, line by line.")] = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Add a demonstration from a file, or change one with --replace.

    Its keys: code, name, kind ("class practical"), about, principle, other_names, spare_pct, trials, caution,
    ask_first, source; for each [[vessel]] its name, [[vessel.contains]] (item, amount, portions, stays, shared, fresh,
    note) and [[vessel.add]] (item, from, until, amount, portions, stays, shared, fresh, note); for each [[leftover]]
    what, goes, note. An amount is for one showing: "25 mL", "5 g", "3 drops"; "4 x 25 mL" is used in four portions, one
    after the other, each with its own share of what else is in that vessel, and its own until. From is a dropper; until
    is "pH 7", "colour begins", "colour changed", "next colour" or "20 drops". Stays is what is left in the vessel, a
    booking; shared is set out once. Items go by code or any name.

    Example: prep demo add ours.toml --dry-run
    """
    from prep.services.demos import demos as service

    _added(service.add_file(db, file, service.AddOptions(replace, dry_run), common.act(by)), dry_run, as_json=as_json)


@app.command("new")
def new_demo(
    name: Annotated[str, typer.Option("--name", help="What it is called.")] = "",
    code: Annotated[str, typer.Option("--code", help="Its code; default: made of its name.")] = "",
    about: Annotated[str, typer.Option("--about", help="What it shows, in a sentence.")] = "",
    principle: Annotated[str, typer.Option("--principle", help="What it is an example of.")] = "",
    caution: Annotated[str, typer.Option("--caution", help="What to mind.")] = "",
    inside: Annotated[
        list[str] | None,
        typer.Option(
            "--in",
            metavar="VESSEL=AMOUNT of ITEM",
            help='What is in a vessel; may repeat. Behind it, after commas: fresh, shared, "stays 5 mL", "note ...". '
            "An amount used in portions is 4 x 25 mL.",
        ),
    ] = None,
    add: Annotated[
        list[str] | None,
        typer.Option("--add", metavar="VESSEL=ITEM from DROPPER until END", help="What is added to it; may repeat."),
    ] = None,
    leaves: Annotated[
        list[str] | None, typer.Option("--leaves", metavar="WHAT=WHERE", help="What it leaves, and where that goes.")
    ] = None,
    trials: Annotated[int, typer.Option("--trials", help="Trial runs before each booking.")] = 0,
    spare: Annotated[str, typer.Option("--spare", metavar="PERCENT", help="To spare; default: 10.")] = "",
    kind: Annotated[str, typer.Option("--kind", help='demonstration or "class practical".')] = "",
    also: Annotated[list[str] | None, typer.Option("--also", help="Another name for it; may repeat.")] = None,
    ask_first: Annotated[str, typer.Option("--ask-first", help="Who must allow it.")] = "",
    source: Annotated[str, typer.Option("--source", help="Where it is from.")] = "",
    like: Annotated[str, typer.Option("--like", metavar="DEMO", help="As another one, but for what follows.")] = "",
    swap: Annotated[
        list[str] | None, typer.Option("--swap", metavar="ITEM=OTHER", help="With --like: another item instead.")
    ] = None,
    stronger: Annotated[
        list[str] | None,
        typer.Option("--stronger", metavar="ITEM=TIMES", help="With --like: so many times as strong: naoh-1=10."),
    ] = None,
    replace: Replace = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only say what it would be.")] = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Make a demonstration of one's own: from options, as a variant of another, or asked at the terminal.

    Example: prep demo new --like strong-acid-titration --swap "phenolphthalein-0.1=bromothymol blue indicator"

    Example: prep demo new --name "Milk of lime and vinegar" --in "flask=25 mL of limewater"
    --in "flask=3 drops of phenolphthalein-0.1" --add "flask=ethanoic-0.1 from dropper until colour changed"
    """
    from prep.services.demos import demo_questions
    from prep.services.demos import demos as service

    how = service.AddOptions(replace, dry_run)
    if like:
        variant = service.Variant(
            like, name, code, demo_questions.pairs(swap or [], "--swap"), demo_questions.factors(stronger or [])
        )
        _added(service.add_variant(db, variant, how, common.act(by)), dry_run, as_json=as_json)
        return
    asked = demo_questions.AskedDemo(
        name,
        code,
        about,
        principle,
        caution,
        tuple(inside or ()),
        tuple(add or ()),
        tuple(leaves or ()),
        kind,
        tuple(also or ()),
        spare,
        ask_first,
        source,
        trials,
    )
    if not asked.contains and not as_json and sys.stdin.isatty():
        mistake = service.first_mistake(db, how)
        asked = demo_questions.ask(asked, demo_questions.Conversation(common.question, mistake, typer.echo))
    text = demo_questions.toml_of(asked)
    _added(service.add_text(db, text, how, common.act(by)), dry_run, as_json=as_json)


def _added(done: "AddedDemo", dry_run: bool, *, as_json: bool) -> None:
    """Say what was added, or every mistake. Raises PrepError where there is one."""
    from prep.reports.demo.added import added_document, show_added

    if as_json:
        common.show_json(added_document(done, dry_run=dry_run))
    if done.demo is None:
        if dry_run and not as_json:
            for mistake in done.mistakes:
                typer.echo(mistake)
        more = f" (and {len(done.mistakes) - 1} more; --dry-run lists them)" if len(done.mistakes) > 1 else ""
        raise PrepError(f"{done.mistakes[0].rstrip('.')}{more}; nothing was {'written' if dry_run else 'added'}.")
    if as_json:
        return
    show_added(done, done.demo, dry_run=dry_run)


@app.command("predict")
def predict(
    name: Name,
    drops: Annotated[int | None, typer.Option("--drops", help="Up to so many drops; default: past the change.")] = None,
    at: Annotated[
        list[int] | None, typer.Option("--at", metavar="DROPS", help="pH and colour after so many drops; may repeat.")
    ] = None,
    in_ml: Annotated[bool, typer.Option("--ml", help="The axis in mL.")] = False,
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE", help="Draw the curves: .svg, .png or .pdf.")
    ] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write the curves' points.")] = None,
    sample: common.Sample = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Predict what it will show: pH, colours and drops of each vessel, from the strengths on file.

    Example: prep demo predict strong-acid-titration --sample

    Example: prep demo predict strong-acid-titration --at 10 --at 20 --plot curves.svg
    """
    from prep.reports.demo import prediction_view
    from prep.reports.demo.prediction_picture import write_curves
    from prep.services.catalogue import lookup
    from prep.services.demos.prediction import predict as predicted

    on_file = common.on_file(db, sample=sample)
    found = predicted(lookup.demo(on_file, name), on_file, drops, at or ())
    if in_ml:
        found = replace(found, in_drops=False)
    written = write_curves(found, plot, csv)
    if as_json:
        common.show_json(prediction_view.prediction_document(found))
        return
    prediction_view.show_prediction(found)
    if written:
        typer.echo(f"Wrote {', '.join(written)}.")


@app.command("sheet")
def sheet(
    name: Annotated[str, typer.Argument(metavar="DEMO|BOOKING", help="A demo, or a booking's code.")],
    pdf: Annotated[Path, typer.Option("--pdf", metavar="FILE", help="Where to write it.")],
    kind: Annotated[
        str, typer.Option("--kind", help="lesson, setting-out, pupils, teacher, packing, safety or waste.")
    ] = "lesson",
    showings: Annotated[int | None, typer.Option("--showings", help="For how many; default: the booking's.")] = None,
    sample: common.Sample = False,
    db: common.Db = None,
) -> None:
    """Print a sheet: the lesson's, the assistant's list, the pupils' guesses, the answer, packing, safety and waste.

    Example: prep demo sheet B12 --pdf lesson.pdf

    Example: prep demo sheet strong-acid-titration --kind pupils --pdf guesses.pdf
    """
    from prep.reports.demo.sheets import sheet as printed
    from prep.reports.output_files import write_file
    from prep.services.demos.sheets import sheets

    with common.sampled(db, sample) as opened:
        found = sheets(opened.path, name, showings)
    write_file(pdf, printed(kind, found))
    typer.echo(f"Wrote {pdf}.")


@app.command("import")
def import_demos(
    file: Annotated[Path, typer.Argument(help="CSV of demos; its columns are above.")],
    needs: Annotated[Path, typer.Option("--needs", help="CSV of what each needs.")],
    leftovers: Annotated[Path | None, typer.Option("--leftovers", help="CSV of what each leaves.")] = None,
    replace: Replace = False,
    mapped: common.Map = None,
    dry_run: common.DryRun = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Add demonstrations from spreadsheets: all of their rows, or none.

    Columns of the file: code, name; if wanted other_names (divided by semicolons), kind, about, principle, spare_pct,
    trials, caution, ask_first, source. Of --needs: demo (code or name), item (code or any name), per_showing ("25 mL",
    "5 g", "3 drops"); if wanted portions (into how many equal ones that is divided; or "4 x 25 mL"), vessel,
    dead_volume (what stays in the vessel), shared and fresh (yes or no), from (a dropper), until ("pH 7", "colour
    changed", "20 drops"), note, source. Of --leftovers: demo, what, stream, note, source.

    Example: prep demo import ours.csv --needs our-needs.csv
    """
    from prep.services.catalogue import table_import
    from prep.services.files.imports import ImportFile, mapping

    wanted = ImportFile(file, mapping(mapped or []), replace, dry_run)
    with common.bar("Demos", as_json) as watcher:
        done = table_import.import_demos(db, wanted, needs, leftovers, common.act(by, on), watcher)
    common.show_fates(done, dry_run, as_json)


@app.command("learn")
@common.reads
def learn(
    name: Annotated[str | None, typer.Argument(help="Only this demo.")] = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Compare what demos really used with their figures, and say which figures want changing.

    Example: prep demo learn
    """
    from prep.reports.finding_texts import with_cure
    from prep.services.bookings import usage

    found = usage.learned(db, name)
    if as_json:
        common.show_json(
            {
                "ratios": [
                    {
                        "demo": one.demo,
                        "item": one.item or None,
                        "bookings": one.n,
                        "used_over_planned": one.mean,
                        "standard_error": one.standard_error,
                        "wants_change": one.wants_change,
                        "factor": float(one.factor),
                        "working": [line.text for line in one.lines],
                    }
                    for one in found.ratios
                ],
                "findings": [{"about": f.about, "message": f.message, "cure": f.cure} for f in found.findings],
            }
        )
        return
    for one in found.ratios:
        for line in one.lines:
            typer.echo(line.text)
    for finding in found.findings:
        typer.echo(with_cure(finding))
    if not found.ratios:
        typer.echo("Nothing is known yet: record what is used with prep book done BOOKING --used ITEM=AMOUNT")
