"""The plain rows that labels and sheets are printed from. Text is ready to read; nothing is computed here."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class LabelContent:
    """What one label says. Empty parts are left off.

    `strength` is text ("2 mol/L"). `h_statements` are "H314 Causes severe skin burns and eye damage.".
    `hazard_known` is False where no classification could be derived; `check` where it rests on facts that
    nobody has verified.
    """

    name: str
    strength: str = ""
    bottle: str = ""
    made_by: str = ""
    made_on: date | None = None
    use_by: date | None = None
    keeping: str = ""
    signal: str = ""
    pictograms: tuple[str, ...] = ()
    h_statements: tuple[str, ...] = ()
    p_statements: tuple[str, ...] = ()
    school: str = ""
    hazard_known: bool = True
    notes: tuple[str, ...] = ()
    check: bool = False
