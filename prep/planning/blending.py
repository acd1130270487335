"""A part from one source and the rest from another, where none alone suffices."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction

from prep.chemistry.bench import Bench
from prep.chemistry.model import Line, Solution
from prep.chemistry.routes import Option, Part, Route, RouteKind
from prep.planning.sourcing import Chosen, Shelf

_LEAST = Fraction(1, 20)
"""The least part worth a second measurement: common practice, no source."""


def blend(
    bench: Bench, solution: Solution, routes: Sequence[Route], amount: int, on: date, shelf: Shelf
) -> Chosen | None:
    """What is held of one source and the rest from a second, for `amount` nL made on the day; None if no two do.

    For a recipe, each part that no option alone covers is shared between two; for one solute in water, the
    solute is shared between two of its sources. The first in the card's order gives all that is held of it. What
    must still be made or ordered is never one of them. The room's instruments must measure both shares.
    """
    if solution.recipe:
        return _recipe(bench, solution, routes[0], amount, on, shelf) if routes else None
    if solution.make_up_with != "water":
        return None
    options = [o for route in routes if len(route.parts) == 1 for o in route.parts[0].options if o.item != "water"]
    both = _two(bench, solution, options, amount, on, shelf)
    if both is None:
        return None
    route = Route(RouteKind.BLEND, tuple(Part((option,)) for option in both))
    first, second = both
    why = f"no one source suffices: {_pct(first)} % of the solute from {first.item}, the rest from {second.item}"
    return Chosen(route, both, why)


def _recipe(bench: Bench, solution: Solution, route: Route, amount: int, on: date, shelf: Shelf) -> Chosen | None:
    parts: list[Part] = []
    shared: list[str] = []
    for part in route.parts:
        whole = next((o for o in part.options if o.item == "water" or _share(o, amount, on, shelf) >= 1), None)
        if whole is not None:
            parts.append(Part((whole,), part.note))
            continue
        both = _two(bench, solution, part.options, amount, on, shelf)
        if both is None:
            return None
        parts += [Part((option,), part.note) for option in both]
        shared.append(f"{_pct(both[0])} % of a part from {both[0].item}, the rest from {both[1].item}")
    if not shared:
        return None
    options = tuple(part.options[0] for part in parts)
    return Chosen(replace(route, parts=tuple(parts)), options, f"no one source suffices: {'; '.join(shared)}")


def _two(
    bench: Bench, solution: Solution, options: Sequence[Option], amount: int, on: date, shelf: Shelf
) -> tuple[Option, Option] | None:
    """Two options that together are held, the first with all that there is of it."""
    shares = [_share(option, amount, on, shelf) for option in options]
    for first, has in enumerate(shares):
        share = _measurable(bench, solution, options[first], has, amount, on, shelf)
        if share is None:
            continue
        for second, rest in enumerate(shares):
            if options[second].item == options[first].item or rest < 1 - share:
                continue
            other = _part(options[second], 1 - share)
            if _fits(bench, solution, other, amount, on, shelf):
                return _part(options[first], share), other
    return None


def _share(option: Option, amount: int, on: date, shelf: Shelf) -> Fraction:
    need = option.per_nl * amount
    if not need:
        return Fraction(1)
    return Fraction(max(0, shelf.held(option.item, on, min(option.per_nl, Fraction(1))))) / need


def _measurable(
    bench: Bench, solution: Solution, option: Option, has: Fraction, amount: int, on: date, shelf: Shelf
) -> Fraction | None:
    """The largest share of at most `has` whose amount, as the room measures it, is held; None if too little is."""
    share = min(has, 1 - _LEAST)
    for _ in range(6):
        if share < _LEAST:
            return None
        if _fits(bench, solution, _part(option, share), amount, on, shelf):
            return share
        share *= Fraction(9, 10)
    return None


def _fits(bench: Bench, solution: Solution, option: Option, amount: int, on: date, shelf: Shelf) -> bool:
    exact = option.per_nl * amount
    taken, _ = bench.measured(option.item, -(-exact.numerator // exact.denominator), solution, amount)
    return taken <= shelf.held(option.item, on, min(option.per_nl / option.share, Fraction(1)))


def _part(option: Option, share: Fraction) -> Option:
    said = Line(f"{_round(share)} % of the solute from {option.item}")
    return replace(option, per_nl=option.per_nl * share, working=(*option.working, said), share=share)


def _pct(option: Option) -> str:
    return _round(option.share)


def _round(share: Fraction) -> str:
    return f"{float(share * 100):.3g}"
