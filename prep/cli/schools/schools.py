"""`prep schools`: a group of schools, each with an inventory of its own."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from prep import dates
from prep.cli import common
from prep.errors import PrepError
from prep.plurals import plural

if TYPE_CHECKING:
    from prep.services.schools.every_school import SchoolOutcome
    from prep.services.schools.transfer import HandOver

app = common.group("A group of schools: list, add, check, upgrade and plan them; transfers; the group's report.")

List = Annotated[
    Path | None, typer.Option("--list", metavar="FILE", help="The list of schools; default: PREP_SCHOOLS, or yours.")
]
Code = Annotated[str, typer.Argument(help="The school's code, such as north; on a server, its schema.")]


@app.command()
def add(
    code: Code,
    name: Annotated[str, typer.Option("--name", help="The school's name.")],
    url: Annotated[str, typer.Option("--url", help="Its server: postgresql://USER@HOST/DATABASE; or a file.")],
    listed: List = None,
    by: common.By = None,
    as_json: common.AsJson = False,
) -> None:
    """Put a school on the list, with a new inventory, or with the one that is there.

    Example: prep schools add north --name "North School" --url postgresql://prep@db.example/group
    """
    from prep.services.schools import school_list

    made = school_list.add(
        listed, school_list.GroupSchool(code.strip().lower(), name, url), common.who(by), common.today()
    )
    if as_json:
        common.show_json({"code": code, "new": made})
    else:
        typer.echo(f"{code} is on the list" + (", with a new inventory." if made else ", with the inventory there is."))


@app.command("list")
def list_(listed: List = None, as_json: common.AsJson = False) -> None:
    """List every school of the list.

    Example: prep schools list
    """
    from prep.reports import terminal
    from prep.resources import url_of
    from prep.services.schools import school_list

    schools = [(one.code, one.name, _safe(one.url), _safe(url_of(one.db))) for one in school_list.read(listed)]
    if as_json:
        common.show_json([dict(zip(("code", "name", "url", "database_url"), one, strict=True)) for one in schools])
        return
    if not schools:
        typer.echo("No school is on the list yet; see: prep schools add --help")
        return
    terminal.table(("School", "Name", "Where"), [one[:3] for one in schools])
    terminal.say("\nA school's own commands have its PREP_DATABASE_URL:")
    for one in schools:
        typer.echo(f"  {one[0]}: {one[3]}")


@app.command()
def check(listed: List = None, as_json: common.AsJson = False) -> None:
    """Check the books of every school, a few at a time. Exit 1 where one is not clean.

    Example: prep schools check
    """
    from prep.services.schools import every_school, school_list

    with common.bar("Schools", as_json) as watcher:
        found = every_school.in_each(school_list.read(listed), every_school.checked, watcher)
    _show(found, as_json)


@app.command()
def upgrade(listed: List = None, as_json: common.AsJson = False) -> None:
    """Bring every school's inventory up to date, a few at a time.

    Example: prep schools upgrade
    """
    from prep.services.schools import every_school, school_list

    with common.bar("Schools", as_json) as watcher:
        found = every_school.in_each(school_list.read(listed), every_school.upgraded, watcher)
    _show(found, as_json)


@app.command()
def plan(
    weeks: Annotated[int, typer.Option("--weeks", min=1, max=52, help="How many weeks from today.")] = 2,
    listed: List = None,
    as_json: common.AsJson = False,
) -> None:
    """Plan every school, a few at a time: how much to make and to order, and who stands without.

    Example: prep schools plan --weeks 2
    """
    from prep.services.schools import every_school, school_list

    with common.bar("Schools", as_json) as watcher:
        found = every_school.in_each(school_list.read(listed), every_school.planned(common.today(), weeks), watcher)
    _show(found, as_json)


@app.command()
def transfer(
    giver: Annotated[str, typer.Argument(help="The school that gives.")],
    taker: Annotated[str, typer.Argument(help="The school that takes.")],
    bottle: Annotated[str, typer.Argument(help="The bottle's code at the school that gives.")],
    amount: Annotated[str | None, typer.Option("--amount", help='How much, such as "250 mL"; default: all.')] = None,
    location: Annotated[str | None, typer.Option("--at", help="Where it is put at the school that takes.")] = None,
    listed: List = None,
    on: common.On = None,
    by: common.By = None,
    as_json: common.AsJson = False,
) -> None:
    """Hand a bottle, or some of it, to another school: a job in each.

    Example: prep schools transfer north south K7Q2 --amount "250 g"
    """
    from prep.services.schools import school_list
    from prep.services.schools import transfer as service

    act = common.act(by, on)
    one, other = school_list.one(listed, giver), school_list.one(listed, taker)
    done = service.hand_over(one, other, service.Offer(bottle, amount), location, act)
    given = done.hand_over
    common.told()
    if as_json:
        common.show_json({"hand_over": given.name, "job": given.job, "bottle": done.bottle, "job_there": done.job})
    else:
        typer.echo(f"Hand-over {given.name}: job {given.job} at {one.name}, job {done.job} at {other.name}.")
        typer.echo(f"There it is bottle {done.bottle}. Write {done.bottle} on its label.")


@app.command("open")
def open_(listed: List = None, as_json: common.AsJson = False) -> None:
    """Name hand-overs in the books of one school alone. Exit 1 where there is one, or a school is not reached.

    Example: prep schools open
    """
    from prep.reports.school_documents import hand_over_document
    from prep.services.schools import school_list, transfer

    found = transfer.open_ones(school_list.read(listed))
    if as_json:
        common.show_json([hand_over_document(one) for one in found.hand_overs])
    else:
        for one in found.hand_overs:
            typer.echo(_line(one))
        if not (found.hand_overs or found.unreached):
            typer.echo("No hand-over is open.")
    for code, why in found.unreached.items():
        typer.echo(f"{code} was not asked: {why}", err=True)
    if found.hand_overs or found.unreached:
        raise typer.Exit(1)


@app.command()
def complete(
    name: Annotated[str, typer.Argument(metavar="HAND-OVER", help="Its name, from: prep schools open.")],
    location: Annotated[str | None, typer.Option("--at", help="Where it is put.")] = None,
    listed: List = None,
    on: common.On = None,
    by: common.By = None,
    as_json: common.AsJson = False,
) -> None:
    """Put what an open hand-over brought on the books of the school that takes it.

    Example: prep schools complete 1f2e3d4c --at PREP
    """
    from prep.services.schools import school_list, transfer

    act = common.act(by, on)
    found = transfer.open_ones(school_list.read(listed)).hand_overs
    given = next((one for one in found if one.name == name.strip() and not one.taken_by), None)
    if given is None:
        raise PrepError(f'"{name[:40]}" is no hand-over that is open; see: prep schools open')
    one, other = school_list.one(listed, given.giver), school_list.one(listed, given.taker)
    done = transfer.take(one, other, given, location, act)
    common.told()
    if as_json:
        common.show_json({"hand_over": given.name, "bottle": done.bottle, "job_there": done.job})
    else:
        typer.echo(f"Hand-over {given.name}: at {other.name} it is bottle {done.bottle} (job {done.job}).")


@app.command()
def report(listed: List = None, as_json: common.AsJson = False) -> None:
    """Report the group's stock by hazard class, what is out of date, and what one has that another orders.

    Example: prep schools report
    """
    from prep.reports import terminal
    from prep.services.schools import group_report, school_list

    schools = school_list.read(listed)
    found = group_report.report(schools, common.today())
    if as_json:
        common.show_json(
            {
                "classes": [
                    {
                        "class": one.hazard,
                        "schools": {
                            code: {
                                "mass": {"value": float(held.grams), "unit": "g"},
                                "volume": {"value": float(held.millilitres), "unit": "mL"},
                            }
                            for code, held in one.by_school.items()
                        },
                    }
                    for one in found.classes
                ],
                "out_of_date": {one.school: list(one.bottles) for one in found.out_of_date},
                "could_give": [
                    {
                        "taker": one.taker,
                        "order": one.order,
                        "item": one.item,
                        "name": one.name,
                        "giver": one.giver,
                        "bottles": list(one.bottles),
                    }
                    for one in found.could_give
                ],
                "unreached": found.unreached,
            }
        )
        return
    rows = [
        (one.hazard, code, f"{held.grams:.0f}", f"{held.millilitres:.0f}")
        for one in found.classes
        for code, held in one.by_school.items()
    ]
    if rows:
        terminal.table(("Class", "School", "g", "mL"), rows, right=(2, 3))
    else:
        terminal.say("No school has anything hazardous on its shelves.")
    for old in found.out_of_date:
        terminal.say(f"{old.school}: {plural(len(old.bottles), 'bottle')} out of date: {', '.join(old.bottles[:10])}")
    for one in found.could_give:
        terminal.say(f"{one.taker} has {one.name} on order ({one.order}); {one.giver} has {one.held}.")
    for code, why in found.unreached.items():
        terminal.say(f"{code} is not in this report: {why}")


@app.command()
def rights(code: Code, listed: List = None) -> None:
    """Print the script of a school's database roles (read, audit, teach, technician); its owner runs it.

    Example: prep schools rights north
    """
    from prep.services.schools import school_list
    from prep.store.school import schemas

    school = school_list.one(listed, code)
    if not schemas.is_server(school.url):
        raise PrepError(f"{school.name} has a file of its own; roles are a server's.")
    typer.echo(schemas.rights(school.code), nl=False)


def _show(found: "list[SchoolOutcome]", as_json: bool) -> None:
    from prep.reports import terminal

    if as_json:
        common.show_json([{"school": one.school.code, "ok": one.ok} | one.data for one in found])
    else:
        for one in found:
            terminal.say(f"{one.school.code}: {one.says}")
        if not found:
            terminal.say("There is no school on the list; see: prep schools add --help")
    if not all(one.ok for one in found):
        raise typer.Exit(1)


def _safe(url: str) -> str:
    """Write a URL without its password."""
    return re.sub(r"(://[^:/@]*):[^@/]*@", r"\1:***@", url)


def _line(one: "HandOver") -> str:
    from prep.chemistry import quantities

    amount = quantities.show(one.amount, one.measure)
    if one.taken_by:
        return (
            f"{one.name}: {amount} of {one.item}, bottle {one.bottle} of {one.giver}, was taken by {one.taker} on "
            f"{dates.day(one.on)} (job {one.taken_by}), and {one.giver} undid that it gave it: undo job "
            f"{one.taken_by} at {one.taker}, or hand it over anew."
        )
    return (
        f"{one.name}: {amount} of {one.item}, bottle {one.bottle} of {one.giver}, given to {one.taker} on "
        f"{dates.day(one.on)} (job {one.job}); {one.taker} has not taken it."
    )
