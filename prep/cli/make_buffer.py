"""`prep make --buffer`: the buffer's document and its screen."""

from datetime import date
from pathlib import Path

import typer

from prep.cli import common


def show(db: Path | None, pair: str, ph: str, to: str, volume: str, day: date, as_json: bool) -> None:
    """Ask the service and print its answer. Raises Refused, when all is shown, if something is missing."""
    from prep.chemistry import quantities
    from prep.errors import Refused
    from prep.services import buffering

    found = buffering.instructions(db, pair, ph, to, volume, day)
    made = found.made
    lacks = "; ".join(
        f"{quantities.show(take.missing, take.measure)} of {take.name}" for take in found.takes if take.missing
    )
    refusal = Refused(f"What is held does not suffice: missing {lacks}.") if lacks else None
    if as_json:
        common.show_json(
            {
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
        )
        if refusal:
            raise refusal
        return
    from prep.reports import screen
    from prep.reports.plan_screen import DEFERRAL

    screen.say(f"{float(made.volume_ml):g} mL of buffer, pH {made.ph:.2f}, in the {found.vessel}", bold=True)
    screen.say(f"capacity {made.capacity:.3g} mol/L of strong base for each pH unit. {made.note}".rstrip(), indent=2)
    for take in found.takes:
        if take.missing:
            screen.say(f"MISSING  {quantities.show(take.missing, take.measure)} of {take.name}", indent=2)
    for title, texts in (
        ("DO", [f"{number}. {step.text}" for number, step in enumerate(found.steps, 1)]),
        ("MIND", [*(f"! {caution}" for caution in found.cautions), DEFERRAL]),
        ("WORKING", [line.text + (f" [{line.source}]" if line.source else "") for line in found.working]),
    ):
        screen.say()
        screen.say(title, bold=True)
        for text in texts:
            screen.say(text, indent=2, hang=3)
    typer.echo()
    if refusal:
        raise refusal
