"""`prep book`: a teacher's bookings."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.planning.model import Booking

app = common.group("Bookings: which demonstration, when, for whom, how often.")

Closed = Annotated[bool, typer.Option("--closed", help="Even on a day that is closed.")]
Code = Annotated[str, typer.Argument(metavar="BOOKING", help="Its code, from: prep book list.")]


@app.command()
def add(
    demo: Annotated[str, typer.Argument(help="The demo's code or name (prep demo list).")],
    on: Annotated[str, typer.Option("--on", metavar="DATE", help="The day, such as 2027-01-18.")],
    showings: Annotated[int, typer.Option("--showings", help="How many times it is shown.")] = 1,
    period: Annotated[str, typer.Option("--period", help="When in the day.")] = "",
    room: Annotated[str, typer.Option("--room", help="Where.")] = "",
    teacher: Annotated[str, typer.Option("--teacher", help="For whom.")] = "",
    group: Annotated[
        str, typer.Option("--group", help="The age group, for the school's rules (prep safety rule).")
    ] = "",
    closed: Closed = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Book a demonstration; says at once whether it can be served.

    Example: prep book add thiosulfate-rate --on 2027-01-18 --showings 2
    """
    from prep.chemistry import quantities
    from prep.services.bookings import bookings as booking

    day = common.a_date(on, "--on")
    made = booking.add(db, day, demo, showings, period, room, teacher, common.today(), closed, group)
    if as_json:
        common.show_json(
            _json(made.booking)
            | {
                "can_be_served": made.served,
                "takes": [
                    {
                        "item": take.item,
                        "name": take.name,
                        "amount": quantities.as_json(take.amount, take.measure),
                        "from": take.source,
                    }
                    for take in made.takes
                ],
                "warnings": [{"severity": f.severity, "code": f.code, "message": f.message} for f in made.findings],
            }
        )
        return
    b = made.booking
    typer.echo(f"{b.code}: {b.demo} x{b.showings} on {b.on}.")
    if made.served is not None:
        typer.echo("It can be served:" if made.served else "As things stand it cannot be served in full:")
    for take in made.takes:
        amount = quantities.show(take.amount, take.measure, 4)
        typer.echo(f"  {amount} of {take.name}" + (f", {take.source}" if take.source else ""))
    for finding in made.findings:
        typer.echo(f"  {finding.message}" + (f" -> {finding.cure}" if finding.cure else ""))


