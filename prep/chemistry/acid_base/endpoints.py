"""End points: how much, and how many drops, carry a dish to a pH or through an indicator's change."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from math import ceil, floor

from prep.chemistry.acid_base import equilibrium
from prep.chemistry.acid_base.activity import beyond
from prep.chemistry.acid_base.equilibrium import Mixture, check_ph, mixture_of, solve
from prep.chemistry.acid_base.indicators import Indicator, shade_at
from prep.chemistry.acid_base.species import Component
from prep.chemistry.model import Line
from prep.errors import PrepError
from prep.plurals import plural
from prep.records import record

MOST_TIMES = 1000.0
"""How many times its own volume may be added to a dish before the answer is no."""

_LEAST_SHARE = 1e-9
_GRID = 1.35


@record(frozen=True, slots=True)
class Dropper:
    """Drops per mL, and by how many per cent they differ either way, by tip, liquid and hand."""

    drops_per_ml: float
    spread_pct: float = 0.0

    def __post_init__(self) -> None:
        if not 0 < self.drops_per_ml <= 1000 or not 0 <= self.spread_pct < 100:
            raise PrepError(
                f"{self.drops_per_ml:g} drops/mL with a spread of {self.spread_pct:g} % is no dropper; accepted "
                "is more than 0 and up to 1000 drops/mL, and a spread of 0 to less than 100 %."
            )


@record(frozen=True, slots=True)
class Drops:
    """Whole drops that are enough, and the range of that count over the dropper's spread."""

    count: int
    fewest: int
    most: int


@record(frozen=True, slots=True)
class Endpoint:
    """`volume_ml` [mL] to add for `ph`; `drops` where a dropper was named; `curve` as (mL added, pH).

    `valid` False where the ionic strength on the way there, or at the end, is beyond the model.
    """

    ph: float
    start_ph: float
    volume_ml: float
    drops: Drops | None
    curve: tuple[tuple[float, float], ...]
    valid: bool
    note: str
    working: tuple[Line, ...]


@record(frozen=True, slots=True)
class IndicatorPassage:
    """Through an indicator's change: where the colour begins to move, and where it has wholly changed."""

    colour_before: str
    colour_after: str
    begins: Endpoint
    ends: Endpoint


def to_ph(
    dish: Sequence[Component],
    dish_ml: float,
    titrant: Sequence[Component],
    ph: float,
    dropper: Dropper | None = None,
    temperature_c: float = 25.0,
    *,
    activities: bool = True,
) -> Endpoint:
    """Work out how much `titrant` [mol/L] brings `dish_ml` [mL] of `dish` [mol/L; empty is water] to `ph`.

    Volumes are taken as additive, mol/L as mol/kg. The first passing counts, found on a fine grid and then
    by halving. Raises PrepError: nothing in the dish, or a pH that is never reached (the limit is named).
    """
    check_ph(ph)
    if dish_ml <= 0:
        raise PrepError("The dish must hold more than nothing.")
    there, added = mixture_of(dish), mixture_of(titrant)

    def mixed(volume_ml: float) -> Mixture:
        whole = dish_ml + volume_ml
        return equilibrium.mix(((there, dish_ml / whole), (added, volume_ml / whole)))

    def ph_at(volume_ml: float) -> float:
        return solve(mixed(volume_ml), temperature_c, activities=activities).ph

    start = ph_at(0.0)
    volume = first_passing(ph_at, start, ph, dish_ml)
    if volume is None:
        goal = solve(added, temperature_c, activities=activities).ph
        most = ph_at(MOST_TIMES * dish_ml)
        raise PrepError(
            f"pH {ph:g} is not reached: the dish starts at pH {start:.2f}, what is added has pH {goal:.2f}, and "
            f"{MOST_TIMES:g} times the dish's volume brings it to pH {most:.2f}."
        )
    end = mixed(volume)
    reached = solve(end, temperature_c, activities=activities)
    result = equilibrium.result(end, reached, temperature_c, activities=activities, per_litre=True)
    start_strength = solve(there, temperature_c, activities=activities).ionic_strength
    valid = result.valid and (not activities or not beyond(start_strength))
    note = result.note
    if not valid and result.valid:
        note = f"The dish begins at ionic strength {start_strength:.2g} mol/kg, beyond the model. {note}".strip()
    drops = drops_of(volume, dropper) if dropper else None
    lines = [
        Line(f"{dish_ml:g} mL at pH {start:.3f} + {volume:.5g} mL = {dish_ml + volume:.6g} mL at pH {reached.ph:.3f}"),
        *([_drops_line(volume, dropper, drops)] if dropper and drops else []),
        *result.working,
    ]
    return Endpoint(ph, start, volume, drops, _curve(ph_at, volume, dish_ml), valid, note, tuple(lines))


