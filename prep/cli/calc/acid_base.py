"""`prep calc ph`, `buffer`, `endpoint` and `indicator`: acids, bases and colours."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common
from prep.cli.calc.show import Csv, Plot, show, write_curves

if TYPE_CHECKING:
    from prep.services.calc.arithmetic import Answer

To = Annotated[str, typer.Option("--to", help='The strength wanted, such as "0.1 mol/L".')]
Volume = Annotated[str, typer.Option("--volume", help='How much to make, such as "250 mL".')]
Temp = Annotated[str, typer.Option("--temp", help="Temperature, degC.")]
Ideal = Annotated[bool, typer.Option("--ideal", help="Without activity coefficients, as textbooks do.")]


def ph(
    components: Annotated[
        list[str], typer.Argument(metavar="COMPONENT...", help='Such as "acetic acid 0.1 mol/L"; or portions.')
    ],
    temp: Temp = "25",
    ideal: Ideal = False,
    as_json: common.AsJson = False,
) -> None:
    """Compute pH and ionic strength of any mixture of acids, bases and salts.

    Example: prep calc ph "acetic acid 0.1 mol/L" "sodium acetate 0.1 mol/L"

    Example: prep calc ph "25 mL of 0.1 M acetic acid" "10 mL of 0.1 M NaOH"
    """
    from prep.services.calc import equilibrium

    show(equilibrium.ph(components, temp, ideal), as_json)


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
    plot: Plot = None,
    csv: Csv = None,
    as_json: common.AsJson = False,
) -> None:
    """Work out what to weigh and measure for a buffer, and how well it holds its pH.

    Example: prep calc buffer "acetic acid/sodium acetate" --ph 4.7 --to "0.1 mol/L" --volume "1 L" --plot holds.svg
    """
    from prep.services.calc import equilibrium

    curve = plot is not None or csv is not None
    found = equilibrium.buffer(equilibrium.BufferQuestion(pair, target, to, volume, temp, ideal, then, curve))
    _shown(found, f"{volume} of {pair}, pH {target}, {to}", plot, csv, as_json=as_json)


def _shown(found: "Answer", title: str, plot: Path | None, csv: Path | None, *, as_json: bool) -> None:
    """Write the curves, then print the answer."""
    written = write_curves(found, title, plot, csv)
    show(found, as_json)
    if written and not as_json:
        typer.echo(f"Wrote {', '.join(written)}.")


def endpoint(
    dish: Annotated[str, typer.Option("--dish", help='What the dish holds, such as "25 mL".')],
    add: Annotated[list[str], typer.Option("--add", help='What is added: "HCl 0.1 mol/L".')],
    of: Annotated[
        list[str] | None,
        typer.Option("--of", help="A component in the dish, or a portion; several may be; none is water."),
    ] = None,
    target: Annotated[str | None, typer.Option("--ph", help="The pH to reach.")] = None,
    indicator: Annotated[str | None, typer.Option("--indicator", help="Or the indicator to change.")] = None,
    drops_per_ml: Annotated[float | None, typer.Option("--drops-per-ml", help="Of the dropper.")] = None,
    dropper: Annotated[str | None, typer.Option("--dropper", help="Or its name: fine-dropper.")] = None,
    at: Annotated[
        list[int] | None, typer.Option("--at", metavar="DROPS", help="pH and colour after so many drops; may repeat.")
    ] = None,
    temp: Temp = "25",
    ideal: Ideal = False,
    plot: Plot = None,
    csv: Csv = None,
    as_json: common.AsJson = False,
) -> None:
    """Work out how much carries a dish to a pH or through a colour, in drops too; what it shows after so many.

    Example: prep calc endpoint --dish "25 mL" --of "acetic acid 0.1 mol/L" --add "NaOH 0.1 mol/L" --ph 8.3

    Example: prep calc endpoint --dish "10 mL" --of "HCl 1 mol/L" --add "NaOH 1 mol/L" --indicator phenolphthalein

    Example: prep calc endpoint --dish "10 mL" --of "HCl 0.1 M" --add "NaOH 0.1 M" --at 100 --at 250 --plot curve.svg
    """
    from prep.services.calc import equilibrium

    asked = equilibrium.EndpointQuestion(
        dish, add, of or [], target, indicator, drops_per_ml, dropper, temp, ideal, at or ()
    )
    title = f"{dish} of {' and '.join(of or ['water'])}"
    _shown(equilibrium.endpoint(asked), title, plot, csv, as_json=as_json)


def indicator(
    name: Annotated[str, typer.Argument(help="Such as phenolphthalein.")],
    at: Annotated[list[str] | None, typer.Option("--ph", help="Its colour there; twice: the same at both?")] = None,
    as_json: common.AsJson = False,
) -> None:
    """Show an indicator's pH range and colours, or the potential, metal or precipitate that changes them.

    Example: prep calc indicator "bromothymol blue" --ph 6.8

    Example: prep calc indicator ferroin
    """
    from prep.services.calc import indicator_colours

    show(indicator_colours.indicator(name, at or []), as_json)
