"""`prep safety`: hazards of mixtures, storage, dates, a demo's notes and waste, the school's own limits."""

from pathlib import Path
from typing import Annotated

import typer

from prep import dates
from prep.cli import common
from prep.cli.safety import school_lists

app = common.group("Hazards of what is made and kept: classify, storage, dates, notes, waste, the school's rules.")
app.add_typer(school_lists.rule, name="rule")
app.add_typer(school_lists.controlled, name="controlled")


Pdf = Annotated[Path | None, typer.Option("--pdf", metavar="FILE", help="Write it as a PDF to print.")]


@app.command()
@common.reads
def classify(
    what: Annotated[
        list[str],
        typer.Argument(metavar="COMPONENT...", help='Such as "hydrochloric acid 3 mol/L"; several are one mixture.'),
    ],
    density: Annotated[
        str | None, typer.Option("--density", help='The mixture\'s, such as "1.05 g/mL"; default: from tables.')
    ] = None,
    ph: Annotated[str | None, typer.Option("--ph", help="Its pH, if measured.")] = None,
    flash_point: Annotated[
        str | None, typer.Option("--flash-point", help="Its flash point in degC, if measured.")
    ] = None,
    boiling_point: Annotated[
        str | None, typer.Option("--boiling-point", help="Where it begins to boil in degC, with --flash-point.")
    ] = None,
    db: Annotated[
        Path | None,
        typer.Option("--db", metavar="PATH", help="Look names up in this inventory; default: the shipped list."),
    ] = None,
    as_json: common.AsJson = False,
) -> None:
    """Classify any mixture: hazard classes, label elements and the reasoning; needs no inventory.

    Example: prep safety classify "hydrochloric acid 3 mol/L"

    Example: prep safety classify "sodium hydroxide 1 mol/L" "sodium hypochlorite 2 % w/w"
    """
    from prep.reports import safety
    from prep.services.safety import hazards

    found = hazards.classify_typed(what, density, ph, flash_point, boiling_point, db)
    if as_json:
        common.show_json(safety.classified_document(found.what, found.hazards, found.components, found.must_not_meet))
    else:
        safety.show_classified(found.what, found.hazards, found.components, found.must_not_meet)


