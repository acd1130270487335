"""What is put out for a demonstration: in whole drops and in millilitres that a person can measure."""

import re
from collections.abc import Iterable
from dataclasses import replace
from math import ceil
from typing import TYPE_CHECKING

from prep.chemistry import quantities
from prep.chemistry.acid_base.until import COLOURS
from prep.chemistry.model import Line, Measure
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.planning.model import Booking, Demo, DemoKind, Need
from prep.plurals import plural
from prep.records import record

if TYPE_CHECKING:
    from prep.chemistry.acid_base.endpoints import Drops

MOST_COUNTED = 100
"""Up to so many drops are counted out; more are a volume: common practice, no source."""
MOST_PORTIONS = 100
_PORTIONS = re.compile(r"\s*([0-9]{1,9})\s*[x×]\s*([0-9.].*)")
_STEPS = ((5, 0.5), (50, 1.0), (500, 5.0), (5000, 10.0), (float("inf"), 50.0))  # below so many mL, to so many


_BOOKING_MINUTES, _FURTHER_MINUTES = 10, 2
"""What setting a booking out and clearing it takes, and each further showing or set: common practice, no source."""


_SEVERAL = re.compile(r"\b(tubes|flasks|beakers|bottles|cylinders|dishes|jars|crucibles|glasses)\b")
"""Vessels among which a showing's amount is divided."""


@record(frozen=True, slots=True)
class UntilNeed:
    """What one need stated `until` comes to.

    `volume_nl` is per showing, with nothing to spare; None where it could not be computed, and `why` says why.
    `drops` are those of one of the `portions`: of the `dropper` that the need names, else of the common one where
    they are few enough to be counted.
    """

    item: str
    vessel: str
    ph: float
    start_ph: float | None
    volume_nl: int | None
    drops: "Drops | None"
    working: tuple[Line, ...]
    why: str = ""
    until: str = ""
    dropper: str = ""
    portions: int = 1

    @property
    def said(self) -> str:
        """When it ends: `until pH 7`, `until colour changed (pH 8.2)`."""
        if self.until not in COLOURS:
            return f"until pH {self.ph:g}" if self.ph else f"until {self.until}"
        return f"until {self.until}" + ("" if self.why else f" (pH {self.ph:g})")


@record(frozen=True, slots=True)
class ReckonedDemo:
    """A demo with the amounts of its `until` needs, and what each of these comes to."""

    demo: Demo
    untils: tuple[UntilNeed, ...] = ()


@record(frozen=True, slots=True)
class Portions:
    """Into how many portions something goes, and what is written of each."""

    count: int
    each: str


def minutes_of(bookings: Iterable[Booking]) -> int:
    """Work out the minutes that setting out and clearing the bookings of a day take."""
    return sum(_BOOKING_MINUTES + _FURTHER_MINUTES * (booking.runs - 1) for booking in bookings if booking.runs)


def how_often(booking: Booking) -> str:
    """Say how many times a booking is set out for: `x2`, `x1 and 1 trial run`."""
    runs = plural(booking.trials, "trial run")
    return f"x{booking.showings}" + (f" and {runs}" if booking.trials else "")


def total_of(need: Need, demo: Demo, showings: int) -> int:
    """Compute what `showings` of a demo take of one need [ug or nL], spare and dead volume included.

    What is shared counts once; each set of a class practical has a dead volume of its own, a demonstration one in
    all. Rounded up: half a nanolitre short is short.
    """
    spare, under = demo.spare.as_integer_ratio()
    times = 1 if need.shared else showings
    left = need.dead * times if demo.kind is DemoKind.PRACTICAL else need.dead
    return -(-need.per_showing * times * (under + spare) // under) + left


def sensible(base: int, measure: Measure) -> int:
    """Round an amount [ug or nL] up to what is set out: half a mL below 5 mL, then 1, 5 and 10 mL.

    A mass is rounded up to three figures, above 10 g to two.
    """
    if base <= 0:
        return base
    if measure is Measure.MASS:
        unit: int = 10 ** max(0, len(str(base)) - (2 if base > 10 * BASE_PER_UNIT else 3))
        return -(-base // unit) * unit
    ml = base / BASE_PER_UNIT
    step = next(step for below, step in _STEPS if ml < below)
    return round(ceil(ml / step - 1e-9) * step * BASE_PER_UNIT)


def sensibly(base: int, measure: Measure) -> str:
    """Write an amount as it is set out: `3 mL`, `12.5 g`."""
    return quantities.show(sensible(base, measure), measure, None)


def each_of(need: Need, measure: Measure) -> str:
    """Say what one showing takes: `2 drops`, `4 x 25 mL`, `41 drops (2.05 mL), until pH 7`."""
    if need.portions > 1:
        return f"{need.portions} x {each_of(one_portion(need, need.portions), measure)}"
    volume = quantities.show(need.per_showing, measure, 3)
    if need.until:
        drops = f"{_in_drops(need.drops)} ({volume})" if need.drops > 1 else _in_drops(1) if need.drops else volume
        return f"{drops}, until {need.until}" if need.per_showing else f"until {need.until}"
    return _in_drops(need.drops) if need.drops else volume


def vessels_of(need: Need) -> str:
    """Say into what each showing's amount goes: `each beaker`, or `in test tubes` where it is divided."""
    if _SEVERAL.search(need.vessel):
        return f"in {need.vessel}"
    return need.vessel and f"each {need.vessel}"


def in_all(need: Need, demo: Demo, showings: int, measure: Measure) -> str:
    """Say what is set out of a need for all showings: whole drops while they are few, else sensible millilitres."""
    total = total_of(need, demo, showings)
    if need.drops and not need.dead and need.per_showing:
        drops = ceil(total * need.drops / need.per_showing - 1e-6)
        if drops <= MOST_COUNTED:
            return _in_drops(drops)
    return sensibly(total, measure)


def as_portions(text: str) -> Portions:
    """Split `4 x 25 mL` into 4 and `25 mL`; what is written otherwise is one portion."""
    found = _PORTIONS.fullmatch(text)
    return Portions(int(found[1]), found[2]) if found else Portions(1, text)


def portions_in(needs: Iterable[Need], vessel: str) -> int:
    """Count the portions that are used in a vessel, one after the other."""
    return max((need.portions for need in needs if need.vessel == vessel), default=1)


def one_portion(need: Need, portions: int) -> Need:
    """Work out one of so many equal portions of a need, in whole drops where it is counted in drops."""
    if portions == 1:
        return replace(need, portions=1)
    drops = max(round(need.drops / portions), 1) if need.drops else 0
    return replace(need, per_showing=round(need.per_showing / portions), drops=drops, portions=1)


def uneven(needs: Iterable[Need]) -> str:
    """Say which vessel holds things in different numbers of portions; empty where all agree.

    What goes on until a pH or a colour, without a figure, goes into as many as there are.
    """
    found: dict[str, Need] = {}
    for need in needs:
        if not need.vessel or not need.per_showing:
            continue
        first = found.setdefault(need.vessel, need)
        if first.portions != need.portions:
            return (
                f"in the {need.vessel}, {first.item} is in {_count(first)} and {need.item} in {_count(need)}; "
                'give each as so many times so much, such as "4 x 25 mL" and "4 x 3 drops".'
            )
    return ""


def _in_drops(count: int) -> str:
    return plural(count, "drop")


def _count(need: Need) -> str:
    return "one portion" if need.portions == 1 else f"{need.portions} portions"
