"""`prep plan settings` and `prep plan closed`: what the plan weighs up, working days, closed days."""

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

import typer

from prep import dates
from prep.cli import common
from prep.dates import WEEKDAYS
from prep.errors import PrepError
from prep.plurals import plural

if TYPE_CHECKING:
    from prep.planning.model import Calendar, Policy
    from prep.services.school.closed_days import ClosedSpan

closed = common.group("Closed days: holidays, half term, training days. Nothing is made on them.")

First = Annotated[str, typer.Argument(metavar="FROM", help="The first closed day, such as 2026-12-21.")]


def settings(
    make: Annotated[
        str | None, typer.Option("--make", metavar="MINUTES", help="What a make costs; default: its entry's minutes.")
    ] = None,
    wasted: Annotated[
        str | None, typer.Option("--wasted", metavar="MINUTES", help="What a litre thrown away costs.")
    ] = None,
    costly: Annotated[
        str | None, typer.Option("--wasted-costly", metavar="MINUTES", help="The same of what is costly.")
    ] = None,
    hazard: Annotated[
        str | None, typer.Option("--wasted-hazard", metavar="MINUTES", help="The same of what is of high hazard.")
    ] = None,
    dilution: Annotated[
        str | None, typer.Option("--dilution", metavar="MINUTES", help="What an intermediate dilution costs.")
    ] = None,
    held: Annotated[
        str | None, typer.Option("--held", metavar="MINUTES", help="What a litre held for a day costs.")
    ] = None,
    minutes_per_day: Annotated[
        int | None, typer.Option("--minutes-per-day", help="Minutes of making that a day has.")
    ] = None,
    minutes: Annotated[
        list[str] | None,
        typer.Option(
            "--minutes",
            metavar='"DATE MINUTES"',
            help='One day of its own: "2026-12-02 0", "2026-12-03 480"; "2026-12-02 usual" takes it back.',
        ),
    ] = None,
    weekdays: Annotated[
        str | None, typer.Option("--weekdays", metavar="DAYS", help='Working days, such as "mon tue wed thu".')
    ] = None,
    ahead: Annotated[
        int | None, typer.Option("--make-ahead", metavar="DAYS", help="How many days before use things stand ready.")
    ] = None,
    margin: Annotated[
        int | None,
        typer.Option(
            "--order-margin",
            metavar="DAYS",
            help="How many working days before the first day of need an order is to be there; default: 1.",
        ),
    ] = None,
    zone: Annotated[
        str | None,
        typer.Option("--time-zone", metavar="ZONE", help="The school's, for calendars read in: Europe/London."),
    ] = None,
    defaults: Annotated[
        bool,
        typer.Option("--defaults", help="The usual costs again: those of the entries."),
    ] = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Set what the plan weighs up, and the days it works with; without options, show them.

    Example: prep plan settings --wasted 5 --held 0.1

    Example: prep plan settings --order-margin 2

    Example: prep plan settings --minutes "2026-12-02 0" --weekdays "mon tue wed thu"
    """
    from prep.reports.school_documents import calendar_document
    from prep.services.school import settings as school_settings
    from prep.services.school.closed_days import spans

    costs = dict(zip(school_settings.COSTS, (make, wasted, held, costly, hazard, dilution), strict=True))
    single = dict(_minutes(text) for text in minutes or [])
    wanted = school_settings.PlanSettings(costs, minutes_per_day, ahead, defaults, weekdays, single, zone, margin)
    found = school_settings.change(db, wanted, common.act(by)) if wanted else school_settings.read(db)
    values = {key: getattr(found.policy, key) for key in school_settings.COSTS}
    if as_json:
        shown = {key: None if cost is None else float(cost) for key, cost in values.items()}
        ahead_ = {key: getattr(found.policy, key) for key in ("make_ahead_days", "order_margin_days")}
        days = calendar_document(found.calendar, spans(found.calendar.closed))
        common.show_json(shown | ahead_ | days | {"time_zone": found.time_zone or None})
        return
    from prep.reports import terminal

    for line in _weighed(found.policy):
        terminal.say(line, hang=2)
    ahead = found.policy.make_ahead_days
    terminal.say(f"ready ahead of use: {plural(ahead, 'working day') if ahead else 'the working day before'}", hang=2)
    terminal.say(f"orders are there: {_margin(found.policy.order_margin_days)}", hang=2)
    _show_calendar(found.calendar, common.today())
    typer.echo(f"time zone: {found.time_zone or 'not set'}")


def _weighed(policy: "Policy") -> list[str]:
    """Describe what the plan weighs up, in minutes of work, by the usual figures where the school has set none."""
    from prep.chemistry.model import SmallBatch
    from prep.chemistry.quantities import plain
    from prep.planning.engine.lots import dilution_minutes, wasted_per_litre

    wasted = {kind: plain(wasted_per_litre(policy, kind)) for kind in SmallBatch}
    make = "the minutes on its entry" if policy.cost_per_make is None else f"{plain(policy.cost_per_make)} min"
    return [
        f"a make costs {make}, an intermediate dilution {plain(dilution_minutes(policy))} min",
        f"a litre thrown away costs {wasted[SmallBatch.NO]} min; {wasted[SmallBatch.COSTLY]} of what is costly, "
        f"{wasted[SmallBatch.HAZARD]} of what is of high hazard",
        f"a litre held for a day costs {plain(policy.cost_per_litre_day_held or Decimal(0))} min",
    ]


def _margin(days: int) -> str:
    return f"{plural(days, 'working day')} before the first day of need" if days else "on the first day of need"


def _minutes(text: str) -> tuple[date, int | None]:
    from prep.services.files.csv_file import whole

    on, _, minutes = text.strip().replace("=", " ").rpartition(" ")
    day = common.a_date(on or minutes, "--minutes")
    if minutes.strip() == "usual":
        return day, None
    try:
        return day, whole(minutes.strip(), 0, 1440)
    except PrepError:
        accepted = 'write a date and its minutes, 0 to 1440, such as "2026-12-02 0"'
        raise PrepError(f'--minutes "{text[:40]}": {accepted}.') from None


def _show_calendar(calendar: "Calendar", today: date) -> None:
    """Print the working days in words; what is past is left out."""
    from prep.reports import terminal
    from prep.reports.formatting import day
    from prep.services.school.closed_days import spans

    terminal.say(f"working days: {' '.join(WEEKDAYS[number] for number in sorted(calendar.weekdays))}", hang=2)
    typer.echo(f"minutes of making a day: {calendar.minutes_per_day}")
    for on, minutes in sorted(calendar.minutes_on.items()):
        if on >= today:
            typer.echo(f"minutes on {day(on)}: {minutes}")
    for span in spans(calendar.closed):
        if span.last >= today:
            terminal.say(f"closed: {_said(span)}", hang=2)


@closed.command("list")
@common.reads
def list_(db: common.Db = None, as_json: common.AsJson = False) -> None:
    """List every day on which the room is closed.

    Example: prep plan closed list
    """
    from prep.reports import terminal
    from prep.reports.school_documents import span_document
    from prep.services.school import closed_days

    found = closed_days.listed(db)
    if as_json:
        common.show_json([span_document(span) for span in found])
        return
    for span in found:
        terminal.say(_said(span), hang=2)
    if not found:
        terminal.say('No day is closed; close some with: prep plan closed add 2026-12-21 2027-01-01 "winter break"')


@closed.command()
def add(
    first: First,
    last: Annotated[str | None, typer.Argument(metavar="TO", help="The last; default: that one day.")] = None,
    why: Annotated[str, typer.Argument(metavar="WHY", help='Why, such as "half term".')] = "",
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Close the room on a day, or from one day to another.

    Example: prep plan closed add 2026-12-21 2027-01-01 "winter break"

    Example: prep plan closed add 2026-12-02 "staff training"
    """
    from prep.services.school import closed_days

    if last is not None and not why and not last[:1].isdigit():
        why, last = last, None
    start = common.a_date(first, "FROM")
    end = common.a_date(last, "TO", start)
    from prep.reports.school_documents import span_document

    done = closed_days.add(db, start, end, why.strip() or "closed", common.who(by), common.today())
    if as_json:
        common.show_json(span_document(done.span) | {"bookings": [booking.code for booking in done.bookings]})
        return
    typer.echo(f"Closed: {_said(done.span)}.")
    if done.bookings:
        many = len(done.bookings) > 1
        codes = ", ".join(f"{booking.code} on {dates.day(booking.on)}" for booking in done.bookings)
        typer.echo(f"Booking{'s' if many else ''} {codes} stand{'' if many else 's'} there: move or cancel.")


@closed.command()
def remove(
    first: First,
    last: Annotated[str | None, typer.Argument(metavar="TO", help="The last; default: that one day.")] = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Open closed days again.

    Example: prep plan closed remove 2026-12-21 2027-01-01
    """
    from prep.reports.school_documents import span_document
    from prep.services.school import closed_days

    start = common.a_date(first, "FROM")
    gone = closed_days.remove(db, start, common.a_date(last, "TO", start), common.who(by), common.today())
    if as_json:
        common.show_json([span_document(span) for span in gone])
        return
    for span in gone:
        typer.echo(f"Open again: {_said(span)}.")


def _said(span: "ClosedSpan") -> str:
    from prep.reports.formatting import day

    days = day(span.first) if span.first == span.last else f"{day(span.first)} to {day(span.last)}"
    return days if span.why == "closed" else f"{days}, {span.why}"
