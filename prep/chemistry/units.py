"""Units as typed, to gram, litre and mole: the plain ones from a table, the rest by pint from units.txt.

The table is what people write, in any capitals where nothing else can be meant ("500ML"), so that a calculation need
not wait for pint.
"""

import re
from decimal import Decimal
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from prep.records import record

if TYPE_CHECKING:
    from pint import UnitRegistry

_UNIT = re.compile(r"[A-Za-zµμ]+3?(?:\s*/\s*[A-Za-zµμ]+3?)?")
_PER = re.compile(r"([A-Za-zµμ]+)\s*[\s.·*]?\s*(?:([dc]?m)\s*\^?[-−⁻][3³]|(m?[Ll]|kg)\s*\^?[-−⁻][1¹])")
_PREFIXES = {
    "": "1",
    "k": "1000",
    "d": "0.1",
    "c": "0.01",
    "m": "0.001",
    "u": "0.000001",
    "µ": "0.000001",
    "μ": "0.000001",
}
_BASES = {"g": "[mass]", "L": "[volume]", "l": "[volume]", "mol": "[substance]", "eq": "[equivalent]"}
_WORDS = {
    "[mass]": {
        "0.001": "MG milligram milligrams mgs",
        "1": "G gm gms GM GMS Gm gram grams gramme grammes",
        "1000": "KG Kg kgs KGS kilo kilos kilogram kilograms",
    },
    "[volume]": {
        "0.000001": "UL microlitre microlitres microliter microliters",
        "0.001": "ML Ml mls MLS cm3 CM3 cc CC ccm millilitre millilitres milliliter milliliters",
        "1000": "m3 M3",
        "1": "dm3 DM3 ltr ltrs Ltr LTR litre litres liter liters Litre Litres Liter Liters",
    },
    "[substance]": {"1": "mole moles", "0.001": "millimole millimoles"},
    "[equivalent]": {"1": "equivalent equivalents"},
    "[drop]": {"1": "drop drops"},
}
"""Dimension -> factor -> the words for it."""


@record(frozen=True, slots=True)
class UnitMeaning:
    """What a unit measures, and its factor to gram, litre or mole."""

    dimension: str
    factor: Decimal


@lru_cache(maxsize=1024)
def unit_of(unit: str) -> UnitMeaning | None:
    """Read a unit expression; None if it is no unit of the prep room's."""
    unit = unit.strip().rstrip(".").replace("m³", "m3").replace("^3", "3")
    if per := _PER.fullmatch(unit):  # mol dm-3, g L-1
        unit = f"{per[1]}/{per[2]}3" if per[2] else f"{per[1]}/{per[3]}"
    if not _UNIT.fullmatch(unit):
        return None
    over, _, under = (part.strip() for part in unit.partition("/"))
    table = _plain()
    if over in table and (not under or under in table):
        above = table[over]
        if not under:
            return above
        below = table[under]
        same = above.dimension == below.dimension
        dimension = "dimensionless" if same else f"{above.dimension} / {below.dimension}"
        return UnitMeaning(dimension, above.factor / below.factor)
    return _by_pint(unit)


@cache
def _plain() -> dict[str, UnitMeaning]:
    table = {
        prefix + base: UnitMeaning(dimension, Decimal(factor))
        for prefix, factor in _PREFIXES.items()
        for base, dimension in _BASES.items()
    }
    table |= {
        f"{prefix}M": UnitMeaning("[substance] / [volume]", Decimal(factor)) for prefix, factor in _PREFIXES.items()
    }
    del table["kM"], table["dM"], table["cM"]
    for dimension, words in _WORDS.items():
        for factor, said in words.items():
            table |= dict.fromkeys(said.split(), UnitMeaning(dimension, Decimal(factor)))
    return table


def _by_pint(unit: str) -> UnitMeaning | None:
    from pint.errors import PintError

    registry = _registry()
    try:
        parsed = registry.parse_units(unit)
        factor = registry.Quantity(Decimal(1), parsed).to_root_units().magnitude
    except (PintError, ValueError, TypeError, ArithmeticError):
        return None
    return UnitMeaning(str(parsed.dimensionality), Decimal(factor))


@cache
def _registry() -> "UnitRegistry[Any]":
    from pint import UnitRegistry

    return UnitRegistry(Path(__file__).with_name("units.txt"), non_int_type=Decimal)
