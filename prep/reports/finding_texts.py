"""A finding as a JSON document, as a sentence, and as lines on a terminal: the same wherever one is shown."""

from collections.abc import Iterable

from prep.findings import Finding, Severity
from prep.reports import terminal
from prep.reports.formatting import in_days
from prep.wording import AtTerminal, Sentence

MARKS = {Severity.STOP: "STOP", Severity.ACT: "ACT ", Severity.NOTE: "note"}


def finding_document(found: Finding) -> dict[str, str]:
    """Write one finding as JSON; cure and source only where there is one."""
    said = {"severity": found.severity, "code": found.code, "about": found.about, "message": found.message}
    return said | {key: value for key, value in (("cure", found.cure), ("source", found.source)) if value}


def with_cure(found: Finding, sign: str = " -> ") -> Sentence:
    """Write a finding as one sentence, with what would mend it behind a sign that a page leaves out."""
    cure = (AtTerminal(sign, " "), found.cure) if found.cure else ()
    return Sentence(found.message, *cure).reworded(in_days)


def show_findings(found: Iterable[Finding], nothing: str, indent: int = 0) -> None:
    """Print findings in the order given, each with what would mend it and what says so."""
    shown = list(found)
    if not shown:
        terminal.say(nothing, indent=indent)
    for one in shown:
        show_finding(one, indent)


def show_finding(one: Finding, indent: int = 0) -> None:
    """Print one finding, what would mend it and what says so."""
    terminal.say(f"{MARKS[one.severity]}  {in_days(one.message)}", indent=indent, hang=6)
    if one.cure:
        terminal.say(f"-> {in_days(one.cure)}", indent=indent + 6, hang=3)
    if one.source:
        terminal.say(f"[{one.source}]", indent=indent + 6, hang=1)
