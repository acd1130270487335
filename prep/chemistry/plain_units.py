"""The units that nearly every amount is in, with their factors; the rest are read from units.txt by the registry.

Loading that takes longer than reading a school's whole catalogue does with these.
"""

from decimal import Decimal

_VOLUMES = {
    ("L", "l", "dm3", "litre", "litres"): "1",
    ("dL", "dl"): "0.1",
    ("cL", "cl"): "0.01",
    ("mL", "ml", "cm3"): "0.001",
    ("µL", "μL", "uL"): "0.000001",
}
_MASSES = {
    ("kg",): "1000",
    ("g", "gram", "grams"): "1",
    ("mg",): "0.001",
    ("µg", "μg", "ug"): "0.000001",
}
_DROPS = {("drop", "drops"): "1"}
_STRENGTHS = {("mol/L", "mol/l", "mol/dm3", "M"): "1", ("mmol/L", "mmol/l", "mmol/dm3", "mM"): "0.001"}
_MASSES_PER_VOLUME = {("g/L", "g/l", "g/dm3"): "1", ("mg/L", "mg/l"): "0.001", ("g/mL", "g/ml", "g/cm3"): "1000"}

PLAIN: dict[str, tuple[str, Decimal]] = {
    unit: (dimension, Decimal(factor))
    for dimension, of_it in (
        ("[volume]", _VOLUMES),
        ("[mass]", _MASSES),
        ("[drop]", _DROPS),
        ("[substance] / [volume]", _STRENGTHS),
        ("[mass] / [volume]", _MASSES_PER_VOLUME),
    )
    for units, factor in of_it.items()
    for unit in units
}
"""A unit as typed -> its dimension, and its factor to gram, litre and mole."""
