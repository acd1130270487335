"""`prep glassware`: which glassware and balances the room owns, and how many."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.chemistry.model import Instrument

app = common.group("Glassware and balances: what the room owns. The plan uses nothing of which there is none.")


@app.command("list")
@common.reads
def list_(
    search: Annotated[str | None, typer.Argument(help="Words to look for.")] = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List every vessel, pipette, burette and balance on file, and how many there are.

    Example: prep glassware list "measuring cylinder"
    """
    from prep.services.school import glassware

    _show(glassware.listed(db, search), as_json)


@app.command("set")
def set_(
    pairs: Annotated[
        list[str], typer.Argument(metavar="CODE NUMBER...", help="An instrument and how many there are; 0 for none.")
    ],
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Say how many there are.

    Example: prep glassware set cylinder-2000 0 flask-250 12
    """
    from prep.services.school import glassware

    _show(glassware.set_counts(db, pairs, common.who(by), common.today()), as_json)


@app.command("import")
def import_(
    file: Annotated[Path, typer.Argument(help="CSV with code and count, or the columns below.")],
    mapped: common.Map = None,
    dry_run: common.DryRun = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Take the numbers, and instruments of your own, from a spreadsheet: all of its rows, or none.

    Columns: code, count; of an instrument of your own also name, kind, capacity, tolerance, resolution, and if wanted
    grade and source.

    Example: prep glassware import ours.csv --dry-run
    """
    from prep.services.catalogue import table_import
    from prep.services.files.imports import ImportFile, mapping

    wanted = ImportFile(file, mapping(mapped or []), dry_run=dry_run)
    with common.bar("Instruments", as_json) as watcher:
        done = table_import.import_instruments(db, wanted, common.act(by, on), watcher)
    common.show_fates(done, dry_run, as_json)


def _show(found: "list[Instrument]", as_json: bool) -> None:
    from prep.reports.school_documents import instrument_document, instrument_unit

    if as_json:
        common.show_json([instrument_document(one) for one in found])
        return
    from prep.reports import terminal

    rows = [
        (one.code, one.name, f"{one.tolerance.normalize():f} {instrument_unit(one)}", str(one.count or "none"))
        for one in found
    ]
    terminal.table(("Code", "Name", "Within +-", "Number"), rows, right=(2, 3))
