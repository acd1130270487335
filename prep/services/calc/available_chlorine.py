"""Strengths of bleach as available chlorine: the chlorine gas, Cl2, that its hypochlorite gives with acid."""

import re
from dataclasses import replace
from decimal import Decimal

from prep.chemistry.formula.formulas import composition, molar_mass
from prep.chemistry.model import StrengthKind
from prep.chemistry.quantities import strength, tidy
from prep.chemistry.typed_strength import NamedStrength
from prep.services.calc.named_substance import find_substance

_SAID = re.compile(
    r"(.+?)\s*(?:as\s+|of\s+)?\(?\b(?:available|avail\.?|av\.?)\s+(?:chlorine|cl2?)\b\)?\s*(.*)", re.IGNORECASE
)
_BLEACH = "sodium hypochlorite"
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
