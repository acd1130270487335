"""Needs stated `until pH 7`: how much of the item carries what else is in its vessel to that pH.

Composition comes from the entries: the dish is all that the demo puts into the vessel, indicators counted as
water. Where something in it is no acid, base or salt on file, the demo's own figure stands and the reason is
given.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import ceil

from prep.chemistry.acid_base import droppers
from prep.chemistry.acid_base.endpoints import drops_of
from prep.chemistry.acid_base.equilibrium import Mixture, mixture_of, parts_for, solve
from prep.chemistry.acid_base.indicators import Indicator, indicators
from prep.chemistry.acid_base.species import Component, Species, of_formula
from prep.chemistry.acid_base.until import COLOUR_BEGINS, COLOURS
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.contents import ContentsReader
from prep.chemistry.model import Line, Measure
from prep.chemistry.quantities import BASE_PER_UNIT, show
from prep.chemistry.spelling import key
from prep.errors import PrepError
from prep.planning.model import Demo, Need
from prep.planning.set_out import ReckonedDemo, UntilNeed, one_portion, portions_in
from prep.plurals import plural
from prep.records import record

MOST_TIMES = 100
"""How many times what is in the vessel may be added to it before the demo's own figure stands."""
_DROPWISE_ML = 5.0
"""Up to this volume a person counts drops: common practice, no source."""
_ML_IN_L = 0.001
_PH = re.compile(r"\s*[pP][hH]\s*([0-9]{1,2}(?:\.[0-9]+)?)\s*")


@record(frozen=True, slots=True)
class VesselContents:
    """What is in a vessel: the mixture, its volume [mL], the indicator in it, and by how much strengths may be off."""

    mixture: Mixture
    volume_ml: float
    indicator: Indicator | None
    tolerance_pct: float


@record(frozen=True, slots=True)
class SpeciesMoles:
    """So many moles of a species."""

    species: Species
    moles: float


