"""`prep stock standardise`, and what `prep make --log` shares with it: a strength that was found."""

from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.services.making.standardise import MeasuredStrength, StandardisationRecord

Titrated = Annotated[
    str | None,
    typer.Option("--titrated", metavar="TEXT", help='"25 mL of it = 24.3 mL, 24.4 mL of HCl 0.1 mol/L".'),
]
Primary = Annotated[
    list[str] | None,
    typer.Option("--primary", metavar="TEXT", help='"0.5105 g of KHC8H4O4 = 24.6 mL of it"; once a weighing.'),
]
Ratio = Annotated[str | None, typer.Option("--ratio", help="Moles of it to 1 mol of the standard: 1, 2, 5/2.")]
Purity = Annotated[str | None, typer.Option("--purity", help="Of the primary standard, %; default: as on file.")]


def standardise(
    bottle: Annotated[str, typer.Argument(help="The code on its label.")],
    titrated: Titrated = None,
    primary: Primary = None,
    ratio: Ratio = None,
    purity: Purity = None,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Write the strength that was found on a bottle of a made solution.

    What stands left of "=" was pipetted or weighed, what stands right of it came from the burette. A standard
    is a name and mol/L, if known "+- 0.2 %", or "bottle K7Q2"; it goes off that bottle, or off the only one that
    the name and strength can mean ("from elsewhere" after them: off none).

    Example: prep stock standardise R6M3 --titrated "25 mL of it = 24.3 mL of HCl 0.1 mol/L"
    """
    from prep.reports.make_documents import strength_document
    from prep.services.making import standardise as making_standardise

    what = written(titrated, primary, ratio, purity)
    done = making_standardise.standardise(db, bottle, what, common.who(by), common.done(on))
    held = done.bottle
    if as_json:
        common.show_json({"job": done.job, "bottle": held.code, "item": held.item} | strength_document(done.found))
        return
    typer.echo(common.numbered(f"Bottle {held.code}, {held.name}."))
    show(done.found)


def written(
    titrated: str | None, primary: list[str] | None, ratio: str | None, purity: str | None
) -> "StandardisationRecord":
    """Put the options together as the service takes them."""
    from prep.services.making.standardise import StandardisationRecord

    return StandardisationRecord(titrated, tuple(primary or ()), ratio, purity)


def told(found: "MeasuredStrength") -> list[str]:
    """Say what strength was found, whether it can be relied on, and off which bottle the standard went."""
    said = [f"Found {found.says}. What is made from it takes that into account."]
    if found.doubt:
        said.append(f"NOT RELIABLE: {found.doubt}")
    if not found.concordant:
        said.append("The titrations do not agree: repeat them before you rely on it.")
    if found.used.meant:
        said.append(f"The standard went off bottle {found.used.bottle}: {found.used.meant}.")
    elif not (found.used.bottle or found.used.substance):
        said.append("No bottle of that standard is on the shelf, so none of it went off a bottle.")
    return said


def show(found: "MeasuredStrength") -> None:
    """Print a found strength, with its working."""
    from prep.reports import terminal

    for sentence in told(found):
        typer.echo(sentence)
    typer.echo("\nWorking:")
    terminal.working(found.working)
