"""Titration arithmetic, dilution series and gas volumes: the sums of a week in a prep room."""

from collections.abc import Sequence
from decimal import Decimal
from itertools import combinations
from math import exp

from prep.chemistry.model import Line
from prep.chemistry.quantities import figures as _f
from prep.errors import PrepError
from prep.records import record
from prep.wording import Flag

CONCORDANT_ML = Decimal("0.1")
"""Titres this near one another agree: common practice, no source."""
GAS_CONSTANT = Decimal("8.314462618")  # J/(mol K), CODATA 2018


@record(frozen=True, slots=True)
class Titres:
    """The mean of the concordant titres [mL], and those that were set aside."""

    mean_ml: Decimal
    used: tuple[Decimal, ...]
    aside: tuple[Decimal, ...]


@record(frozen=True, slots=True)
class Series:
    """One dilution of a series: what is taken [mL] of the one before, and the share of the first strength it has."""

    number: int
    take_ml: Decimal
    share: Decimal


def concordant(titres: Sequence[Decimal]) -> Titres:
    """Choose the largest set of titres within 0.1 mL of one another.

    The first, rough one is often none of them. Raises PrepError where there are two or more and no two agree.
    """
    if not titres:
        raise PrepError("Give the titres, such as ", Flag("--titres"), ' "24.65, 24.70 mL".')
    if len(titres) == 1:
        return Titres(titres[0], (titres[0],), ())
    groups = [[t for t in titres if low <= t <= low + CONCORDANT_ML] for low in titres]
    best = max(groups, key=lambda group: (len(group), -max(group)))
    if len(best) < 2:
        listed = ", ".join(_f(t) for t in titres)
        raise PrepError(f"No two of the titres ({listed} mL) agree within {CONCORDANT_ML} mL; titrate again.")
    rest = list(titres)
    for one in best:
        rest.remove(one)
    return Titres(sum(best, Decimal(0)) / len(best), tuple(best), tuple(rest))


def serial(factor: Decimal, steps: int, volume_ml: Decimal) -> tuple[Series, ...]:
    """Work out a dilution series: each step takes V / f of the one before and makes it up to V.

    Raises PrepError for a factor or a number of steps out of range.
    """
    if not 1 < factor <= 1000:
        raise PrepError(Flag("--factor"), " is how many times each step dilutes, more than 1 and at most 1000.")
    if not 1 <= steps <= 12:
        raise PrepError(Flag("--steps"), " is from 1 to 12.")
    return tuple(Series(n, volume_ml / factor, 1 / factor**n) for n in range(1, steps + 1))


def fewest_pipettes(volumes_ml: Sequence[Decimal], sizes: Sequence[Decimal]) -> dict[Decimal, tuple[int, Decimal]]:
    """Choose one-mark pipettes for each volume, and how often each is filled, with the fewest different ones.

    A volume that no pipette fits is left out. A pipette is filled four times at most.
    """
    fits = {volume: [size for size in sizes if 1 <= volume / size <= 4 and volume % size == 0] for volume in volumes_ml}
    fits = {volume: sizes_of for volume, sizes_of in fits.items() if sizes_of}
    for count in range(1, len(sizes) + 1):
        for chosen in combinations(sorted(sizes, reverse=True), count):
            found = {volume: [size for size in chosen if size in fits[volume]] for volume in fits}
            if found and all(found.values()):
                return {volume: (int(volume / with_[0]), with_[0]) for volume, with_ in found.items()}
    return {}


def gas_ml(moles: Decimal, temperature_c: Decimal, pressure_kpa: Decimal, *, over_water: bool) -> tuple[Decimal, Line]:
    """Compute the volume [mL] of a gas, V = n R T / p.

    Over water, p less the vapour pressure of water (Buck 1981).
    """
    vapour = water_vapour_kpa(temperature_c) if over_water else Decimal(0)
    kelvin = temperature_c + Decimal("273.15")
    volume = moles * GAS_CONSTANT * kelvin / (pressure_kpa - vapour) * 1000
    less = f" - {_f(vapour, 3)} kPa of water vapour" if over_water else ""
    text = (
        f"V = n R T / p = {_f(moles)} mol x 8.3145 J/(mol K) x {_f(kelvin)} K / ({_f(pressure_kpa, 6)} kPa{less}) = "
        f"{_f(volume, 4)} mL"
    )
    return volume, Line(text, "ideal gas; R: CODATA 2018" + ("; vapour: Buck (1981)" if over_water else ""))


def water_vapour_kpa(temperature_c: Decimal) -> Decimal:
    """Compute the vapour pressure of water [kPa]: 0.61121 exp((18.678 - t/234.5) t/(257.14 + t)).

    A. L. Buck (1981), rev. 1996.
    """
    t = float(temperature_c)
    return Decimal(repr(0.61121 * exp((18.678 - t / 234.5) * t / (257.14 + t))))


@record(frozen=True, slots=True)
class CalibrationLine:
    """A line of least squares through readings."""

    slope: float
    intercept: float
    r_squared: float

    def read(self, reading: float) -> float:
        """Read off what gives a reading."""
        return (reading - self.intercept) / self.slope


def line_fit(points: Sequence[tuple[float, float]]) -> CalibrationLine:
    """Fit the line of least squares.

    Raises PrepError for fewer than three points.
    """
    if len(points) < 3 or len({x for x, _ in points}) < 2:
        raise PrepError("A calibration line takes three points or more, of different strengths.")
    n = len(points)
    mean_x, mean_y = sum(x for x, _ in points) / n, sum(y for _, y in points) / n
    xx = sum((x - mean_x) ** 2 for x, _ in points)
    yy = sum((y - mean_y) ** 2 for _, y in points)
    xy = sum((x - mean_x) * (y - mean_y) for x, y in points)
    slope = xy / xx
    return CalibrationLine(slope, mean_y - slope * mean_x, xy * xy / (xx * yy) if yy else 1.0)