def through(
    dish: Sequence[Component],
    dish_ml: float,
    titrant: Sequence[Component],
    of: Indicator,
    dropper: Dropper | None = None,
    temperature_c: float = 25.0,
    *,
    activities: bool = True,
) -> IndicatorPassage:
    """Work out how much titrant carries a dish through the indicator's next change.

    The change that lies in the direction in which the titrant moves the pH. A dish that starts within the change
    has 0 mL to its beginning. Raises PrepError as `to_ph` does, and where the indicator has no change left on that
    side.
    """
    start = solve(mixture_of(dish), temperature_c, activities=activities).ph
    goal = solve(mixture_of(titrant), temperature_c, activities=activities).ph
    rising = goal > start
    ahead = [c for c in of.changes if (c.ph_high > start if rising else c.ph_low < start)]
    if not ahead:
        raise PrepError(
            f"{of.name} is {shade_at(of, start).colour} at the dish's pH {start:.2f}, and has no change "
            f"{'above' if rising else 'below'} that."
        )
    change = ahead[0] if rising else ahead[-1]
    first, last = (change.ph_low, change.ph_high) if rising else (change.ph_high, change.ph_low)
    ends = to_ph(dish, dish_ml, titrant, last, dropper, temperature_c, activities=activities)
    if (start >= first) if rising else (start <= first):
        none = drops_of(0.0, dropper) if dropper else None
        begins = replace(ends, ph=start, volume_ml=0.0, drops=none)
    else:
        begins = to_ph(dish, dish_ml, titrant, first, dropper, temperature_c, activities=activities)
    before, after = change.colour_low, change.colour_high
    return IndicatorPassage(*((before, after) if rising else (after, before)), begins, ends)


def drops_of(volume_ml: float, dropper: Dropper) -> Drops:
    """Count the whole drops that hold at least `volume_ml` [mL].

    Fewest with the largest drops, most with the smallest.
    """
    exact = volume_ml * dropper.drops_per_ml
    spread = dropper.spread_pct / 100
    return Drops(whole_drops(exact), whole_drops(exact * (1 - spread)), whole_drops(exact * (1 + spread)))


def plot(
    curve: Sequence[tuple[float, float]],
    mark: tuple[float, float] | None = None,
    *,
    width: int = 80,
    height: int = 18,
    drops_per_ml: float | None = None,
) -> tuple[str, ...]:
    """Draw the curve in plain text, at most `width` wide: pH upwards, mL to the right, `*` curve, `O` mark.

    With `drops_per_ml`, drops to the right. Raises PrepError for fewer than two points or no room.
    """
    if len(curve) < 2 or width < 30 or height < 5:
        raise PrepError("A plot needs two points, 30 columns and 5 rows.")
    right = curve[-1][0] or 1.0
    low, high = floor(min(p for _, p in curve)), ceil(max(p for _, p in curve))
    high = max(high, low + 1)
    columns = width - 7
    rows = [[" "] * columns for _ in range(height)]

    def put(volume: float, ph: float, what: str) -> None:
        column = round(volume / right * (columns - 1))
        row = round((high - ph) / (high - low) * (height - 1))
        if 0 <= column < columns and 0 <= row < height:
            rows[row][column] = what

    for (v1, p1), (v2, p2) in pairwise(curve):
        pieces = max(1, ceil(abs(p2 - p1) / (high - low) * height), ceil((v2 - v1) / right * columns))
        for i in range(pieces + 1):
            put(v1 + (v2 - v1) * i / pieces, p1 + (p2 - p1) * i / pieces, "*")
    if mark:
        put(*mark, "O")
    lines = ["pH"]
    for i, row in enumerate(rows):
        ph = high - (high - low) * i / (height - 1)
        label = f"{ph:5.1f}" if i % 3 == 0 or i == height - 1 else " " * 5
        lines.append(f"{label} |{''.join(row)}".rstrip())
    lines.append("      +" + "-" * columns)
    most, unit = (right, "mL") if drops_per_ml is None else (right * drops_per_ml, "drops")
    middle, last = f"{most / 2:.4g}", f"{most:.4g} {unit}"
    half = columns // 2 - len(middle) // 2 - 1
    lines.append("       0" + middle.rjust(half + len(middle) - 1).ljust(columns - 1 - len(last)) + last)
    return tuple(lines)


def first_passing(ph_at: Callable[[float], float], start: float, ph: float, dish_ml: float) -> float | None:
    """Find the first volume [mL] at which a pH is passed, on a fine grid and then by halving; None if it never is."""
    if abs(start - ph) < 1e-9:
        return 0.0
    above = start > ph
    low, high = 0.0, _LEAST_SHARE * dish_ml
    while (ph_at(high) > ph) == above:
        low, high = high, high * _GRID
        if low >= MOST_TIMES * dish_ml:
            return None
    for _ in range(100):
        middle = (low + high) / 2
        if (ph_at(middle) > ph) == above:
            low = middle
        else:
            high = middle
        if high - low <= 1e-12 * high:
            break
    return high


def _curve(ph_at: Callable[[float], float], volume_ml: float, dish_ml: float) -> tuple[tuple[float, float], ...]:
    """Compute the curve from 0 mL to half as much again as the end point, with points closer together round it."""
    right = 1.5 * volume_ml or dish_ml
    volumes = {right * i / 30 for i in range(31)}
    if volume_ml:
        volumes |= {volume_ml * (1 + sign * by) for by in (0.0, 0.001, 0.005, 0.01, 0.03) for sign in (-1, 1)}
    return tuple((v, ph_at(v)) for v in sorted(volumes))


_NO_DROP = 0.01
"""So little of a drop nobody adds: common practice, no source."""


def whole_drops(exact: float) -> int:
    """Round a number of drops up to whole drops; what is less than a hundredth of one is none, but for the first."""
    return max(ceil(exact - _NO_DROP), 1 if exact > 1e-9 else 0)


def _drops_line(volume_ml: float, dropper: Dropper, drops: Drops) -> Line:
    return Line(
        f"{volume_ml:.5g} mL x {dropper.drops_per_ml:g} drops/mL = {volume_ml * dropper.drops_per_ml:.4g}: "
        f"{plural(drops.count, 'drop')}, {drops.fewest} to {drops.most} with a spread of {dropper.spread_pct:g} %"
    )
