"""Other pairs that make the same buffer: what is conserved is the weak acid or base in total, and the strong ions.

A solution of one weak system has the pH that follows from two totals: moles of the system (acetate in any form)
and the summed charge of the strong ions. Two ingredients that give both are as good as those written: acid and
strong base, salt and strong acid, acid and salt. The ions that stand by may differ, so the pH may differ by what
their activities differ: sodium for potassium, a chloride more.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from prep.chemistry.acid_base.species import SystemCount, of_formula
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.contents import ContentsReader
from prep.chemistry.model import Form, Line, Solution, Substance
from prep.chemistry.preparation.route_finding import Making
from prep.chemistry.preparation.routes import Route, RouteKind, RouteOption, RoutePart
from prep.chemistry.quantities import figures
from prep.errors import PrepError

_MOST = 12
_CHECK = "add it, stirring; check the pH with a meter once it is made up"
_IONS = frozenset({"Na+", "K+", "Cl-"})
"""Ions that stand by in any buffer of a school without precipitating or reacting: common practice, no source."""
_VOLATILE = frozenset({"carbonate", "sulfite", "sulfide"})
"""Systems of which an acid drives out a gas: there the total is not conserved."""


@dataclass(frozen=True, slots=True)
class BufferTotals:
    """The weak system's key ("" = none), moles of it and summed charge of strong ions, per ug or nL of an item."""

    system: str
    moles: Fraction
    charge: Fraction


@dataclass(frozen=True, slots=True)
class _BufferSource:
    """An item that can give the weak system, or strong ions alone."""

    item: Substance | Solution
    totals: BufferTotals


def alternatives(solution: Solution, catalogue: Catalogue, making: Making) -> list[Route]:
    """Find other pairs of ingredients that make the same buffer as its recipe; the simplest first.

    Only for recipes in water of one weak system whose every ingredient has a known composition. Sources are
    substances and stock solutions. At most twelve. Empty where there is none.
    """
    if solution.purpose != "buffer" or not solution.recipe or solution.make_up_with != "water":
        return []
    items: dict[str, Substance | Solution] = {**catalogue.substances, **catalogue.solutions}
    inside = ContentsReader(catalogue, making)
    written: list[BufferTotals] = []
    for line in solution.recipe:
        known = items.get(line.item)
        totals = _totals(known, inside) if known is not None else None
        if totals is None:
            return []
        part = Fraction(line.amount, solution.recipe_nl)
        written.append(BufferTotals(totals.system, totals.moles * part, totals.charge * part))
    systems = {one.system for one in written if one.system}
    if len(systems) != 1 or systems & _VOLATILE:
        return []
    (system,) = systems
    total = sum((one.moles for one in written), Fraction(0))
    charge = sum((one.charge for one in written), Fraction(0))
    sources = list(_sources(system, catalogue, inside))
    found: list[tuple[tuple[int, str, str], Route]] = []
    for first, second in combinations(sources, 2):
        one, other = first.item, second.item
        amounts = _solve(first.totals, second.totals, total, charge)
        same = {one.code, other.code} == {line.item for line in solution.recipe}
        if amounts is None or same or _volume(one, amounts[0]) + _volume(other, amounts[1]) > Fraction(9, 10):
            continue
        said = Line(
            f"conserved: {_per_l(total)} mol/L of {system} in all, strong ions {_per_l(charge)} mol/L; "
            f"solved for {one.name} and {other.name}"
        )
        parts = tuple(
            RoutePart((RouteOption(item.code, amount, (said,) if number == 0 else ()),), "" if number == 0 else _CHECK)
            for number, (item, amount) in enumerate(zip((one, other), amounts, strict=True))
        )
        rank = (sum(isinstance(item, Substance) for item in (one, other)), one.code, other.code)
        found.append((rank, Route(RouteKind.RECIPE, parts)))
    found.sort(key=lambda pair: pair[0])
    return [route for _, route in found[:_MOST]]


def _sources(system: str, catalogue: Catalogue, inside: ContentsReader) -> Iterable[_BufferSource]:
    """List the items that can give the weak system, or strong ions alone, in order of code."""
    stocks = [
        s for s in catalogue.solutions.values() if s.purpose == "stock" and not s.recipe and s.make_up_with == "water"
    ]
    items: list[Substance | Solution] = [*catalogue.substances.values(), *stocks]
    for item in sorted(items, key=lambda i: i.code):
        totals = _totals(item, inside)
        if totals is not None and totals.system in (system, "") and (totals.moles or totals.charge):
            yield _BufferSource(item, totals)


def _totals(item: Substance | Solution, inside: ContentsReader) -> BufferTotals | None:
    """Find the totals of one base unit (ug or nL) of an item.

    None where its composition is not known, or is of no use in a buffer.
    """
    try:
        portions = inside.of(item.code).portions
        if len(portions) != 1:
            return None
        (one,) = portions
        species = of_formula(one.formula)
    except PrepError:
        return None
    if len(species.systems) > 1 or any(one.ion not in _IONS for one in species.ions):
        return None
    unit = species.systems[0] if species.systems else SystemCount("", 0)
    return BufferTotals(unit.key, one.moles * unit.count, one.moles * species.charge)


def _solve(
    first: BufferTotals, second: BufferTotals, total: Fraction, charge: Fraction
) -> tuple[Fraction, Fraction] | None:
    """Work out how much of each ingredient gives both totals; None where they cannot, or one is not needed."""
    a, c, b, d = first.moles, first.charge, second.moles, second.charge
    determinant = a * d - b * c
    if not determinant:
        return None
    x = (total * d - b * charge) / determinant
    y = (a * charge - total * c) / determinant
    return (x, y) if x > 0 and y > 0 else None


def _volume(item: Substance | Solution, amount: Fraction) -> Fraction:
    solid = isinstance(item, Substance) and item.form is Form.SOLID
    return Fraction(0) if solid else amount


def _per_l(per_nl: Fraction) -> str:
    return figures(per_nl * 10**9)
