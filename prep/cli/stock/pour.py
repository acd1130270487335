"""`prep stock decant`, `split`, `top-up`, `pour-together`, and `found`: bottles that no delivery brought."""

from typing import TYPE_CHECKING, Annotated

import typer

from prep import dates
from prep.books import BottleStatus
from prep.cli import common
from prep.cli.stock.arguments import Bottle

if TYPE_CHECKING:
    from prep.services.stock.pouring import Poured

_At = Annotated[str | None, typer.Option("--at", help="Where the new bottle is put; default: where the old one is.")]


def decant(
    bottle: Bottle,
    amount: Annotated[str, typer.Argument(help='How much, such as "250 mL".')],
    location: _At = None,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Pour an amount into a new bottle, which keeps the strength, the dates and the lot.

    Example: prep stock decant K6G7 "250 mL" --at ACID
    """
    from prep.services.stock import pouring

    _said(pouring.decant(db, bottle, amount, location, common.act(by, on)), as_json)


def split(
    bottle: Bottle,
    into: Annotated[int, typer.Option("--into", help="How many new bottles.")],
    location: _At = None,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Share all that a bottle holds between new bottles.

    Example: prep stock split K7Q2 --into 4
    """
    from prep.services.stock import pouring

    _said(pouring.split(db, bottle, into, location, common.act(by, on)), as_json)


def top_up(
    bottle: Bottle,
    source: Annotated[str, typer.Option("--from", metavar="BOTTLE", help="The bottle that is poured from.")],
    amount: Annotated[str | None, typer.Option("--amount", help='How much, such as "250 mL"; default: all.')] = None,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Pour one bottle into another of the same thing: strength by blending, the earlier use-by.

    Example: prep stock top-up A2C3 --from B5D6
    """
    from prep.services.stock import pouring

    _said(pouring.top_up(db, bottle, source, amount, common.act(by, on)), as_json)


def pour_together(
    bottles: Annotated[list[str], typer.Argument(metavar="BOTTLE...", help="Codes on their labels.")],
    location: _At = None,
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Pour all of several bottles of one thing into a new one: strength by blending, the earliest use-by.

    Example: prep stock pour-together A2C3 B5D6
    """
    from prep.services.stock import pouring

    _said(pouring.pour_together(db, bottles, location, common.act(by, on)), as_json)


def found(
    amount: Annotated[str, typer.Argument(help='What is in it, such as "250 g".')],
    location: Annotated[str, typer.Option("--at", help="Where it stands.")],
    item: Annotated[str | None, typer.Option("--item", help="What its label says, on file or not.")] = None,
    strength: Annotated[str | None, typer.Option("--strength", help="As its label says.")] = None,
    note: Annotated[str, typer.Option("--note", help="What can be said of it.")] = "",
    on: common.On = None,
    by: common.By = None,
    db: common.Db = None,
    as_json: common.AsJson = False,
) -> None:
    """Put a bottle on the books that turned up; what nobody can name stands in quarantine, its hazards not known.

    Example: prep stock found "250 g" --at PREP --note "white powder, label gone"
    """
    from prep.reports.stock import held_document
    from prep.services.stock import found as service

    bottle = service.FoundBottle(item, amount, location, note, strength)
    held = service.found(db, bottle, common.act(by, on))
    if as_json:
        common.show_json(held_document(held))
        return
    aside = " It is in quarantine: find out what it is." if held.status == BottleStatus.QUARANTINE else ""
    typer.echo(f"{held.code}: {held.shown} of {held.name}, at {held.location}. Write {held.code} on it.{aside}")


def _said(done: "Poured", as_json: bool) -> None:
    from prep.reports.stock import held_document

    if as_json:
        document = {
            "job": done.job,
            "from": [held_document(h) for h in done.sources],
            "into": [held_document(h) for h in done.filled],
        }
        common.show_json(document)
        return
    for held in done.filled:
        strength = f", {held.strength}" if held.strength else ""
        until = f", use by {dates.day(held.use_by)}" if held.use_by else ""
        typer.echo(f"{held.code}: {held.shown} of {held.name}{strength}{until}, at {held.location}.")
    for held in done.sources:
        typer.echo(f"{held.code}: {held.shown} left." if held.balance else f"{held.code} is empty.")
