"""`prep substance`, `prep solution`: what is on file."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from prep.cli import common
from prep.errors import PrepError
from prep.plurals import plural

if TYPE_CHECKING:
    from prep.safety.model import Classification

substance = common.group("Substances: chemicals as bought.")
solution = common.group("Solutions: what the prep room makes.")

NameSearch = Annotated[str | None, typer.Argument(help="Words to look for.")]
Replace = Annotated[bool, typer.Option("--replace", help="Write over what is on file under the same code.")]
Name = Annotated[str, typer.Argument(help="Its code or name.")]


@substance.command("list")
@common.reads
def substances(search: NameSearch = None, db: common.Db = None, as_json: common.AsJson = False) -> None:
    """List every substance on file.

    Example: prep substance list copper
    """
    from prep.services.catalogue import lookup

    on_file = lookup.known(db)
    hits = lookup.searched(on_file, "substance", search)
    found = [on_file.substances[code] for code in hits.codes]
    if as_json:
        from prep.reports.catalogue import substance_document

        common.show_json([substance_document(s, on_file.rules.get(s.code)) for s in found])
        return
    from prep.reports import terminal

    terminal.note(hits.says)
    terminal.table(("Code", "Name", "Formula", "CAS"), [(s.code, s.name, s.formula, s.cas) for s in found])
    terminal.say(f"{len(found)} on file.")


@substance.command("show")
@common.reads
def show_substance(name: Name, db: common.Db = None, as_json: common.AsJson = False) -> None:
    """Show one substance, each fact with its source; and what is kept of it (prep order rule).

    Example: prep substance show "copper(II) sulfate pentahydrate"
    """
    from prep.reports.catalogue import substance_document
    from prep.services.catalogue import lookup
    from prep.services.safety import hazards

    on_file = lookup.known(db)
    found = lookup.substance(on_file, name)
    document = substance_document(found, on_file.rules.get(found.code))
    _with_hazards(document, hazards.of_substance(found), as_json, lookup.taken_as(on_file, name, "substance"))


@substance.command("name")
def name_substance(
    code: Name,
    called: Annotated[str, typer.Argument(help="What it is called here.")],
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Let a substance go by a name of your own as well.

    Example: prep substance name sodium-hydrogencarbonate "volcano powder"
    """
    from prep.services.catalogue import own_names

    found = own_names.add_name(db, code, called, common.act(by))
    if as_json:
        common.show_json({"code": found.code, "name": found.name, "called": called.strip()})
        return
    typer.echo(common.numbered(f'{found.name} ({found.code}) is called "{called.strip()}" too.'))


@solution.command("list")
@common.reads
def solutions(search: NameSearch = None, db: common.Db = None, as_json: common.AsJson = False) -> None:
    """List every solution on file.

    Example: prep solution list hydroxide
    """
    from prep.services.catalogue import lookup

    on_file = lookup.known(db)
    hits = lookup.searched(on_file, "solution", search)
    found = [on_file.solutions[code] for code in hits.codes]
    if as_json:
        from prep.reports.catalogue import solution_document

        common.show_json([solution_document(s, on_file.name, on_file.substances) for s in found])
        return
    from prep.reports import terminal

    rows = [
        (s.code, s.name, str(s.strength or ""), "fresh" if s.made_fresh else f"{s.shelf_life_days} d", s.purpose)
        for s in found
    ]
    terminal.note(hits.says)
    terminal.table(("Code", "Name", "Strength", "Keeps", "Kind"), rows)
    terminal.say(f"{len(found)} on file.")


@solution.command("show")
@common.reads
def show_solution(name: Name, db: common.Db = None, as_json: common.AsJson = False) -> None:
    """Show one solution: strength, recipe, keeping, sources.

    Example: prep solution show benedict
    """
    from prep.reports.catalogue import solution_document
    from prep.safety.solution_hazards import known_or_not
    from prep.services.catalogue import lookup

    on_file = lookup.known(db)
    found = lookup.solution(on_file, name)
    hazards = known_or_not(found, on_file)
    document = solution_document(found, on_file.name, on_file.substances)
    _with_hazards(document, hazards, as_json, lookup.taken_as(on_file, name, "solution"))


