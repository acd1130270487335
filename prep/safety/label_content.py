"""What a bottle's label says, before it is set on paper."""

from dataclasses import dataclass
from datetime import date

from prep.safety.model import Statement


@dataclass(frozen=True, slots=True)
class LabelContent:
    """What one label says. Empty parts are left off.

    `strength` is text ("2 mol/L"); `h_statements` are the hazard statements, with the supplemental ones after them.
    `hazard_known` is True only where a classification was derived, harmless or not; `check` where it
    rests on facts that nobody has verified. `capacity_ml` is what the bottle can hold, where that is known; `link`
    the address of its page; `amount` the nominal amount.
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
    h_statements: tuple[Statement, ...] = ()
    p_statements: tuple[Statement, ...] = ()
    school: str = ""
    hazard_known: bool = False
    notes: tuple[str, ...] = ()
    check: bool = False
    capacity_ml: float | None = None
    link: str = ""
    received_on: date | None = None
    amount: str = ""

    @property
    def coded(self) -> str:
        """What the QR code says: the address of the bottle's page where the school has one, else its code."""
        return self.link or self.bottle
