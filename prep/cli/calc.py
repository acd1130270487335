"""`prep calc`: the bench arithmetic on its own, offline, each answer with its working."""

from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.services.calc.arithmetic import Answer

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
    from prep.services.calc import arithmetic

    _show(arithmetic.dilute(source, to, volume, of, density), as_json)


@app.command()
def dissolve(
    to: To,
    volume: Volume,
    formula: Annotated[str | None, typer.Option("--formula", help="The solid's formula, such as CuSO4.5H2O.")] = None,
    of: Of = None,
    assay: Annotated[str | None, typer.Option("--assay", help="Purity in % w/w; default: 100, or as on file.")] = None,
    counted: Annotated[
        str | None, typer.Option("--as", help="The formula or element that the strength counts, if not the solid's.")
    ] = None,
    as_json: common.AsJson = False,
) -> None:
    """What to weigh of a solid, in any hydrate.

    Example: prep calc dissolve --formula CuSO4.5H2O --to "0.5 mol/L" --volume "250 mL"
    """
    from prep.services.calc import arithmetic

    _show(arithmetic.dissolve(formula, of, to, volume, assay, counted), as_json)


@app.command()
def strength(
    given: Annotated[str, typer.Argument(metavar="STRENGTH", help='Such as "37 % w/w".')],
    to: Annotated[str, typer.Option("--in", help="The kind wanted, such as mol/L.")],
    of: Of = None,
    density: Density = None,
    equivalents: Annotated[int | None, typer.Option("--equivalents", help="Equivalents in a mole, for eq/L.")] = None,
    as_json: common.AsJson = False,
) -> None:
    """A strength in another kind, with the density that was used.

    Example: prep calc strength "37 % w/w" --of "hydrochloric acid" --in mol/L
    """
    from prep.services.calc import arithmetic

    _show(arithmetic.convert(given, of, to, density, equivalents), as_json)


@app.command()
def blend(
    portions: Annotated[list[str], typer.Argument(metavar="PORTION...", help='Such as "100 mL of 2 mol/L".')],
    of: Of = None,
    as_json: common.AsJson = False,
) -> None:
    """What several portions make together.

    Example: prep calc blend "100 mL of 2 mol/L" "300 mL of 0.5 mol/L"
    """
    from prep.services.calc import arithmetic

    _show(arithmetic.blend(portions, of), as_json)


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
    from prep.services.calc import arithmetic

    _show(arithmetic.dilute_alcohol(source, to, volume, temp), as_json)


Temp = Annotated[str, typer.Option("--temp", help="Temperature, degC.")]
Ideal = Annotated[bool, typer.Option("--ideal", help="Without activity coefficients, as textbooks do.")]


@app.command()
def ph(
    components: Annotated[list[str], typer.Argument(metavar="COMPONENT...", help='Such as "acetic acid 0.1 mol/L".')],
    temp: Temp = "25",
    ideal: Ideal = False,
    as_json: common.AsJson = False,
) -> None:
    """pH and ionic strength of any mixture of acids, bases and salts.

    Example: prep calc ph "acetic acid 0.1 mol/L" "sodium acetate 0.1 mol/L"
    """
    from prep.services.calc import equilibrium

    _show(equilibrium.ph(components, temp, ideal), as_json)


@app.command()
def buffer(
    pair: Annotated[str, typer.Argument(help='Its two ingredients, "acetic acid/sodium acetate".')],
    target: Annotated[str, typer.Option("--ph", help="The pH wanted.")],
    to: Annotated[str, typer.Option("--to", help='Acid and base together, such as "0.1 mol/L".')],
    volume: Volume,
    temp: Temp = "25",
    then: Annotated[
        str | None, typer.Option("--then", metavar="PORTION", help='What is added to it: "5 mL of HCl 1 mol/L".')
    ] = None,
    ideal: Ideal = False,
    as_json: common.AsJson = False,
) -> None:
    """What to weigh and measure for a buffer, and how well it holds its pH.

    Example: prep calc buffer "acetic acid/sodium acetate" --ph 4.7 --to "0.1 mol/L" --volume "1 L"
    """
    from prep.services.calc import equilibrium

    _show(equilibrium.buffer(pair, target, to, volume, temp, ideal, then), as_json)


@app.command()
def endpoint(
    dish: Annotated[str, typer.Option("--dish", help='What the dish holds, such as "25 mL".')],
    add: Annotated[list[str], typer.Option("--add", help='What is added: "HCl 0.1 mol/L".')],
    of: Annotated[
        list[str] | None, typer.Option("--of", help="A component in the dish; several may be; none is water.")
    ] = None,
    target: Annotated[str | None, typer.Option("--ph", help="The pH to reach.")] = None,
    indicator: Annotated[str | None, typer.Option("--indicator", help="Or the indicator to change.")] = None,
    drops_per_ml: Annotated[float | None, typer.Option("--drops-per-ml", help="Of the dropper.")] = None,
    dropper: Annotated[str | None, typer.Option("--dropper", help="Or its name: fine-dropper.")] = None,
    temp: Temp = "25",
    ideal: Ideal = False,
    as_json: common.AsJson = False,
) -> None:
    """How much, and how many drops, carry a dish to a pH or through a colour.

    Example: prep calc endpoint --dish "25 mL" --of "acetic acid 0.1 mol/L" --add "NaOH 0.1 mol/L" --ph 8.3

    Example: prep calc endpoint --dish "10 mL" --of "HCl 1 mol/L" --add "NaOH 1 mol/L" --indicator phenolphthalein
    """
    from prep.services.calc import equilibrium

    answer = equilibrium.endpoint(dish, of or [], add, target, indicator, drops_per_ml, dropper, temp, ideal)
    _show(answer, as_json)


@app.command()
def indicator(
    name: Annotated[str, typer.Argument(help="Such as phenolphthalein.")],
    at: Annotated[list[str] | None, typer.Option("--ph", help="Its colour there; twice: are they alike?")] = None,
    as_json: common.AsJson = False,
) -> None:
    """An indicator's pH range and colours.

    Example: prep calc indicator "bromothymol blue" --ph 6.8
    """
    from prep.services.calc import equilibrium

    _show(equilibrium.indicator(name, at or []), as_json)


def _show(answer: "Answer", as_json: bool) -> None:
    if as_json:
        working = [{"text": line.text} | ({"source": line.source} if line.source else {}) for line in answer.working]
        common.show_json({**answer.document, "working": working})
        return
    for sentence in answer.says:
        typer.echo(sentence)
    typer.echo("\nWorking:")
    for line in answer.working:
        typer.echo(f"  {line.text}")
        if line.source:
            typer.echo(f"    [{line.source}]")
