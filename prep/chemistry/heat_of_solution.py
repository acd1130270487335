"""The heat of dissolving and diluting, and by how much it warms what is made."""

from decimal import Decimal
from enum import IntEnum
from functools import cache

from prep.chemistry.model import Substance
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.chemistry.strength.strengths import moles_in
from prep.errors import PrepError
from prep.resources import seed_table

J_PER_ML_K = Decimal("4.18")
"""Heat capacity of water; from memory: CRC Handbook of Chemistry and Physics, properties of water."""


class Warmth(IntEnum):
    """How warm a make grows by itself; the limits are common practice, no source."""

    NONE = 0
    WARM = 1
    HOT = 10
    VERY_HOT = 30

    @classmethod
    def of(cls, degrees: Decimal) -> "Warmth":
        """Judge how warm a make grows from its rise or fall by so many degC."""
        return max(level for level in cls if abs(degrees) >= level)


def kj_per_mol(substance: Substance) -> Decimal | None:
    """Find the heat [kJ/mol] of dissolving a substance in much water; below zero where heat is given off.

    For a concentrate, the heat of diluting it. Source: seed_data/tables/heats_of_solution.csv. None where that has
    none.
    """
    return _on_file().get((substance.formula, substance.form.value))


def rise(substance: Substance, amount: int, volume_nl: int) -> Decimal | None:
    """Compute by how many degC `amount` [ug or nL] of a substance warms a volume [nL] made of it.

    None where its heat of solution is not known. dT = n dH / (V x 4.18 J/(mL K)), as for much water, no heat lost.
    """
    heat = kj_per_mol(substance)
    if heat is None or volume_nl <= 0:
        return None
    try:
        moles = moles_in(substance) * amount
    except PrepError:
        return None
    return -heat * (Decimal(moles.numerator) / moles.denominator) * 1000 / (volume_nl * J_PER_ML_K / BASE_PER_UNIT)


@cache
def _on_file() -> dict[tuple[str, str], Decimal]:
    return {
        (row["formula"], form): Decimal(row["kj_per_mol"])
        for row in seed_table("heats_of_solution")
        for form in row["form"].split(";")
    }
