"""What a solution of the catalogue holds, worked out down to what is weighed, and what a demonstration takes of it."""

from collections import defaultdict
from functools import cache

from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import Measure, StrengthKind, Substance
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue

CLEARING = ("waste beaker", "stop bath")
"""Vessels of what stands ready to clear up."""


@cache
def on_file() -> OnFile:
    """The catalogue as it is shipped."""
    return read_catalogue(seed_data())


def key_of(substance: Substance) -> str:
    """What a substance is in solution: the same for each of its hydrates."""
    return substance.solute or substance.code


def pure_grams(substance: Substance, base: float) -> float:
    """Grams of the substance itself in an amount [ug or nL] of it as bought; 0 where that is not on file."""
    grams = base / 10**6
    if substance.measure is Measure.VOLUME:
        grams *= float(substance.density_g_ml or 0)
    return grams * float(substance.assay_pct or 100) / 100


def moles(substance: Substance, base: float) -> float:
    """Moles in an amount [ug or nL] as bought; 0 where the formula is not on file."""
    return pure_grams(substance, base) / float(molar_mass(substance.formula)) if substance.formula else 0.0


@cache
def strengths(code: str) -> dict[str, tuple[float, float]]:
    """By solute, mol/L and % w/v (% v/v as stated) of a solution; 0 where that is not on file."""
    made, known = on_file().solutions[code], on_file()
    found: dict[str, tuple[float, float]] = {}
    if made.solute:
        found[made.solute] = (0.0, 0.0)
    if made.solute and made.strength:
        formulas = [s.formula for s in known.substances.values() if s.solute == made.solute and s.formula]
        formula = made.strength_of or min(formulas, key=lambda f: float(molar_mass(f)), default="")
        mass = float(molar_mass(formula)) if formula else 0.0
        value, kind = float(made.strength.value), made.strength.kind
        if kind is StrengthKind.MOL_PER_L:
            found[made.solute] = (value, value * mass / 10)
        elif kind is StrengthKind.VOLUMES:  # 2 H2O2 give O2: 22.4 L/mol at 0 degC
            found[made.solute] = (value / 11.2, value / 11.2 * mass / 10)
        elif kind in (StrengthKind.PCT_W_V, StrengthKind.PCT_V_V, StrengthKind.G_PER_L):
            percent = value / 10 if kind is StrengthKind.G_PER_L else value
            found[made.solute] = (percent * 10 / mass if mass else 0.0, percent)
    for line in made.recipe:
        share = line.amount / made.recipe_nl
        if (substance := known.substances.get(line.item)) is not None:
            parts = {
                key_of(substance): (
                    1000 * moles(substance, share * 10**6),
                    100 * pure_grams(substance, share * 10**6),
                )
            }
        elif line.item in known.solutions:
            parts = {solute: (m * share, p * share) for solute, (m, p) in strengths(line.item).items()}
        else:
            parts = {}
        for solute, (mol, percent) in parts.items():
            if made.solute != solute:
                before = found.get(solute, (0.0, 0.0))
                found[solute] = (before[0] + mol, before[1] + percent)
    return found


@cache
def taken(demo: str, only: str = "") -> dict[str, float]:
    """Millimoles of each solute that one showing takes, of all that stands there or of one item `only`.

    What stands ready to clear up is not part of what is shown.
    """
    out: dict[str, float] = defaultdict(float)
    for need in on_file().demos[demo].needs:
        if need.item != only if only else need.vessel in CLEARING:
            continue
        if (substance := on_file().substances.get(need.item)) is not None:
            out[key_of(substance)] += 1000 * moles(substance, need.per_showing)
        elif need.item in on_file().solutions:
            for solute, (mol, _) in strengths(need.item).items():
                out[solute] += mol * need.per_showing / 10**6
    return dict(out)
