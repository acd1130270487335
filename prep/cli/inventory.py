"""`prep init` and `prep db`: the inventory file itself."""

from pathlib import Path
from typing import Annotated

import typer

from prep.cli import common
from prep.errors import Refused
from prep.plurals import plural

db_app = common.group("The inventory: check, copy, put back, carry out and in, bring up to date.")


def init(
    school: Annotated[str, typer.Option("--school", help="The school's name, for labels.")] = "",
    folder: Annotated[Path | None, typer.Option("--from", metavar="FOLDER", help="Your own lists: see below.")] = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Make a new inventory with the shipped substances, solutions and demos.

    Of --from are read, where they are there: settings.toml (school = "..."), locations.csv (code, name), bottles.csv
    (code, item, amount; use_by, location, received, opened, lot ...), orders.csv (code, item, pack, packs, placed, due)
    and bookings.csv (code, date, demo, showings).

    Example: prep init --school "Wendlemoor School"
    """
    from prep.services.inventory import init as inventory_init

    made = inventory_init.init(db, common.who(by), common.today(), folder, school)
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
        f"{made.bottles} bottle{'s' * (made.bottles != 1)}, {made.bookings} booking{'s' * (made.bookings != 1)}."
    )
    typer.echo('Next: prep stock receive "sodium chloride" "500 g"; prep book add DEMO --on DATE; prep plan')


@db_app.command()
@common.reads
def check(
    proves: Annotated[
        str | None, typer.Option("--seal", metavar="SEAL", help="The seal on a signed paper: is it in these books?")
    ] = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Recompute every balance from the ledger, follow the seals of the jobs, and look for damage.

    Example: prep db check

    Example: prep db check --seal 3f2a-9c1b-77d0-e415
    """
    from prep.reports.finding_texts import with_cure
    from prep.services.inventory import backup as inventory_backup

    found = inventory_backup.check(db)
    about = inventory_backup.sealed(db, proves)
    if as_json:
        document = {"clean": not found, "differences": [{"about": f.about, "message": f.message} for f in found]}
        sealed = {"seal": about.head, "jobs": about.jobs, "proved_by_job": about.proved}
        common.show_json(document | sealed | {"access_seal": about.access or None, "proved_by_line": about.line})
    else:
        for finding in found:
            typer.echo(with_cure(finding))
        if not found:
            typer.echo("Clean: every balance is what its movements add up to.")
        typer.echo(f"Seal of {plural(about.jobs, 'job')}: {about.head}")
        if about.access:
            typer.echo(f"Seal of who came in: {about.access}")
        if about.proved or about.line:
            which = f"job {about.proved}" if about.proved else f"line {about.line} of who came in"
            rest = "what is named above is not" if found else "all up to it is"
            typer.echo(f"The seal {proves} is that of {which}: {rest} as it was signed.")
        if about.told:
            typer.echo(f"Mind: {about.told}.")
    if proves and not (about.proved or about.line):
        raise Refused(f"The seal {proves[:40]} is not in these books: they are not the ones that were signed.")
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
    from prep.services.inventory import backup as inventory_backup

    copy = inventory_backup.backup(db, to)
    if as_json:
        common.show_json({"backup": str(copy)})
    else:
        typer.echo(f"Copied to {copy}.")


@db_app.command()
def restore(
    copy: Annotated[Path, typer.Argument(help="A copy made by: prep db backup.")],
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put a copy in place of the inventory, once it is found clean; what is there now is kept beside it.

    Example: prep db restore copy-of-today.db
    """
    from prep.services.inventory import backup as inventory_backup

    done = inventory_backup.restore(db, copy)
    if as_json:
        kept = str(done.kept) if done.kept else None
        common.show_json({"restored": str(done.path), "bottles": done.bottles, "jobs": done.jobs, "kept": kept})
        return
    typer.echo(f"{done.path} is what {copy} was: {plural(done.bottles, 'bottle')}, {plural(done.jobs, 'job')}.")
    if done.kept:
        typer.echo(f"What was there is kept as {done.kept}.")


@db_app.command()
def repair(on: common.On = None, by: common.By = None, db: common.Db = None, as_json: common.AsJson = False) -> None:
    """Make every balance what its movements add up to, as a job in your name.

    Example: prep db repair --by "R. Vane"
    """
    from prep.services.inventory import repair as inventory_repair

    found = inventory_repair.repair(db, common.act(by, on))
    if as_json:
        rows = [{"bottle": one.bottle, "before": one.before, "after": one.after} for one in found.mended]
        common.show_json({"job": found.job, "mended": rows})
        return
    common.told()
    typer.echo(f"{plural(len(found.mended), 'balance')} put right by job {found.job}: ", nl=False)
    typer.echo(", ".join(one.bottle for one in found.mended) + ".")


@db_app.command()
def salvage(
    copy: Annotated[Path, typer.Argument(help="A damaged inventory, or a damaged copy of one.")],
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Make a new inventory of what is still sound in a damaged one; the job says what was left out.

    Example: prep db salvage damaged.db --db saved.db --by "R. Vane"
    """
    from prep.services.inventory import repair as inventory_repair

    done = inventory_repair.salvage(copy, db, common.act(by, on))
    if as_json:
        common.show_json({"inventory": str(done.where), "rows": done.rows, "left_out": done.left_out})
        return
    typer.echo(
        f"{done.where} holds what was sound of {copy}: {plural(done.rows['bottle'], 'bottle')}, "
        f"{plural(done.rows['job'], 'job')}, {plural(done.rows['movement'], 'movement')}; "
        f"{plural(done.left_out, 'row')} without parents left out, {plural(len(done.mended), 'balance')} put right. "
        "Count the bottles."
    )


@db_app.command()
def upgrade(db: common.Db = None, as_json: common.AsJson = False) -> None:
    """Bring the inventory up to date with this version of prep, after a backup beside it.

    Example: prep db upgrade
    """
    from prep.services.inventory import backup as inventory_backup

    done = inventory_backup.upgrade(db)
    if as_json:
        made = str(done.backup) if done.backup else None
        common.show_json({"before": done.before, "after": done.after, "backup": made})
    elif done.before == done.after:
        typer.echo(f"It is up to date (revision {done.after}).")
    else:
        kept = f"; the one before is kept as {done.backup}" if done.backup else ""
        typer.echo(f"Brought from revision {done.before} to {done.after}{kept}.")


@db_app.command()
@common.reads
def export(
    folder: Annotated[Path, typer.Argument(help="A new folder.")],
    csv: Annotated[bool, typer.Option("--csv", help="As CSV for a spreadsheet; default: lines of JSON.")] = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Write the whole inventory as plain files, one a table; db import reads them again.

    Example: prep db export inventory-2027
    """
    from prep.services.inventory import export as inventory_export

    with common.bar("Rows", as_json) as watcher:
        done = inventory_export.export(db, folder, "csv" if csv else "jsonl", watcher)
    _carried(done.where, done.rows, "Wrote", as_json)


@db_app.command("import")
def import_(
    folder: Annotated[Path, typer.Argument(help="A folder made by: prep db export.")],
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Make a new inventory of an exported folder: all of it, checked, or nothing.

    Example: prep db import inventory-2027 --db new.db
    """
    from prep.services.inventory import export as inventory_export

    with common.bar("Rows", as_json) as watcher:
        done = inventory_export.import_(db, folder, watcher)
    _carried(done.where, done.rows, "Read", as_json)


def _carried(where: Path, rows: dict[str, int], verb: str, as_json: bool) -> None:
    if as_json:
        common.show_json({"folder": str(where), "rows": rows})
    else:
        typer.echo(f"{verb} {sum(rows.values())} rows of {len(rows)} tables: {where}.")
