"""Equivalents of acid and base: how many H+ a formula gives up or takes up when it is titrated to the end."""

from prep.chemistry.acid_base.species import Species, of_formula, system
from prep.chemistry.formula.formulas import anhydrous
from prep.errors import PrepError
from prep.records import record

_GIVEN_UP_BELOW_PKA = 8.5
"""An H+ of a higher pKa is not titrated in water: common practice, no source."""
_TAKEN_UP_ABOVE_PKA = 6.0
"""A base whose conjugate acid has a lower pKa has no end point in water: common practice, no source."""
_WEAK_BASE_PKA = 8.0
_STRONG_BELOW_PKA = 2.0
_GIVES_GAS_OR_IS_OXIDISED = ("cyanide", "hypochlorite", "nitrite", "sulfide", "sulfite")
"""Not titrated as a base: with acid it gives off a poisonous gas, or is found by a redox titration."""
_DISSOLVED_BY_ACID = {
    **dict.fromkeys(("CaCO3", "MgCO3", "BaCO3", "ZnCO3", "MgO", "CaO", "ZnO", "CuO", "Mg(OH)2", "Zn(OH)2"), 2),
    "Al(OH)3": 3,
}
"""H+ that one formula unit of what dissolves only in acid takes up: stoichiometry."""


@record(frozen=True, slots=True)
class Equivalents:
    """Moles of H+ that one mole gives up (`acid`) and takes up (`base`); `strong`: wholly ionised in water."""

    acid: int
    base: int
    strong: bool
    indicator: str


def equivalents_of(formula: str) -> Equivalents | None:
    """Find the equivalents of a formula, its hydrates included; None where no pKa of it is on file.

    Source: the charges of seed_data/tables/species.csv and the pKa of pka.csv.
    """
    try:
        if solid := _DISSOLVED_BY_ACID.get(anhydrous(formula)):
            return Equivalents(0, solid, False, "methyl orange")
        species = of_formula(formula)
    except PrepError:
        return None
    given = -species.charge - sum(unit.count * _charge(unit.key, _GIVEN_UP_BELOW_PKA) for unit in species.systems)
    taken = species.charge + sum(unit.count * _charge(unit.key, _TAKEN_UP_ABOVE_PKA) for unit in species.systems)
    if any(species.count_of(key) for key in _GIVES_GAS_OR_IS_OXIDISED):
        taken = 0
    strong = all(step.pka < _STRONG_BELOW_PKA for unit in species.systems for step in system(unit.key).steps)
    return Equivalents(max(given, 0), max(taken, 0), strong, _indicator(species, acid=given > 0))


def _charge(key: str, limit: float) -> int:
    """Find the charge of a system whose H+ of a pKa below the limit are gone."""
    found = system(key)
    return found.top_charge - sum(step.pka < limit for step in found.steps)


def _indicator(species: Species, *, acid: bool) -> str:
    """Choose the usual indicator: common practice, no source."""
    if acid:
        return "thymolphthalein" if species.count_of("phosphate") else "phenolphthalein"
    weak = [step.pka for unit in species.systems for step in system(unit.key).steps if step.pka > _TAKEN_UP_ABOVE_PKA]
    polyprotic = any(species.count_of(key) for key in ("carbonate", "phosphate", "calcium"))
    return "methyl red" if weak and not polyprotic and min(weak) >= _WEAK_BASE_PKA else "methyl orange"
