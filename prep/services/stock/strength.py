"""The strength on a bottle's own label: read, and held against what can be made of it."""

from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue, Item
from prep.chemistry.model import Strength, StrengthKind
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.strength.bottled import over_nominal
from prep.errors import PrepError
from prep.wording import Flag

_FARTHEST = 20
"""How many times weaker, or stronger, than what is on file a bottle may be before it is another thing: common
practice, no source."""


def on_label(item: Item, text: str, catalogue: Catalogue, label: str = Flag("--strength")) -> Strength:
    """Read the strength of one bottle of an item, as typed.

    Raises PrepError for one that the item cannot have, or that cannot be told from what is on file.
    """
    strength = quantities.strength(text)
    if strength.kind is StrengthKind.SATURATED:
        raise PrepError(label, ": a found strength is a figure.")
    if item.substance is not None:
        ratio = over_nominal(item.substance, strength).ratio
    elif item.solution is not None:
        if item.solution.recipe or item.solution.strength is None:
            raise PrepError(label, f": {item.name} has no one strength that could be given.")
        ratio = Making(catalogue).found_over_nominal(item.solution, strength).ratio
    else:
        raise PrepError(label, f": {item.name} is not on file.")
    if not 1 / _FARTHEST <= ratio <= _FARTHEST:
        raise PrepError(label, f" {strength} is far from {item.name} on file; that is another thing.")
    return strength
