"""Hazards, storage, dates, notes and waste as JSON documents and on a terminal."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.chemistry.model import Line
from prep.findings import Finding, Severity
from prep.plurals import plural
from prep.reports import terminal
from prep.reports.finding_texts import MARKS, finding_document
from prep.safety.clp.label_elements import PICTOGRAMS
from prep.safety.deferral import DEFERRAL, LOCAL_RULES, LOOK_UP_THE_ACT
from prep.safety.model import Classification, MixtureComponent, Statement

if TYPE_CHECKING:
    from prep.planning.model import Demo
    from prep.safety.disposal import Neutralising, Stream
    from prep.safety.notes import SafetyNotes
    from prep.services.safety.controlled_register import RegisterLine

_PAIRS_SHOWN = 6
_CHECK = "Check before relying on it: some of it rests on facts that nobody has verified."


def classification_document(found: Classification) -> dict[str, Any]:
    """Write a classification as JSON: classes, label elements, and the reasoning, rule by rule.

    The label elements are signal word, pictograms and statements.
    """
    return {
        "known": found.known,
        "unknown": list(found.unknown),
        "classes": [
            {"class": one.hazard_class, "category": one.category, "h": one.h_code}
            | ({"route": one.route} if one.route else {})
            for one in found.classes
        ],
        "signal": found.signal,
        "pictograms": list(found.pictograms),
        "statements": _statements((*found.h_statements, *found.euh)),
        "precautions": _statements(found.p_statements),
        "check_before_relying": found.check_before_relying,
        "notes": list(found.notes),
        "working": [
            {"text": one.text, "checked": one.checked}
            | ({"rule": one.rule} if one.rule else {})
            | ({"source": one.source} if one.source else {})
            for one in found.reasoning
        ],
        "deferral": DEFERRAL,
    }


def classified_document(
    what: str, found: Classification, inside: Sequence[MixtureComponent], meet: Sequence[Line] = ()
) -> dict[str, Any]:
    """Write a classification with what it is of, each component in % w/w, and what must not meet, as JSON."""
    components = [
        {"name": one.name, "cas": one.cas, "pct": float(one.pct), "classification": one.classification or "not known"}
        for one in inside
    ]
    return {
        "what": what,
        "components": components,
        "must_not_meet": [one.as_json() for one in meet],
        **classification_document(found),
    }


def hazards_document(found: Classification) -> dict[str, Any]:
    """Write a classification in short, for the document of a substance or a solution."""
    document = classification_document(found)
    return {key: document[key] for key in ("known", "unknown", "classes", "signal", "pictograms")} | {
        "in_words": found.in_words,
        "statements": document["statements"],
        "precautions": document["precautions"],
        "check_before_relying": found.check_before_relying,
    }


def controlled_document(line: "RegisterLine") -> dict[str, Any]:
    """Write one line of the list of controlled substances, with what is held of it, as JSON."""
    one = line.listed
    return {
        "number": line.number,
        "name": one.name,
        "about": list(one.about),
        "kind": one.kind,
        "act": one.act,
        "above_pct": float(one.above_pct) if one.above_pct is not None else None,
        "source": one.source,
        "held": [
            {
                "bottle": held.code,
                "item": held.item,
                "name": held.name,
                "amount": quantities.as_json(held.balance, held.measure),
                "location": held.location,
            }
            for held in line.bottles
        ],
    }


def show_controlled(lines: Sequence["RegisterLine"]) -> None:
    """Print the list by act, each substance with the bottles that fall under it."""
    by_act: dict[tuple[str, str], list[RegisterLine]] = defaultdict(list)
    for line in lines:
        by_act[line.listed.act, line.listed.kind].append(line)
    for (act, kind), some in by_act.items():
        terminal.say(f"{act}: {kind}", bold=True, hang=2)
        for line in some:
            limit = f", above {line.listed.above_pct:f} % w/w" if line.listed.above_pct is not None else ""
            terminal.say(f"{line.number}. {line.listed.name}{limit}", indent=2, hang=4)
            for held in line.bottles:
                terminal.say(f"{held.code}  {held.shown} of {held.name}, {held.location}", indent=6, hang=2)
    if not lines:
        terminal.say("Nothing of the list is held.")
    terminal.say()
    terminal.say(LOOK_UP_THE_ACT)


def notes_document(demo: "Demo", notes: "SafetyNotes") -> dict[str, Any]:
    """Write the safety notes of a demo as JSON."""
    return {
        "demo": demo.code,
        "name": demo.name,
        "caution": demo.caution,
        "ask_first": demo.ask_first,
        "on_the_bench": [one.as_json() for one in notes.on_the_bench],
        "may_be_made": [one.as_json() for one in notes.may_be_made],
        "keep_apart": [one.as_json() for one in notes.keep_apart],
        "protection": _statements(notes.protection),
        "spill": [one.as_json() for one in notes.spill],
        "fire": [one.as_json() for one in notes.fire],
        "first_aid": _statements(notes.first_aid),
        "check_before_relying": notes.check_before_relying,
        "deferral": notes.deferral,
    }


def waste_document(demo: "Demo", showings: int, found: "Sequence[Stream]", apart: Sequence[Finding]) -> dict[str, Any]:
    """Write what a demo leaves, by stream, as JSON."""
    return {
        "demo": demo.code,
        "showings": showings,
        "streams": [
            {"stream": one.stream, "what": list(one.what), "what_to_do": one.what_to_do, "source": one.source}
            | ({"neutralise": _neutralise_document(one.neutralising)} if one.neutralising else {})
            for one in found
        ],
        "keep_apart": [finding_document(one) for one in apart],
        "deferral": LOCAL_RULES,
    }


def show_classified(
    what: str, found: Classification, inside: Sequence[MixtureComponent], meet: Sequence[Line] = ()
) -> None:
    """Print a classification, its label elements, then why."""
    terminal.say(what, bold=True)
    for one in inside:
        terminal.say(f"{one.name}: {float(one.pct):.4g} % w/w", indent=2)
    for line in meet:
        terminal.say(f"NEVER TOGETHER: {line.text}", bold=True, indent=2, hang=2)
    terminal.say()
    show_hazards(found)
    for note in found.notes:
        terminal.say(note, indent=2, hang=2)
    terminal.say()
    terminal.say("WHY", bold=True)
    for reason in found.reasoning:
        rule = f"[{reason.rule}] " if reason.rule else ""
        terminal.say(f"{rule}{reason.text}" + ("" if reason.checked else "  (not verified)"), indent=2, hang=2)
        if reason.source:
            terminal.say(f"source: {reason.source}", indent=6)
    terminal.say()
    terminal.say(DEFERRAL)


def show_hazards(found: Classification) -> None:
    """Print what stands on a label. What is not known is said, never called harmless."""
    if not found.known:
        terminal.say(f"NOT KNOWN: no hazard data for {', '.join(found.unknown)}. Treat as hazardous.", indent=2)
    elif not found.classes:
        terminal.say("Not classified as hazardous.", indent=2)
    if found.signal:
        terminal.say(found.signal.upper(), bold=True, indent=2)
    if found.classes:
        terminal.say(f"classes: {'; '.join(map(str, found.classes))}", indent=2, hang=2)
    if found.pictograms:
        signs = ", ".join(f"{code} {PICTOGRAMS[code]}" for code in found.pictograms)
        terminal.say(f"pictograms: {signs}", indent=2, hang=2)
    for one in (*found.h_statements, *found.euh, *found.p_statements):
        terminal.say(f"{one.code} {one.text}", indent=2, hang=2)
    if found.check_before_relying:
        terminal.say(_CHECK, indent=2, hang=2)


def show_storage(found: Sequence[Finding], why: bool = False) -> None:
    """Print what must not share a place: one line a place and move; with `why` every pair that asks for it."""
    if not found:
        terminal.say("Nothing stands where it must not.")
    by_cure: dict[tuple[Severity, str, str], list[Finding]] = defaultdict(list)
    for one in found:
        by_cure[one.severity, one.about, one.cure].append(one)
    for (severity, place, cure), pairs in by_cure.items():
        number = f" ({len(pairs)} pairs)" if len(pairs) > 1 else ""
        terminal.say(f"{MARKS[severity]}  {place}: {cure}{number}", bold=severity == "act", hang=6)
        if not why:
            continue
        for one in pairs[:_PAIRS_SHOWN]:
            terminal.say(f"- {one.message}", indent=6, hang=2)
        if len(pairs) > _PAIRS_SHOWN:
            terminal.say(f"- and {len(pairs) - _PAIRS_SHOWN} more like these (--json lists them all)", indent=6, hang=2)
        for source in dict.fromkeys(one.source for one in pairs[:_PAIRS_SHOWN] if one.source):
            terminal.say(f"[{source}]", indent=8, hang=1)
    terminal.say()
    if found and not why:
        terminal.say("The pairs and their sources: prep safety storage --why")
    terminal.say(DEFERRAL)


def show_notes(demo: "Demo", notes: "SafetyNotes") -> None:
    """Print the safety notes of a demo."""
    terminal.say(f"{demo.name} [{demo.code}]", bold=True)
    if demo.caution:
        terminal.say(demo.caution, indent=2)
    if demo.ask_first:
        terminal.say(f"Ask first: {demo.ask_first}", indent=2, hang=2, bold=True)
    for head, lines in (
        ("ON THE BENCH", notes.on_the_bench),
        ("MAY BE MADE", notes.may_be_made),
        ("IF THESE MEET (apart, unless the demonstration combines them)", notes.keep_apart),
    ):
        _part(head, [line.text for line in lines])
    _part("PROTECTION", [_coded(one) for one in notes.protection])
    _part("SPILL", [line.text for line in notes.spill])
    _part("FIRE", [line.text for line in notes.fire])
    _part("FIRST AID", [_coded(one) for one in notes.first_aid])
    terminal.say()
    if notes.check_before_relying:
        terminal.say("Check before relying on it: some of it rests on facts that nobody has verified.")
    terminal.say(notes.deferral)


def show_waste(demo: "Demo", showings: int, found: "Sequence[Stream]", apart: Sequence[Finding]) -> None:
    """Print what a demo leaves, by stream."""
    terminal.say(f"{demo.name} [{demo.code}], shown {plural(showings, 'time')}", bold=True)
    if not found:
        terminal.say("Nothing is known of what it leaves: ask whoever disposes of chemicals.", indent=2)
    for one in found:
        terminal.say()
        terminal.say(one.stream.upper(), bold=True)
        for what in one.what:
            terminal.say(f"- {what}", indent=2, hang=2)
        terminal.say(one.what_to_do, indent=2)
        if one.neutralising:
            for line in one.neutralising.working:
                terminal.say(line.text, indent=4, hang=2)
            if len(one.neutralising.choices) > 1:
                terminal.say("Either of these is enough; it is the most, as if nothing had reacted yet.", indent=4)
    _part("NEVER TOGETHER", [one.message for one in apart])
    terminal.say()
    terminal.say(LOCAL_RULES)


def _part(head: str, lines: Iterable[str]) -> None:
    lines = list(lines)
    if lines:
        terminal.say()
        terminal.say(head, bold=True)
        for line in lines:
            terminal.say(f"- {line}", indent=2, hang=2)


def _coded(one: Statement) -> str:
    return f"{one.text} ({one.code})" if one.code else one.text


def _statements(found: Iterable[Statement]) -> list[dict[str, str]]:
    return [{"code": one.code, "text": one.text} for one in found]


def _neutralise_document(found: "Neutralising") -> dict[str, Any]:
    return {
        "acid": {"value": float(found.acid_mol), "unit": "mol"},
        "base": {"value": float(found.base_mol), "unit": "mol"},
        "with": [
            {
                "what": one.name,
                "amount": {"value": float(one.mol), "unit": "mol"},
                "mass": {"value": float(one.mass_g), "unit": "g"},
            }
            for one in found.choices
        ],
        "working": [one.as_json() for one in found.working],
    }
