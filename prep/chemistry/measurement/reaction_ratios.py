"""How many moles of what is analysed meet a mole of the titrant: by equivalents, by ions, or by a reaction on file."""

import re
from fractions import Fraction

from prep.chemistry.formula.formulas import Composition, anhydrous, composition, same_solute
from prep.chemistry.measurement.equivalents import equivalents_of
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table
from prep.wording import Flag

EDTA = "C10H14N2Na2O8"
VOGEL = "from memory: Vogel's Textbook of Quantitative Chemical Analysis, 5th ed."
_STOICHIOMETRY = "stoichiometry of the equation"
_HALIDE = re.compile(
    r"(?:H|NH4|Li|Na|K|Mg|Ca|Sr|Ba|Al|Cr|Mn|Fe|Co|Ni|Cu|Zn|Sn)?(?P<ion>Cl|Br|I)(?P<count>[0-9]?)"  # soluble ones
)


@record(frozen=True, slots=True)
class Ratio:
    """How many moles of what is analysed meet how many of the titrant, by which equation."""

    analyte: int
    titrant: int
    equation: str
    indicator: str
    source: str

    @property
    def moles(self) -> Fraction:
        """Moles analysed for each mole of titrant."""
        return Fraction(self.analyte, self.titrant)


def ratio_of(analyte: str, titrant: str, *, back: bool = False) -> Ratio:
    """Find the mole ratio of two formulas, whatever their hydrates and whichever of them stands in the burette.

    `back`: with an excess, boiled, where that differs. Raises PrepError where it is not known.
    """
    if found := _on_file(analyte, titrant, back=back) or _neutralising(analyte, titrant) or _of_ions(analyte, titrant):
        return found
    if (found := _on_file(titrant, analyte, back=False)) or (found := _of_ions(titrant, analyte)):
        return Ratio(found.titrant, found.analyte, found.equation, found.indicator, found.source)
    raise PrepError(
        f"How {_called(analyte)} reacts with {_called(titrant)} is not on file; give it with ",
        Flag("--ratio"),
        ", such as 1:2.",
    )


def _on_file(analyte: str, titrant: str, *, back: bool) -> Ratio | None:
    fitting = [
        row
        for row in seed_table("titration_ratios")
        if _alike(row["analyte"], analyte) and _alike(row["titrant"], titrant) and (back or row["way"] != "back")
    ]
    for row in sorted(fitting, key=lambda row: (row["way"] == "back") is not back):
        return Ratio(
            int(row["analyte_moles"]), int(row["titrant_moles"]), row["equation"], row["indicator"], row["source"]
        )
    return None


def _neutralising(analyte: str, titrant: str) -> Ratio | None:
    """Balance an acid and a base by their equivalents; None where neither is strong, which gives no end point."""
    ours, theirs = equivalents_of(analyte), equivalents_of(titrant)
    if ours is None or theirs is None or not (ours.strong or theirs.strong):
        return None
    for given, taken in ((ours.acid, theirs.base), (ours.base, theirs.acid)):
        if given and taken:
            share = Fraction(taken, given)
            moles, of_titrant = share.numerator, share.denominator
            weak = theirs if ours.strong else ours
            text = f"{moles} {_dry(analyte)} : {of_titrant} {_dry(titrant)}"
            return Ratio(moles, of_titrant, text, weak.indicator, _STOICHIOMETRY)
    return None


def _of_ions(analyte: str, titrant: str) -> Ratio | None:
    """Count the ions that a precipitation or a complex takes: halide with silver, a metal with EDTA."""
    if _alike(titrant, "AgNO3") and (halide := _HALIDE.fullmatch(_dry(analyte))):
        ion = halide["ion"]
        shown = "fluorescein" if ion == "I" else "potassium chromate (chloride, bromide)"  # chromate fails for iodide
        return Ratio(1, int(halide["count"] or 1), f"Ag+ + {ion}- = Ag{ion}", shown, VOGEL)
    if _alike(titrant, EDTA):
        for row in seed_table("metals_with_edta"):
            atoms = int(_composition(analyte).get(row["metal"], 0))
            if atoms and not re.search(row["metal"] + "O[24]", analyte):  # no permanganate, no aluminate
                text = f"{row['ion']} + H2EDTA(2-) = {row['complex']} + 2 H+"
                return Ratio(1, atoms, text, row["indicator"], row["source"])
    return None


def _called(formula: str) -> str:
    return "EDTA" if _alike(formula, EDTA) else formula


def _alike(one: str, other: str) -> bool:
    return one == other or same_solute(one, other)


def _dry(formula: str) -> str:
    try:
        return anhydrous(formula)
    except PrepError:
        return formula


def _composition(formula: str) -> Composition:
    try:
        return composition(formula)
    except PrepError:
        return {}
