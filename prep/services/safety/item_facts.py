"""The density of what a bottle holds, and its hazards and stream, for the count."""

from decimal import Decimal
from typing import TYPE_CHECKING

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Strength
from prep.chemistry.strength.bottled import as_bottled
from prep.errors import PrepError

if TYPE_CHECKING:
    from prep.safety.model import HazardClass


def density(item: str, catalogue: "Catalogue", found: Strength | None = None) -> Decimal | None:
    """Find a density [g/mL]: the one on file, or that of the solution's composition; None where neither is known.

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


_STRICTEST = (
    "specialist",
    "silver",
    "heavy metals",
    "halogenated",
    "oxidising",
    "flammable",
    "neutralise",
    "solid",
    "drain",
)  # strictest first; a mixture goes by its strictest; common practice, no source
NEVER_TO_DRAIN = ("specialist", "silver", "heavy metals", "halogenated")
"""Streams, strictest first, that what they are mixed with goes to as well."""
_IN_TRACES = frozenset({"silver", "heavy metals"})
_TRACE = 0.01  # g or mL in a mL: less is a dye or a preservative, and does not count
_BURNS = 0.1  # mL in a mL: less alcohol in water is no flammable waste; common practice, no source


def hazards(item: str, catalogue: "Catalogue", found_strength: Strength | None = None) -> tuple[str, ...] | None:
    """List hazard classes as text, as on the label; empty where none is classified, None where they are not known."""
    found = hazard_classes(item, catalogue, found_strength)
    return None if found is None else tuple(map(str, found))


def hazard_classes(
    item: str, catalogue: "Catalogue", found_strength: Strength | None = None
) -> "tuple[HazardClass, ...] | None":
    """List hazard classes; empty where none is classified, None where they are not known."""
    catalogue = as_bottled(catalogue, item, found_strength)
    if item not in catalogue.substances and item not in catalogue.solutions:
        return None
    from prep.services.safety.hazards import of_item

    found = of_item(item, catalogue)
    return found.classes if found.known else None


def stream(item: str, catalogue: "Catalogue", above: tuple[str, ...] = ()) -> str:
    """Find how an item is disposed of: the substance's stream, its solute's, or the strictest of its recipe's.

    Empty if that is not known of all that is in it.
    """
    if item in catalogue.substances:
        return catalogue.substances[item].disposal
    if item not in catalogue.solutions or item in above:
        return ""
    from prep.safety.solution_hazards import WATER, solute_of

    solution = catalogue.solutions[item]
    if not solution.recipe:
        try:
            return solute_of(solution, catalogue).disposal
        except PrepError:
            return ""
    inside = {line.item: line.amount >= _TRACE * solution.recipe_nl for line in solution.recipe}
    inside[solution.make_up_with] = True
    ways = {one: stream(one, catalogue, (*above, item)) for one in inside if one not in (WATER, "")}
    if not all(ways.values()):
        return ""
    found = {way for one, way in ways.items() if inside[one] or way in _IN_TRACES}
    if _flammable_share(item, catalogue) < _BURNS:
        found.discard("flammable")
    found = found or {"drain"}
    return next(way for way in _STRICTEST if way in found)


def _flammable_share(item: str, catalogue: "Catalogue") -> float:
    """Work out how much of an item, of 1, goes with flammable liquids; its recipes are followed."""
    solution = catalogue.solutions.get(item)
    if solution is None or not solution.recipe:
        return float(stream(item, catalogue) == "flammable")
    shares = [(line.item, line.amount / solution.recipe_nl) for line in solution.recipe]
    rest = (solution.make_up_with, max(0.0, 1 - sum(share for _, share in shares)))
    return sum(share * _flammable_share(one, catalogue) for one, share in (*shares, rest))
