"""`prep calc titrate`, `equivalence`, `serial`, `standards` and `gas`: the sums of a week."""

from pathlib import Path
from typing import Annotated

import typer

from prep.cli import common
from prep.cli.calc.show import show

Ratio = Annotated[str | None, typer.Option("--ratio", help="Moles analysed to moles of titrant; default: as on file.")]
Titrant = Annotated[str, typer.Option("--with", help='The titrant: "HCl 0.1 mol/L".')]


def titrate(
    sample: Annotated[str, typer.Option("--sample", help='How much was taken: "25 mL" or "0.5 g".')],
    of: Annotated[str, typer.Option("--of", help="What is found in it: a name or formula.")],
    titrant: Titrant,
    titres: Annotated[str, typer.Option("--titres", help='"25.6, 24.65, 24.70 mL"; a rough one is set aside.')],
    blank: Annotated[str | None, typer.Option("--blank", help="What a blank took.")] = None,
    excess: Annotated[
        str | None, typer.Option("--excess", help='Of a back titration, what was added first: "50 mL of HCl 1 M".')
    ] = None,
    ratio: Ratio = None,
    as_json: common.AsJson = False,
) -> None:
    """Work out what a titration finds, direct or back, with a blank; available chlorine and hardness too.

    Example: prep calc titrate --sample "25 mL" --of NaOH --with "HCl 0.1 mol/L" --titres "25.6, 24.65, 24.70 mL"

    Example: prep calc titrate --sample "50 mL" --of CaCO3 --with "EDTA 0.01 mol/L" --titres "12.30, 12.35 mL"
    """
    from prep.services.calc import titration

    show(titration.titrate(titration.Titration(sample, of, titrant, titres, blank, ratio, excess)), as_json)


def equivalence(
    sample: Annotated[str, typer.Option("--sample", help='"25 mL of acetic acid 0.1 mol/L".')],
    titrant: Titrant,
    indicator: Annotated[str | None, typer.Option("--indicator", help="Whether it fits, of acids and bases.")] = None,
    ratio: Ratio = None,
    as_json: common.AsJson = False,
) -> None:
    """Work out how much titrant a sample takes, and how well an indicator fits.

    Example: prep calc equivalence --sample "25 mL of HCl 0.1 M" --with "NaOH 0.1 M" --indicator phenolphthalein
    """
    from prep.services.calc import titration

    show(titration.equivalence(sample, titrant, ratio, indicator), as_json)


def serial(
    source: Annotated[str, typer.Option("--from", help='The strength to begin with, such as "1 mol/L".')],
    factor: Annotated[str, typer.Option("--factor", help="How many times each step dilutes.")] = "10",
    steps: Annotated[int, typer.Option("--steps", help="How many steps.")] = 5,
    volume: Annotated[str, typer.Option("--volume", help="What each is made up to.")] = "100 mL",
    as_json: common.AsJson = False,
) -> None:
    """Lay out a serial dilution, tube by tube.

    Example: prep calc serial --from "1 mol/L" --factor 10 --steps 5 --volume "10 mL"
    """
    from prep.services.calc import series

    show(series.serial(source, factor, steps, volume), as_json)


def standards(
    source: Annotated[str, typer.Option("--from", help='The stock, such as "1 g/L".')],
    to: Annotated[list[str], typer.Option("--to", help="A standard; repeat for each.")],
    volume: Annotated[str, typer.Option("--volume", help="The flask.")] = "100 mL",
    readings: Annotated[str | None, typer.Option("--read", help='Absorbances in their order: "0 0.12 0.25".')] = None,
    unknown: Annotated[str | None, typer.Option("--unknown", help="The reading of an unknown.")] = None,
    sheet: Annotated[Path | None, typer.Option("--csv", help="Write the calibration sheet here.")] = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", metavar="FILE", help="With --read: draw the line, .svg, .png or .pdf.")
    ] = None,
    as_json: common.AsJson = False,
) -> None:
    """Lay out standards for a colorimeter with the fewest pipettes; with readings, the line and the unknown.

    Example: prep calc standards --from "1 g/L" --to "0.05 g/L" --to "0.1 g/L" --to "0.2 g/L" --volume "100 mL"

    Example: prep calc standards --from "1 g/L" --to "0 g/L" --to "0.1 g/L" --to "0.2 g/L" --read "0 0.22 0.45"
    --unknown 0.31
    """
    from prep.services.calc import series

    answer = series.standards(series.Standards(source, to, volume, readings, unknown))
    if sheet is not None:
        series.write_sheet(sheet, answer, readings)
    if plot is not None:
        from prep.reports.curves import calibration_picture
        from prep.reports.output_files import write_file

        write_file(plot, calibration_picture(plot, answer.document, series.readings_of(readings)))
    show(answer, as_json)


def gas(
    parts: Annotated[list[str], typer.Argument(metavar="PART...", help='"magnesium 0.12 g" "50 mL of HCl 1 mol/L".')],
    temp: Annotated[str, typer.Option("--temp", help="Of the room, degC.")] = "20",
    pressure: Annotated[str, typer.Option("--pressure", help="Of the room.")] = "101.325 kPa",
    over_water: Annotated[bool, typer.Option("--over-water", help="Collected over water.")] = False,
    as_json: common.AsJson = False,
) -> None:
    """Work out the volume of gas from what is mixed, at room conditions.

    Example: prep calc gas --over-water "magnesium 0.12 g" "50 mL of HCl 1 mol/L"
    """
    from prep.services.calc import gases

    show(gases.gas(parts, temp, pressure, over_water), as_json)
