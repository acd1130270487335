"""The pH of a mixture in water, computed where all that is in it is an acid, base, salt or neutral on file."""

from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache

from prep.chemistry.acid_base.activity import DAVIES, LIMIT_I, beyond
from prep.chemistry.acid_base.equilibrium import mixture_of, solve
from prep.chemistry.acid_base.species import Component as Dissolved
from prep.chemistry.acid_base.species import of_formula, system
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.quantities import figures
from prep.errors import PrepError
from prep.records import record
from prep.safety.hazard_tables import is_from_memory
from prep.safety.model import MixtureComponent

_LEAST_WATER = Decimal(50)
"""% w/w; below it the arithmetic of water solutions says nothing: common practice, no source."""


@record(frozen=True, slots=True)
class Acidity:
    """A computed pH, None where it is not known; how, or why not; and where the constants are from."""

    ph: Decimal | None
    how: str
    source: str = ""
    checked: bool = True


def acidity(components: Sequence[MixtureComponent]) -> Acidity:
    """Compute the pH of `components` [% w/w] with water for the rest, to 0.01.

    Not known is an answer, not an error.
    """
    return _acidity(tuple((one.name, one.formula, one.pct) for one in components))


@lru_cache(maxsize=1024)
def _acidity(inside: tuple[tuple[str, str, Decimal], ...]) -> Acidity:
    """Compute the pH of (name, formula, % w/w) and keep it.

    A stock is asked of for itself and for every make that takes from it.
    """
    water = 100 - sum((pct for _, _, pct in inside), Decimal(0))
    if water < _LEAST_WATER:
        return Acidity(None, "it is not mostly water")
    dissolved: list[Dissolved] = []
    amounts: list[str] = []
    for name, formula, pct in inside:
        try:
            mol_per_kg = 1000 * pct / molar_mass(formula) / water
            dissolved.append(Dissolved(of_formula(formula, called=name), float(mol_per_kg)))
            amounts.append(f"{figures(mol_per_kg, 3)} mol/kg of {formula}")
        except PrepError:
            return Acidity(None, f"{name} is none of the acids, bases and salts whose pH can be computed")
    mixture = mixture_of(dissolved)
    found = solve(mixture)
    strength = found.ionic_strength
    constants = dict.fromkeys(step.source for key in mixture.systems for step in system(key).steps)
    rough = "" if not beyond(strength) else f", a rough figure above {LIMIT_I:g}"
    return Acidity(
        round(Decimal(found.ph), 2),
        f"{', '.join(amounts)}; charge balance at 25 degC, ionic strength {strength:.2g} mol/kg{rough}",
        "; ".join((*constants, DAVIES)),
        not any(is_from_memory(source) for source in constants),
    )
