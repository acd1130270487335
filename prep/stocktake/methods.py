"""The ways to count what is in a bottle, and how well each knows it.

Amounts are integers in the bottle's unit (ug or nL), uncertainties are standard ones in that unit. Shapes of
errors: u = a/sqrt(3) for a rectangle, a/sqrt(6) for a triangle of half-width a (EURACHEM/CITAC Guide CG4,
3rd ed. (2012), appendix E1).
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from math import ceil, sqrt

from prep.chemistry import quantities
from prep.chemistry.model import Instrument, InstrumentKind, Line, Measure
from prep.chemistry.quantities import to_base
from prep.errors import PrepError
from prep.stocktake.tolerances import PackTolerance, pack_half_width

K = 2
CG4 = "EURACHEM/CITAC Guide CG4, 3rd ed. (2012)"
PRACTICE = "common practice, no source"
DENSITY_PCT = Decimal("0.5")
"""How far a tabulated density may be off in a room of 15 to 25 C, % of it: common practice, no source."""


@dataclass(frozen=True, slots=True)
class WeighedCount:
    """Counted on a balance with its bottle. Masses in g, the density of the content in g/mL.

    `tare_half_width_g` says how far the tare may be off; None means it was weighed empty on this balance.
    """

    gross_g: Decimal
    tare_g: Decimal
    balance: Instrument
    density_g_ml: Decimal | None = None
    tare_half_width_g: Decimal | None = None
    density_pct: Decimal = DENSITY_PCT

    @property
    def net_g(self) -> Decimal:
        """Mass of the content; 0 where the bottle seems lighter than empty."""
        return max(self.gross_g - self.tare_g, Decimal(0))


@dataclass(frozen=True, slots=True)
class LevelCount:
    """Counted by the level of the content: tenths (0 to 10) of what the bottle holds when full."""

    tenths: int
    full: int


@dataclass(frozen=True, slots=True)
class ClosedPacks:
    """Counted as closed packs of a printed content. `pct` is how far a pack may be off, % of it, if known."""

    count: int
    each: int
    pct: Decimal | None = None


Method = WeighedCount | LevelCount | ClosedPacks


@dataclass(frozen=True, slots=True)
class CountedAmount:
    """What a count found: `u` is its standard uncertainty in the bottle's unit."""

    amount: int
    u: float


def count_of(method: Method, measure: Measure) -> CountedAmount:
    """Work out the amount that a way of counting found, with its standard uncertainty.

    Raises PrepError: a bottle lighter than its tare beyond the balance's error, one too heavy for the balance,
    a liquid weighed without a density, tenths outside 0 to 10, a negative number of packs.
    """
    match method:
        case WeighedCount():
            return _weighed(method, measure)
        case LevelCount():
            return _judged(method)
        case ClosedPacks():
            return _units(method)


