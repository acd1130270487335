"""The plain data of how a solution can be made: routes, their parts, and what may stand in for a part."""

from collections.abc import Iterable
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from prep.chemistry.model import Line
from prep.records import record


class RouteKind(StrEnum):
    """What is done at the bench."""

    DILUTE = "dilute"  # a stronger solution of the same solute
    CONCENTRATE = "dilute concentrate"  # the concentrated reagent as bought
    DISSOLVE = "dissolve"
    RECIPE = "recipe"
    BLEND = "blend"  # one solute from two sources


@record(frozen=True, slots=True)
class Saturation:
    """Of a saturated solution what dissolves [ug] and the water [nL] for each nL of it, at `at_c` [degC]."""

    dissolves: Fraction
    water: Fraction
    at_c: Decimal | None


@record(frozen=True, slots=True)
class RouteOption:
    """One item that can play a part: `per_nl` base units (ug or nL) of it for each nL of product.

    `share` is how much of the part it gives, where another gives the rest. `saturation`: of a saturated solution.
    """

    item: str
    per_nl: Fraction
    working: tuple[Line, ...] = ()
    share: Fraction = Fraction(1)
    saturation: Saturation | None = None

    def needed(self, made: int) -> int:
        """Work out the base units of it for `made` nL of product; never less than the exact amount."""
        of_it, product = self.per_nl.as_integer_ratio()
        return -(-of_it * made // product)


@record(frozen=True, slots=True)
class RoutePart:
    """One thing that goes in; `options` in order of preference, the first as written."""

    options: tuple[RouteOption, ...]
    note: str = ""


@record(frozen=True, slots=True)
class Route:
    """One way to make a solution. `declared` = named by the solution's own `made_from` or recipe."""

    kind: RouteKind
    parts: tuple[RoutePart, ...]
    declared: bool = False

    @property
    def source(self) -> str:
        """The item the route is known by: its first part's first choice."""
        return self.parts[0].options[0].item


def drawn_on(routes: Iterable[Route]) -> tuple[str, ...]:
    """List what may go in by any of the routes, but for water."""
    options = (option.item for route in routes for part in route.parts for option in part.options)
    return tuple(dict.fromkeys(item for item in options if item != "water"))
