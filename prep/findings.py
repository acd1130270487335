"""What is wrong, or worth knowing, as data: gathered over a whole plan or store room, and shown once."""

import re
from collections.abc import Iterable
from enum import StrEnum

from prep.records import record


class Severity(StrEnum):
    """What a finding asks: somebody will stand without, something is to be done by a date, or it is good to know."""

    STOP = "stop"
    ACT = "act"
    NOTE = "note"


_RANK = {severity: rank for rank, severity in enumerate(Severity)}


@record(frozen=True, slots=True)
class Finding:
    """A problem in what people entered, in what the shelves hold, or in what is drawn up.

    `about` is the code of what it concerns, `cure` what would mend it, `source` what says so.
    """

    severity: Severity
    code: str
    about: str
    message: str
    cure: str = ""
    source: str = ""


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Sort findings: stops, then what to act on, then notes; of one kind by the first day that they name."""
    return tuple(sorted(findings, key=lambda f: (_RANK[f.severity], f.code, _first_day(f), f.about, f.message)))


_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")
_NO_DAY = "9999"


def _first_day(finding: Finding) -> str:
    found = _DAY.search(finding.message)
    return found[0] if found else _NO_DAY
