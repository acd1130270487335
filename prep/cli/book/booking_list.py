"""`prep book list`: bookings on the screen and to take away."""

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common
from prep.errors import PrepError

if TYPE_CHECKING:
    from prep.planning.booking_answer import BookingAnswer
    from prep.reports.bookings.lists import ListHead


def join(app: typer.Typer) -> None:
    """Add the command to `prep book`."""
    app.command("list")(list_)


def list_(
    start: Annotated[str | None, typer.Option("--from", metavar="DATE", help="First day.")] = None,
    end: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day.")] = None,
    week: Annotated[str | None, typer.Option("--week", metavar="DATE", help="The week of this day.")] = None,
    teacher: Annotated[str, typer.Option("--teacher", help="Only theirs; a part of the name will do.")] = "",
    group: Annotated[str, typer.Option("--group", help="Only of this age group.")] = "",
    everything: Annotated[bool, typer.Option("--all", help="Done and cancelled ones too.")] = False,
    no_states: Annotated[
        bool, typer.Option("--no-states", help="Without how far each is: no plan is drawn up.")
    ] = False,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write the list as CSV.")] = None,
    pdf: Annotated[Path | None, typer.Option("--pdf", metavar="FILE", help="Write the list to print.")] = None,
    ics: Annotated[
        Path | None, typer.Option("--ics", metavar="FILE", help="Write a calendar file to subscribe to.")
    ] = None,
    sample: common.Sample = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """List bookings in date order, and how far each is.

    Example: prep book list --from 2027-01-11

    Example: prep book list --week today --teacher Hollis --pdf week.pdf
    """
    from prep.reports.bookings import lists
    from prep.services.bookings import answers, bookings
    from prep.services.catalogue import lookup
    from prep.services.school import periods

    if week and (start or end):
        raise PrepError("Give --week, or --from and --to.")
    with common.sampled(db, sample) as opened:
        where, today = opened.path, opened.today
        first = common.a_date(start, "--from", today) if start else None
        last = common.a_date(end, "--to", today) if end else None
        if week:
            day = common.a_date(week, "--week", today)
            first = day - timedelta(days=day.weekday())
            last = first + timedelta(days=6)
        which = bookings.BookingFilter(first, last, teacher, group, everything)
        listed = bookings.list_bookings(where, which)
        found = answers.unasked(listed) if no_states else answers.standing(where, listed, today)
        kept = periods.of_school(where)
        names = lookup.names(where) if csv or pdf or ics else {}
        head = lists.ListHead(bookings.school_name(where), kept.times, kept.zone, names)
    if (written := _write(found, {"csv": csv, "pdf": pdf, "ics": ics}, head)) and not as_json:
        typer.echo(f"Wrote {', '.join(written)}.")
        return
    if as_json:
        common.show_json([lists.listed_document(one, states=not no_states) for one in found])
        return
    lists.show_list(found, states=not no_states)


def _write(found: "tuple[BookingAnswer, ...]", files: dict[str, Path | None], head: "ListHead") -> list[str]:
    """Write the list to each file that is asked for; says which."""
    from prep.reports.bookings import lists
    from prep.reports.output_files import OutputFile, write_files

    ready = []
    for kind, path in files.items():
        if path is not None:
            ready.append(OutputFile(path, lists.content(kind, found, head)))
    if ready:
        write_files(ready)
    return [str(one.path) for one in ready]
