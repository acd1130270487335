"""Which of the room's instruments measures an amount well enough, and what can be read on it.

Volumes in mL, masses in g, tolerances as relative fractions. The coarsest adequate instrument is chosen: a
measuring cylinder before a burette before a pipette, fewest fillings first. An amount too small for any of
them goes through an intermediate dilution.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_UP, Decimal
from functools import lru_cache
from math import sqrt

from prep.chemistry.model import Instrument, InstrumentKind, Measure
from prep.chemistry.quantities import BASE_PER_UNIT, plain

_DELIVERING = (
    InstrumentKind.CYLINDER,
    InstrumentKind.BURETTE,
    InstrumentKind.GRADUATED_PIPETTE,
    InstrumentKind.PIPETTE,
)
_MOST_FILLINGS = 4
_LEAST_OF_SCALE = Decimal("0.1")
"""Below a tenth of an instrument's scale its reading is not trusted: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One amount on one instrument: `amount` (mL or g, exact) in `fillings`, with its relative error.

    `relative_error` is the largest the instrument's tolerance and resolution allow; `adequate` says whether
    it is within what was asked.
    """

    instrument: Instrument
    amount: Decimal
    fillings: int
    relative_error: float
    adequate: bool

    @property
    def standard_uncertainty(self) -> float:
        """Relative standard uncertainty: triangular for glassware, rectangular for balances.

        EURACHEM/CITAC Guide CG4, 3rd ed. (2012), appendix E1.
        """
        shape = sqrt(3) if self.instrument.kind is InstrumentKind.BALANCE else sqrt(6)
        return self.relative_error / shape

    @property
    def figure(self) -> str:
        """The amount as it is read, with the digits of the instrument: `83.5 mL`."""
        unit = "g" if self.instrument.kind is InstrumentKind.BALANCE else "mL"
        places = max(0, -int(self.instrument.resolution.normalize().as_tuple().exponent))
        one_mark = self.instrument.kind is InstrumentKind.PIPETTE
        return f"{plain(self.amount) if one_mark else f'{self.amount:.{places}f}'} {unit}"

    def __str__(self) -> str:
        times = f" ({self.fillings} fillings)" if self.fillings > 1 else ""
        return f"{self.figure} with the {self.instrument.name}{times}"


@dataclass(frozen=True, slots=True)
class Intermediate:
    """A first dilution: `source` is taken and made up to `made_ml` in `flask`; `then` of that goes on."""

    source: Reading
    flask: Instrument
    then: Reading

    @property
    def made_ml(self) -> Decimal:
        """Volume of the intermediate."""
        return self.flask.capacity


@dataclass(frozen=True, slots=True)
class Measured:
    """How an amount is measured, directly or through an intermediate; `taken` (ug or nL) leaves the bottle."""

    taken: int
    reading: Reading
    intermediate: Intermediate | None = None

    @property
    def adequate(self) -> bool:
        """Whether every reading is within what was asked."""
        if self.intermediate is None:
            return self.reading.adequate
        return self.intermediate.source.adequate and self.intermediate.then.adequate

    @property
    def standard_uncertainty(self) -> float:
        """Combined relative standard uncertainty of all readings and of the intermediate's flask."""
        if self.intermediate is None:
            return self.reading.standard_uncertainty
        step = self.intermediate
        return sqrt(
            step.source.standard_uncertainty**2
            + step.then.standard_uncertainty**2
            + _flask_uncertainty(step.flask) ** 2
        )


class Measuring:
    """The room's instruments, asked for one amount at a time."""

    def __init__(self, instruments: Iterable[Instrument]) -> None:
        self.instruments = tuple(instruments)
        self._volume = [i for kind in _DELIVERING for i in self.instruments if i.kind is kind]
        self._balances = sorted(
            (i for i in self.instruments if i.kind is InstrumentKind.BALANCE),
            key=lambda i: (-i.resolution, i.capacity),
        )
        self._flasks = sorted(
            (i for i in self.instruments if i.kind is InstrumentKind.FLASK),
            key=lambda i: (i.capacity, -i.tolerance),
        )
        self.measure = lru_cache(maxsize=65536)(self._measure)

    def _measure(self, base: int, measure: Measure, tolerance: float) -> Measured | None:
        """How to measure `base` (ug or nL) to within `tolerance`; the best there is if nothing reaches it.

        None when the room owns nothing that could measure such an amount at all.
        """
        amount = Decimal(base) / BASE_PER_UNIT
        direct = self._direct(amount, measure, tolerance)
        if direct is not None and direct.adequate:
            return Measured(_base(direct.amount), direct)
        through = self._through(amount, measure, tolerance)
        if through is not None:
            return Measured(_base(through.source.amount), through.source, through)
        return Measured(_base(direct.amount), direct) if direct is not None else None

    def _direct(self, amount: Decimal, measure: Measure, tolerance: float) -> Reading | None:
        readings = (
            [r for i in self._balances if (r := _weighing(i, amount, tolerance))]
            if measure is Measure.MASS
            else [r for i in self._volume if (r := _reading(i, amount, tolerance))]
        )
        adequate = [r for r in readings if r.adequate]
        if adequate:
            order = {kind: n for n, kind in enumerate(_DELIVERING)}
            return min(
                adequate,
                key=lambda r: (
                    order.get(r.instrument.kind, 0),
                    r.fillings,
                    r.instrument.capacity if measure is Measure.VOLUME else -r.instrument.resolution,
                    r.instrument.code,
                ),
            )
        return min(readings, key=lambda r: (r.relative_error, r.instrument.code), default=None)

    def _through(self, amount: Decimal, measure: Measure, tolerance: float) -> Intermediate | None:
        """The smallest intermediate whose every reading is adequate; None if there is none."""
        share = tolerance / sqrt(3)
        best: tuple[Decimal, Decimal, Intermediate] | None = None
        for flask in self._flasks:
            if _flask_uncertainty(flask) * sqrt(6) > share:
                continue
            for factor in (5, 10, 20, 25, 50, 100, 200, 500, 1000):
                source = self._direct(amount * factor, measure, share)
                if source is None or not source.adequate:
                    continue
                if measure is Measure.VOLUME and source.amount * 2 > flask.capacity:
                    break
                then_ml = flask.capacity * amount / source.amount
                then = self._direct(then_ml, Measure.VOLUME, share)
                if then is None or not then.adequate or then.amount > flask.capacity:
                    continue
                found = Intermediate(source, flask, then)
                key = (flask.capacity, source.amount)
                if best is None or key < best[:2]:
                    best = (*key, found)
                break
        return best[2] if best else None


