"""Whether what is titrated with is a standard: what is made of no primary standard is only about as its label says."""

from collections.abc import Iterable

from prep.chemistry.formula.formulas import split_hydrate
from prep.chemistry.model import Form, Solution, Substance


def doubt_of_bottle(code: str, solution: Solution, substances: Iterable[Substance]) -> str:
    """Warn that a bottle was itself never standardised, where it is made of no primary standard; else empty."""
    unfit = _first(s for s in substances if s.solute == solution.solute and s.unfit)
    if unfit is None:
        return ""
    first = f"find it against {unfit.found_against}" if unfit.found_against else "have it found"
    return f"Bottle {code} was never standardised: its {solution.strength} is only about that; {first}, then repeat."


def doubt_of_name(said: str, formula: str, substances: Iterable[Substance]) -> str:
    """Warn as `doubt_of_bottle`, of a standard known by name and strength alone, which may have been standardised.

    Where a solid of it is fit, such as anhydrous sodium carbonate, it is taken to be made of that.
    """
    alike = [s for s in substances if s.formula and split_hydrate(s.formula).dry == split_hydrate(formula).dry]
    unfit = _first(s for s in alike if s.unfit)
    if unfit is None or any(s.form is Form.SOLID and not s.unfit for s in alike):
        return ""
    name = unfit.name.partition(",")[0]
    against = f" against {unfit.found_against}" if unfit.found_against else ""
    return f"{name} {unfit.unfit}: {said} is only about that, unless it was found{against}."


def _first(unfit: Iterable[Substance]) -> Substance | None:
    return min(unfit, key=lambda one: one.code, default=None)
