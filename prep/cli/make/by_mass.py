"""`prep make --mass`: its document and its screen."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from prep import dates
from prep.cli import common
from prep.errors import Refused

if TYPE_CHECKING:
    from prep.services.input.act import Act
    from prep.services.making.make import MakeRequest


def show(db: Path | None, asked: "MakeRequest", mass: str, day: date, as_json: bool) -> None:
    """Ask the service and print its answer. Raises Refused, when all is shown, if something is missing."""
    from prep.reports import make_documents
    from prep.services.making import by_mass
    from prep.services.making.make import in_words

    found = by_mass.instructions(db, asked.solution, mass, asked.source, day)
    if as_json:
        common.show_json(make_documents.by_mass_document(found))
    else:
        make_documents.show_by_mass(found)
    if found.missing:
        raise Refused(f"What is held does not suffice: missing {in_words(found.missing)}.")


def log(db: Path | None, asked: "MakeRequest", mass: str, act: "Act", as_json: bool) -> None:
    """Make it on the books, and say which bottles hold it."""
    from prep.reports import make_documents
    from prep.services.making import by_mass

    logged = by_mass.log(db, asked, mass, act)
    found, made = logged.sheet, logged.batch
    if as_json:
        document = make_documents.by_mass_document(found)
        common.show_json(document | {"job": made.job, "bottles": [one.code for one in made.bottles]})
        return
    common.told()
    make_documents.show_by_mass(found)
    for bottle in made.bottles:
        typer.echo(
            f"Logged as job {made.job}: bottle {bottle.code} holds {bottle.shown}, use by {dates.day(bottle.use_by)}, "
            f"at {bottle.location}. Write {bottle.code} on its label."
        )