@app.command()
@common.reads
def storage(
    why: Annotated[bool, typer.Option("--why", help="Each pair that asks for it, with its rule.")] = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List what must not share a place, worst first, each with its rule and where to move it.

    Example: prep safety storage
    """
    from prep.reports import finding_texts, safety
    from prep.services.safety import storage as service

    found = service.storage(db)
    if as_json:
        common.show_json([finding_texts.finding_document(one) for one in found])
    else:
        safety.show_storage(found, why)


@app.command()
@common.reads
def due(
    within: Annotated[int, typer.Option("--within", metavar="DAYS", help="How many days ahead.")] = 30,
    on: Annotated[str | None, typer.Option("--on", metavar="DATE", help="As of that day; default: today.")] = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List what is out of date, goes out of date, or is to be tested for peroxides.

    Example: prep safety due --within 14
    """
    from prep.reports import finding_texts
    from prep.services.safety import peroxides

    day = common.a_date(on, "--on")
    found = peroxides.whats_due(db, day, within)
    if as_json:
        common.show_json([finding_texts.finding_document(one) for one in found])
    else:
        finding_texts.show_findings(found, f"Nothing is due within {within} days.")


@app.command("tested")
def record(
    bottle: Annotated[str, typer.Argument(help="The bottle's code.")],
    result: Annotated[str, typer.Option("--result", help='What was found, such as "below 10 ppm".')] = "",
    withdraw: Annotated[bool, typer.Option("--withdraw", help="Take back the last record: it was wrong.")] = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Record that a peroxide former was tested and may be used on. What failed: prep stock discard.

    Example: prep safety tested G7P2 --result "below 10 ppm"
    """
    from prep.services.safety import peroxides

    day = common.done(on)
    if withdraw:
        code = peroxides.withdraw(db, bottle, common.who(by), day)
    else:
        code = peroxides.tested(db, bottle, result, common.who(by), day)
    if as_json:
        common.show_json({"bottle": code, "tested": None if withdraw else day.on.isoformat(), "withdrawn": withdraw})
    elif withdraw:
        typer.echo(f"The last test of bottle {code} is taken back.")
    else:
        typer.echo(f"Bottle {code} was tested on {dates.day(day.on)}.")


@app.command()
@common.reads
def sources(
    items: Annotated[list[str] | None, typer.Argument(metavar="ITEM...", help="Default: all that is held.")] = None,
    unverified: Annotated[bool, typer.Option("--unverified", help="Only what is not verified in every part.")] = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Show what each hazard answer rests on: entry, act and day, own classification, or a supplier's sheet.

    Example: prep safety sources hydrochloric-acid

    Example: prep safety sources --unverified
    """
    from prep.reports import hazard_sources
    from prep.services.safety import sources as service

    found = service.grounds(db, items or [], only_open=unverified)
    if as_json:
        common.show_json([hazard_sources.document(one) for one in found])
    else:
        hazard_sources.show(found)


@app.command()
def verify(
    substance: Annotated[str, typer.Argument(help="The substance's code, name or CAS number.")],
    supplier: Annotated[str, typer.Option("--supplier", help="Whose data sheet was read.")] = "",
    revision: Annotated[str, typer.Option("--revision", help="Its revision or date, as printed on it.")] = "",
    classification: Annotated[
        str, typer.Option("--classification", help="What the sheet says; default: what is on file.")
    ] = "",
    withdraw: Annotated[bool, typer.Option("--withdraw", help="Take back the last record: it was wrong.")] = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Record that a substance's hazards are as on its supplier's data sheet; its labels then need no check.

    Example: prep safety verify hydrochloric-acid --supplier "Example Chemicals" --revision 4.1
    """
    from prep.safety.model import SheetCheck
    from prep.services.safety import sources as service

    act = common.act(by, on)
    if withdraw:
        code = service.withdraw(db, substance, act)
        common.show_json({"substance": code, "verified": False}) if as_json else typer.echo(
            f"The last reading of the data sheet of {code} is taken back."
        )
        return
    made = service.verify(db, SheetCheck(substance, supplier, revision, classification), act)
    if as_json:
        common.show_json({"substance": made.substance, "verified": True, "source": made.source, "job": made.job})
    else:
        typer.echo(f"{made.substance}: as on the {made.source}.")


@app.command()
def renew(
    items: Annotated[list[str] | None, typer.Argument(metavar="ITEM...", help="Default: all on file.")] = None,
    write: Annotated[bool, typer.Option("--write", help="Write it; without it, only say what differs.")] = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Bring the hazards of an older inventory to this version's table; what a school verified stays.

    Example: prep safety renew
    """
    from prep.reports import hazard_sources
    from prep.services.safety import renewal

    found = renewal.renew(db, items or [], common.act(by)) if write else renewal.renewals(db, items or [])
    if as_json:
        common.show_json([hazard_sources.renewal_document(one, written=write) for one in found])
    else:
        hazard_sources.show_renewals(found, written=write)


@app.command()
@common.reads
def notes(
    demo: Annotated[str, typer.Argument(help="The demo's code or name.")],
    pdf: Pdf = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Print a demo's safety notes: what is on the bench, what may be made, spill and first aid.

    Example: prep safety notes thiosulfate-rate --pdf notes.pdf
    """
    from prep.reports import safety
    from prep.services.demos import safety_notes

    if pdf is not None:
        _printed("safety", db, demo, None, pdf)
        if not as_json:
            typer.echo(f"Wrote {pdf}.")
            return
    found = safety_notes.demo_notes(db, demo)
    if as_json:
        common.show_json(safety.notes_document(found.demo, found.notes))
    else:
        safety.show_notes(found.demo, found.notes)


@app.command()
@common.reads
def waste(
    what: Annotated[str, typer.Argument(metavar="DEMO|BOOKING", help="A demo's code or name, or a booking's code.")],
    showings: Annotated[
        int | None, typer.Option("--showings", help="How many; default: the booking's, else 1.")
    ] = None,
    pdf: Pdf = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Show what a demo leaves, by stream, with what neutralises it.

    Example: prep safety waste B12
    """
    from prep.reports import safety
    from prep.services.safety import waste as wastes

    if pdf is not None:
        _printed("waste", db, what, showings, pdf)
        if not as_json:
            typer.echo(f"Wrote {pdf}.")
            return
    found = wastes.waste(db, what, showings)
    show = safety.waste_document if as_json else safety.show_waste
    document = show(found.demo, found.showings, found.streams, found.apart)
    if as_json:
        common.show_json(document)


def _printed(kind: str, db: Path | None, what: str, showings: int | None, pdf: Path) -> None:
    """Write a sheet of a demo or a booking."""
    from prep.reports.demo.sheets import sheet
    from prep.reports.output_files import write_file
    from prep.services.demos.sheets import sheets

    write_file(pdf, sheet(kind, sheets(db, what, showings)))
