"""Which of the room's instruments measures an amount well enough, and what can be read on it.

Amounts are ledger integers (nL or ug) at the door and inside; a tolerance is a relative fraction, compared with
the expanded uncertainty (k = 2) of the whole way of measuring. The coarsest adequate instrument is chosen: a
measuring cylinder before a burette before a pipette, fewest fillings first. What is too small for all of them
goes through as few intermediate dilutions as will do.
"""

from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator, Sequence
from decimal import Decimal
from functools import lru_cache
from math import ceil, sqrt

from prep.chemistry.measurement.readings import (
    MOST_FILLINGS,
    Intermediate,
    Measured,
    Reading,
    Scale,
    VesselChoice,
    VesselVolume,
    base_of,
    combined_expanded,
    flask_uncertainty,
    nearest,
)
from prep.chemistry.measurement.uncertainty import COVERAGE
from prep.chemistry.model import Instrument, InstrumentKind, Measure
from prep.chemistry.quantities import BASE_PER_UNIT

__all__ = ["Intermediate", "Measured", "Measuring", "Reading", "VesselChoice", "sizes", "vessel_for"]

_DELIVERING = (
    InstrumentKind.CYLINDER,
    InstrumentKind.PIPETTE,
    InstrumentKind.GRADUATED_PIPETTE,
    InstrumentKind.BURETTE,
)
"""In order of choice: a burette is filled only for what no pipette holds at once; common practice, no source."""
_VESSELS = (InstrumentKind.CYLINDER, InstrumentKind.BEAKER, InstrumentKind.FLASK)
"""In order of choice: a volumetric flask only where the tolerance needs one."""
_MOST_INTERMEDIATES = 3
_VESSEL_SHARE = 3
"""A vessel may use up a third of a solution's tolerance: common practice, no source."""
_LOOSE_PCT, _LOOSE_SHARE = 5, 2
"""From this tolerance [%] up a vessel may use up a half, before a flask is taken: common practice, no source."""
_FACTORS = (5, 10, 20, 25, 50, 100, 200, 500, 1000)
_DRAINED = 0.9
"""How much of a flask can be taken out of it in measured parts: common practice, no source."""
_MOST_UG_PER_NL = 0.02
"""An intermediate made from a solid holds 20 g/L at most, so that most salts dissolve: common practice, no
source."""


