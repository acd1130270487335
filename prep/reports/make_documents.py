"""What is made otherwise than by an entry's route, and what was found of it: as JSON and on the screen."""

from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.chemistry.model import Line
from prep.findings import Finding
from prep.reports import terminal
from prep.reports.finding_texts import finding_document
from prep.safety.deferral import DEFERRAL

if TYPE_CHECKING:
    from prep.safety.label_content import LabelContent
    from prep.services.making.buffer import BufferMake
    from prep.services.making.by_mass import MassMake
    from prep.services.making.make import Instructions, MadeBatch
    from prep.services.making.standardise import MeasuredStrength


def make_document(
    shown: "Instructions", made: "MadeBatch | None" = None, beside: Sequence[Finding] = ()
) -> dict[str, Any]:
    """Write a make, with what is missing for it, as JSON; of one that is logged its job, bottles and neighbours too."""
    from prep.reports.plan.document import batch_document

    document = batch_document(shown.batch, shown.snapshot)
    document["missing"] = [{"item": one.name, "amount": one.amount} for one in shown.missing]
    if made is not None or shown.missing:
        del document["log"]
    if made is not None:
        document |= {"job": made.job, "bottles": [one.code for one in made.bottles]}
        document["notes"] = [finding_document(one) for one in beside]
        if made.standardised is not None:
            document["found"] = strength_document(made.standardised)
    return document


def buffer_document(found: "BufferMake") -> dict[str, Any]:
    """Write a buffer by pair and pH, with what it takes from which bottle, as JSON."""
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
                    {"bottle": one.bottle, "amount": quantities.as_json(one.amount, take.measure)}
                    for one in take.bottles
                ],
                "missing": quantities.as_json(take.missing, take.measure) if take.missing else None,
            }
            for take in found.takes
        ],
        "steps": [{"text": step.text, "instrument": step.instrument} for step in found.steps],
        "cautions": list(found.cautions),
        "valid": made.valid,
        "note": made.note,
        "working": [one.as_json() for one in found.working],
    }


def show_buffer(found: "BufferMake") -> None:
    """Print a buffer: what is lacking, what to do, what to mind, how it was reckoned."""
    made = found.made
    terminal.say(f"{float(made.volume_ml):g} mL of buffer, pH {made.ph:.2f}, in the {found.vessel}", bold=True)
    terminal.say(f"capacity {made.capacity:.3g} mol/L of strong base for each pH unit. {made.note}".rstrip(), indent=2)
    for take in found.takes:
        if take.missing:
            terminal.say(f"MISSING  {quantities.show(take.missing, take.measure)} of {take.name}", indent=2)
    _show_method([step.text for step in found.steps], found.cautions, found.working)


def by_mass_document(found: "MassMake") -> dict[str, Any]:
    """Write a make by mass, with what it takes from which bottle, as JSON."""
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
        "missing": [{"item": one.name, "amount": one.amount} for one in found.missing],
        "steps": list(found.steps),
        "cautions": list(found.cautions),
        "hazards": found.hazards,
        "working": [one.as_json() for one in found.working],
    }


def show_by_mass(found: "MassMake") -> None:
    """Print a make by mass."""
    terminal.say(f"{quantities.plain(found.mass_g)} g of {found.solution.name}, by mass", bold=True)
    terminal.say(f"hazards: {found.hazards}", indent=2)
    for lack in found.missing:
        terminal.say(f"MISSING  {lack.amount} of {lack.name}", indent=2)
    terminal.say()
    terminal.say("TAKE", bold=True)
    for one in found.takes:
        amount = quantities.show(one.amount, found.item.measure)
        terminal.say(f"{amount} of {found.item.name} from bottle {one.bottle}", indent=2)
    _show_method(found.steps, found.cautions, found.working)


def strength_document(found: "MeasuredStrength") -> dict[str, Any]:
    """Write a found strength as JSON."""
    return {
        "strength": {
            "value": float(found.strength.value),
            "unit": found.strength.kind.value,
            "uncertainty": {"value": float(found.uncertainty_pct), "unit": "%", "k": 2},
        },
        "concordant": found.concordant,
        "doubt": found.doubt,
        "standard_taken_from": found.used.bottle or found.used.substance or None,
        "working": [one.as_json() for one in found.working],
    }


def labels_document(found: "Sequence[LabelContent]", out: Path, notes: Sequence[str]) -> dict[str, Any]:
    """Write which labels went to a file, and what had to be left out, as JSON."""
    listed = []
    for one in found:
        said = {"h_statements": list(map(str, one.h_statements)), "p_statements": list(map(str, one.p_statements))}
        listed.append(asdict(one) | said)
    return {"file": str(out), "labels": listed, "notes": list(notes)}


def _show_method(steps: Sequence[str], cautions: Sequence[str], working: Iterable[Line]) -> None:
    for title, texts in (
        ("DO", [f"{number}. {text}" for number, text in enumerate(steps, 1)]),
        ("MIND", [*(f"! {caution}" for caution in cautions), DEFERRAL]),
    ):
        terminal.say()
        terminal.say(title, bold=True)
        for text in texts:
            terminal.say(text, indent=2, hang=3)
    terminal.say()
    terminal.say("WORKING", bold=True)
    terminal.working(working)
    terminal.say()
