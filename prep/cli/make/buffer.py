"""`prep make --buffer`: the buffer's document and its screen."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from prep import dates
from prep.cli import common
from prep.errors import Refused

if TYPE_CHECKING:
    from prep.services.input.act import Act
    from prep.services.making.buffer import BufferRequest, MadeBuffer


def show(db: Path | None, asked: "BufferRequest", day: date, as_json: bool) -> None:
    """Ask the service and print its answer. Raises Refused, when all is shown, if something is missing."""
    from prep.reports import make_documents
    from prep.services.making import buffer

    found = buffer.instructions(db, asked, day)
    if as_json:
        common.show_json(make_documents.buffer_document(found))
    else:
        make_documents.show_buffer(found)
    if found.lacks:
        raise Refused(f"What is held does not suffice: missing {found.lacks}.")


@dataclass(frozen=True, slots=True)
class Labels:
    """Where the labels of what is made are printed: the file, the sheet, and where on it they begin."""

    file: Path | None
    sheet: str | None
    start: int


def log(db: Path | None, asked: "BufferRequest", act: "Act", labels: Labels, as_json: bool) -> None:
    """Make the buffer on the books, and print its labels where a file is given."""
    from prep.cli.make import label
    from prep.services.making import buffer
    from prep.services.stock import labels as stock_labels

    if labels.file is not None:
        label.ready(labels.sheet, labels.start, labels.file)
    made = buffer.log(db, asked, act)
    left_off: Sequence[str] = ()
    if labels.file is not None:
        found = stock_labels.labels(db, [bottle.code for bottle in made.bottles])
        left_off = label.write(found, labels.sheet, labels.start, labels.file)
    show_logged(made, db, labels.file, left_off, as_json)


def show_logged(
    made: "MadeBuffer", db: Path | None, labels: Path | None, left_off: Sequence[str], as_json: bool
) -> None:
    """Print what a buffer that was made took, and the bottles that hold it."""
    from prep.cli.make import label
    from prep.reports import make_documents
    from prep.services.safety import placement

    beside = placement.beside(db, made.bottles)
    if as_json:
        document = make_documents.buffer_document(made.make)
        document |= {"solution": made.solution.code, "name": made.solution.name, "job": made.job}
        document |= {"bottles": [b.code for b in made.bottles]}
        document["notes"] = common.shelf_notes(beside[made.bottles[0].code])
        if labels is not None:
            document |= {"labels": str(labels), "label_notes": list(left_off)}
        common.show_json(document)
        return
    common.told()
    make_documents.show_buffer(made.make)
    for bottle in made.bottles:
        typer.echo(
            f"Logged as job {made.job}: bottle {bottle.code} holds {bottle.shown} of {made.solution.code}, "
            f"use by {dates.day(bottle.use_by)}, at {bottle.location}. Write {bottle.code} on its label."
        )
    common.show_shelf_notes(beside)
    if labels is not None:
        for sentence in label.said(made.bottles, labels, left_off):
            typer.echo(sentence)