@solution.command("new")
def new_solution(
    of: Annotated[str, typer.Option("--of", help="One substance, by any name, with --strength.")] = "",
    strength: Annotated[str, typer.Option("--strength", help='Such as "0.1 mol/L" or "2 % w/v".')] = "",
    buffer: Annotated[
        str, typer.Option("--buffer", metavar="PAIR", help='Or a buffer, with --ph: "acetic acid/sodium acetate".')
    ] = "",
    ph: Annotated[str, typer.Option("--ph", help="The buffer's pH.")] = "",
    recipe: Annotated[
        list[str] | None, typer.Option("--recipe", metavar="ITEM=AMOUNT", help="Or what goes into it; may repeat.")
    ] = None,
    makes: Annotated[str, typer.Option("--makes", metavar="VOLUME", help="How much the recipe makes.")] = "",
    name: Annotated[str, typer.Option("--name", help="What it is called; default: by what is in it.")] = "",
    code: Annotated[str, typer.Option("--code", help="Its code; default: made of its name.")] = "",
    keeps: Annotated[int | None, typer.Option("--keeps", metavar="DAYS", help="How long; 0: made fresh.")] = None,
    keeping: Annotated[
        list[str] | None, typer.Option("--keeping", help="amber, plastic, glass, cold, dark, vented, full; may repeat.")
    ] = None,
    tolerance: Annotated[str, typer.Option("--tolerance", metavar="PERCENT", help="How exact it must be.")] = "",
    minutes: Annotated[int | None, typer.Option("--minutes", help="How long making it takes.")] = None,
    kind: Annotated[str, typer.Option("--kind", help="stock, working, indicator, reagent or buffer.")] = "",
    method: Annotated[str, typer.Option("--method", help="How it is made, in your own words.")] = "",
    usual: Annotated[str, typer.Option("--usual", metavar="VOLUME", help="What is made of it at once.")] = "",
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only say what it would be.")] = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put a solution of one's own on file: from options, or asked at the terminal.

    Example: prep solution new --of "copper sulphate" --strength "0.25 mol/L"

    Example: prep solution new --buffer "acetic acid/sodium acetate" --ph 5 --strength "0.2 mol/L"

    Example: prep solution new --name "Salt and soda" --recipe "table salt=10 g" --recipe "washing soda=5 g"
    --makes "1 L"
    """
    from prep.reports import terminal
    from prep.reports.catalogue import solution_document
    from prep.services.catalogue import lookup, own_solutions

    asked = own_solutions.NewSolution(
        name,
        code,
        of,
        strength,
        buffer,
        ph,
        tuple(recipe or ()),
        makes,
        keeps,
        tuple(keeping or ()),
        tolerance,
        minutes,
        kind,
        method,
        usual,
    )
    if not asked.says_what and not as_json and sys.stdin.isatty():
        asked = own_solutions.ask(asked, common.question)
    made = own_solutions.add(db, asked, common.act(by), dry_run=dry_run)
    on_file = lookup.known(db)
    if as_json:
        document = solution_document(made, on_file.name, on_file.substances)
        common.show_json(document | {"added": not dry_run})
        return
    verb = "would be added" if dry_run else "added"
    terminal.say(f"{made.name} ({made.code}) {verb}.")
    for line in own_solutions.recipe_words(made, on_file):
        terminal.say(line, indent=2, hang=2)
    terminal.say("It is made fresh." if made.made_fresh else f"It keeps {plural(made.shelf_life_days, 'day')}.")
    if not dry_run:
        terminal.say("See:")
        for command in (f"prep solution show {made.code}", f'prep make {made.code} --volume "500 mL"'):
            terminal.say(command, indent=2, whole=True)


@solution.command("set")
def set_solution(
    name: Name,
    usual: Annotated[
        str | None, typer.Option("--usual", metavar="VOLUME", help="What is made of it at once, as a rule.")
    ] = None,
    method: Annotated[
        Path | None, typer.Option("--method", metavar="FILE", help="How it is made here: TOML, one [[step]] each.")
    ] = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Set what the room makes of a solution at once, or by which steps; the plan holds to both.

    A step has a kind, and as it needs them text, item, from, share, temperature_c, up_to_c, minutes, goes_into and
    source: what prep solution show CODE --json gives as steps. --usual and --method are two jobs: give one at a time.

    Example: prep solution set benedict --usual "500 mL"

    Example: prep solution set benedict --method our-benedict.toml
    """
    from prep.reports.catalogue import solution_document
    from prep.services.catalogue import lookup, own_method, usual_batch

    if (usual is None) == (method is None):
        raise PrepError('Say one of: --usual "500 mL" (what is made of it at once), --method FILE (how it is made).')
    if method is not None:
        done = own_method.set_method(db, name, method, common.act(by))
        found, said = done.solution, f"made by a method of {plural(len(done.solution.method_steps), 'step')}"
        undo = {"job": done.job}
    else:
        assert usual is not None
        found = usual_batch.set_usual(db, name, usual, common.who(by), common.a_date(None, "--on"))
        said, undo = usual_batch.shown(found), {}
    if as_json:
        on_file = lookup.known(db)
        common.show_json(solution_document(found, on_file.name, on_file.substances) | undo)
        return
    typer.echo(f"{found.name}: {said}.")
    if undo:
        common.told()
        typer.echo(f"As it was: prep stock undo {undo['job']}")


def _with_hazards(document: dict[str, Any], hazards: "Classification", as_json: bool, choice: str) -> None:
    from prep.reports import safety, terminal

    if as_json:
        taken = {"taken_as": choice} if choice else {}
        common.show_json(document | taken | {"hazards": safety.hazards_document(hazards)})
        return
    if choice:
        terminal.say(choice)
    _facts(document)
    terminal.say("hazards:")
    safety.show_hazards(hazards)


@substance.command("import")
def import_substances(
    file: Annotated[Path, typer.Argument(help="CSV with the columns below.")],
    replace: Replace = False,
    mapped: common.Map = None,
    dry_run: common.DryRun = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Add substances from a spreadsheet: all of its rows, or none.

    Columns: code, name, form; if wanted other_names, cas, formula, solute, assay_pct, density_g_ml,
    solubility_g_per_100g, solubility_c, classification, supplemental, flash_point_c, storage_group, disposal,
    peroxide_class, assay_half_width_pct, dry_c, dry_minutes, unfit, found_against; and of what is a fact, its source:
    source, assay_source, density_source, solubility_source, hazard_basis, hazard_source, half_width_source,
    standard_source.

    Example: prep substance import ours.csv --dry-run
    """
    from prep.services.catalogue import table_import
    from prep.services.files.imports import ImportFile, mapping

    wanted = ImportFile(file, mapping(mapped or []), replace, dry_run)
    with common.bar("Substances", as_json) as watcher:
        done = table_import.import_substances(db, wanted, common.act(by, on), watcher)
    common.show_fates(done, dry_run, as_json)


@solution.command("import")
def import_solutions(
    file: Annotated[Path, typer.Argument(help="CSV with the columns below.")],
    recipes: Annotated[Path | None, typer.Option("--recipes", help="CSV of what is in them, as below.")] = None,
    replace: Replace = False,
    mapped: common.Map = None,
    dry_run: common.DryRun = False,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Add solutions from a spreadsheet: all of its rows, or none. One alone is easier: prep solution new.

    Columns: code, name, shelf_life_days; if wanted purpose, solute, strength, strength_of, made_fresh, keeping,
    tolerance_pct, made_from, make_up_with, recipe_makes, minutes, method, source, shelf_source, usual, small_batch,
    usual_source. Of --recipes: solution (code or name), item, amount; if wanted note, source.

    Example: prep solution import ours.csv --recipes our-recipes.csv
    """
    from prep.services.catalogue import table_import
    from prep.services.files.imports import ImportFile, mapping

    wanted = ImportFile(file, mapping(mapped or []), replace, dry_run)
    with common.bar("Solutions", as_json) as watcher:
        done = table_import.import_solutions(db, wanted, recipes, common.act(by, on), watcher)
    common.show_fates(done, dry_run, as_json)


def _facts(document: dict[str, Any]) -> None:
    from prep.reports import terminal
    from prep.reports.catalogue import lines

    for line in lines(document):
        text = line.lstrip()
        terminal.say(text, indent=len(line) - len(text), hang=2)
