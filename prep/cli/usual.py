"""`prep usual`: who works at this computer, where new bottles are put, and how the school writes a day."""

from typing import Annotated

import typer

from prep.cli import common


def usual(
    name: Annotated[str, typer.Option("--name", help="Who works at this computer: what --by is without it.")] = "",
    made_at: Annotated[str, typer.Option("--made-at", metavar="PLACE", help="Where what is made is put.")] = "",
    arrived_at: Annotated[str, typer.Option("--arrived-at", metavar="PLACE", help="Where what comes is put.")] = "",
    dates: Annotated[
        str, typer.Option("--dates", metavar="ORDER", help="What comes first in 8/12: day-first or month-first.")
    ] = "",
    period: Annotated[
        list[str] | None,
        typer.Option("--period", metavar="P1=9:00-10:00", help="When a period is, for calendars; may repeat."),
    ] = None,
    deliveries: Annotated[
        str, typer.Option("--deliveries", metavar="10:30", help="By when a day's deliveries have come.")
    ] = "",
    opened: Annotated[
        list[str] | None,
        typer.Option("--opened", metavar="ITEM=DAYS", help="How long an opened bottle keeps; 0: as its label says."),
    ] = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Set what is usual here, once; without options, show it.

    Example: prep usual --name "R. Vane" --dates day-first
    """
    from prep.services.school import usual as school_usual

    days = school_usual.read_days_open(opened or ())
    given = school_usual.SchoolUsual(name, made_at, arrived_at, dates, tuple(period or ()), deliveries, days)
    if given == school_usual.SchoolUsual():
        found = school_usual.read(db)
    else:
        found = school_usual.change(db, given, common.act(name or None))
    if as_json:
        common.show_json(
            {
                "name": found.name,
                "made_at": found.made_at,
                "arrived_at": found.arrived_at,
                "dates": found.dates,
                "periods": dict(one.split("=", 1) for one in found.periods),
                "deliveries": found.deliveries,
                "days_open": dict(found.days_open),
            }
        )
        return
    common.tell(f"Who works here: {found.name or f'not set, so {common.login()}'}.")
    common.tell(f"What is made is put at {found.made_at or 'where the same stands, or --at says'}.")
    common.tell(f"What comes is put at {found.arrived_at or 'where the same stands, or --at says'}.")
    common.tell(f"The periods are {', '.join(found.periods) or 'not set: calendars show whole days'}.")
    come = f"have come by {found.deliveries}: no earlier lesson rests on them" if found.deliveries else "are not timed"
    common.tell(f"A day's deliveries {come}.")
    if found.days_open:
        kept = ", ".join(f"{item} {days or 'as its label says'}" for item, days in found.days_open.items())
        common.tell(f"Once opened, days: {kept}.")
    common.tell(f"8/12 is written {found.dates or 'in no set order: it is refused'}.")