def _flask_uncertainty(flask: Instrument) -> float:
    """Relative standard uncertainty of a made-up volume, triangular."""
    return float(flask.tolerance / flask.capacity) / sqrt(6)


def _reading(instrument: Instrument, amount: Decimal, tolerance: float) -> Reading | None:
    """A volume on one instrument; None where it cannot be set on it at all."""
    if instrument.kind is InstrumentKind.PIPETTE:
        fillings = int((amount / instrument.capacity).to_integral_value(ROUND_HALF_EVEN))
        if not 1 <= fillings <= _MOST_FILLINGS:
            return None
        set_ = instrument.capacity * fillings
        error = instrument.tolerance * fillings
        off = abs(set_ - amount)
        relative = float((error + off) / amount)
        # A one-mark pipette delivers its mark and nothing else: it serves only what is such an amount.
        return Reading(instrument, set_, fillings, relative, relative <= tolerance) if not off else None
    fillings = int((amount / instrument.capacity).to_integral_value(ROUND_UP)) or 1
    if fillings > _MOST_FILLINGS or amount / fillings < instrument.capacity * _LEAST_OF_SCALE:
        return None
    set_ = _to(amount, instrument.resolution)
    if set_ <= 0:
        return None
    relative = float((instrument.tolerance * fillings + abs(set_ - amount)) / amount)
    return Reading(instrument, set_, fillings, relative, relative <= tolerance)


def _weighing(balance: Instrument, amount: Decimal, tolerance: float) -> Reading | None:
    if amount > balance.capacity:
        return None
    set_ = _to(amount, balance.resolution)
    if set_ <= 0:
        return None
    error = max(balance.tolerance, balance.resolution / 2) + abs(set_ - amount)
    relative = float(error / amount)
    return Reading(balance, set_, 1, relative, relative <= tolerance)


def _to(amount: Decimal, step: Decimal) -> Decimal:
    return (amount / step).to_integral_value(ROUND_HALF_EVEN) * step


def _base(amount: Decimal) -> int:
    return int((amount * BASE_PER_UNIT).to_integral_value(ROUND_HALF_EVEN))


def sizes(instruments: Sequence[Instrument], tolerance_pct: Decimal) -> tuple[tuple[int, Instrument], ...]:
    """Volumes (nL) that can be made up to within the tolerance, ascending, each with its vessel.

    A flask makes its mark; a cylinder or a graduated beaker any graduation from a quarter of its scale up, if
    its tolerance there is a third of the solution's or less. A flask is preferred, then the smaller vessel.
    """
    found: dict[int, tuple[int, Decimal, Instrument]] = {}
    share = tolerance_pct / 300
    for instrument in instruments:
        if instrument.kind is InstrumentKind.FLASK:
            marks = [instrument.capacity] if instrument.tolerance <= share * instrument.capacity else []
            rank = 0
        elif instrument.kind in (InstrumentKind.CYLINDER, InstrumentKind.BEAKER):
            step = instrument.resolution
            first = max(instrument.capacity / 4, instrument.tolerance / share)
            lowest = int((first / step).to_integral_value(ROUND_UP))
            marks = [step * n for n in range(lowest, int(instrument.capacity / step) + 1)]
            rank = 1 if instrument.kind is InstrumentKind.CYLINDER else 2
        else:
            continue
        for mark in marks:
            base = _base(mark)
            key = (rank, instrument.capacity, instrument)
            if base not in found or key[:2] < found[base][:2]:
                found[base] = key
    return tuple((base, found[base][2]) for base in sorted(found))
