"""A solution of any strength that a teacher asks for: its own entry, after the nearest one on file."""

import re
from collections.abc import Collection
from dataclasses import dataclass, replace
from decimal import Decimal
from math import log
from typing import TYPE_CHECKING

from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue, Item
from prep.chemistry.model import MethodStep, Solution, StepKind, Strength, StrengthKind
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.strength.into_water import obstacle
from prep.errors import PrepError, SeveralFit
from prep.services.catalogue.names import candidates, find_alike, find_item
from prep.store import queries, seeding

if TYPE_CHECKING:
    from sqlalchemy import Connection

_KEEPS_DAYS = 30
"""How long a solution is kept that nothing on file says anything of: common practice, no source."""
_TOLERANCE_PCT = Decimal(5)
_NOTHING = re.compile(r"(?<![\d.])0+(?:\.0+)?\s*(?:mol/L|M|g/L|vol|%)(?:\s*[wv]/[wv])?", re.IGNORECASE)
_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class NamedSolution:
    """A solution that was named, and the catalogue that has it."""

    item: Item
    catalogue: Catalogue


def solution_named(name: str, catalogue: Catalogue, held: Collection[str] = ()) -> NamedSolution:
    """Find the solution of a name: where none is on file, one of the strength it names.

    Of several that one of the codes `held` is taken. Raises PrepError as `find_item`, and for a strength that the
    solute cannot have.
    """
    try:
        return NamedSolution(find_item(name, catalogue, only="solution", held=held), catalogue)
    except PrepError:
        solution = _solution(name, catalogue)
        if solution is None:
            _ask_which(name, catalogue)
            _refuse_bare_per_cent(name, catalogue)
            if nothing := _NOTHING.search(name):
                raise PrepError(f"{nothing[0]} is no strength to make; it is more than nothing.") from None
            raise
    with_it = replace(catalogue, solutions={**catalogue.solutions, solution.code: solution})
    making = Making(with_it)
    if not making.routes(solution.code):
        bought = [catalogue.substances[code] for code in solution.made_from]
        for one in bought:
            if way := obstacle(one.formula, one, catalogue.substances.values()):
                raise PrepError(way.sentence(one.name))
        raise PrepError(next(iter(making.problems[solution.code]), f"Nothing on file makes {solution.name}."))
    return NamedSolution(with_it.item(solution.code), with_it)


def put_on_file(connection: "Connection", solution: Solution) -> None:
    """Give a solution an entry of its own where it has none."""
    if not queries.has_solution(connection, solution.code):
        seeding.put_solutions(connection, [solution])


def _solution(name: str, catalogue: Catalogue) -> Solution | None:
    """Make the entry of a solution named by its solute and strength; None where it is named otherwise."""
    try:
        named = quantities.component(name)
        found = find_alike(re.sub(r"\s+solution$", "", named.what.strip(), flags=re.IGNORECASE), _bought(catalogue))
    except PrepError:
        return None
    bought, strength = found.substance, named.strength
    saturated = strength.kind is StrengthKind.SATURATED
    if bought is None or not bought.solute or strength.kind is StrengthKind.TIMES:
        return None
    if strength.value <= 0 and not saturated:
        return None
    code = re.sub(r"[^a-z0-9.]+", "-", f"{bought.solute} {strength}".lower()).strip("-.")[:64]
    if (known := catalogue.solutions.get(code)) is not None:
        return known
    plain = f"{_plain(bought.bare_name)}, {strength}"
    near = None if saturated else _nearest(bought.solute, strength, catalogue)
    if near is None:
        return Solution(
            code,
            plain,
            bought.solute,
            strength,
            _KEEPS_DAYS,
            tolerance_pct=_TOLERANCE_PCT,
            made_from=(bought.code,),
            method_steps=(MethodStep(StepKind.NO_FLASK, "it stands over its solid"),) if saturated else (),
            sources={"strength": _PRACTICE, "shelf": _PRACTICE},
        )
    shelf = f"as {near.name}, the nearest on file: {near.sources.get('shelf', _PRACTICE)}"
    return replace(
        near,
        code=code,
        name=plain,
        strength=strength,
        purpose="working",
        made_from=(),
        recipe=(),
        usual_nl=0,
        sources={**near.sources, "strength": _PRACTICE, "shelf": shelf},
    )


def _ask_which(name: str, catalogue: Catalogue) -> None:
    """Ask which is meant where the solute of a strength may be several things of which none is usual.

    Raises PrepError: with the reason and the way, where one of them cannot go into water.
    """
    try:
        named = quantities.component(name)
    except PrepError:
        return
    found = [one.substance for one in candidates(named.what, _bought(catalogue)) if one.substance]
    if len(found) < 2:
        return
    for one in found:
        if (way := obstacle(one.formula, one, found)) and way.instead:
            raise PrepError(way.sentence(one.name))
    codes = ", ".join(sorted(one.code for one in found))
    raise SeveralFit(f'"{named.what[:60]}" may be {codes}; give one of these codes with the strength.')


def _refuse_bare_per_cent(name: str, catalogue: Catalogue) -> None:
    """Ask which per cent is meant where a substance on file is named with one. Raises PrepError."""
    found = re.search(r"(\d+(?:\.\d+)?)\s*%(?!\s*[wvm]\s*/)", name)
    if found is None:
        return
    what = re.sub(r"\s+(solution|in water)$", "", f"{name[: found.start()]} {name[found.end() :]}".strip())
    try:
        find_alike(what, _bought(catalogue))
    except PrepError:
        return
    raise PrepError(f'"{found[1]} %" of {what.strip()} does not say which per cent; write % w/w, % w/v or % v/v.')


def _bought(catalogue: Catalogue) -> Catalogue:
    return Catalogue(catalogue.substances)


def _plain(name: str) -> str:
    """Leave out of a name that it is without water, or a solution: what is made of it is not as strong."""
    return re.sub(r",? (glacial|absolute)$", "", name).removesuffix(" solution")


def _nearest(solute: str, strength: Strength, catalogue: Catalogue) -> Solution | None:
    """Find the solution of that solute in water whose strength is nearest, by its ratio; None where there is none."""
    making, found = Making(catalogue), list[tuple[float, str, Solution]]()
    for solution in catalogue.solutions.values():
        if (
            solution.solute != solute
            or solution.recipe
            or solution.make_up_with != "water"
            or solution.strength is None
        ):
            continue
        if solution.strength.kind is StrengthKind.SATURATED or solution.strength.value <= 0:
            continue
        try:
            ratio = making.found_over_nominal(solution, strength).ratio
        except PrepError:
            continue
        found.append((abs(log(ratio)), solution.code, solution))
    return min(found)[2] if found else None
