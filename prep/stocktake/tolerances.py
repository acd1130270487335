"""Within what a movement was measured, where nobody wrote down how.

Amounts and half-widths are integers in the bottle's unit (ug or nL).
"""

from dataclasses import dataclass
from decimal import ROUND_UP, Decimal

from prep.chemistry.model import Measure
from prep.chemistry.quantities import BASE_PER_UNIT

PACKS = "Council Directive 76/211/EEC, annex I, section 2.4: tolerable negative errors of prepackages"
PRACTICE = "common practice, no source"
BENCH_PCT = Decimal(5)
"""Within what an amount is taken at the bench, % of it, when no instrument is named: common practice, no source."""

TAKEN = frozenset({"use", "make", "done"})
"""Kinds of job that take something out to use it."""
ARRIVALS = frozenset({"receive", "arrive"})
STATED = frozenset({"opening", "import", "found"})
"""Kinds of job that put on the books an amount that somebody wrote down of a bottle, not a pack as it comes."""
_WRITTEN_PCT = Decimal(1)
"""Within what a mass is that was weighed net, and written without how, % of it: common practice, no source."""
_EXACT = frozenset({"discard", "count", "undo"})

# Up to (g or mL): percent of the content, or a fixed amount in g or mL.
_TOLERABLE: tuple[tuple[int, Decimal | None, Decimal | None], ...] = (
    (50, Decimal(9), None),
    (100, None, Decimal("4.5")),
    (200, Decimal("4.5"), None),
    (300, None, Decimal(9)),
    (500, Decimal(3), None),
    (1000, None, Decimal(15)),
)
_LARGE_PCT = Decimal("1.5")


@dataclass(frozen=True, slots=True)
class PackTolerance:
    """How far a bought pack's content may be off its printed one, and the source."""

    half_width: int
    source: str


def pack_half_width(amount: int) -> PackTolerance:
    """Find how far a bought pack's content may be off its printed one.

    The table runs from 5 to 10 000 g or mL; its first and last percentages are carried on beyond.
    """
    content = Decimal(abs(amount)) / BASE_PER_UNIT
    for most, pct, fixed in _TOLERABLE:
        if content <= most:
            off = content * pct / 100 if pct is not None else fixed
            assert off is not None
            return PackTolerance(_up(off), PACKS)
    return PackTolerance(_up(content * _LARGE_PCT / 100), PACKS)


def written_pct(figure: Decimal, last: Decimal) -> Decimal:
    """Tell within what a mass is known of which `last` is the place of the last figure that was written, % of it.

    `974 g` was weighed, `900 g` is as good as a guess. No better than 1 %, no worse than `BENCH_PCT`: common practice,
    no source.
    """
    if not figure:
        return BENCH_PCT
    return min(max((100 * last / figure).quantize(Decimal("0.1")), _WRITTEN_PCT), BENCH_PCT)


def half_width(
    kind: str, amount: float, tolerance_pct: Decimal | None = None, measure: Measure = Measure.VOLUME
) -> float:
    """Find the half-width of a movement of a job of that `kind`, in the amount's unit.

    What arrives is as exact as its pack; a mass that somebody wrote down is as exact as its last figure, a round one
    (500 g, 1 kg) as the pack that it is; what is written off, counted or undone is a figure of the books and adds
    nothing; what is taken or made is within `tolerance_pct` of it, or `BENCH_PCT`.
    """
    if kind in ARRIVALS:
        return pack_half_width(int(amount)).half_width
    if kind in STATED and measure is Measure.MASS:
        figure = Decimal(int(amount)).normalize()
        pct = written_pct(figure, Decimal(1).scaleb(int(figure.as_tuple().exponent)))
        return min(abs(amount) * float(pct) / 100, pack_half_width(int(amount)).half_width)
    if kind in _EXACT:
        return 0.0
    return abs(amount) * float(BENCH_PCT if tolerance_pct is None else tolerance_pct) / 100


def _up(content: Decimal) -> int:
    return int((content * BASE_PER_UNIT).to_integral_value(ROUND_UP))
