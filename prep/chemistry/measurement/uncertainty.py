"""How good a made strength is: standard uncertainties in quadrature, k = 2, and the figure as it is printed.

Every quantity here enters the result as a product or a quotient, so relative standard uncertainties add in
quadrature (EURACHEM/CITAC Guide CG4, 3rd ed. (2012), section 8.2.6, rule 2; JCGM 100:2008, section 5.1.6).
"""

from collections.abc import Iterable
from decimal import ROUND_HALF_EVEN, ROUND_UP, Decimal
from math import hypot, sqrt

from prep.chemistry.model import Instrument, InstrumentKind, Line
from prep.records import record

COVERAGE = 2
"""The coverage factor k: about 95 % of a normal distribution."""

SOURCE = "EURACHEM/CITAC Guide CG4, 3rd ed. (2012): relative standard uncertainties in quadrature, k = 2"

WATER_EXPANSION_PER_C = 2.1e-4
"""Volume expansion of water [1/C]. EURACHEM/CITAC Guide CG4, 3rd ed. (2012), example A1."""

ROOM_SPAN_C = 4.0
"""How far a room may be from 20 C [C], as example A1 of the Guide takes it."""

_MOLAR_MASS_SPREAD = 1e-4
"""Half-width of a molar mass, relative: two public tables of atomic weights agree within 8e-5."""


def triangular(half_width: float) -> float:
    """Compute the standard uncertainty of a glassware tolerance: half-width / sqrt(6).

    EURACHEM/CITAC Guide CG4, 3rd ed. (2012), appendix E1: values near the nominal are more likely.
    """
    return half_width / sqrt(6)


def rectangular(half_width: float) -> float:
    """Compute the standard uncertainty where any value within the limits is as likely: half-width / sqrt(3).

    EURACHEM/CITAC Guide CG4, 3rd ed. (2012), appendix E1.
    """
    return half_width / sqrt(3)


def readability(division: float) -> float:
    """Compute the standard uncertainty of a reading to the nearest division: half of it, rectangular."""
    return rectangular(division / 2)


@record(frozen=True, slots=True)
class Contribution:
    """One thing the result depends on: its value and standard uncertainty in its own unit.

    `power` is the power it enters with (-1 for what divides). `how` says where the uncertainty is from.
    """

    name: str
    value: float
    standard: float
    unit: str = ""
    power: float = 1.0
    how: str = ""

    @property
    def relative(self) -> float:
        """Its part of the result's relative standard uncertainty."""
        return abs(self.power) * self.standard / abs(self.value)

    def inverse(self) -> "Contribution":
        """Turn a factor of the result into a divisor, its uncertainty unchanged."""
        return Contribution(self.name, self.value, self.standard, self.unit, -self.power, self.how)


@record(frozen=True, slots=True)
class Uncertain:
    """A result with its combined standard uncertainty, in `unit`, and what it is made of."""

    value: float
    standard: float
    unit: str = ""
    parts: tuple[Contribution, ...] = ()

    @property
    def relative(self) -> float:
        """Relative standard uncertainty."""
        return self.standard / abs(self.value)

    @property
    def expanded(self) -> float:
        """Expanded uncertainty, k = 2, in the result's unit."""
        return COVERAGE * self.standard

    @property
    def expanded_pct(self) -> Decimal:
        """Expanded uncertainty as per cent of the value, to two figures."""
        return Decimal(f"{100 * COVERAGE * self.relative:.2g}")

    def as_contribution(self, name: str) -> Contribution:
        """Enter this result as one part of another one."""
        return Contribution(name, self.value, self.standard, self.unit, how="its own uncertainty")

    def text(self, *, plain: bool = False) -> str:
        """Print the result as `0.1000 ± 0.0006 mol/L (k = 2)`; `plain` writes +-."""
        return with_uncertainty(self.value, self.expanded, self.unit, plain=plain)

    def working(self) -> tuple[Line, ...]:
        """Lay out one line per part, the largest first, and the sum."""
        lines = [
            Line(
                f"{part.name}: u = {part.standard:.2g}{_spaced(part.unit)} in {part.value:.6g}"
                f"{_spaced(part.unit)}, relative {part.relative:.2g}" + (f" ({part.how})" if part.how else "")
            )
            for part in sorted(self.parts, key=lambda p: (-p.relative, p.name))
        ]
        total = (
            f"u/c = root of the sum of squares = {self.relative:.2g}; U = {COVERAGE} u = "
            f"{self.expanded:.2g}{_spaced(self.unit)}"
        )
        return (*lines, Line(total, SOURCE))