class Measuring:
    """The room's instruments, asked for one amount at a time; what was worked out once is kept.

    `from_bottle` are the kinds that may take a liquid out of its bottle; an intermediate made of it is drawn on
    with any.
    """

    def __init__(
        self, instruments: Iterable[Instrument], from_bottle: Collection[InstrumentKind] = _DELIVERING
    ) -> None:
        self.instruments = tuple(instruments)
        self._from_bottle = [number for number, kind in enumerate(_DELIVERING) if kind in from_bottle]
        self._volume = [
            sorted(
                (Scale(i) for i in self.instruments if i.kind is kind and i.capacity > 0),
                key=lambda s: (s.capacity, -s.instrument.tolerance, s.instrument.code),
            )
            for kind in _DELIVERING
        ]
        self._mass = [
            sorted(
                (Scale(i) for i in self.instruments if i.kind is InstrumentKind.BALANCE and i.capacity > 0),
                key=lambda s: (-s.step, s.capacity, s.instrument.code),
            )
        ]
        # Where liquids may only be poured, a cylinder that holds the whole amount measures it in one filling.
        poured = tuple(from_bottle) == (InstrumentKind.CYLINDER,)
        self._once = max((s.capacity for s in self._volume[0]), default=0) if poured else 0
        droppers = sorted((i for i in self.instruments if i.kind is InstrumentKind.DROPPER), key=lambda i: i.code)
        self._dropper = Scale(droppers[0]) if droppers else None
        self._flasks = sorted(
            (i for i in self.instruments if i.kind is InstrumentKind.FLASK),
            key=lambda i: (i.capacity, -i.tolerance, i.code),
        )
        one_mark = self._volume[_DELIVERING.index(InstrumentKind.PIPETTE)]
        self._marks = sorted({s.capacity * n for s in one_mark for n in range(1, MOST_FILLINGS + 1)})
        self.measure = lru_cache(maxsize=65536)(self._measure)
        self.sizes = lru_cache(maxsize=None)(self._sizes)
        self._size_list = lru_cache(maxsize=None)(lambda pct: tuple(one.base for one in self.sizes(pct)))

    def _measure(
        self,
        base: int,
        measure: Measure,
        tolerance: float,
        intermediates: int = 1,
        fillings: int = MOST_FILLINGS,
    ) -> Measured | None:
        """Find how to measure `base` (ug or nL) to within `tolerance`; the best there is if nothing reaches it.

        `intermediates` is the most dilutions on the way that the caller will take (up to 3); with 0
        the amount is measured as it is, in so many `fillings` at most. None when the room owns nothing that could
        measure such an amount.
        """
        if base <= 0:
            return None
        direct = self._direct(base, measure, tolerance, fillings=fillings)
        if direct is None or not direct.adequate:
            for count in range(1, min(intermediates, _MOST_INTERMEDIATES) + 1):
                steps = self._through(base, measure, tolerance, count)
                if steps:
                    first = steps[0].source
                    return Measured(first.base, first, steps, combined_expanded(steps), tolerance)
        if direct is None:
            return None
        return Measured(direct.base, direct, (), direct.expanded, tolerance)

    def together(self, found: Sequence[Measured], measure: Measure) -> tuple[Measured, ...] | None:
        """Put measurements on one first intermediate, made once for all; None where no flask of the room fits.

        All of `found` begin with an intermediate of the same strength. Each goes on as before; the flask holds what
        all take of it, and no more leaves the bottle than without.
        """
        first = found[0].dilutions[0]
        total = sum(f.dilutions[0].then.base for f in found)
        most = sum(base_of(f.dilutions[0].flask.capacity) for f in found)
        share = min(f.tolerance / sqrt(2 * len(f.dilutions) + 1) for f in found)
        for flask in self._flasks:
            made = base_of(flask.capacity)
            base, over = divmod(first.source.base * made, base_of(first.flask.capacity))
            if over or total > made * _DRAINED or made > most or COVERAGE * flask_uncertainty(flask) > share:
                continue
            source = self._direct(base, measure, share)
            if source is None or not source.adequate or source.base != base:
                continue
            out = []
            for f in found:
                steps = (Intermediate(source, flask, f.dilutions[0].then), *f.dilutions[1:])
                out.append(Measured(base, source, steps, combined_expanded(steps), f.tolerance))
            return tuple(out)
        return None

    def vessel_for(self, base: int, tolerance_pct: Decimal) -> VesselChoice | None:
        """Find the vessel that makes the least volume of at least `base` nL; None when none is large enough."""
        bases = self._size_list(tolerance_pct)
        at = bisect_left(bases, base)
        if at == len(bases):
            return None
        least = self.sizes(tolerance_pct)[at]
        return VesselChoice(least.vessel, least.base, bases)

    # Amounts ------------------------------------------------------------------------------------------

    def _direct(
        self,
        amount: int,
        measure: Measure,
        tolerance: float,
        *,
        onward: bool = False,
        fillings: int = MOST_FILLINGS,
    ) -> Reading | None:
        """Find the coarsest adequate reading, of one filling if there is one, else the most exact one.

        `onward`: of an intermediate, not of a bottle.
        """
        best: Reading | None = None
        twice: Reading | None = None
        kinds = range(len(self._volume)) if onward else self._from_bottle
        once = self._once >= amount and not onward and measure is Measure.VOLUME
        for scales in self._mass if measure is Measure.MASS else [self._volume[kind] for kind in kinds]:
            chosen: Reading | None = None
            for scale in scales:
                reading = scale.read(amount, tolerance)
                if reading is None or reading.fillings > (1 if once else fillings):
                    continue
                if reading.adequate:
                    if chosen is None or reading.fillings < chosen.fillings:
                        chosen = reading
                    if chosen.fillings == 1:
                        break
                elif best is None or (reading.fillings, reading.expanded) < (best.fillings, best.expanded):
                    best = reading
            if chosen is not None and chosen.fillings == 1:
                return chosen
            twice = twice or chosen
        if twice is not None:
            return twice
        if best is None and measure is Measure.VOLUME and self._dropper is not None:
            return self._dropper.drops(amount, tolerance)
        return best

    def _through(self, amount: int, measure: Measure, tolerance: float, count: int) -> tuple[Intermediate, ...] | None:
        """Find `count` dilutions that together are within the tolerance: smallest flask, then least stock.

        Each of the 2 `count` + 1 readings and made-up volumes may use an equal part of the tolerance in
        quadrature, so their sum keeps to it.
        """
        share = tolerance / sqrt(2 * count + 1)
        flasks = [f for f in self._flasks if COVERAGE * flask_uncertainty(f) <= share]
        return self._chain(amount, measure, share, flasks, count) if flasks else None

    def _chain(
        self,
        amount: int,
        measure: Measure,
        share: float,
        flasks: Sequence[Instrument],
        count: int,
        *,
        onward: bool = False,
    ) -> tuple[Intermediate, ...] | None:
        sources = list(self._sources(amount, measure, share, onward=onward))
        for flask in flasks:
            made = base_of(flask.capacity)
            most = int(made * _MOST_UG_PER_NL) if measure is Measure.MASS else made // 2
            for source in sources:
                if source.base > most:
                    break
                # What was set on the first instrument is known, so the second amount is worked out from that figure.
                wanted = (2 * amount * made + source.base) // (2 * source.base)
                if not 0 < wanted <= made // 2:
                    continue
                if count == 1:
                    then = self._direct(wanted, Measure.VOLUME, share, onward=True)
                    if then is not None and then.adequate:
                        return (Intermediate(source, flask, then),)
                else:
                    rest = self._chain(wanted, Measure.VOLUME, share, flasks, count - 1, onward=True)
                    if rest and rest[0].source.base <= made // 2:
                        return (Intermediate(source, flask, rest[0].source), *rest)
                    break  # a larger first amount only makes the next one smaller
        return None

    def _sources(self, amount: int, measure: Measure, share: float, *, onward: bool) -> Iterator[Reading]:
        """List the readings that are within the share and larger than the amount, ascending."""
        tried = {amount * factor for factor in _FACTORS}
        if measure is Measure.VOLUME:
            tried.update(mark for mark in self._marks if mark > amount)
        else:
            tried.update(
                nearest(int(n * scale.error * COVERAGE / share), scale.step)
                for scale in self._mass[0]
                for n in (2, 5, 10)
            )
        found: dict[int, Reading] = {}
        for wanted in tried:
            reading = self._direct(wanted, measure, share, onward=onward) if wanted > amount else None
            if reading is not None and reading.adequate:
                found.setdefault(reading.base, reading)
        for base in sorted(found):
            exact = self._direct(base, measure, share, onward=onward)
            if exact is not None and exact.adequate:
                yield exact

    # Volumes made up ----------------------------------------------------------------------------------

    def _sizes(self, tolerance_pct: Decimal) -> tuple[VesselVolume, ...]:
        found: dict[int, tuple[int, int, str, Instrument]] = {}
        for instrument in self.instruments:
            if instrument.kind not in _VESSELS or instrument.capacity <= 0:
                continue
            rank = _VESSELS.index(instrument.kind)
            capacity = base_of(instrument.capacity)
            for base in _graduations(instrument, capacity, tolerance_pct):
                key = (rank, capacity, instrument.code, instrument)
                if base not in found or key[:3] < found[base][:3]:
                    found[base] = key
        return tuple(VesselVolume(base, self._poured_to(base, found[base][3], tolerance_pct)) for base in sorted(found))

    def _poured_to(self, base: int, vessel: Instrument, tolerance_pct: Decimal) -> Instrument:
        """Choose the smallest cylinder that does in place of a volumetric flask; else the vessel itself."""
        if vessel.kind is not InstrumentKind.FLASK or tolerance_pct < _LOOSE_PCT:
            return vessel
        enough = [
            one
            for one in self.instruments
            if one.kind is InstrumentKind.CYLINDER
            and base in _graduations(one, base_of(one.capacity), tolerance_pct, _LOOSE_SHARE)
        ]
        return min(enough, key=lambda one: (one.capacity, one.tolerance, one.code), default=vessel)


