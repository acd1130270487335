"""What can be read on one instrument, how good it is, and readings one after another through dilutions.

Amounts are ledger integers (nL or ug).
"""

from collections.abc import Sequence
from decimal import Decimal
from math import hypot, sqrt

from prep.chemistry.measurement.uncertainty import COVERAGE, readability, rectangular, triangular
from prep.chemistry.model import Instrument, InstrumentKind
from prep.chemistry.quantities import BASE_PER_UNIT, plain
from prep.plurals import plural
from prep.records import record

MOST_FILLINGS = 2
"""How often an instrument is filled for one amount, at most: common practice, no source."""
DROP_NL = 50_000
"""A drop of a common dropper, 20 to the millilitre: common practice, no source."""
_DROP_SPREAD = 0.2
"""Drops are of 0.04 to 0.06 mL, by tip and liquid: common practice, no source."""
_MOST_DROPS = 40
"""The most drops that a person counts; more is measured: common practice, no source."""
_LEAST_OF_SCALE = 10
"""Below a tenth of an instrument's scale its reading is not trusted: common practice, no source."""


@record(frozen=True, slots=True)
class Reading:
    """One amount on one instrument: `base` (nL or ug) in so many `fillings`.

    `relative` is the relative standard uncertainty; `deviation` how far the set figure is from the amount that
    was wanted, relative to it and signed. `adequate`: the expanded uncertainty is within what was asked.
    """

    instrument: Instrument
    base: int
    fillings: int
    relative: float
    deviation: float
    adequate: bool

    @property
    def amount(self) -> Decimal:
        """The set figure in mL or g, exact."""
        return Decimal(self.base) / BASE_PER_UNIT

    @property
    def expanded(self) -> float:
        """Relative expanded uncertainty, k = 2; a deviation that is left uncorrected is added in full."""
        return COVERAGE * self.relative + abs(self.deviation)

    @property
    def standard_uncertainty(self) -> float:
        """Half the expanded uncertainty: what enters a sum in quadrature."""
        return self.expanded / COVERAGE

    @property
    def figure(self) -> str:
        """The amount as it is read, with the digits of the instrument: `83.5 mL`."""
        unit = "g" if self.instrument.kind is InstrumentKind.BALANCE else "mL"
        if self.instrument.kind is InstrumentKind.DROPPER:
            return f"{plain(self.amount)} mL, {drops_of(self.base)},"
        if self.instrument.kind is InstrumentKind.PIPETTE:
            return f"{plain(self.amount)} {unit}"
        places = max(0, -int(self.instrument.resolution.normalize().as_tuple().exponent))
        return f"{self.amount:.{places}f} {unit}"

    def __str__(self) -> str:
        times = f" ({self.fillings} fillings)" if self.fillings > 1 else ""
        return f"{self.figure} with the {self.instrument.name}{times}"


@record(frozen=True, slots=True)
class Intermediate:
    """A first dilution: `source` is taken and made up to the mark in `flask`; `then` of that goes on."""

    source: Reading
    flask: Instrument
    then: Reading

    @property
    def made_ml(self) -> Decimal:
        """Volume of the intermediate."""
        return self.flask.capacity


@record(frozen=True, slots=True)
class Measured:
    """How an amount is measured, directly or through dilutions; `taken` (ug or nL) leaves the bottle.

    `reading` is what is read first, from the bottle. Of each of `dilutions`, `then` is the `source` of the
    next; the last `then` goes into the product. `expanded` is the combined relative uncertainty, k = 2.
    """

    taken: int
    reading: Reading
    dilutions: tuple[Intermediate, ...]
    expanded: float
    tolerance: float

    @property
    def adequate(self) -> bool:
        """Whether the combined expanded uncertainty is within what was asked."""
        return self.expanded <= self.tolerance

    @property
    def standard_uncertainty(self) -> float:
        """Combined relative standard uncertainty of all readings and of the intermediates' flasks."""
        return self.expanded / COVERAGE

    @property
    def reaches(self) -> int:
        """What of `taken` goes into the product (ug or nL), rounded to the nearest."""
        part, whole = self.taken, 1
        for step in self.dilutions:
            part *= step.then.base
            whole *= base_of(step.flask.capacity)
        return (2 * part + whole) // (2 * whole)


