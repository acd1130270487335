"""`prep stock list`, `totals`, `limit`, `control`, `controlled`: the lists that a regulator asks for."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep.books import BottleStatus
from prep.cli import common
from prep.errors import PrepError
from prep.plurals import plural

if TYPE_CHECKING:
    from datetime import date

    from prep.services.stock.register import RegisterQuery

Item = Annotated[str | None, typer.Option("--item", help="Only this substance or solution.")]
At = Annotated[str | None, typer.Option("--at", help="Only this location.")]
Cas = Annotated[str | None, typer.Option("--cas", help="Only this CAS number, and solutions of it.")]
Hazard = Annotated[str | None, typer.Option("--class", help='Only this hazard class or statement: "Flam. Liq.", H225.')]
Supplier = Annotated[str | None, typer.Option("--supplier", help="Only from this supplier.")]
Since = Annotated[str | None, typer.Option("--since", metavar="DATE", help="From this day on.")]
UpToDay = Annotated[str | None, typer.Option("--until", metavar="DATE", help="Up to this day.")]
Csv = Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write it for a spreadsheet.")]
Pdf = Annotated[Path | None, typer.Option("--pdf", metavar="FILE", help="Write it to print.")]


def day_of(text: str | None, option: str) -> "date | None":
    """Read the day of an option that may be left out."""
    return common.a_date(text, option) if text else None


@common.reads
def list_(
    item: Item = None,
    location: At = None,
    everything: Annotated[bool, typer.Option("--all", help="Empty and discarded bottles too.")] = False,
    before: Annotated[str | None, typer.Option("--use-by", metavar="DATE", help="Out of date by then.")] = None,
    cas: Cas = None,
    hazard: Hazard = None,
    supplier: Supplier = None,
    since: Annotated[str | None, typer.Option("--since", metavar="DATE", help="Received from this day on.")] = None,
    until: Annotated[str | None, typer.Option("--until", metavar="DATE", help="Received up to this day.")] = None,
    csv: Csv = None,
    pdf: Pdf = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List every bottle, by item and date.

    Example: prep stock list --item "sodium chloride"

    Example: prep stock list --class "Flam. Liq." --csv flammables.csv
    """
    if any(one is not None for one in (cas, hazard, supplier, since, until, csv, pdf)):
        from prep.services.stock.register import RegisterQuery

        days = (day_of(since, "--since"), day_of(until, "--until"))
        query = RegisterQuery(item, cas, hazard, location, supplier, *days)
        query = replace(query, everything=everything, use_by=day_of(before, "--use-by"))
        _show_register(query, csv, pdf, db, as_json)
        return
    from prep.reports.stock import held_document
    from prep.services.stock import listing

    held = listing.list_stock(db, item, location, everything, common.a_date(before, "--use-by") if before else None)
    if as_json:
        common.show_json([held_document(h) for h in held])
        return
    from prep.reports import terminal
    from prep.reports.formatting import short_date

    rows = [
        (
            h.code,
            h.name + (f" [{h.strength}]" if h.strength else ""),
            h.shown,
            short_date(h.use_by),
            h.location,
            "" if h.status == BottleStatus.IN_SERVICE else h.status,
        )
        for h in held
    ]
    if held:
        common.took(item, held[0].item, held[0].name)
    terminal.table(("Bottle", "Holds", "Amount", "Use by", "At", "Status"), rows, right=(2,))
    terminal.say(f"{plural(len(held), 'bottle')}.")


def _show_register(query: "RegisterQuery", csv: Path | None, pdf: Path | None, db: Path | None, as_json: bool) -> None:
    from prep.reports import register_lists
    from prep.services.stock import register as service

    found = service.bottles(db, query)
    if as_json:
        common.show_json([register_lists.bottle_document(one) for one in found])
    common.write_lists(register_lists.bottles(found), csv, pdf, as_json, _heading(pdf, db, query))
    if not as_json and csv is None and pdf is None:
        register_lists.show_bottles(found)


def _heading(pdf: Path | None, db: Path | None, query: "RegisterQuery") -> tuple[str, ...]:
    """Say what a paper is of; nothing where none is written."""
    from prep.services.stock import register as service

    return () if pdf is None else service.heading(db, query, common.today())


@common.reads
def totals(
    location: At = None,
    hazard: Hazard = None,
    csv: Csv = None,
    pdf: Pdf = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Total what is held of each hazard class, against the school's own limits.

    Example: prep stock totals --at SOLV
    """
    from prep.reports import register_lists, terminal
    from prep.services.stock import register as service

    query = service.RegisterQuery(hazard=hazard, location=location)
    found = service.totals(db, query)
    if as_json:
        common.show_json([register_lists.total_document(one) for one in found])
    common.write_lists(register_lists.totals(found), csv, pdf, as_json, _heading(pdf, db, query))
    if not as_json and csv is None and pdf is None:
        made = register_lists.totals(found)
        terminal.table(made.header, made.rows, right=(1, 2, 3))


def limit(
    hazard: Annotated[str, typer.Argument(help='A hazard class, such as "Flam. Liq. 2".')],
    amount: Annotated[str | None, typer.Argument(help='The most that is kept, such as "50 L".')] = None,
    none: Annotated[bool, typer.Option("--none", help="Take the limit off.")] = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Set how much of a hazard class the school keeps at most: its own list, by its own rules.

    Example: prep stock limit "Flam. Liq. 2" "50 L"
    """
    from prep.services.stock import register as service

    if (amount is None) is not none:
        raise PrepError('Give an amount, such as "50 L", or --none.')
    limits = service.set_limit(db, hazard, amount, common.act(by))
    if as_json:
        common.show_json(limits)
        return
    for name, most in sorted(limits.items()):
        typer.echo(f"{name}: at most {most}")


def control(
    cas: Annotated[str, typer.Argument(help="The CAS number of what the school controls.")],
    no_longer: Annotated[bool, typer.Option("--no-longer", help="Take it off the list.")] = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put a substance on the list of those of which every gram is accounted for (prep stock controlled).

    Its hydrates and its solutions are on it too.

    What acts restrict is another list: prep safety controlled.

    Example: prep stock control 7697-37-2
    """
    from prep.services.stock import register as service

    numbers = service.control(db, cas, common.act(by), no_longer=no_longer)
    common.show_json(numbers) if as_json else typer.echo(f"Controlled: {', '.join(numbers) or 'nothing'}")


@common.reads
def controlled(
    since: Since = None,
    until: UpToDay = None,
    csv: Csv = None,
    pdf: Pdf = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Account for every gram of what the school controls: came, used by whom and for what, left.

    Example: prep stock controlled --since 2026-09-01 --csv controlled.csv
    """
    from prep.reports import register_lists, terminal
    from prep.services.stock import register as service

    days = service.RegisterQuery(since=day_of(since, "--since"), until=day_of(until, "--until"))
    found = service.controlled(db, days.since, days.until)
    if as_json:
        common.show_json([register_lists.controlled_document(one) for one in found])
    made = register_lists.controlled(found)
    common.write_lists(made, csv, pdf, as_json, _heading(pdf, db, days))
    if not as_json and csv is None and pdf is None:
        if not found:
            terminal.say("The school controls nothing by a list of its own; see: prep stock control --help")
        for item in found:
            shown = register_lists.controlled_on_screen(item)
            terminal.say(shown.title)
            terminal.table(shown.header, shown.rows, right=(1, 4, 5))
        for line in register_lists.left(found):
            terminal.say(line)
