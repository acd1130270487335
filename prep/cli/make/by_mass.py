"""`prep make --mass`: its document and its screen."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.services.input.act import Act
    from prep.services.making.by_mass import MassMake
    from prep.services.making.make import MakeRequest


def show(db: Path | None, asked: "MakeRequest", mass: str, day: date, as_json: bool) -> None:
    """Ask the service and print its answer. Raises Refused, when all is shown, if something is missing."""
    from prep.errors import Refused
    from prep.services.making import by_mass

    found = by_mass.instructions(db, asked.solution, mass, asked.source, day)
    if as_json:
        common.show_json(_document(found))
    else:
        _print(found)
    if found.missing:
        lacks = "; ".join(f"{amount} of {name}" for name, amount in found.missing)
        raise Refused(f"What is held does not suffice: missing {lacks}.")


def log(db: Path | None, asked: "MakeRequest", mass: str, act: "Act", as_json: bool) -> None:
    """Make it on the books, and say which bottles hold it."""
    from prep.services.making import by_mass

    found, made = by_mass.log(db, asked, mass, act)
    if as_json:
        common.show_json(_document(found) | {"job": made.job, "bottles": [one.code for one in made.bottles]})
        return
    _print(found)
    for bottle in made.bottles:
        typer.echo(
            f"Logged as job {made.job}: bottle {bottle.code} holds {bottle.shown}, use by {bottle.use_by}, "
            f"at {bottle.location}. Write {bottle.code} on its label."
        )


def _document(found: "MassMake") -> dict[str, Any]:
    from prep.chemistry import quantities

    return {
        "solution": found.solution.code,
        "name": found.solution.name,
        "mass": {"value": float(found.mass_g), "unit": "g"},
        "weigh": {"item": found.item.code, "amount": {"value": float(found.weigh_g), "unit": "g"}},
        "water": {"value": float(found.water_g), "unit": "g"},
        "takes": [
            {
                "item": found.item.code,
                "bottle": one.bottle,
                "amount": quantities.as_json(one.amount, found.item.measure),
            }
            for one in found.takes
        ],
        "missing": [{"item": name, "amount": amount} for name, amount in found.missing],
        "steps": list(found.steps),
        "cautions": list(found.cautions),
        "hazards": found.hazards,
        "working": [{"text": line.text, "source": line.source} for line in found.working],
    }


def _print(found: "MassMake") -> None:
    from prep.chemistry import quantities
    from prep.reports import terminal
    from prep.reports.plan.screen import DEFERRAL

    terminal.say(f"{quantities.plain(found.mass_g)} g of {found.solution.name}, by mass", bold=True)
    terminal.say(f"hazards: {found.hazards}", indent=2)
    for name, amount in found.missing:
        terminal.say(f"MISSING  {amount} of {name}", indent=2)
    terminal.say()
    terminal.say("TAKE", bold=True)
    for one in found.takes:
        amount = quantities.show(one.amount, found.item.measure)
        terminal.say(f"{amount} of {found.item.name} from bottle {one.bottle}", indent=2)
    terminal.say()
    terminal.say("DO", bold=True)
    for number, step in enumerate(found.steps, 1):
        terminal.say(f"{number}. {step}", indent=2, hang=3)
    terminal.say()
    terminal.say("MIND", bold=True)
    for caution in found.cautions:
        terminal.say(f"! {caution}", indent=2, hang=2)
    terminal.say(DEFERRAL, indent=2)
    terminal.say()
    terminal.say("WORKING", bold=True)
    for line in found.working:
        terminal.say(line.text, indent=2)
        if line.source:
            terminal.say(f"[{line.source}]", indent=4)
    terminal.say()
