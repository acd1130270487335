"""`prep calc`: the bench arithmetic on its own, offline, each answer with its working."""

from typing import Annotated

import typer

from prep.cli import common
from prep.cli.calc import acid_base, volumetry
from prep.cli.calc.show import show

app = common.group("Bench arithmetic without a database; every answer shows its working.")

Of = Annotated[str | None, typer.Option("--of", help="Of what: a name, CAS number or formula.")]
To = Annotated[str, typer.Option("--to", help='The strength wanted, such as "0.1 mol/L".')]
Volume = Annotated[str, typer.Option("--volume", help='How much to make, such as "250 mL".')]
Density = Annotated[str | None, typer.Option("--density", help='Its density, such as "1.18 g/mL".')]


@app.command()
def dilute(
    source: Annotated[str | None, typer.Option("--from", help='The strength held, such as "12.0 mol/L".')] = None,
    to: Annotated[str | None, typer.Option("--to", help='The strength wanted: "0.1 mol/L", "1 in 10".')] = None,
    volume: Annotated[str | None, typer.Option("--volume", help='How much to make, such as "250 mL".')] = None,
    take: Annotated[str | None, typer.Option("--take", help="How much of the stronger one is taken.")] = None,
    of: Of = None,
    density: Density = None,
    as_json: common.AsJson = False,
) -> None:
    """Solve a dilution: of strength held, strength wanted, volume made and volume taken the fourth from three.

    Example: prep calc dilute --from "12.0 mol/L" --to "0.1 mol/L" --volume "2 L"

    Example: prep calc dilute --from "2 M" --take "25 mL" --volume "250 mL"

    Example: prep calc dilute --to "1 in 10" --volume "500 mL"
    """
    from prep.services.calc import arithmetic

    made = arithmetic.dilute(arithmetic.Dilution(source, to, volume, take, of, density))
    show(arithmetic.minding(made, of, held=source), as_json)


@app.command()
def dissolve(
    to: To,
    volume: Annotated[str | None, typer.Option("--volume", help='How much to make, such as "250 mL".')] = None,
    mass: Annotated[str | None, typer.Option("--mass", help="Or its mass: no density is needed then.")] = None,
    formula: Annotated[str | None, typer.Option("--formula", help="The solid's formula, such as CuSO4.5H2O.")] = None,
    of: Of = None,
    assay: Annotated[str | None, typer.Option("--assay", help="Purity in % w/w; default: 100, or as on file.")] = None,
    counted: Annotated[
        str | None, typer.Option("--as", help="The formula or element that the strength counts, if not the solid's.")
    ] = None,
    excess: Annotated[
        str | None, typer.Option("--excess", help="For a saturated solution: how much more than dissolves, in %.")
    ] = None,
    as_json: common.AsJson = False,
) -> None:
    """Work out what to weigh of a solid, in any hydrate; of a liquid as bought, what to measure.

    Example: prep calc dissolve --formula CuSO4.5H2O --to "0.5 mol/L" --volume "250 mL"

    Example: prep calc dissolve --of "table salt" --to saturated --volume "500 mL"

    Example: prep calc dissolve --of glucose --to "5 % w/w" --mass "500 g"
    """
    from prep.services.calc import arithmetic, weighing

    made = weighing.dissolve(weighing.Weighing(to, volume, mass, formula, of, assay, counted, excess))
    show(arithmetic.minding(made, of or formula, made=to), as_json)


@app.command("mass")
def molar_mass(
    what: Annotated[str, typer.Argument(metavar="WHAT", help="A formula, or a name on file.")],
    as_json: common.AsJson = False,
) -> None:
    """Add up the molar mass, atom by atom.

    Example: prep calc mass CuSO4.5H2O
    """
    from prep.services.calc import weighing

    show(weighing.molar_mass_of(what), as_json)


@app.command()
def strength(
    given: Annotated[str, typer.Argument(metavar="STRENGTH", help='Such as "37 % w/w".')],
    to: Annotated[str, typer.Option("--in", help="The kind wanted, such as mol/L.")],
    of: Of = None,
    density: Density = None,
    equivalents: Annotated[int | None, typer.Option("--equivalents", help="Equivalents in a mole, for eq/L.")] = None,
    as_json: common.AsJson = False,
) -> None:
    """Convert a strength into another kind, with the density that was used.

    Example: prep calc strength "37 % w/w" --of "hydrochloric acid" --in mol/L
    """
    from prep.services.calc import arithmetic

    show(arithmetic.convert(given, of, to, density, equivalents), as_json)


@app.command()
def blend(
    portions: Annotated[list[str], typer.Argument(metavar="PORTION...", help='Such as "100 mL of 2 mol/L".')],
    of: Of = None,
    to: Annotated[str | None, typer.Option("--to", help="Or the strength that two strengths are to make.")] = None,
    volume: Annotated[str | None, typer.Option("--volume", help="How much of that.")] = None,
    as_json: common.AsJson = False,
) -> None:
    """Work out what several portions make together; or how much of two strengths makes a third.

    Example: prep calc blend "100 mL of 2 mol/L" "300 mL of 0.5 mol/L"

    Example: prep calc blend "2 mol/L" "0.5 mol/L" --to "1 mol/L" --volume "600 mL"
    """
    from prep.services.calc import arithmetic, mixed_portions

    made = mixed_portions.blend(mixed_portions.Blend(tuple(portions), of, to, volume))
    show(arithmetic.minding(made, of), as_json)


@app.command()
def alcohol(
    source: Annotated[str, typer.Option("--from", help='The ethanol held: "96 % v/v", "IMS 96 %".')],
    to: To,
    volume: Volume,
    temp: Annotated[str, typer.Option("--temp", help="Temperature of both, degC.")] = "20",
    as_json: common.AsJson = False,
) -> None:
    """Dilute or blend ethanol and water, with contraction.

    Example: prep calc alcohol --from "96 % v/v" --to "70 % v/v" --volume "1 L"

    Example: prep calc alcohol --from "absolute alcohol" --to "70 % ethanol" --volume "500 mL"
    """
    from prep.services.calc import mixed_portions

    show(mixed_portions.dilute_alcohol(source, to, volume, temp), as_json)


for command in (acid_base.ph, acid_base.buffer, acid_base.endpoint, acid_base.indicator):
    app.command()(command)
for of_the_week in (
    volumetry.titrate,
    volumetry.equivalence,
    volumetry.serial,
    volumetry.standards,
    volumetry.gas,
):
    app.command()(of_the_week)
