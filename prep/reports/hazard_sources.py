"""What hazard answers rest on, as JSON documents and on a terminal."""

from collections.abc import Sequence
from typing import Any

from prep.reports import terminal
from prep.safety.cautions import DEFERRAL
from prep.safety.clp.harmonised import Basis
from prep.services.safety.sources import Grounds


def document(one: Grounds) -> dict[str, Any]:
    """What one item's hazards rest on."""
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


def show(found: Sequence[Grounds]) -> None:
    """Print each item with its basis, its sources, and what of them nobody has verified."""
    if not found:
        terminal.say("Nothing here rests on what nobody has verified.")
    for one in found:
        terminal.say(f"{one.name} [{one.code}]", bold=True)
        terminal.say(one.in_words, indent=2, hang=2)
        if one.basis is not Basis.UNKNOWN:
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
