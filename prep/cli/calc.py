"""`prep calc`: the bench arithmetic on its own, offline, each answer with its working."""

from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.services.calculating import Answer

app = common.group("Bench arithmetic without a database; every answer shows its working.")

Of = Annotated[str | None, typer.Option("--of", help="Of what: a name, CAS number or formula.")]
To = Annotated[str, typer.Option("--to", help='The strength wanted, such as "0.1 mol/L".')]
Volume = Annotated[str, typer.Option("--volume", help='How much to make, such as "250 mL".')]
Density = Annotated[str | None, typer.Option("--density", help='Its density, such as "1.18 g/mL".')]


@app.command()
def dilute(
    source: Annotated[str, typer.Option("--from", help='The strength held, such as "12.0 mol/L".')],
    to: To,
    volume: Volume,
    of: Of = None,
    density: Density = None,
    as_json: common.AsJson = False,
) -> None:
    """How much of a stronger solution makes a weaker one.

    Example: prep calc dilute --from "12.0 mol/L" --to "0.1 mol/L" --volume "2 L"
    """
    from prep.services import calculating

    _show(calculating.dilute(source, to, volume, of, density), as_json)


@app.command()
def dissolve(
    to: To,
    volume: Volume,
    formula: Annotated[
        str | None, typer.Option("--formula", help="The solid's formula, such as CuSO4.5H2O.")
    ] = None,
    of: Of = None,
    assay: Annotated[
        str | None, typer.Option("--assay", help="Purity in % w/w; default: 100, or as on file.")
    ] = None,
    counted: Annotated[
        str | None, typer.Option("--as", help="The formula that the strength counts, if not the solid's.")
    ] = None,
    as_json: common.AsJson = False,
) -> None:
    """What to weigh of a solid, in any hydrate.

    Example: prep calc dissolve --formula CuSO4.5H2O --to "0.5 mol/L" --volume "250 mL"
    """
    from prep.services import calculating

    _show(calculating.dissolve(formula, of, to, volume, assay, counted), as_json)


@app.command()
def strength(
    given: Annotated[str, typer.Argument(metavar="STRENGTH", help='Such as "37 % w/w".')],
    to: Annotated[str, typer.Option("--in", help="The kind wanted, such as mol/L.")],
    of: Of = None,
    density: Density = None,
    equivalents: Annotated[
        int | None, typer.Option("--equivalents", help="Equivalents in a mole, for eq/L.")
    ] = None,
    as_json: common.AsJson = False,
) -> None:
    """A strength in another kind, with the density that was used.

    Example: prep calc strength "37 % w/w" --of "hydrochloric acid" --in mol/L
    """
    from prep.services import calculating

    _show(calculating.convert(given, of, to, density, equivalents), as_json)


@app.command()
def blend(
    portions: Annotated[list[str], typer.Argument(metavar="PORTION...", help='Such as "100 mL of 2 mol/L".')],
    of: Of = None,
    as_json: common.AsJson = False,
) -> None:
    """What several portions make together.

    Example: prep calc blend "100 mL of 2 mol/L" "300 mL of 0.5 mol/L"
    """
    from prep.services import calculating

    _show(calculating.blend(portions, of), as_json)


@app.command()
def alcohol(
    source: Annotated[str, typer.Option("--from", help='The ethanol held, such as "96 % v/v".')],
    to: To,
    volume: Volume,
    temp: Annotated[str, typer.Option("--temp", help="Temperature of both, degC.")] = "20",
    as_json: common.AsJson = False,
) -> None:
    """Ethanol and water, with contraction.

    Example: prep calc alcohol --from "96 % v/v" --to "70 % v/v" --volume "1 L"
    """
    from prep.services import calculating

    _show(calculating.dilute_alcohol(source, to, volume, temp), as_json)


def _show(answer: "Answer", as_json: bool) -> None:
    if as_json:
        working = [
            {"text": line.text} | ({"source": line.source} if line.source else {}) for line in answer.working
        ]
        common.show_json({**answer.document, "working": working})
        return
    for sentence in answer.says:
        typer.echo(sentence)
    typer.echo("\nWorking:")
    for line in answer.working:
        typer.echo(f"  {line.text}")
        if line.source:
            typer.echo(f"    [{line.source}]")
