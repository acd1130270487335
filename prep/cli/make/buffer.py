"""`prep make --buffer`: the buffer's document and its screen."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from prep.cli import common

if TYPE_CHECKING:
    from prep.services.input.act import Act
    from prep.services.making.buffer import BufferMake, BufferRequest, MadeBuffer


def show(db: Path | None, asked: "BufferRequest", day: date, as_json: bool) -> None:
    """Ask the service and print its answer. Raises Refused, when all is shown, if something is missing."""
    from prep.errors import Refused
    from prep.services.making import buffer

    found = buffer.instructions(db, asked, day)
    if as_json:
        common.show_json(_document(found))
    else:
        _print(found)
    if found.lacks:
        raise Refused(f"What is held does not suffice: missing {found.lacks}.")


@dataclass(frozen=True, slots=True)
class Labels:
    """Where the labels of what is made are printed: the file, the sheet, and where on it they begin."""

    file: Path | None
    sheet: str
    start: int


def log(db: Path | None, asked: "BufferRequest", act: "Act", labels: Labels, as_json: bool) -> None:
    """Make the buffer on the books, and print its labels where a file is given."""
    from prep.cli.make import label
    from prep.services.making import buffer
    from prep.services.stock import labels as stock_labels

    if labels.file is not None:
        label.ready(labels.sheet, labels.start, labels.file)
    made = buffer.log(db, asked, act)
    left_off: Sequence[str] = ()
    if labels.file is not None:
        found = stock_labels.labels(db, [bottle.code for bottle in made.bottles])
        left_off = label.write(found, labels.sheet, labels.start, labels.file)
    show_logged(made, db, labels.file, left_off, as_json)


def show_logged(
    made: "MadeBuffer", db: Path | None, labels: Path | None, left_off: Sequence[str], as_json: bool
) -> None:
    """A buffer that is made: what it took, and the bottles that hold it."""
    from prep.cli.make import label
    from prep.services.safety import placement

    beside = placement.beside(db, made.bottles)
    if as_json:
        document = _document(made.make) | {"solution": made.solution.code, "name": made.solution.name, "job": made.job}
        document |= {"bottles": [b.code for b in made.bottles]}
        document["notes"] = common.shelf_notes(beside[made.bottles[0].code])
        if labels is not None:
            document |= {"labels": str(labels), "label_notes": list(left_off)}
        common.show_json(document)
        return
    _print(made.make)
    for bottle in made.bottles:
        typer.echo(
            f"Logged as job {made.job}: bottle {bottle.code} holds {bottle.shown} of {made.solution.code}, "
            f"use by {bottle.use_by}, at {bottle.location}. Write {bottle.code} on its label."
        )
    common.show_shelf_notes(beside)
    if labels is not None:
        for sentence in label.said(made.bottles, labels, left_off):
            typer.echo(sentence)


def _document(found: "BufferMake") -> dict[str, Any]:
    from prep.chemistry import quantities

    made = found.made
    return {
        "ph": made.ph,
        "ph_uncertainty": {"value": found.ph_uncertainty, "unit": "pH", "k": 2},
        "capacity": {"value": made.capacity, "unit": "mol/L per pH"},
        "volume": {"value": float(made.volume_ml), "unit": "mL"},
        "vessel": found.vessel,
        "ingredients": [
            {
                "item": take.item,
                "name": take.name,
                "amount": quantities.as_json(take.amount, take.measure),
                "takes": [
                    {"bottle": code, "amount": quantities.as_json(amount, take.measure)}
                    for code, amount in take.bottles
                ],
                "missing": quantities.as_json(take.missing, take.measure) if take.missing else None,
            }
            for take in found.takes
        ],
        "steps": [{"text": step.text, "instrument": step.instrument} for step in found.steps],
        "cautions": list(found.cautions),
        "valid": made.valid,
        "note": made.note,
        "working": [{"text": w.text} | ({"source": w.source} if w.source else {}) for w in found.working],
    }


def _print(found: "BufferMake") -> None:
    from prep.chemistry import quantities
    from prep.reports import terminal
    from prep.reports.plan.screen import DEFERRAL

    made = found.made
    terminal.say(f"{float(made.volume_ml):g} mL of buffer, pH {made.ph:.2f}, in the {found.vessel}", bold=True)
    terminal.say(f"capacity {made.capacity:.3g} mol/L of strong base for each pH unit. {made.note}".rstrip(), indent=2)
    for take in found.takes:
        if take.missing:
            terminal.say(f"MISSING  {quantities.show(take.missing, take.measure)} of {take.name}", indent=2)
    for title, texts in (
        ("DO", [f"{number}. {step.text}" for number, step in enumerate(found.steps, 1)]),
        ("MIND", [*(f"! {caution}" for caution in found.cautions), DEFERRAL]),
        ("WORKING", [line.text + (f" [{line.source}]" if line.source else "") for line in found.working]),
    ):
        terminal.say()
        terminal.say(title, bold=True)
        for text in texts:
            terminal.say(text, indent=2, hang=3)
    typer.echo()
