"""What demos really use beside what their figures say, and when the figures want changing.

A ratio is used over planned, where planned is the demo's own figure (per showing x showings), without spare
and without what stays in the vessel: with those in it every good figure would look too large.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import sqrt

from prep.chemistry.model import Line
from prep.chemistry.quantities import figures
from prep.findings import Finding, Severity
from prep.plurals import plural
from prep.records import record

LEAST_RECORDS = 3
MARGIN = Fraction(1, 10)
K = 2


@record(frozen=True, slots=True)
class UsageRecord:
    """One item of one booking that is done. `planned` and `used` are ints in the item's unit (ug or nL).

    `measured` is False where nobody said what was used and it was booked as planned: that teaches nothing.
    """

    demo: str
    booking: str
    item: str
    planned: int
    used: int
    on: date
    measured: bool = True

    @property
    def ratio(self) -> Fraction:
        """Used over planned; `planned` must be above 0."""
        return Fraction(self.used, self.planned)


@record(frozen=True, slots=True)
class LearnedUsage:
    """What the records say of one item of a demo, or of the demo as a whole (`item` empty).

    `mean` is of the ratios used to planned, `standard_error` that of the mean (None from one record).
    `wants_change`: enough records, and the mean off 1 by more than a tenth and by more than two standard
    errors. `factor` is then what to multiply the figure by, to two figures; else 1.
    """

    demo: str
    item: str
    n: int
    mean: float
    standard_error: float | None
    wants_change: bool
    factor: Decimal
    lines: tuple[Line, ...]


def learn(
    records: Iterable[UsageRecord], least: int = LEAST_RECORDS, margin: Fraction = MARGIN
) -> tuple[LearnedUsage, ...]:
    """Work out the ratios of used to planned by demo, then by item within it, in order of their codes.

    A demo as a whole comes first. For the whole, a booking counts once, with the mean of its items' ratios. Records
    that were not measured, or for which nothing was planned, are left out.
    """
    items: dict[tuple[str, str], list[Fraction]] = defaultdict(list)
    bookings: dict[tuple[str, str], list[Fraction]] = defaultdict(list)
    for one in records:
        if one.measured and one.planned > 0:
            items[one.demo, one.item].append(one.ratio)
            bookings[one.demo, one.booking].append(one.ratio)
    whole: dict[tuple[str, str], list[Fraction]] = defaultdict(list)
    for (demo, _), ratios in bookings.items():
        whole[demo, ""].append(_mean(ratios))
    return tuple(_learned(*key, ratios, least, margin) for key, ratios in sorted({**whole, **items}.items()))


def findings(learned: Iterable[LearnedUsage]) -> tuple[Finding, ...]:
    """Write a note for each figure that wants changing, item by item."""
    return tuple(
        Finding(
            Severity.NOTE,
            "demo-figures",
            f"{one.demo}/{one.item}",
            f"The demo {one.demo} has used {figures(Decimal(one.mean), 3)} times its figure for {one.item}, "
            f"as the mean of {one.n} bookings.",
            f"Multiply its figure for {one.item} by {one.factor:f}."
            if one.factor
            else f"None of it was used: take {one.item} off the demo's needs.",
        )
        for one in learned
        if one.wants_change and one.item
    )


def _learned(demo: str, item: str, ratios: list[Fraction], least: int, margin: Fraction) -> LearnedUsage:
    n = len(ratios)
    mean = _mean(ratios)
    error = None
    if n > 1:
        # Standard deviation over sqrt(n): experimental standard deviation of the mean.
        error = sqrt(float(sum((r - mean) ** 2 for r in ratios) / (n - 1) / n))
    off = abs(mean - 1)
    beyond_chance = error is not None and float(off) > K * error
    wants = n >= least and off > margin and beyond_chance
    spread = "" if error is None else f", standard error {figures(Decimal(error), 2)}"
    what = f"{demo}, {item}" if item else demo
    lines = [
        Line(
            f"{what}: used / planned has the mean {figures(Decimal(float(mean)), 3)} over "
            f"{plural(n, 'booking')}{spread}",
            "JCGM 100:2008, 4.2.3 (standard deviation of the mean)" if error is not None else "",
        )
    ]
    if n < least:
        lines.append(Line(f"fewer than {least} bookings: too few to say"))
    elif off <= margin:
        lines.append(Line(f"within {figures(Decimal(float(margin * 100)), 3)} % of the figure: it stands"))
    elif not beyond_chance:
        lines.append(Line("off by no more than two standard errors: it may be chance"))
    factor = Decimal(f"{float(mean):.2g}") if wants else Decimal(1)
    if wants:
        lines.append(Line(f"the figure wants changing: multiply it by {factor:f}"))
    return LearnedUsage(demo, item, n, float(mean), error, wants, factor, tuple(lines))


def _mean(ratios: list[Fraction]) -> Fraction:
    return sum(ratios, Fraction(0)) / len(ratios)
