"""Strengths of bleach as available chlorine: the chlorine gas, Cl2, that its hypochlorite gives with acid."""

import re
from dataclasses import replace
from decimal import Decimal

from prep.chemistry.formula.formulas import composition, molar_mass
from prep.chemistry.model import Strength, StrengthKind
from prep.chemistry.quantities import figures, strength, tidy
from prep.chemistry.typed_strength import NamedStrength
from prep.services.calc.named_substance import find_substance

_SAID = re.compile(
    r"(.+?)\s*(?:as\s+|of\s+)?\(?\b(?:available|avail\.?|av\.?)\s+(?:chlorine|cl2?)\b\)?\s*(.*)", re.IGNORECASE
)
_BLEACH = "sodium hypochlorite"
_HYPOCHLORITES = ("NaOCl", "Ca(OCl)2")
_BY_MASS = (StrengthKind.PCT_W_W, StrengthKind.PCT_W_V, StrengthKind.G_PER_L, StrengthKind.PPM)


def as_hypochlorite(text: str, of: str | None = None) -> NamedStrength | None:
    """Read `5 % w/v available chlorine` as so much of the hypochlorite; None for any other text.

    One Cl2 (70.906 g/mol) for each OCl-. Raises PrepError for a strength that is none.
    """
    found = _SAID.fullmatch(text.strip())
    if found is None:
        return None
    said = strength(found[1])
    name = found[2].strip() or of or _BLEACH
    formula = find_substance(name).formula
    if said.kind not in _BY_MASS or "Cl" not in (formula and composition(formula)):
        return NamedStrength(name, said)
    each = composition(formula)["Cl"]
    chlorine = each * molar_mass("Cl2")
    return NamedStrength(name, replace(said, value=tidy(said.value * molar_mass(formula) / Decimal(chlorine))))


def chlorine_note(strength: Strength, formula: str) -> tuple[str, ...]:
    """Say what a strength of a hypochlorite by mass is as available chlorine, as its bottles are labelled."""
    if strength.kind not in _BY_MASS or formula not in _HYPOCHLORITES:
        return ()
    share = composition(formula)["Cl"] * molar_mass("Cl2") / molar_mass(formula)
    unit = strength.kind.value
    return (
        f"{figures(strength.value)} {unit} counts the hypochlorite; as available chlorine it is "
        f"{figures(strength.value * share, 4)} {unit}.",
    )
