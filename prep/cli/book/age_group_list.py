"""`prep book group`: the school's list of age groups."""

from typing import TYPE_CHECKING, Annotated

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.planning.age_groups import AgeGroup

app = common.group("The school's list of age groups, each with the ways in which people write it.")


@app.command("list")
@common.reads
def list_(db: common.Db = None, as_json: common.AsJson = False) -> None:
    """List the age groups that a booking or a rule may name.

    Example: prep book group list
    """
    from prep.reports.school_documents import age_group_document
    from prep.services.bookings import groups

    found = groups.age_groups(db)
    if as_json:
        common.show_json([age_group_document(one) for one in found])
        return
    for one in found:
        common.tell(_said(one))
    if not found:
        from prep.reports import terminal

        terminal.say("The list is empty; begin it with:")
        terminal.say('prep book group add "Year 8" --also Y8', indent=2, whole=True)


@app.command()
def add(
    name: Annotated[str, typer.Argument(help="As the school calls it.")],
    also: Annotated[list[str] | None, typer.Option("--also", help="How else it is written; may repeat.")] = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put an age group on the list, or give one that is there more spellings.

    Example: prep book group add "Year 8" --also Y8 --also 8
    """
    from prep.reports.school_documents import age_group_document
    from prep.services.bookings import groups

    made = groups.add(db, name, also or [], common.act(by))
    common.show_json(age_group_document(made)) if as_json else common.tell(_said(made))


@app.command()
def drop(
    name: Annotated[str, typer.Argument(help="By any of its spellings.")],
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Take an age group off the list, once no booking and no rule is for it.

    Example: prep book group drop "Year 8"
    """
    from prep.reports.school_documents import age_group_document
    from prep.services.bookings import groups

    gone = groups.drop(db, name, common.act(by))
    common.show_json(age_group_document(gone)) if as_json else common.tell(f"{gone.name} is off the list.")


def _said(one: "AgeGroup") -> str:
    return one.name + (f" (also {', '.join(one.spellings)})" if one.spellings else "")
