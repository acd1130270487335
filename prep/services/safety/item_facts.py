"""The density of what a bottle holds, and its hazards and stream, for the count."""

from decimal import Decimal

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Strength
from prep.chemistry.strength.bottled import as_bottled
from prep.errors import PrepError


def density(item: str, catalogue: "Catalogue", found: Strength | None = None) -> Decimal | None:
    """Density [g/mL]: the one on file, or that of the solution's composition; None where neither is known.

    `found` is the strength of one bottle of it.
    """
    catalogue = as_bottled(catalogue, item, found)
    if item in catalogue.substances:
        return catalogue.substances[item].density_g_ml
    if item not in catalogue.solutions:
        return None
    from prep.safety.solution_hazards import composition_of

    try:
        return composition_of(catalogue.solutions[item], catalogue).density_g_ml
    except PrepError:
        return None


def hazards(item: str, catalogue: "Catalogue", found_strength: Strength | None = None) -> tuple[str, ...] | None:
    """Hazard classes as text, as on its label; empty for what is not classified, None where they are not known."""
    catalogue = as_bottled(catalogue, item, found_strength)
    if item not in catalogue.substances and item not in catalogue.solutions:
        return None
    from prep.services.safety.hazards import of_item

    found = of_item(item, catalogue)
    return tuple(str(one) for one in found.classes) if found.known else None


def stream(item: str, catalogue: "Catalogue") -> str:
    """How it is disposed of: the substance's stream, or that of the solution's solute; empty if not known."""
    if item in catalogue.substances:
        return catalogue.substances[item].disposal
    if item not in catalogue.solutions:
        return ""
    from prep.safety.solution_hazards import solute_of

    try:
        return solute_of(catalogue.solutions[item], catalogue).disposal
    except PrepError:
        named = [
            catalogue.substances[i.item] for i in catalogue.solutions[item].recipe if i.item in catalogue.substances
        ]
        known = {s.disposal for s in named if s.disposal}
        return known.pop() if len(known) == 1 else ""
