"""The density of what a bottle holds, and its hazards and stream, for the count."""

from decimal import Decimal
from typing import TYPE_CHECKING

from prep.chemistry.model import Solution, Substance
from prep.errors import PrepError

if TYPE_CHECKING:
    from collections.abc import Mapping


def density(item: str, substances: "Mapping[str, Substance]", solutions: "Mapping[str, Solution]") -> Decimal | None:
    """Density [g/mL]: the one on file, or that of the solution's composition; None where neither is known."""
    if item in substances:
        return substances[item].density_g_ml
    if item not in solutions:
        return None
    from prep.safety.solution_hazards import composition_of

    try:
        return composition_of(solutions[item], substances, solutions).density_g_ml
    except PrepError:
        return None


def hazards(
    item: str, substances: "Mapping[str, Substance]", solutions: "Mapping[str, Solution]"
) -> tuple[str, ...] | None:
    """Hazard classes as text, as on its label; empty for what is not classified, None where they are not known."""
    if item not in substances and item not in solutions:
        return None
    from prep.services.safety.hazards import of_item

    found = of_item(item, substances, solutions)
    return tuple(str(one) for one in found.classes) if found.known else None


def stream(item: str, substances: "Mapping[str, Substance]", solutions: "Mapping[str, Solution]") -> str:
    """How it is disposed of: the substance's stream, or that of the solution's solute; empty if not known."""
    if item in substances:
        return substances[item].disposal
    if item not in solutions:
        return ""
    from prep.safety.solution_hazards import solute_of

    try:
        return solute_of(solutions[item], substances, solutions).disposal
    except PrepError:
        named = [substances[i.item] for i in solutions[item].recipe if i.item in substances]
        known = {s.disposal for s in named if s.disposal}
        return known.pop() if len(known) == 1 else ""
