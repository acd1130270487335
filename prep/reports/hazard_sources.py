"""What hazard answers rest on, as JSON documents and on a terminal."""

from collections.abc import Sequence
from typing import Any

from prep.reports import terminal
from prep.safety.clp.harmonised import ClassificationBasis
from prep.safety.deferral import DEFERRAL
from prep.services.safety.renewal import Renewal
from prep.services.safety.sources import HazardGrounds


def document(one: HazardGrounds) -> dict[str, Any]:
    """Write what one item's hazards rest on as JSON."""
    entry = one.entry and {
        "index": one.entry.index_no,
        "act": one.entry.celex,
        "applies_from": one.entry.applies_from,
        "by": one.entry.by,
        "notes": list(one.entry.notes),
        "minimum": list(one.entry.minimum),
    }
    sheet = one.check and {
        "supplier": one.check.supplier,
        "revision": one.check.revision,
        "by": one.check.by,
        "on": one.check.on.isoformat() if one.check.on else None,
    }
    return {
        "item": one.code,
        "name": one.name,
        "classification": one.in_words,
        "basis": one.basis.value,
        "entry": entry,
        "lacks": list(one.differs),
        "data_sheet": sheet,
        "rests_on": [
            {"text": r.text, "source": r.source, "checked": r.checked} | ({"rule": r.rule} if r.rule else {})
            for r in one.rests_on
        ],
        "check_before_relying": bool(one.open),
    }


def show(found: Sequence[HazardGrounds]) -> None:
    """Print each item with its basis, its sources, and what of them nobody has verified."""
    if not found:
        terminal.say("Nothing here rests on what nobody has verified.")
    for one in found:
        terminal.say(f"{one.name} [{one.code}]", bold=True)
        terminal.say(one.in_words, indent=2, hang=2)
        if one.basis is not ClassificationBasis.UNKNOWN:
            terminal.say(f"{one.basis.value}", indent=2)
        if one.differs:
            terminal.say(
                f"LACKS of the entry {one.entry.index_no if one.entry else ''}: {'; '.join(one.differs)}",
                indent=2,
                hang=2,
            )
            terminal.say("-> record it with: prep substance import --replace", indent=2, hang=3)
        for source in dict.fromkeys(r.source for r in one.rests_on if r.checked and r.source):
            terminal.say(f"- {source}", indent=2, hang=2)
        for text in dict.fromkeys(f"{r.source or r.text}" for r in one.open):
            terminal.say(f"- not verified: {text}", indent=2, hang=2)
    terminal.say()
    terminal.say(DEFERRAL)


def renewal_document(one: Renewal, *, written: bool) -> dict[str, Any]:
    """Write what a substance was on file as, and what the table of this version says, as JSON."""
    return {
        "item": one.code,
        "name": one.name,
        "was": one.was,
        "now": one.now,
        "source": one.source,
        "kept_for": one.kept_for or None,
        "written": written,
    }


def show_renewals(found: Sequence[Renewal], *, written: bool) -> None:
    """Print what differs from the table of this version, or what was brought to it."""
    for one in found:
        terminal.say(f"{one.name} [{one.code}]", bold=True)
        terminal.say(f"was: {one.was}", indent=2, hang=5)
        terminal.say(f"now: {one.now}", indent=2, hang=5)
        terminal.say(f"[{one.source}]", indent=7, hang=1)
        if one.kept_for:
            terminal.say(f"kept as it is: {one.kept_for}", indent=2, hang=2)
    open_ = [one for one in found if not one.kept_for]
    if not found:
        terminal.say("Every substance is as in the table of this version.")
    elif written:
        terminal.say(f"{len(found)} renewed. Print the labels of their bottles again: prep label.")
    elif open_:
        terminal.say(f"{len(open_)} to renew; write them with: prep safety renew --write")
    terminal.say()
    terminal.say(DEFERRAL)
