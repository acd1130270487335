"""What a label of a small package may leave out: Regulation (EC) No 1272/2008, Annex I, 1.5.2, up to 125 mL.

Annex I, 1.5.2.1.1 to 1.5.2.1.3 (from memory of these: flammable gas 2, lactation and what corrodes metals). The signal
word and the pictograms stay (but for what corrodes metals).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from prep.safety.hazard_tables import keyed, split

UP_TO_ML = 125
SOURCE = "Regulation (EC) No 1272/2008, Annex I, 1.5.2"

_STATEMENT_AND_PRECAUTIONS = frozenset(
    "H225 H226 H228 H242 H252 H260 H261 H270 H272 H280 H281 H290 H302 H312 H332 H315 H319 H335 H336 H371 H373 "
    "H400 H410 H411".split()
)
"""1.5.2.1.1 and 1.5.2.1.3: statement and precautions may go. Supply to the general public is not this room's case."""
_PRECAUTIONS = frozenset("H221 H362 H412 H413".split())
"""1.5.2.1.2: the precautions may go, the statement stays."""


@dataclass(frozen=True, slots=True)
class SmallPackageOmissions:
    """Codes of the statements that may go."""

    hazard: frozenset[str]
    precautionary: frozenset[str]


def may_be_left_out(h_codes: Iterable[str], p_codes: Sequence[str]) -> SmallPackageOmissions:
    """Say which statements of a label may go on a package of up to 125 mL.

    A precautionary statement may go where every hazard on the label that asks for it is one of those named. General
    ones (keep out of reach, read the label) belong to no hazard and stay.
    """
    codes = [code for code in h_codes if not code.startswith("EUH")]
    lenient = _STATEMENT_AND_PRECAUTIONS | _PRECAUTIONS
    known = keyed("statements", "code")
    gone = set()
    for p_code in p_codes:
        asking = [code for code in codes if code in known and p_code in split(known[code]["allocated_p"])]
        if asking and all(code in lenient for code in asking):
            gone.add(p_code)
    return SmallPackageOmissions(
        frozenset(code for code in codes if code in _STATEMENT_AND_PRECAUTIONS), frozenset(gone)
    )
