"""Whether a substance can be weighed into water, and what is done instead: seed_data/tables/into_water.csv.

What the hazard data say (H260, H261, EUH014), that it is a gas, or a metal, is enough without a row.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from prep.chemistry.formula.formulas import composition, same_solute, split_hydrate
from prep.chemistry.model import Form, Substance
from prep.errors import PrepError
from prep.resources import seed_table

_REACTS = ("H260", "H261", "EUH014")
_NON_METALS = frozenset("H He B C N O F Ne Si P S Cl Ar As Se Br Kr Te I Xe".split())


class WaterVerdict(StrEnum):
    """Why something is not simply dissolved in water."""

    REACTS = "reacts"
    INSOLUBLE = "insoluble"
    OTHER_SOLVENT = "other solvent"
    GAS = "gas"


@dataclass(frozen=True, slots=True)
class Obstacle:
    """What forbids water, why, and what is done instead (empty where nothing is)."""

    verdict: WaterVerdict
    reason: str
    instead: str
    source: str

    def sentence(self, name: str) -> str:
        """The refusal, for a person."""
        return f"{name} is not weighed into water: {self.reason}" + (f"; {self.instead}" if self.instead else "") + "."


def obstacle(formula: str, substance: Substance | None = None, on_file: Iterable[Substance] = ()) -> Obstacle | None:
    """What forbids to dissolve it in water; None where nothing is known to.

    `on_file`: the substances among which a hydrate may be, which is taken in place of a salt that reacts.
    """
    if substance is not None and substance.form is Form.GAS:
        return Obstacle(WaterVerdict.GAS, "it is a gas, which is led into water, not weighed", "", "")
    reacts = substance is not None and [
        code for code in _REACTS if code in substance.classification or code in substance.supplemental
    ]
    if reacts and substance is not None:
        others = [s for s in on_file if _is_hydrate(s.formula) and same_solute(s.formula, formula)]
        instead = f"take {others[0].name} ({others[0].code})" if others else ""
        source = substance.sources.get("hazard", "")
        return Obstacle(WaterVerdict.REACTS, f"it reacts dangerously with water ({', '.join(reacts)})", instead, source)
    keys = {formula, *((substance.code,) if substance else ())} - {""}
    rows = seed_table("into_water")
    for row in rows:
        if row["what"] in keys or (row["what"] == "metal" and _is_metal(formula)):
            return Obstacle(WaterVerdict(row["verdict"]), row["reason"], row["instead"], row["source"])
    return None


def _is_hydrate(formula: str) -> bool:
    try:
        return bool(formula) and split_hydrate(formula)[1] > 0
    except PrepError:
        return False


def _is_metal(formula: str) -> bool:
    try:
        atoms = composition(formula) if formula else {}
    except PrepError:
        return False
    return len(atoms) == 1 and not _NON_METALS.intersection(atoms)
