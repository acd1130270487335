"""How many moles of a solution meet a mole of its standard."""

from fractions import Fraction

from prep.chemistry.measurement.reaction_ratios import ratio_of
from prep.chemistry.model import Line
from prep.errors import PrepError


def moles_to_one(sample: str, standard: str) -> tuple[Fraction, Line] | None:
    """Find the moles of the sample's formula to one of the standard's, and why; None where that is not known."""
    try:
        found = ratio_of(sample, standard)
    except PrepError:
        return None
    return found.moles, Line(f"{found.equation}: {found.moles} mol of {sample} to 1 mol of {standard}", found.source)
