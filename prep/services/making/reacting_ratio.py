"""How many moles of a solution meet a mole of its standard: by equivalents, or by the reactions on file."""

from fractions import Fraction

from prep.chemistry.measurement import volumetry
from prep.chemistry.model import Line
from prep.errors import PrepError

_EQUIVALENTS = {
    **dict.fromkeys(("HCl", "HNO3", "HBr", "HClO4", "CH3COOH", "KHC8H4O4", "NaOH", "KOH", "LiOH", "NH3"), 1),
    **dict.fromkeys(("C4H11NO3", "NaHCO3", "KHCO3", "C3H6O3", "HCOOH"), 1),
    **dict.fromkeys(("H2SO4", "H2C2O4", "Na2CO3", "K2CO3", "Ca(OH)2", "Ba(OH)2", "Na2B4O7"), 2),
    "C6H8O7": 3,
}
"""Equivalents of acid or base in a mole, neutralised completely: stoichiometry."""


def moles_to_one(sample: str, standard: str) -> tuple[Fraction, Line] | None:
    """Find the moles of the sample's formula to one of the standard's, and why; None where that is not known.

    An acid and a base neutralise each other completely; else a reaction on file counts, whichever is the titrant.
    """
    ours, theirs = _EQUIVALENTS.get(sample), _EQUIVALENTS.get(standard)
    if ours is not None and theirs is not None:
        made = Fraction(theirs, ours)
        text = (
            f"{sample} has {ours} and {standard} {theirs} equivalents in a mole, neutralised completely: "
            f"{made} mol of it to 1 mol"
        )
        return made, Line(text, "stoichiometry")
    for analyte, titrant, of_sample in ((sample, standard, True), (standard, sample, False)):
        try:
            found = volumetry.ratio_of(analyte, titrant)
        except PrepError:
            continue
        made = found.moles if of_sample else 1 / found.moles
        return made, Line(f"{found.equation}: {made} mol of {sample} to 1 mol of {standard}", found.source)
    return None
