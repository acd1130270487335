"""Whether a substance can be weighed into water, and what is done instead: seed_data/tables/into_water.csv.

What the hazard data say (H260, H261, EUH014), that it is a gas, or a metal, is enough without a row.
"""

from collections.abc import Iterable
from enum import StrEnum
from functools import cache

from prep.chemistry.formula.formulas import composition, same_solute, split_hydrate
from prep.chemistry.model import Form, Substance
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table

_REACTS = ("H260", "H261", "EUH014")
_NON_METALS = frozenset("H He B C N O F Ne Si P S Cl Ar As Se Br Kr Te I Xe".split())


class WaterVerdict(StrEnum):
    """Why something is not simply dissolved in water."""

    REACTS = "reacts"
    INSOLUBLE = "insoluble"
    OTHER_SOLVENT = "other solvent"
    OWN_WAY = "own way"
    GAS = "gas"


@record(frozen=True, slots=True)
class Obstacle:
    """What forbids water, why, and what is done instead (empty where nothing is)."""

    verdict: WaterVerdict
    reason: str
    instead: str
    source: str

    def sentence(self, name: str) -> str:
        """Write the refusal, for a person."""
        return f"{name} is not weighed into water: {self.reason}" + (f"; {self.instead}" if self.instead else "") + "."


def obstacle(formula: str, substance: Substance | None = None, on_file: Iterable[Substance] = ()) -> Obstacle | None:
    """Find what forbids dissolving it in water; None where nothing is known to.

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
    listed = _listed()
    for key in (substance.code if substance else "", formula, "metal"):
        found = listed.get(key)
        if found is None or (key == "metal" and not _is_metal(formula)):
            continue
        if found.verdict is WaterVerdict.GAS and substance is not None:
            continue  # its solution has the same formula
        return found
    return None if substance is not None and substance.solubility_g_per_100g is not None else _by_its_ions(formula)


def own_way(formula: str, code: str = "") -> Obstacle | None:
    """Find why it is not just stirred into cold water, and how it goes in; None where that will do.

    A salt that water turns cloudy goes into acid, in any hydrate; a starch is boiled.
    """
    for what, way in _ways().items():
        if what == code or (formula and not what[0].islower() and same_solute(what, formula)):
            return way
    return None


@cache
def _listed() -> dict[str, Obstacle]:
    """Read what the table forbids, by formula, by code, or `metal`."""
    rows = (row for row in seed_table("into_water") if row["verdict"] != WaterVerdict.OWN_WAY)
    return {row["what"]: _read(row) for row in rows}


@cache
def _ways() -> dict[str, Obstacle]:
    """Read what the table says goes in by a way of its own."""
    return {row["what"]: _read(row) for row in seed_table("into_water") if row["verdict"] == WaterVerdict.OWN_WAY}


def _read(row: dict[str, str]) -> Obstacle:
    return Obstacle(WaterVerdict(row["verdict"]), row["reason"], row["instead"], row["source"])


_ALKALI = frozenset("Li Na K Rb Cs".split())
_EARTH = frozenset("Ca Sr Ba".split())
_ACIDIC_OXIDES = frozenset("CrO3 Mn2O7 OsO4 RuO4 Re2O7".split())
RULES = "from memory: Vogel's Textbook of Macro and Semimicro Qualitative Inorganic Analysis, solubilities of salts"


def _by_its_ions(formula: str) -> Obstacle | None:
    """Judge by the usual rules whether water takes a metal's compound; None where nothing forbids it.

    The rules of which metals' oxides, hydroxides, carbonates, sulfides and phosphates water dissolves. Hydrides,
    nitrides, amides and borohydrides give gas with it, as do the oxides of the alkali metals, with heat.
    """
    try:
        atoms = composition(formula) if formula else {}
    except PrepError:
        return None
    metals = set(atoms) - _NON_METALS
    rest = {symbol: count for symbol, count in atoms.items() if symbol not in metals}
    if not metals or not rest or formula in _ACIDIC_OXIDES:
        return None
    strong = bool(metals & _ALKALI)
    if set(rest) in ({"H"}, {"N"}, {"H", "B"}, {"C"}, {"P"}) or (set(rest) == {"H", "N"} and strong):
        if not metals & (_ALKALI | _EARTH | {"Mg", "Al", "Zn"}):
            return None
        return Obstacle(
            WaterVerdict.REACTS, "it reacts with water and gives off a gas that burns or is toxic", "", RULES
        )
    if set(rest) == {"O"} and metals <= _ALKALI | _EARTH:
        return Obstacle(WaterVerdict.REACTS, "it reacts with water, with much heat", "take the hydroxide", RULES)
    if strong:
        return None
    insoluble = (
        set(rest) == {"O"}
        or (set(rest) == {"O", "H"} and rest["O"] == rest["H"] and not metals & _EARTH)
        or (set(rest) == {"C", "O"} and rest["O"] == 3 * rest["C"])
        or (set(rest) == {"S"} and not metals & _EARTH)
        or (set(rest) == {"P", "O"} and rest["O"] == 4 * rest["P"])
    )
    return Obstacle(WaterVerdict.INSOLUBLE, "it does not dissolve in water", "", RULES) if insoluble else None


def _is_hydrate(formula: str) -> bool:
    try:
        return bool(formula) and split_hydrate(formula).waters > 0
    except PrepError:
        return False


def _is_metal(formula: str) -> bool:
    try:
        atoms = composition(formula) if formula else {}
    except PrepError:
        return False
    return len(atoms) == 1 and not _NON_METALS.intersection(atoms)
