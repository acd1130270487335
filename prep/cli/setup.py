"""`prep init` and `prep db`: the inventory file itself."""

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from prep.cli import common

db_app = common.group("The inventory file: check it, copy it.")


def init(
    school: Annotated[str, typer.Option("--school", help="The school's name, for labels.")] = "",
    folder: Annotated[
        Path | None, typer.Option("--from", metavar="FOLDER", help="Your own lists, like seed_data/school.")
    ] = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Make a new inventory with the shipped substances, solutions and demos.

    Example: prep init --school "Fernhill School"
    """
    from prep.services import setting_up

    made = setting_up.init(db, common.who(by), date.today(), folder, school)
    if as_json:
        common.show_json(
            {
                "where": made.where,
                "substances": made.substances,
                "solutions": made.solutions,
                "demos": made.demos,
                "bottles": made.bottles,
                "bookings": made.bookings,
            }
        )
        return
    typer.echo(
        f"{made.where}: {made.substances} substances, {made.solutions} solutions and {made.demos} demos on file; "
        f"{made.bottles} bottles, {made.bookings} bookings."
    )
    typer.echo('Next: prep stock receive "sodium chloride" "500 g"; prep book add DEMO --on DATE; prep plan')


@db_app.command()
def check(db: common.Db = None, as_json: common.AsJson = False) -> None:
    """Recompute every balance from the ledger and look for damage.

    Example: prep db check
    """
    from prep.errors import Refused
    from prep.services import keeping

    found = keeping.check(db)
    if as_json:
        common.show_json(
            {"clean": not found, "differences": [{"about": f.about, "message": f.message} for f in found]}
        )
    else:
        for finding in found:
            typer.echo(f"{finding.message}" + (f" -> {finding.cure}" if finding.cure else ""))
        if not found:
            typer.echo("Clean: every balance is what its movements add up to.")
    if found:
        raise Refused(f"{len(found)} difference{'s' if len(found) > 1 else ''} found.")


@db_app.command()
def backup(
    to: Annotated[Path | None, typer.Argument(help="Where to; default: beside the inventory.")] = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Copy the inventory whole, even while others write.

    Example: prep db backup copy-of-today.db
    """
    from prep.services import keeping

    copy = keeping.backup(db, to)
    if as_json:
        common.show_json({"backup": str(copy)})
    else:
        typer.echo(f"Copied to {copy}.")