@app.command("list")
def list_(
    start: Annotated[str | None, typer.Option("--from", metavar="DATE", help="First day.")] = None,
    end: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last day.")] = None,
    everything: Annotated[bool, typer.Option("--all", help="Done and cancelled ones too.")] = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Bookings in date order.

    Example: prep book list --from 2027-01-11
    """
    from prep.services.bookings import bookings as booking

    found = booking.list_bookings(
        db,
        common.a_date(start, "--from") if start else None,
        common.a_date(end, "--to") if end else None,
        everything,
    )
    if as_json:
        common.show_json([_json(b) for b in found])
        return
    from prep.reports import terminal

    rows = [
        (b.code, b.on.isoformat(), b.period, b.room, b.teacher, b.demo, str(b.showings))
        + ((b.status,) if everything else ())
        for b in found
    ]
    head = ("Code", "Day", "Period", "Room", "Teacher", "Demo", "Shown") + (("Status",) if everything else ())
    terminal.table(head, rows, right=(6,))
    terminal.say(f"{len(found)} booking{'' if len(found) == 1 else 's'}.")


@app.command()
def move(
    code: Code,
    to: Annotated[str | None, typer.Option("--to", metavar="DATE", help="The new day.")] = None,
    period: Annotated[str | None, typer.Option("--period", help="The new period.")] = None,
    room: Annotated[str | None, typer.Option("--room", help="The new room.")] = None,
    closed: Closed = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Change a booking's day, period or room.

    Example: prep book move B12 --to 2027-01-20
    """
    from prep.services.bookings import bookings as booking

    day = common.a_date(to, "--to") if to else None
    moved = booking.move(db, code, day, period, room, common.who(by), common.today(), closed)
    _said(moved, f"{moved.code} is now on {moved.on} {moved.period} {moved.room}".rstrip() + ".", as_json)


@app.command()
def cancel(code: Code, by: common.By = None, db: common.Db = None, as_json: common.AsJson = False) -> None:
    """Cancel a booking; it stays on file.

    Example: prep book cancel B12
    """
    from prep.services.bookings import bookings as booking

    gone = booking.cancel(db, code, common.who(by), common.today())
    _said(gone, f"{gone.code} is cancelled.", as_json)


@app.command()
def done(
    code: Code,
    used: Annotated[
        list[str] | None,
        typer.Option("--used", metavar="ITEM=AMOUNT", help="What was really used; default: as planned."),
    ] = None,
    back: Annotated[
        list[str] | None,
        typer.Option("--return", metavar="ITEM", help="Its rest went back to its bottle; default: to waste."),
    ] = None,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """It was shown: take from the shelves what it used, as one job, and let the plan leave it.

    Example: prep book done B12 --used "hcl-1=230 mL" --return hcl-1
    """
    from prep.chemistry.quantities import as_json as quantity
    from prep.chemistry.quantities import show
    from prep.services.bookings import usage

    shown = usage.done(db, code, used or [], back or [], common.who(by), common.done(on))
    if as_json:
        taken = [
            {
                "item": t.item,
                "measured": t.measured,
                **{
                    name: quantity(getattr(t, name), t.measure)
                    for name in ("planned", "put_out", "used", "returned", "wasted", "short")
                },
            }
            for t in shown.taken
        ]
        common.show_json(_json(shown.booking) | {"job": shown.job, "taken": taken})
        return
    for t in shown.taken:
        rest = f", {show(t.returned, t.measure)} back in its bottle" if t.returned else ""
        rest += f", {show(t.wasted, t.measure)} to waste" if t.wasted else ""
        typer.echo(f"  {t.name}: {show(t.used, t.measure)} used{'' if t.measured else ' as planned'}{rest}.")
        if t.short:
            typer.echo(f"    {show(t.short, t.measure)} of that is on no bottle's books; count it: prep count open")
    typer.echo(f"{shown.booking.code} is done (job {shown.job}).")


@app.command("import")
def import_(
    file: Annotated[
        Path,
        typer.Argument(
            help="CSV with date, demo and, if wanted, period, room, teacher, showings, group; or a calendar (.ics) "
            'whose events are titled by the demo, such as "Rates x 2".'
        ),
    ],
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only say what would be added.")] = False,
    closed: Closed = False,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Add every booking of a CSV file or a calendar, or none if one is wrong.

    Example: prep book import half-term.csv --dry-run
    """
    if file.suffix.lower() in (".ics", ".ical"):
        from prep.services.bookings.ical_import import import_calendar

        found = import_calendar(db, file, common.today(), dry_run, closed)
        added = list(found.added)
        if not as_json:
            for said in found.passed_over:
                typer.echo(f"Passed over: {said}.")
    else:
        from prep.services.bookings import bookings as booking

        with common.bar("Bookings", as_json) as watcher:
            added = booking.import_bookings(db, file, common.today(), dry_run, closed, watcher)
    if as_json:
        common.show_json([_json(b) for b in added])
        return
    for b in added:
        typer.echo(f"{b.code}  {b.on}  {b.demo} x{b.showings}  {b.teacher}")
    typer.echo(f"{len(added)} booking{'' if len(added) == 1 else 's'} {'would be ' if dry_run else ''}added.")


def _said(booking: "Booking", sentence: str, as_json: bool) -> None:
    if as_json:
        common.show_json(_json(booking))
    else:
        typer.echo(sentence)


def _json(b: "Booking") -> dict[str, Any]:
    return {
        "code": b.code,
        "date": b.on.isoformat(),
        "period": b.period,
        "room": b.room,
        "teacher": b.teacher,
        "demo": b.demo,
        "showings": b.showings,
        "status": b.status,
    }
