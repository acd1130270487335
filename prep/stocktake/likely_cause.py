"""What is likely behind a difference that measuring does not explain: a slip of the pen, of the label, of the tare."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from prep.chemistry import quantities
from prep.chemistry.model import Measure
from prep.stocktake.verdict import Verdict

_NEAR = 0.02
"""How near to a factor or a figure a slip lies: common practice, no source."""
_FACTORS = (10, 100, 1000)


@dataclass(frozen=True, slots=True)
class BottleData:
    """What is on file of a bottle: what it holds when full and what was taken [its unit], its mass when empty [ug]."""

    full: int | None = None
    tare: int | None = None
    taken: tuple[int, ...] = ()


def likely_causes(verdicts: Iterable[Verdict], vessels: Mapping[str, BottleData]) -> dict[str, str]:
    """Find the likely cause of each flagged difference that has one, by bottle."""
    flagged = [v for v in verdicts if v.flagged and v.found]
    out = {}
    for verdict in flagged:
        vessel = vessels.get(verdict.bottle, BottleData())
        cause = (
            _factor(verdict)
            or _mirror(verdict, flagged)
            or _tare(verdict, vessel)
            or _more_than_full(verdict, vessel)
            or _taken(verdict, vessel)
        )
        if cause:
            out[verdict.bottle] = cause
    return out


def _factor(v: Verdict) -> str:
    """Suggest a unit or a decimal point that slipped, where one amount is a power of ten times the other."""
    if v.book <= 0 or v.counted <= 0:
        return ""
    for factor in _FACTORS:
        for larger, smaller, way in ((v.book, v.counted, "a smaller"), (v.counted, v.book, "a larger")):
            if abs(smaller * factor - larger) <= _NEAR * larger:
                return f"{factor} times: {way} unit or a decimal point was written down?"
    return ""


def _mirror(v: Verdict, others: Iterable[Verdict]) -> str:
    """Suggest that two bottles were taken for each other, where their differences cancel: of one item, or just so."""
    others = [other for other in others if other.bottle != v.bottle and other.measure is v.measure]
    close = [other for other in others if abs(v.difference + other.difference) <= _NEAR * abs(v.difference)]
    if len(close) == 1 and close[0].item != v.item:
        other = close[0]
        return f"{other.bottle} differs by as much the other way: taken from one, written down of the other?"
    for other in others:
        within = v.explained_by + other.explained_by
        if other.bottle != v.bottle and other.item == v.item and abs(v.difference + other.difference) <= within:
            return f"{other.bottle} differs by as much the other way: taken from one, written down of the other?"
    return ""


def _tare(v: Verdict, vessel: BottleData) -> str:
    """Suggest that the empty bottle was weighed and not taken off, or taken off twice."""
    if vessel.tare is None or v.measure is not Measure.MASS:
        return ""
    if abs(abs(v.difference) - vessel.tare) <= _NEAR * vessel.tare:
        way = "not taken off" if v.difference > 0 else "taken off twice"
        return f"as much as the empty bottle weighs ({quantities.show(vessel.tare, Measure.MASS)}): {way}?"
    return ""


def _taken(v: Verdict, vessel: BottleData) -> str:
    """Suggest a single use that was written down too small by a factor, or not at all."""
    for taken in vessel.taken:
        said = f"the use of {quantities.show(taken, v.measure)}"
        if abs(-v.difference - taken) <= _NEAR * taken:
            return f"as much as {said}: was another like it not written down?"
        for factor in _FACTORS:
            missing = taken * (factor - 1)
            if abs(-v.difference - missing) <= _NEAR * missing:
                return f"{factor} times {said}: a smaller unit or a decimal point was written down?"
    return ""


def _more_than_full(v: Verdict, vessel: BottleData) -> str:
    """Suggest another bottle or a slip, where a bottle holds more than it ever held."""
    if vessel.full and v.counted > vessel.full * (1 + _NEAR):
        return f"more than it holds when full ({quantities.show(vessel.full, v.measure)}): another bottle, or a slip?"
    return ""
