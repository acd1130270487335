"""`prep make`: how to make a solution from what is held, and logging it."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep import dates
from prep.cli import common
from prep.cli.make import label, standardise
from prep.errors import PrepError, Refused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from prep.services.making.make import LackingItem


@common.reads
def make(
    solution: Annotated[str | None, typer.Argument(help="The solution's code or name (prep solution list).")] = None,
    *,
    volume: Annotated[str | None, typer.Option("--volume", help='How much at least, such as "500 mL".')] = None,
    mass: Annotated[str | None, typer.Option("--mass", help="Or its mass: no density is needed then.")] = None,
    pair: Annotated[
        str | None, typer.Option("--buffer", metavar="PAIR", help='Or a buffer: "acetic acid/sodium acetate".')
    ] = None,
    ph: Annotated[str | None, typer.Option("--ph", help="With --buffer: its pH.")] = None,
    to: Annotated[str | None, typer.Option("--to", help='With --buffer: its strength, "0.1 mol/L".')] = None,
    source: Annotated[
        str | None,
        typer.Option("--from", metavar="ITEM|BOTTLE", help="Make it from this source, or this bottle of it."),
    ] = None,
    taken: Annotated[
        list[str] | None,
        typer.Option(
            "--take",
            "--took",
            metavar="BOTTLE=AMOUNT",
            help="With --log: what was really taken; its strength is reckoned from that.",
        ),
    ] = None,
    came: Annotated[str | None, typer.Option("--made", metavar="VOLUME", help="With --log: how much came out.")] = None,
    log: Annotated[bool, typer.Option("--log", help="It is made: take from the bottles, fill a new one.")] = False,
    location: Annotated[str | None, typer.Option("--at", help="With --log: where the new bottle stands.")] = None,
    bottles: Annotated[int, typer.Option("--bottles", help="With --log: into how many bottles.")] = 1,
    found: Annotated[
        str | None,
        typer.Option("--found", metavar="STRENGTH", help="With --log: the strength that a titration gave."),
    ] = None,
    titrated: standardise.Titrated = None,
    primary: standardise.Primary = None,
    ratio: standardise.Ratio = None,
    purity: standardise.Purity = None,
    booking: Annotated[
        str | None, typer.Option("--for", metavar="BOOKING", help="With --log: the showing that it is made for.")
    ] = None,
    labels: Annotated[
        Path | None, typer.Option("--label", metavar="FILE", help="With --log: write the labels to this PDF.")
    ] = None,
    sheet: label.LabelSheetName = None,
    start: label.Start = 1,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Work out what to weigh or measure, with which vessel, in which order, to what mark.

    Example: prep make hcl-1 --volume "1 L"

    Example: prep make hcl-1 --volume "1 L" --log --by "R. Vane" --label hcl.pdf

    Example: prep make "sodium chloride 5 % w/w" --mass "500 g"

    Example: prep make hcl-1 --volume "250 mL" --take "K6G7=21.5 mL" --log

    Example: prep make naoh-1 --volume "500 mL" --log --at PREP --took "N4H2 19.6 g" --made "480 mL"

    Example: prep make --buffer "acetic acid/sodium acetate" --ph 4.7 --to "0.1 mol/L" --volume "1 L" --log --at PREP
    """
    from prep.services.making import made_twice
    from prep.services.making import make as making_make
    from prep.services.safety import placement

    written = standardise.written(titrated, primary, ratio, purity)
    if (volume is None) == (mass is None):
        raise PrepError("Give how much to make once: either --volume, or --mass of the solution.")
    if pair is not None:
        if volume is None:
            raise PrepError("--buffer goes with --volume.")
        if ph is None or to is None:
            raise PrepError("--buffer needs --ph and --to.")
        if solution is not None or source is not None or taken or came or found is not None or written:
            raise PrepError("--buffer goes without a solution's name, --from, --take, --made and a titration.")
        from prep.cli.make import buffer
        from prep.services.making.buffer import BufferRequest

        asked = BufferRequest(pair, ph, to, volume, location, bottles)
        if log:
            buffer.log(db, asked, common.act(by, on), buffer.Labels(labels, sheet, start), as_json)
        elif location is not None or bottles != 1 or labels is not None:
            raise PrepError("--at, --bottles and --label go with --log.")
        else:
            buffer.show(db, asked, common.a_date(on, "--on"), as_json)
        return
    if solution is None:
        raise PrepError("Name the solution to make (prep solution list), or give --buffer.")
    if ph is not None or to is not None:
        raise PrepError("--ph and --to go with --buffer.")
    if volume is None:
        if labels is not None or written:
            raise PrepError(
                "--label and a titration go with --volume: the labels of what is made by mass are prep label."
            )
        from prep.cli.make import by_mass

        weighed = making_make.MakeRequest(solution, "", source, taken or (), came, location, bottles, found)
        if log:
            by_mass.log(db, weighed, mass or "", common.act(by, on), as_json)
        elif location is not None or found is not None or bottles != 1 or taken or came:
            raise PrepError("--at, --bottles, --found, --take and --made go with --log.")
        else:
            by_mass.show(db, weighed, mass or "", common.a_date(on, "--on"), as_json)
        return
    choice = common.choice(db, solution, solution=True)
    if not log:
        if written:
            raise PrepError("--titrated and --primary go with --log; for a bottle: prep stock standardise.")
        if location is not None or found is not None or bottles != 1 or labels is not None or taken or came or booking:
            raise PrepError("--at, --bottles, --found, --for, --label, --take and --made go with --log.")
        shown = making_make.instructions(db, solution, volume, source, common.a_date(on, "--on"))
        made = None
    else:
        if labels is not None:
            label.ready(sheet, start, labels)
        request = making_make.MakeRequest(
            solution, volume, source, taken or (), came, location, bottles, found, written, booking
        )
        made = making_make.log(db, request, common.act(by, on))
        shown = made.instructions
    beside = placement.beside(db, made.bottles) if made is not None else {}
    notes: tuple[str, ...] = ()
    if made is not None and labels is not None:
        from prep.services.stock import labels as stock_labels

        notes = label.write(stock_labels.labels(db, [b.code for b in made.bottles]), sheet, start, labels)
    if as_json:
        from prep.reports.make_documents import make_document

        document = make_document(shown, made, beside[made.bottles[0].code] if made is not None else ())
        document |= {"taken_as": choice} if choice else {}
        if labels is not None:
            document |= {"labels": str(labels), "label_notes": list(notes)}
        common.show_json(document)
        _refuse(shown.missing)
        return
    from prep.reports.formatting import ItemNames
    from prep.reports.plan import make_screen
    from prep.reports.plan.screen import show_logging

    if choice:
        typer.echo(choice)
    make_screen.show(shown.batch, shown.snapshot, shown.missing)
    if made is not None:
        common.told()
        for bottle in made.bottles:
            typer.echo(
                f"Logged as job {made.job}: bottle {bottle.code} holds {bottle.shown}, use by "
                f"{dates.day(bottle.use_by)}, at {bottle.location}. Write {bottle.code} on its label."
            )
        for sentence in made_twice.told(db, made):
            typer.echo(sentence)
        common.show_shelf_notes(beside)
        if made.standardised is not None:
            standardise.show(made.standardised)
        elif found is None and made.bottles[0].strength is not None:
            typer.echo(f"By what was taken it is {made.bottles[0].strength}; that stands on the bottle.")
        if labels is not None:
            for sentence in label.said(made.bottles, labels, notes):
                typer.echo(sentence)
    elif not shown.missing:
        show_logging(shown.batch, ItemNames(shown.snapshot), indent=0)
    _refuse(shown.missing)


def _refuse(missing: "Sequence[LackingItem]") -> None:
    """Refuse the make after showing its sheet, where something is missing."""
    from prep.services.making.make import in_words

    if missing:
        raise Refused(f"What is held does not suffice: missing {in_words(missing)}.")
