"""`prep book`: a teacher's bookings."""

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep import dates
from prep.cli import common
from prep.cli.book import age_group_list, booking_list
from prep.errors import PrepError
from prep.plurals import plural

if TYPE_CHECKING:
    from prep.planning.booking_answer import BookingAnswer
    from prep.services.bookings.requests import BookingRequest
    from prep.services.input.act import Act

app = common.group("Bookings: which demonstration, when, for whom, how often; and how far each is.")
app.add_typer(age_group_list.app, name="group")
booking_list.join(app)

Closed = Annotated[bool, typer.Option("--closed", help="Even on a day that is closed.")]
Code = Annotated[
    str, typer.Argument(metavar="BOOKING", help="Its code (prep book list), or its demo if it is booked once.")
]
Showings = Annotated[int | None, typer.Option("--showings", help="How many times it is shown.")]
Trials = Annotated[int | None, typer.Option("--trials", help="Trial runs beforehand, on top; default: the demo's own.")]


@app.command()
def add(
    on: Annotated[list[str], typer.Option("--on", metavar="DATE", help="The day, such as 2027-01-18; may repeat.")],
    demo: Annotated[str, typer.Argument(help="The demo's code or name (prep demo list).")] = "",
    showings: Annotated[int, typer.Option("--showings", help="How many times it is shown.")] = 1,
    period: Annotated[
        list[str] | None, typer.Option("--period", help="When in the day; several: a booking for each.")
    ] = None,
    room: Annotated[str, typer.Option("--room", help="Where.")] = "",
    teacher: Annotated[str, typer.Option("--teacher", help="For whom.")] = "",
    group: Annotated[
        list[str] | None,
        typer.Option("--group", help="The age group, from: prep book group list. Several go with the periods in turn."),
    ] = None,
    note: Annotated[str, typer.Option("--note", help="A line for the prep room.")] = "",
    item: Annotated[
        str, typer.Option("--item", help="A plain solution or substance (a class set) instead of a demo.")
    ] = "",
    portion: Annotated[
        str, typer.Option("--portion", metavar="AMOUNT", help="How much of it a showing, or a set, takes.")
    ] = "",
    trials: Trials = None,
    weeks: Annotated[int | None, typer.Option("--weeks", help="The same again each week, for so many weeks.")] = None,
    every: Annotated[
        str, typer.Option("--every", metavar="WEEKS", help='How often: "2 weeks". Default: every week.')
    ] = "",
    until: Annotated[
        str | None, typer.Option("--until", metavar="DATE", help="The same again up to this day; closed days left out.")
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Although the same is booked already.")] = False,
    closed: Closed = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Book a demonstration; says at once whether it can be served, and what that takes.

    Example: prep book add thiosulfate-rate --on 2027-01-18 --showings 2

    Example: prep book add --item hcl-1 --portion "50 mL" --showings 15 --on 2027-01-18 --weeks 3

    Example: prep book add thiosulfate-rate --on 2027-01-18 --every "2 weeks" --until 2027-03-19
    """
    from prep.services.bookings import bookings
    from prep.services.bookings.requests import BookingRequest, Repeat, every_weeks

    last = common.a_date(until, "--until") if until else None
    again_and_again = Repeat(every_weeks(every) if every else 1, weeks, last)
    repeats = weeks is not None or last is not None or bool(every)
    asked = []
    shut = []
    for day in on:
        for when, whom in _lessons(period or [], group or []):
            one = BookingRequest(
                demo=demo,
                on=common.a_date(day, "--on"),
                showings=showings,
                period=when,
                room=room,
                teacher=teacher,
                group=whom,
                note=note,
                item=item,
                portion=portion,
                trials=trials,
                even_closed=closed,
                again=again,
            )
            if not repeats:
                asked.append(one)
                continue
            repeated = bookings.repeated(one, again_and_again, bookings.calendar(db))
            asked += repeated.bookings
            shut += [left for left in repeated.closed if left not in shut]
    choice = common.choice(db, item)
    made = _booked(db, asked, common.act(by), as_json=as_json)
    from prep.reports.bookings import answers as shown

    if as_json:
        closed_days = {"left_out": [day_.isoformat() for day_ in shut]} if repeats else {}
        taken = {"taken_as": choice} if choice else {}
        documents = common.with_job(shown.answer_document(one) | closed_days | taken for one in made)
        common.show_json(documents[0] if len(documents) == 1 else documents)
        return
    if choice:
        typer.echo(choice)
    for day_ in shut:
        typer.echo(f"{day_} is closed: left out.")
    for answer in made:
        shown.show_answer(answer) if len(made) == 1 else shown.show_brief(answer)
    if len(made) > 1:
        typer.echo(common.numbered(f"{len(made)} bookings added."))


def _lessons(periods: list[str], groups: list[str]) -> list[tuple[str, str]]:
    """Pair the period and group of each booking of a day, where there are as many of both; else combine them."""
    if len(periods) > 1 and len(groups) > 1 and len(periods) != len(groups):
        raise PrepError("Give as many --group as --period, or one for all.")
    if len(periods) > 1 and len(groups) > 1:
        return list(zip(periods, groups, strict=True))
    return [(period, group) for period in periods or [""] for group in groups or [""]]


def _booked(
    db: Path | None, asked: "list[BookingRequest]", act: "Act", *, as_json: bool
) -> "tuple[BookingAnswer, ...]":
    """Book what is asked for; at a terminal, ask first where the same is booked already."""
    from prep.services.bookings import bookings

    try:
        return bookings.add_all(db, asked, act)
    except bookings.BookedAlready as problem:
        if as_json or not sys.stdin.isatty():
            raise
        typer.echo(problem.says)
        typer.confirm("Book it a second time?", abort=True)
        return bookings.add_all(db, [replace(one, again=True) for one in asked], act)


@app.command()
def show(code: Code, db: common.Db = None, sample: common.Sample = False, as_json: common.AsJson = False) -> None:
    """Show one booking, as things stand today: how far it is, what it takes, what it waits for.

    Example: prep book show B12
    """
    from prep.reports.bookings import answers as shown
    from prep.services.bookings import answers, bookings

    with common.sampled(db, sample) as opened:
        where, today = opened.path, opened.today
        booking = bookings.booking(where, code)
        found = answers.shown(where, booking.code, today)
    if as_json:
        common.show_json(shown.answer_document(found))
    else:
        shown.show_answer(found)


@app.command()
def move(
    code: Code,
    to: Annotated[str | None, typer.Option("--to", metavar="DATE", help="The new day.")] = None,
    period: Annotated[str | None, typer.Option("--period", help="The new period.")] = None,
    room: Annotated[str | None, typer.Option("--room", help="The new room.")] = None,
    showings: Showings = None,
    trials: Trials = None,
    teacher: Annotated[str | None, typer.Option("--teacher", help="For whom.")] = None,
    group: Annotated[str | None, typer.Option("--group", help="The age group.")] = None,
    note: Annotated[str | None, typer.Option("--note", help="A line for the prep room.")] = None,
    closed: Closed = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Change a booking: its day, period, room, showings, teacher, group or note; says whether it can be served.

    Example: prep book move B12 --to 2027-01-20
    """
    from prep.reports.bookings import answers as shown
    from prep.services.bookings import bookings
    from prep.services.bookings.requests import BookingChange

    changed = BookingChange(
        common.a_date(to, "--to") if to else None, period, room, teacher, group, note, showings, trials, closed
    )
    found = bookings.change(db, code, changed, common.act(by))
    if as_json:
        common.show_json(shown.answer_document(found))
        return
    b = found.booking
    typer.echo(common.numbered(f"{b.code} is now on {dates.day(b.on)} {b.period} {b.room}".rstrip() + "."))
    shown.show_answer(found)


app.command("edit", help='The same as move.\n\nExample: prep book edit B12 --showings 3 --group "Year 8"')(move)


@app.command()
def cancel(code: Code, by: common.By = None, db: common.Db = None, as_json: common.AsJson = False) -> None:
    """Cancel a booking; it stays on file.

    Example: prep book cancel B12
    """
    from prep.reports.bookings.answers import booking_document
    from prep.services.bookings import bookings

    gone = bookings.cancel(db, code, common.act(by))
    common.show_json(booking_document(gone)) if as_json else typer.echo(common.numbered(f"{gone.code} is cancelled."))


@app.command("set-out")
def set_out(
    code: Code,
    at: Annotated[str, typer.Option("--at", metavar="PLACE", help="Where it stands; default: its room.")] = "",
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Say that it stands ready, and where, so that the teacher sees it.

    Example: prep book set-out B12 --at "tray 3, lab 2"
    """
    from prep.reports.bookings import answers as shown
    from prep.services.bookings import bookings

    found = bookings.set_out(db, code, at, common.act(by))
    if as_json:
        common.show_json(shown.answer_document(found))
    else:
        typer.echo(common.numbered(f"{found.booking.code} is set out at {found.place}."))


@app.command()
def allow(
    code: Code,
    who: Annotated[str, typer.Option("--who", metavar="NAME", help="Who allowed it: as the demo's entry asks for.")],
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Say who has allowed it, of those to be asked first: kept with the booking, in the history and on its sheet.

    Example: prep book allow B14 --who "the employer's adviser" --on yesterday
    """
    from prep.reports.bookings import answers as shown
    from prep.services.bookings import bookings

    found = bookings.allow(db, code, who, common.act(by, on))
    if as_json:
        common.show_json(shown.answer_document(found))
        return
    b = found.booking
    typer.echo(common.numbered(f"{b.code} ({b.what} on {b.on}) was allowed by {b.allowed_by} on {b.allowed_on}."))


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
    """Say that it was shown: take from the shelves what it used, as one job, and let the plan leave it.

    Example: prep book done B12 --used "hcl-1=230 mL" --return hcl-1
    """
    from prep.chemistry.quantities import show
    from prep.reports.bookings.answers import not_set_out, shown_document
    from prep.services.bookings import usage

    shown = usage.done(db, code, used or [], back or [], common.act(by, on))
    if as_json:
        common.show_json(shown_document(shown))
        return
    for t in shown.taken:
        if t.not_set_out and not t.put_out:
            continue
        rest = f", {show(t.returned, t.measure)} back in its bottle" if t.returned else ""
        rest += f", {show(t.wasted, t.measure)} to waste" if t.wasted else ""
        typer.echo(f"  {t.name}: {show(t.used, t.measure)} used{'' if t.measured else ' as planned'}{rest}.")
        if t.short:
            typer.echo(f"    {show(t.short, t.measure)} of that is on no bottle's books; count it: prep count open")
    for said in not_set_out(shown, f"prep book done {shown.booking.code}"):
        typer.echo(f"  {said}")
    typer.echo(common.numbered(f"{shown.booking.code} is done."))


@app.command("import")
def import_(
    file: Annotated[
        Path,
        typer.Argument(
            help="CSV with date, demo and, if wanted, period, room, teacher, showings, group, note, trials (or item, "
            'portion instead of demo); or a calendar (.ics) whose events are titled by the demo, such as "Rates x 2".'
        ),
    ],
    mapped: common.Map = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only say what would be added.")] = False,
    closed: Closed = False,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Add every booking of a CSV file or a calendar, or none if one is wrong; those booked already are passed over.

    Example: prep book import half-term.csv --dry-run
    """
    from prep.reports.bookings import answers as shown
    from prep.services.bookings.booking_import import ImportOptions, import_bookings
    from prep.services.files.imports import CALENDARS, mapping

    how = ImportOptions(mapping(mapped or []), dry_run, closed)
    if file.suffix.lower() in CALENDARS:
        from prep.services.bookings.ical_import import import_calendar

        found = import_calendar(db, file, how, common.act(by))
    else:
        with common.bar("Bookings", as_json) as watcher:
            found = import_bookings(db, file, how, common.act(by), watcher)
    if found.wrong:
        common.show_fates(found.report, dry_run, as_json)
    taken = {fate.code: {"taken_as": fate.says} for fate in found.minds}
    if as_json:
        common.show_json([shown.answer_document(one) | taken.get(one.booking.code, {}) for one in found.answers])
        return
    for fate in found.passed_over:
        typer.echo(f"Passed over: {fate.where}: {fate.says}.")
    for fate in found.minds:
        typer.echo(f"{fate.where}: {fate.says}")
    for one in found.answers:
        shown.show_brief(one)
    added = len(found.answers)
    typer.echo(f"{plural(added, 'booking')} {'would be ' if dry_run else ''}added.")
