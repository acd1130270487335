"""`prep label`: labels for bottles, as a PDF."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common
from prep.errors import PrepError
from prep.plurals import plural

if TYPE_CHECKING:
    from collections.abc import Sequence

    from prep.safety.label_content import LabelContent

LabelSheetName = Annotated[
    str | None,
    typer.Option(
        "--sheet",
        help='Such as "A4, 2 x 7", "A4, 3 x 8" or "single 60 x 40 mm". Default: "A4, 2 x 7"; on an unused sheet, '
        'one of larger labels ("A4, 2 x 4" ...) where the bottles ask for them.',
    ),
]
Start = Annotated[int, typer.Option("--start", help="The first free place on a used sheet; 1 is the top left.")]


@common.reads
def label(
    bottles: Annotated[list[str] | None, typer.Argument(metavar="BOTTLE...", help="The bottles' codes.")] = None,
    batch: Annotated[int | None, typer.Option("--batch", metavar="JOB", help="All bottles that a job filled.")] = None,
    sheet: LabelSheetName = None,
    start: Start = 1,
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The PDF to write.")] = Path("labels.pdf"),
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Print labels with name, strength, dates, code, keeping and hazards.

    Example: prep label K6G7 R6M3 --sheet "A4, 2 x 7" --start 5

    Example: prep label --batch 12 --out acids.pdf
    """
    from prep.reports.make_documents import labels_document
    from prep.services.stock import labels as stock_labels

    found = stock_labels.labels(db, bottles or [], batch)
    notes = write(found, sheet, start, out)
    if as_json:
        common.show_json(labels_document(found, out, notes))
        return
    for sentence in said(found, out, notes):
        typer.echo(sentence)


def ready(sheet: str | None, start: int, out: Path) -> None:
    """Check before the make is logged that its labels can be written. Raises PrepError."""
    from prep.reports.labels.sheet_sizes import USUAL, sheet_named

    places = sheet_named(sheet or USUAL).places
    if not 1 <= start <= places:
        raise PrepError(f'--start {start} is not on the sheet "{sheet or USUAL}"; it has places 1 to {places}.')
    if not out.parent.is_dir():
        raise PrepError(f"{out.parent}: there is no such folder for the labels; nothing was changed.")
    if out.is_dir():
        raise PrepError(f"{out} is a folder; name a file for the labels.")


def write(found: "Sequence[LabelContent]", sheet: str | None, start: int, out: Path) -> tuple[str, ...]:
    """Set the labels and write the file; returns the sheet chosen, and what was left out. Raises PrepError."""
    from prep.reports.labels import label_pdf
    from prep.reports.labels.sheet_choice import pages_said
    from prep.reports.labels.sheet_sizes import USUAL
    from prep.reports.output_files import write_file

    made = label_pdf.render_on(found, sheet, start)
    write_file(out, made.pdf)
    if several := pages_said(made.groups):
        one_kind = "Each label is as large as its bottle asks for; for one kind of sheet name it with --sheet."
        return (*several, one_kind, *made.notes)
    larger = f'Set for the sheet "{made.sheet.name}", as bottles of this size ask for; another with --sheet.'
    return made.notes if sheet or made.sheet.name == USUAL else (larger, *made.notes)


def said(found: "Sequence[object]", out: Path, notes: "Sequence[str]") -> list[str]:
    """Tell in sentences which labels were written."""
    return [f"{plural(len(found), 'label')} in {out}.", *notes]