def combined(value: float, parts: Iterable[Contribution], unit: str = "") -> Uncertain:
    """Combine the uncertainties of `parts` into that of `value` [unit], a product of powers of them.

    CG4 section 8.2.6 rule 2: u(y)/y = sqrt(sum (p_i u(x_i)/x_i)^2). Raises ValueError for a value or part of
    0, which has no relative uncertainty.
    """
    parts = tuple(parts)
    if not value or any(not part.value for part in parts):
        raise ValueError("a value of 0 has no relative uncertainty")
    return Uncertain(value, abs(value) * hypot(*(part.relative for part in parts)), unit, parts)


def summed(name: str, value: float, standards: Iterable[float], unit: str = "", how: str = "") -> Contribution:
    """Sum several independent causes, in the same unit, of one quantity's uncertainty (CG4 8.2.6, rule 1)."""
    return Contribution(name, value, hypot(*standards), unit, how=how)


def glass_volume(
    name: str,
    volume_ml: float,
    tolerance_ml: float,
    *,
    division_ml: float = 0.0,
    repeatability_ml: float = 0.0,
    span_c: float = ROOM_SPAN_C,
    fillings: int = 1,
) -> Contribution:
    """Work out the uncertainty of a volume [mL] from glassware.

    It has four causes: tolerance (triangular), reading, repeatability [mL], temperature [C]. The same vessel filled
    again errs the same way, so its tolerance counts `fillings` times in full; readings are independent.
    Temperature: V x 2.1e-4 /C x span, rectangular. CG4, 3rd ed. (2012), example A1.
    """
    causes = (
        triangular(tolerance_ml) * fillings,
        readability(division_ml) * sqrt(fillings),
        repeatability_ml,
        rectangular(volume_ml * WATER_EXPANSION_PER_C * span_c),
    )
    how = f"±{tolerance_ml:g} mL triangular" + (f", ±{span_c:g} C" if span_c else "")
    return summed(name, volume_ml, causes, "mL", how)


def vessel_volume(vessel: Instrument, volume_ml: float, span_c: float = ROOM_SPAN_C) -> Contribution:
    """Work out the uncertainty of a volume [mL] made up in a vessel.

    To a flask's mark, or to a graduation of a cylinder or beaker.
    """
    division = 0.0 if vessel.kind is InstrumentKind.FLASK else float(vessel.resolution)
    return glass_volume(vessel.name, volume_ml, float(vessel.tolerance), division_ml=division, span_c=span_c).inverse()


def weighed(name: str, mass_g: float, linearity_g: float, readability_g: float = 0.0) -> Contribution:
    """Work out the uncertainty of a mass [g] by difference: linearity and readability, for tare and for gross.

    Linearity is rectangular. CG4, 3rd ed. (2012), example A2, step 3.
    """
    once = hypot(rectangular(linearity_g), readability(readability_g))
    return Contribution(name, mass_g, once * sqrt(2), "g", how=f"±{linearity_g:g} g rectangular, twice")


def assay(fraction: float, half_width: float, name: str = "assay") -> Contribution:
    """Work out the uncertainty of a purity: a fraction, within its half-width (rectangular)."""
    return Contribution(name, fraction, rectangular(half_width), how=f"±{half_width:g} rectangular")


def molar_mass_of(formula: str, g_per_mol: float, half_width: float | None = None) -> Contribution:
    """Work out the uncertainty of a molar mass [g/mol], which divides.

    Without `half_width` the spread of public tables is taken.
    """
    half = g_per_mol * _MOLAR_MASS_SPREAD if half_width is None else half_width
    how = f"±{half:.2g} rectangular"
    return Contribution(f"M({formula})", g_per_mol, rectangular(half), "g/mol", -1.0, how)


def with_uncertainty(value: float | Decimal, expanded: float | Decimal, unit: str = "", *, plain: bool = False) -> str:
    """Print `0.1000 ± 0.0006 mol/L (k = 2)`, both to the same digit; `plain` writes +- for ±.

    The uncertainty has two figures if it begins with 1 or 2, else one; where rounding down would shrink it by
    more than 5 % it goes up (EA-4/02 M:2013, section 6.3).
    """
    sign = "+-" if plain else "±"
    exact, half = Decimal(str(value)), Decimal(str(expanded))
    if half <= 0:
        return f"{exact.normalize():f} {sign} 0{_spaced(unit)} (k = {COVERAGE})"
    figures = 2 if half.scaleb(-half.adjusted()) < 3 else 1
    place = Decimal(1).scaleb(half.adjusted() - figures + 1)
    rounded = half.quantize(place, ROUND_HALF_EVEN)
    if rounded < half * Decimal("0.95"):
        rounded = half.quantize(place, ROUND_UP)
    return f"{_to(exact, place)} {sign} {_to(rounded, place)}{_spaced(unit)} (k = {COVERAGE})"


def _to(value: Decimal, place: Decimal) -> str:
    return f"{value.quantize(place, ROUND_HALF_EVEN):f}" if place < 1 else f"{round(value / place) * place:f}"


def _spaced(unit: str) -> str:
    return f" {unit}" if unit else ""