@record(frozen=True, slots=True)
class VesselVolume:
    """A volume (nL) that can be made up, and the vessel that makes it."""

    base: int
    vessel: Instrument


@record(frozen=True, slots=True)
class VesselChoice:
    """The vessel for a volume, the volume (nL) that is then made in it, and all sizes that it chose from."""

    vessel: Instrument
    base: int
    sizes: tuple[int, ...]


class Scale:
    """An instrument's figures as plain numbers: many amounts are tried on it, and decimals would be slow."""

    __slots__ = ("capacity", "division", "error", "instrument", "one_mark", "step")

    def __init__(self, instrument: Instrument) -> None:
        tolerance = float(instrument.tolerance * BASE_PER_UNIT)
        self.instrument = instrument
        self.capacity = base_of(instrument.capacity)
        self.step = base_of(instrument.resolution) or 1
        self.one_mark = instrument.kind is InstrumentKind.PIPETTE
        weighs = instrument.kind is InstrumentKind.BALANCE
        # A mass is the difference of two weighings, each with the balance's linearity and readability
        # (EURACHEM/CITAC Guide CG4, 3rd ed. (2012), example A2); a volume has its vessel's tolerance.
        self.error = rectangular(tolerance) * sqrt(2) if weighs else triangular(tolerance)
        self.division = 0.0 if self.one_mark else readability(self.step) * (sqrt(2) if weighs else 1)

    def drops(self, amount: int, tolerance: float) -> Reading | None:
        """Count the amount in whole drops; None where it is less than half of one, or too many to count."""
        count = max(1, nearest(amount, DROP_NL) // DROP_NL)
        if 2 * amount < DROP_NL or count > _MOST_DROPS:
            return None
        relative, deviation = rectangular(_DROP_SPREAD), (count * DROP_NL - amount) / amount
        adequate = COVERAGE * relative + abs(deviation) <= tolerance
        return Reading(self.instrument, count * DROP_NL, 1, relative, deviation, adequate)

    def read(self, amount: int, tolerance: float) -> Reading | None:
        """Read the amount on this instrument; None where it cannot be set on it at all."""
        fillings = -(-amount // self.capacity)
        if self.one_mark:
            # A one-mark pipette delivers its mark and nothing else: it serves what is a multiple of it.
            if fillings > MOST_FILLINGS or amount != fillings * self.capacity:
                return None
            set_ = amount
        else:
            if fillings > MOST_FILLINGS:
                return None
            if amount * _LEAST_OF_SCALE < self.capacity and self.instrument.kind is not InstrumentKind.BALANCE:
                return None
            set_ = nearest(amount, self.step)
            if set_ <= 0:
                return None
        # Filled again, the vessel errs the same way each time, but is read anew.
        relative = hypot(self.error * fillings, self.division * sqrt(fillings)) / amount
        deviation = (set_ - amount) / amount
        adequate = COVERAGE * relative + abs(deviation) <= tolerance
        return Reading(self.instrument, set_, fillings, relative, deviation, adequate)


def combined_expanded(steps: Sequence[Intermediate]) -> float:
    """Combine the relative expanded uncertainty (k = 2) of what reaches the product through dilutions.

    Readings and flasks in quadrature; only the last figure's deviation stays, as each figure makes good for
    the one before it.
    """
    parts = [steps[0].source.relative]
    for step in steps:
        parts += [flask_uncertainty(step.flask), step.then.relative]
    return COVERAGE * hypot(*parts) + abs(steps[-1].then.deviation)


def flask_uncertainty(flask: Instrument) -> float:
    """Compute the relative standard uncertainty of a made-up volume, triangular."""
    return triangular(float(flask.tolerance / flask.capacity))


def drops_of(amount: int) -> str:
    """Write a volume [nL] as whole drops, rounded up: `6 drops`."""
    return plural(max(1, -(-amount // DROP_NL)), "drop")


def nearest(amount: int, step: int) -> int:
    """Round an amount to the nearest multiple of `step`, the even one at half-way."""
    whole, rest = divmod(amount, step)
    return step * (whole + (2 * rest > step or (2 * rest == step and whole % 2 == 1)))


def base_of(amount: Decimal) -> int:
    """Convert mL or g to nL or ug; what is finer is cut off."""
    return int(amount * BASE_PER_UNIT)
