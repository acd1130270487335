"""Whether what is titrated with is a standard: what is made of no primary standard is only about as its label says."""

from collections.abc import Iterable
from decimal import Decimal
from typing import TYPE_CHECKING

from prep.books import BottleStatus
from prep.chemistry.formula.formulas import split_hydrate
from prep.chemistry.model import Form, Solution, Substance, head_of
from prep.errors import PrepError

if TYPE_CHECKING:
    from prep.planning.model import Bottle, Snapshot

ELSEWHERE = "from elsewhere"
"""Written after a standard's name and strength: it stands on no bottle of ours."""
_ALIKE = Decimal("0.0005")
"""Two strengths that differ by less are written alike: common practice, no source."""


def bottle_meant(said: str, formula: str, mol_per_l: Decimal, snapshot: "Snapshot") -> "Bottle | None":
    """Find the bottle that a standard's name and strength mean: the only one of it that is in service and in date.

    Its strength is that of its entry, or its own. Raises PrepError where several are meant: who titrated knows which.
    """
    from prep.chemistry.preparation.route_finding import Making  # what a name alone is doubted for needs none

    making = Making(snapshot.catalogue)
    alike = []
    for bottle in snapshot.bottles:
        solution = snapshot.solutions.get(bottle.item)
        if solution is None or bottle.status != BottleStatus.IN_SERVICE or not bottle.amount:
            continue
        if solution.strength is None or (bottle.use_by is not None and bottle.use_by < snapshot.today):
            continue
        held = making.formula_of(solution)
        if not held or split_hydrate(held).dry != formula:
            continue
        has = (making.mol_per_l(solution), making.mol_per_l(solution, bottle.strength))
        if any(one is not None and abs(one - mol_per_l) <= _ALIKE * mol_per_l for one in has):
            alike.append(bottle)
    if len(alike) > 1:
        codes = ", ".join(sorted(one.code for one in alike)[:12])
        raise PrepError(
            f'"{said[:60]}" is in {len(alike)} bottles ({codes}): name the one that was used, "of bottle '
            f'{min(one.code for one in alike)}"; or write "{said[:60]} {ELSEWHERE}", where it was none of them.'
        )
    return alike[0] if alike else None


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
    against = f" against {unfit.found_against}" if unfit.found_against else ""
    return f"{head_of(unfit.name)} {unfit.unfit}: {said} is only about that, unless it was found{against}."


def _first(unfit: Iterable[Substance]) -> Substance | None:
    return min(unfit, key=lambda one: one.code, default=None)