class UntilReckoner:
    """What the `until` needs of a catalogue's demos come to."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._substances = catalogue.substances
        self._solutions = catalogue.solutions
        self._contents = ContentsReader(catalogue, indicators_as_water=True)
        self._known: dict[str, tuple[SpeciesMoles, ...]] = {}

    def reckoned(self, demo: Demo) -> ReckonedDemo:
        """Compute each `until` need's amount per showing in a demo, and say how it was found.

        Needs are taken in order: what one of them adds is in the vessel for the next.
        """
        needs, found = list(demo.needs), []
        for at, need in enumerate(needs):
            if need.until:
                one = self._one(needs, at)
                found.append(one)
                if one.volume_nl is not None:
                    drops = one.drops.count * one.portions if one.drops else 0
                    needs[at] = replace(need, per_showing=one.volume_nl, drops=drops, portions=one.portions)
        return ReckonedDemo(replace(demo, needs=tuple(needs)), tuple(found))

    def _one(self, needs: list[Need], at: int) -> UntilNeed:
        need = needs[at]
        read = _PH.fullmatch(need.until)
        ph = float(read[1]) if read else 0.0
        lines: list[Line] = []
        colour = need.until in COLOURS

        def not_so(why: str) -> UntilNeed:
            return UntilNeed(need.item, need.vessel, ph, None, None, None, tuple(lines), why, need.until, need.dropper)

        if read is None and not colour:
            return not_so(f'"{need.until[:40]}" is no pH.')
        substance = self._substances.get(need.item)
        if substance is not None and substance.measure is Measure.MASS:
            return not_so(f"{substance.name} is weighed, not run in.")
        portions = portions_in(needs, need.vessel)
        there = [
            one_portion(n, portions)
            for i, n in enumerate(needs)
            if i != at and n.vessel == need.vessel and (not n.until or i < at)
        ]
        try:
            moles: list[SpeciesMoles] = []
            volume_nl = 0
            for other in there:
                inside = self._inside(other.item, other.per_showing)
                moles += inside
                volume_nl += self._volume_nl(other.item, other.per_showing)
                lines.append(Line(self._says(other, inside)))
            titrant = self._inside(need.item, BASE_PER_UNIT)
        except PrepError as unknown:
            return not_so(str(unknown))
        if not volume_nl:
            return not_so(f"nothing else is in the {need.vessel or 'vessel'} by volume.")
        litres = volume_nl / BASE_PER_UNIT / 1000
        dish = _mixture(moles, litres)
        added = _mixture(titrant, _ML_IN_L)
        start = solve(dish).ph
        if colour:
            of = self.indicator_in(there)
            if of is None:
                return not_so(f"no indicator whose colours are on file is in the {need.vessel or 'vessel'}.")
            goal = _colour_ph(of, need.until, start, solve(added).ph)
            if goal is None:
                return not_so(f"{of.name} does not change on the way from pH {start:.2f}.")
            ph = goal
        parts = parts_for(dish, added, ph)
        if parts is None or parts > MOST_TIMES:
            return not_so(f"{self._name(need.item)} does not bring pH {start:.2f} to pH {ph:g}.")
        found_nl = ceil(parts * volume_nl - 1e-3)
        whole = show(volume_nl, Measure.VOLUME)
        lines.append(
            Line(
                f"{whole} in the {need.vessel or 'vessel'} at pH {start:.2f}; the charges balance at pH {ph:g} with "
                f"{parts:.5g} x {whole} = {show(found_nl, Measure.VOLUME)} of {self._name(need.item)}",
                "charge balance with Davies activity coefficients, 25 degC, volumes taken as additive",
            )
        )
        drops = None
        if need.dropper or found_nl <= _DROPWISE_ML * BASE_PER_UNIT:
            tip = droppers.dropper(need.dropper) if need.dropper else droppers.common()
            drops = drops_of(found_nl / BASE_PER_UNIT, tip.dropper)
            lines.append(
                Line(
                    f"{plural(drops.count, 'drop')} at {tip.dropper.drops_per_ml:g} drops/mL, "
                    f"{drops.fewest} to {drops.most} with a spread of {tip.dropper.spread_pct:g} %",
                    tip.source,
                )
            )
        if portions > 1:
            each, whole = show(found_nl, Measure.VOLUME), show(found_nl * portions, Measure.VOLUME)
            lines.append(Line(f"{portions} portions, one after the other: {portions} x {each} = {whole}"))
        return UntilNeed(
            need.item,
            need.vessel,
            ph,
            start,
            found_nl * portions,
            drops,
            tuple(lines),
            "",
            need.until,
            need.dropper,
            portions,
        )

    def indicator_in(self, needs: Iterable[Need]) -> Indicator | None:
        """Find the indicator among some needs whose colours are on file."""
        for need in needs:
            solution = self._solutions.get(need.item)
            if solution is not None and solution.purpose == "indicator":
                wanted = key(solution.name)
                for one in indicators().values():
                    if any(wanted.startswith(key(name)) for name in (one.name, *one.other_names)):
                        return one
        return None

    def contents(self, needs: Sequence[Need]) -> VesselContents:
        """Add up what some needs put into a vessel, for one showing.

        Raises PrepError where the composition of one is not known, or nothing in it is counted by volume.
        """
        moles: list[SpeciesMoles] = []
        volume_nl, tolerance = 0, 0.0
        for need in needs:
            inside = self._inside(need.item, need.per_showing)
            moles += inside
            volume_nl += self._volume_nl(need.item, need.per_showing)
            if inside and need.item in self._solutions:
                tolerance = max(tolerance, float(self._solutions[need.item].tolerance_pct))
        if not volume_nl:
            raise PrepError(f"nothing in the {needs[0].vessel or 'vessel' if needs else 'vessel'} is a liquid.")
        litres = volume_nl / BASE_PER_UNIT / 1000
        mixture = _mixture(moles, litres)
        return VesselContents(mixture, volume_nl / BASE_PER_UNIT, self.indicator_in(needs), tolerance)

    def _inside(self, item: str, amount: int) -> list[SpeciesMoles]:
        """Work out the moles of each species in an amount (ug or nL) of an item."""
        return [SpeciesMoles(one.species, one.moles * amount) for one in self._per_base(item)]

    def _volume_nl(self, item: str, amount: int) -> int:
        """Work out the volume [nL] that an amount of an item adds: none, where it is weighed."""
        substance = self._substances.get(item)
        return 0 if substance is not None and substance.measure is Measure.MASS else amount

    def _per_base(self, item: str) -> tuple[SpeciesMoles, ...]:
        """Find the moles of each species per ug or nL.

        Raises PrepError where the composition is not known.
        """
        known = self._known.get(item)
        if known is None:
            portions = self._contents.of(item).portions
            found = (SpeciesMoles(of_formula(one.formula, called=one.name), float(one.moles)) for one in portions)
            known = self._known[item] = tuple(found)
        return known

    def _says(self, need: Need, inside: Sequence[SpeciesMoles]) -> str:
        substance = self._substances.get(need.item)
        amount = show(need.per_showing, substance.measure if substance else Measure.VOLUME)
        moles = ", ".join(f"{1000 * one.moles:.5g} mmol of {one.species.formula}" for one in inside)
        return f"in the {need.vessel or 'vessel'}: {amount} of {self._name(need.item)}: {moles or 'counted as water'}"

    def _name(self, item: str) -> str:
        known = self._substances.get(item) or self._solutions.get(item)
        return known.name if known else item


def _colour_ph(of: Indicator, until: str, start: float, goal: float) -> float | None:
    """Find the pH at which the indicator begins to change, has changed, or shows its next colour; else None."""
    rising = goal > start
    ahead = [c for c in of.changes if (c.ph_high > start if rising else c.ph_low < start)]
    if not ahead:
        return None
    change = ahead[0] if rising else ahead[-1]
    first, last = (change.ph_low, change.ph_high) if rising else (change.ph_high, change.ph_low)
    if until == COLOUR_BEGINS:
        return start if ((start >= first) if rising else (start <= first)) else first
    return last


def _mixture(contents: Sequence[SpeciesMoles], litres: float) -> Mixture:
    """Build the mixture of some moles in so many litres."""
    return mixture_of([Component(one.species, one.moles / litres, True) for one in contents])
