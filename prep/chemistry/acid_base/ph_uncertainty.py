"""How far a computed pH may be off (k = 2): the model and its constants, the ionic strength, what was weighed.

U of the model = 0.03 + 0.20 I up to I = 0.5 mol/kg: it holds certified standards and the modern buffer tables
(tests/chemistry/acid_base/test_ph_uncertainty.py, which tunes nothing else). Wider, and why, for much boron, above
I = 0.5, where only tables of an old scale speak, and where no table speaks at all: for constants of two figures, and
away from 25 degC where no enthalpy is known.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import sqrt

from prep.chemistry.acid_base.activity import LIMIT_I, beyond
from prep.chemistry.acid_base.charge_balance import Mixture, mixture_of, ph_beside
from prep.chemistry.acid_base.species import LARGEST_MOL_PER_KG, Component, system
from prep.chemistry.model import Line
from prep.records import record

WEIGHED = 0.01
"""How exact (k = 2, of the amount) a component is weighed or measured: common practice, no source."""

_MOVED = 0.15
"""From so much of the band that comes from the amounts, they are named as its reason."""

_BORON_MOL = 0.1
_CROWDED_MOL = 2.0
_OLD_SCALE = 0.05
"""What putting a table of before 1940 on today's scale may leave: Bates, Determination of pH (1973), from memory."""
_REACH = {"carbonate": 0.1, "citrate": 0.06}
"""Up to which ionic strength [mol/kg] a certified standard or a modern table speaks of a system; above, old ones."""
_POLYPROTIC = ("citrate", "phosphate", "borate", "tartrate")


@record(frozen=True, slots=True)
class PhBand:
    """The uncertainty U (k = 2) of a pH, its parts, and why it is wider than usual (empty where it is not)."""

    u: float
    model: float
    weighing: float
    wider: tuple[str, ...]

    @property
    def line(self) -> Line:
        """The line of working."""
        why = f"; wider: {', '.join(self.wider)}" if self.wider else ""
        text = (
            f"U (k = 2) = sqrt({self.model:.3f}^2 of the model + {self.weighing:.3f}^2 of the amounts) = {self.u:.2f}"
        )
        return Line(text + why, "model: residuals of published standards and buffer tables")


def band(
    mixture: Mixture,
    ph: float,
    strength: float,
    temperature_c: float,
    *,
    activities: bool = True,
    components: Sequence[Component] = (),
) -> PhBand:
    """Judge how far a computed pH may be off; with its components, the error of weighing them is in it."""
    model = 0.03 + 0.20 * min(strength, LIMIT_I)
    wider = []
    if not activities:
        model += 0.1 + 0.5 * min(strength, LIMIT_I)
        wider.append("no activity coefficients")
    elif beyond(strength):
        model += 0.5 * (strength - LIMIT_I)
        wider.append(f"ionic strength above {LIMIT_I:g} mol/kg")
    systems = mixture.systems
    there = [key for key, amount in mixture.systems.items() if amount]
    if sum(systems.values()) > _CROWDED_MOL:
        model += 0.1 * (sum(systems.values()) - _CROWDED_MOL)
        wider.append(f"more than {_CROWDED_MOL:g} mol/L of acids and bases")
    if systems.get("borate", 0.0) > _BORON_MOL:
        model += 0.05
        wider.append("boron above 0.1 mol/L")
    apart = max((key for key in there if _within(key)), key=_within, default="")
    if apart:
        model += _within(apart)
        wider.append(f"published constants of {system(apart).name} differ")
    vague = [key for key in there if _is_vague(key)]
    if vague:
        model += 0.05
        wider.append(f"the constant of {system(vague[0]).name} is known to two figures")
    if temperature_c != 25 and any(s.dh_kj_mol is None for key in systems for s in system(key).steps):
        model += 0.01 * abs(temperature_c - 25)
        wider.append("no enthalpy is known")
    if old := _of_an_old_scale(systems, strength):
        model += _OLD_SCALE
        wider.append(f"only tables of an old scale speak of {old}")
    weighing = _weighing(components, ph, strength, temperature_c, activities)
    if weighing > max(_MOVED, model):
        wider.append(f"{WEIGHED:.0%} more or less of one component moves the pH so far")
    return PhBand(sqrt(model * model + weighing * weighing), model, weighing, tuple(wider))


def _of_an_old_scale(systems: Mapping[str, float], strength: float) -> str:
    """Name what in a mixture only old pH scales speak of; empty where there is none.

    Neither a certified standard nor a modern table covers it.
    """
    there = [key for key, amount in systems.items() if amount]
    if sum(key in _POLYPROTIC for key in there) > 1:
        return "several acids of more than one step together"
    far = [key for key in there if strength > _REACH.get(key, strength) + 0.0005]
    return f"{far[0]} above ionic strength {_REACH[far[0]]:g}" if far else ""


def _within(key: str) -> float:
    return max(step.within for step in system(key).steps)


def _is_vague(key: str) -> bool:
    return any(abs(10 * step.pka - round(10 * step.pka)) < 1e-9 for step in system(key).steps)


def _weighing(
    components: Sequence[Component], ph: float, strength: float, temperature_c: float, activities: bool
) -> float:
    """Compute what an error of `WEIGHED` in the amount of each component does to the pH, one by one."""
    off = 0.0
    for i, part in enumerate(components):
        if part.mol_per_kg:
            more = replace(part, mol_per_kg=min(part.mol_per_kg * (1 + WEIGHED), LARGEST_MOL_PER_KG))
            changed = mixture_of([*components[:i], more, *components[i + 1 :]])
            off += (ph_beside(changed, ph, strength, temperature_c, activities=activities) - ph) ** 2
    return sqrt(off)