def working(method: Method, measure: Measure) -> tuple[Line, ...]:
    """Explain how `count_of` came to what it found, line by line."""
    match method:
        case WeighedCount():
            return _weighed_working(method, measure)
        case LevelCount():
            tenth = quantities.show(method.full // 10, measure, 3)
            text = f"{method.tenths} tenths of {quantities.show(method.full, measure)}, judged by level: within a tenth"
            return (Line(f"{text} ({tenth})", PRACTICE),)
        case ClosedPacks():
            pack = _pack(method)
            what = "closed; a pack within" if method.pct is None else "within"
            each, off = quantities.show(method.each, measure), quantities.show(pack.half_width, measure, 2)
            return (Line(f"{method.count} x {each}, {what} {off}", pack.source),)


def _weighed(method: WeighedCount, measure: Measure) -> CountedAmount:
    scale = method.balance
    if scale.kind is not InstrumentKind.BALANCE:
        raise PrepError(f"The {scale.name} weighs nothing; name a balance.")
    for what, mass in (("gross", method.gross_g), ("tare", method.tare_g)):
        if not mass.is_finite() or mass < 0:
            raise PrepError(f"A {what} mass is a number of grams, 0 or more.")
    if method.gross_g > scale.capacity:
        raise PrepError(
            f"{_g(method.gross_g)} is more than the {scale.name} carries ({_g(scale.capacity)}); "
            "use another balance or judge by level."
        )
    if measure is Measure.VOLUME and not method.density_g_ml:
        raise PrepError("A liquid is weighed with its density; give one, or judge by level.")
    # Linearity, and the step of the display, once for each time the balance was read.
    reading = float(scale.tolerance) ** 2 / 3 + (float(scale.resolution) / 2) ** 2 / 3
    tare = reading if method.tare_half_width_g is None else float(method.tare_half_width_g) ** 2 / 3
    u_mass = sqrt(reading + tare)
    if float(method.tare_g - method.gross_g) > K * u_mass:
        raise PrepError(
            f"With {_g(method.gross_g)} the bottle is lighter than its own tare, {_g(method.tare_g)}; "
            "check both, and whether the cap was on."
        )
    if measure is Measure.MASS:
        return CountedAmount(to_base(method.net_g), u_mass * quantities.BASE_PER_UNIT)
    assert method.density_g_ml is not None
    volume = method.net_g / method.density_g_ml
    u_volume = sqrt(
        (u_mass / float(method.density_g_ml)) ** 2 + (float(volume) * float(method.density_pct) / 100) ** 2 / 3
    )
    u_base = u_volume * quantities.BASE_PER_UNIT
    return CountedAmount(as_fine_as(to_base(volume), expanded(u_base)), u_base)


def _weighed_working(method: WeighedCount, measure: Measure) -> tuple[Line, ...]:
    scale, net = method.balance, method.net_g
    tare_off = method.tare_half_width_g
    read = "twice" if tare_off is None else f"once; the tare within {_g(tare_off)}"
    lines = [
        Line(f"{_g(method.gross_g)} with the bottle - {_g(method.tare_g)} tare = {_g(net)} on the {scale.name}"),
        Line(f"the balance within {_g(scale.tolerance)}, read to {_g(scale.resolution)}, {read}", f"{CG4}, example A2"),
    ]
    if measure is Measure.VOLUME and method.density_g_ml is not None:
        density, off = quantities.plain(method.density_g_ml), quantities.plain(method.density_pct)
        volume = quantities.figures(net / method.density_g_ml)
        lines.append(Line(f"{_g(net)} / {density} g/mL = {volume} mL, the density within {off} %", PRACTICE))
    return tuple(lines)


def _judged(method: LevelCount) -> CountedAmount:
    if not 0 <= method.tenths <= 10:
        raise PrepError("A level is judged in tenths of the full bottle, from 0 to 10.")
    if method.full <= 0:
        raise PrepError("To judge by level, say what the bottle holds when full.")
    # Half a tenth for the scale's step and half a tenth for the eye: together a triangle of a whole tenth.
    return CountedAmount(_half_even(Decimal(method.full * method.tenths) / 10), method.full / 10 / sqrt(6))


def _units(method: ClosedPacks) -> CountedAmount:
    if method.count < 0 or method.each <= 0:
        raise PrepError("Packs are counted as a whole number, 0 or more, of a content above nothing.")
    half = _pack(method).half_width
    # Packs of one filling are off together, so their errors add.
    return CountedAmount(method.count * method.each, method.count * half / sqrt(3))


def _pack(method: ClosedPacks) -> PackTolerance:
    """Find how far one pack may be off, and the source."""
    if method.pct is None:
        return pack_half_width(method.each)
    return PackTolerance(_half_even(method.each * method.pct / 100), "")


def as_fine_as(amount: int, within: float) -> int:
    """Round an amount to the second figure of what it is known within: 308.087 mL within 4.6 mL is 308.1 mL.

    EURACHEM/CITAC Guide CG4, 3rd ed. (2012), section 9.5: an uncertainty is given to two figures, the result to
    its last.
    """
    step = int(10 ** max(0, len(str(int(within))) - 2))
    return int((Decimal(amount) / step).to_integral_value(ROUND_HALF_EVEN)) * step


def expanded(u: float) -> int:
    """Compute the expanded uncertainty (k = 2) of a standard one, rounded up to a whole ug or nL."""
    return ceil(K * u - 1e-9)


def _g(mass: Decimal) -> str:
    return f"{quantities.plain(mass)} g"


def _half_even(amount: Decimal) -> int:
    return int(amount.to_integral_value(ROUND_HALF_EVEN))