def sizes(instruments: Sequence[Instrument], tolerance_pct: Decimal) -> tuple[VesselVolume, ...]:
    """List the volumes (nL) that can be made up to within the tolerance, ascending, each with its vessel.

    A cylinder or a graduated beaker makes round graduations from a quarter of its scale up, if its tolerance
    there is a third of the solution's or less; a flask makes its mark. A flask comes last, the smaller vessel
    first.
    """
    return _room(instruments).sizes(tolerance_pct)


def vessel_for(
    volume_ml: Decimal | int, tolerance_pct: Decimal, instruments: Sequence[Instrument]
) -> VesselChoice | None:
    """Find the vessel that makes the least volume of at least `volume_ml` [mL] to within the tolerance.

    None where the volume is larger than any vessel. Tight tolerances leave the flasks; loose ones also a cylinder
    or a graduated beaker.
    """
    return _room(instruments).vessel_for(ceil(volume_ml * BASE_PER_UNIT), tolerance_pct)


_ROOMS: dict[int, Measuring] = {}


def _room(instruments: Sequence[Instrument]) -> Measuring:
    """Find the `Measuring` of these instruments; one is kept per tuple, with the answers it has worked out."""
    if not isinstance(instruments, tuple):
        return Measuring(instruments)
    known = _ROOMS.get(id(instruments))
    if known is None or known.instruments is not instruments:
        while len(_ROOMS) >= 8:
            _ROOMS.pop(next(iter(_ROOMS)))
        known = _ROOMS[id(instruments)] = Measuring(instruments)
    return known


def _graduations(
    instrument: Instrument, capacity: int, tolerance_pct: Decimal, share: int = _VESSEL_SHARE
) -> Iterable[int]:
    if tolerance_pct <= 0:
        return ()
    least = ceil(instrument.tolerance * BASE_PER_UNIT * 100 * share / tolerance_pct)
    if instrument.kind is InstrumentKind.FLASK:
        return (capacity,) if least <= capacity else ()
    step = _round_step(base_of(instrument.resolution) or capacity, capacity)
    first = -(-max(capacity // 4, least) // step) * step
    return range(first, capacity + 1, step)


def _round_step(division: int, capacity: int) -> int:
    """Choose the round step of 1, 2, 5, 10, ... in which volumes on a scale are made up, 25 or fewer to it.

    It must fall on the graduations; so nobody is asked to make 990 mL.
    """
    power = 1
    while True:
        for step in (power, 2 * power, 5 * power):
            if step * 25 >= capacity and step % division == 0:
                return step
        if power > capacity:
            return division
        power *= 10
