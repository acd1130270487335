"""The sentences of one make, step by step of its method."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction

from prep.chemistry import quantities
from prep.chemistry.measurement.uncertainty import Uncertain
from prep.chemistry.model import (
    Form,
    InstrumentKind,
    Measure,
    MethodStep,
    StepKind,
    StepPlace,
    Strength,
    Substance,
)
from prep.chemistry.preparation.steps import LABEL, StepWithPlace, WrittenStep, gives, keeping_of
from prep.chemistry.preparation.vessels import Bench, MeasuredPortion, VesselWork
from prep.chemistry.strength.dissolving import cleared, only_about, solid_remains, stirred_until
from prep.chemistry.strength.into_water import own_way
from prep.plurals import plural

_ROOM_LEFT = Fraction(19, 20)
"""Of the volume that other liquids leave, so much is poured before the mark: common practice, no source."""
_MORE = Fraction(21, 20)
"""So much more water than would just dissolve a solid is taken to dissolve it: common practice, no source."""
_COLD_C, _WARM_C = 15, 45
_OVERNIGHT = range(12 * 60, 20 * 60)
_HOUR, _DAY = 60, 24 * 60


def said_of(
    work: VesselWork, stated: Strength | None, result: Uncertain | None, unfit: Substance | None, against: str = ""
) -> str:
    """Say in a sentence what strength a make gives; empty where there is nothing to say.

    `unfit` is what it is made of, if that is no primary standard; `against` what its solute is found against.
    """
    if stated is None:
        return ""
    if unfit is not None:
        return only_about(unfit, stated)
    if result is None:
        return ""
    off, given = result.expanded_pct, gives(stated, result.expanded_pct)
    if off <= work.solution.tolerance_pct:
        return f"It gives {given}."
    find = f"find it against {against}" if against else "have its strength found"
    return (
        f"It gives {given}. Its entry asks for {quantities.plain(work.solution.tolerance_pct)} %, and this may be off "
        f"by {off} %: {find} before it is relied on."
    )


class Writer:
    """The sentences of one make; `good` is what it gives."""

    def __init__(self, bench: Bench, work: VesselWork, good: str) -> None:
        self.bench, self.work, self.good = bench, work, good
        self.vessel = work.vessel
        self._portions = {portion.written: portion for portion in work.portions}
        self._watered = work.solution.make_up_with == "water"
        self.liquid = "distilled water" if self._watered else bench.named(work.solution.make_up_with)
        self._in_beaker = False
        self._poured = Fraction(0)

    def steps(self, method: Sequence[MethodStep]) -> list[WrittenStep | StepWithPlace]:
        """Write the instructions in order, up to the label."""
        solution = self.work.solution
        out: list[WrittenStep | StepWithPlace] = []
        # A school's own sentence describes a make from the first source, and is wrong for any other.
        own = self.work.route.declared if solution.recipe else self.work.route == self.bench.routes(solution.code)[0]
        if solution.method and own and not solution.method_steps:
            out.append(WrittenStep(solution.method, kind=StepKind.FIRST))
        for step in method:
            out += self._sentences(step)
        if self.good and not any(step.kind is StepKind.MARK for step in method):
            out.append(WrittenStep(self.good))
        out.append(WrittenStep(f"{LABEL.text} {keeping_of(solution)}".rstrip(), kind=StepKind.LABEL))
        return out

    def _sentences(self, step: MethodStep) -> list[WrittenStep | StepWithPlace]:
        kind = step.kind
        self._in_beaker |= step.in_beaker
        if kind in (StepKind.ADD, StepKind.DROPS):
            return self._add(step)
        if kind is StepKind.MARK:
            return self._mark(step)
        if kind is StepKind.WATER:
            said = self._water(step)
        elif kind is StepKind.BOILED_WATER:
            if self._watered:
                self.liquid = "boiled and cooled water"
            said = f"Boil all the water for 10 minutes and let it cool, covered: {step.text}." if self._watered else ""
        elif kind is StepKind.DISSOLVE:
            least = self._least_water()
            most = self._about(max(Fraction(step.share or 0), min(least * _MORE, _ROOM_LEFT)), least)
            said = (
                self._by_its_own_way(most)
                or f"Dissolve it in about {most} of {self._warm(step)} in a beaker, stirring."
            )
        else:
            said = self._saturated(step) or _plain(step, self.bench.named)
        return [WrittenStep(said, kind=kind)] if said else []

    def _least_water(self) -> Fraction:
        """Work out the part of the volume that must be water for the solids to dissolve once it has cooled.

        0 where no solubility is on file.
        """
        least = Fraction(0)
        for portion in self.work.portions:
            solid = self.bench.substances.get(portion.item)
            if solid is not None and solid.form is Form.SOLID and solid.solubility_g_per_100g:
                least = max(least, portion.option.per_nl * 100 / Fraction(solid.solubility_g_per_100g))
        return least

    def _by_its_own_way(self, most: str) -> str:
        """Say how a solid goes in that is not just stirred into cold water; empty where a method of its own says it."""
        if self.work.solution.method_steps:
            return ""
        solids = (self.bench.substances.get(portion.item) for portion in self.work.portions)
        ways = (own_way(one.formula, one.code) for one in solids if one is not None and one.form is Form.SOLID)
        way = next((found for found in ways if found), None)
        if way is None:
            return ""
        return f"{_capital(way.reason)}: {way.instead}; in a beaker, with about {most} of {self.liquid} in all."

    def _saturated(self, step: MethodStep) -> str:
        """Say how a saturated solution is shaken where its method leaves it open, and that solid remains."""
        held = next((p.option.saturation for p in self.work.portions if p.option.saturation), None)
        if held is None:
            return ""
        grams = Decimal(int(held.dissolves * self.work.amount)) / quantities.BASE_PER_UNIT
        remains = solid_remains(grams)
        if step.kind is StepKind.SHAKE and not step.text:
            return f"Stir it, {stirred_until(held.at_c)}"
        if step.kind is StepKind.DECANT and not step.text:
            return f"{remains} {cleared(quantities.show(self.work.amount, Measure.VOLUME))}"
        return f"{remains} {_plain(step, self.bench.named)}" if step.kind is StepKind.SETTLE else ""

    def _water(self, step: MethodStep) -> str:
        where = step.text or f"the {self.vessel.name}"
        share = Fraction(step.share or 0)
        if share == 1:
            self._poured = share
            volume, vessel = self._all_the_water()
            return f"Measure {volume} of {self._warm(step)} with the {vessel} into {where}."
        share = min(share, self.work.free * _ROOM_LEFT - self._poured)
        first = self._about(share)
        if not first:
            return ""
        self._poured += share
        return f"Put about {first} of {self._warm(step)} in {where}."

    def _all_the_water(self) -> tuple[str, str]:
        """Name the volume that the step measures, and with what.

        The volume of the solution; of a saturated one the water that so much of it holds.
        """
        held = next((p.option.saturation for p in self.work.portions if p.option.saturation), None)
        if held is None:
            return quantities.show(self.work.amount, Measure.VOLUME), self.vessel.name
        need = round(held.water * self.work.amount)
        found = self.bench.poured(need)
        if found is None:
            return quantities.show(need, Measure.VOLUME), self.vessel.name
        return found.reading.figure, found.reading.instrument.name

    def _warm(self, step: MethodStep) -> str:
        """Name what it is made up with, as warm as the step says."""
        t = step.temperature_c
        if t is None:
            return self.liquid
        if t <= _COLD_C:
            return f"cold {self.liquid}"
        return f"{'warm' if t <= _WARM_C else 'hot'} {self.liquid} (about {quantities.plain(t)} °C)"

    def _add(self, step: MethodStep) -> list[WrittenStep | StepWithPlace]:
        text = step.text
        first = not text and not self._poured and self._is_liquid(step.item)
        if first or step.goes_into is StepPlace.VESSEL:
            text = f"let it run into the {self.vessel.name}"
        elif not text and self._is_liquid(step.item):
            swirled = self.vessel.kind is InstrumentKind.FLASK
            text = f"add it slowly to the water, {'swirling' if swirled else 'stirring'}"
        elif not self._poured and step.goes_into is StepPlace.WATER:
            text, self._in_beaker = "pour it into a heat-proof beaker", True
        portion = self._portions[step.item]
        if portion.first and self._is_liquid_item(portion.first) and not self._is_liquid(step.item):
            text = "dissolve it in what is there, stirring"  # the solid, for a stock that is not made for this alone
        return self._measure(self._portions[step.item], text)

    def _is_liquid(self, written: str) -> bool:
        return self._is_liquid_item(self._portions[written].item)

    def _is_liquid_item(self, item: str) -> bool:
        return self.bench.measure_of(item) is Measure.VOLUME

    def _measure(self, portion: MeasuredPortion, then: str) -> list[WrittenStep | StepWithPlace]:
        tail = f"; {then}" if then else ""
        item, end = portion.item, f"{tail}."
        need = round(portion.option.per_nl * self.work.amount)
        if item == "water":
            water = self.bench.poured(need)
            figure = str(water.reading) if water else quantities.show(need, Measure.VOLUME)
            code = water.reading.instrument.code if water else ""
            return [WrittenStep(f"Measure {figure}: {self.liquid}{end}", code, StepKind.ADD, item)]
        name, measure = self.bench.named(item), self.bench.measure_of(item)
        verb = "Weigh" if measure is Measure.MASS else "Measure"
        found, common = portion.found, portion.common
        if found is None:
            said = f"{verb} {quantities.show(need, measure)} (nothing in the room measures that) of {name}"
            return [StepWithPlace(item, said, end)]
        code = found.reading.instrument.code
        if not found.dilutions:
            good = found.adequate or found.expanded * 100 <= self.work.solution.tolerance_pct
            warn = "" if good else " (as exactly as the room can)"
            return [StepWithPlace(item, f"{verb} ", end, code, found, f"{warn}: {name}")]
        marks = [
            f"; make it up to the mark in the {step.flask.name} with {self.liquid}, stopper and mix."
            for step in found.dilutions
        ]
        out: list[WrittenStep | StepWithPlace] = []
        if common is not None and not common.first:
            flask = found.dilutions[0].flask.name
            out.append(
                WrittenStep(f"Take the intermediate made for {common.makes[0]}: {name}, diluted in the {flask}.")
            )
        else:
            others = ", ".join(common.makes[1:]) if common else ""
            shared = f", for this and for {others}" if others else ""
            said = f"First an intermediate{shared}: {verb.lower()} "
            mark = marks[0] + (f" Label it and keep what is left for {others}, the same day." if others else "")
            out.append(StepWithPlace(item, said, mark, code, found, f": {name}"))
        for step, mark in zip(found.dilutions[:-1], marks[1:], strict=True):
            said = f"Then a second intermediate: measure {step.then} of the first{mark}"
            out.append(WrittenStep(said, step.then.instrument.code, StepKind.ADD))
        last = found.dilutions[-1].then
        which = "intermediate" if len(marks) == 1 else "second intermediate"
        out.append(WrittenStep(f"Measure {last} of the {which}{end}", last.instrument.code, StepKind.ADD))
        return out

    def _mark(self, step: MethodStep) -> list[WrittenStep | StepWithPlace]:
        volume = quantities.show(self.work.amount, Measure.VOLUME)
        good = f" {self.good}" if self.good else ""
        if not self.work.to_the_mark:
            said = f"Together they make {volume}; {step.text or _at(step) or 'mix well'}.{good}"
            return [WrittenStep(said, self.vessel.code, StepKind.MARK)]
        if step.stays_in_beaker:
            return [
                WrittenStep(f"Add {self.liquid} to about {volume}, {step.text}, and stir.{good}", kind=StepKind.MARK)
            ]
        out: list[WrittenStep | StepWithPlace] = []
        if self._in_beaker and self.vessel.kind is not InstrumentKind.BEAKER:
            out.append(
                WrittenStep(f"Pour it into the {self.vessel.name}; rinse the beaker into it twice.", kind=StepKind.POUR)
            )
            self._in_beaker = False
        at = f", {_at(step)}" if _at(step) else ""
        flask = self.vessel.kind is InstrumentKind.FLASK
        mix = step.text or ("stopper and mix well" if flask else "mix well in its bottle")
        said, end = f"Make it up to {volume} with {self.liquid}", f"{at}; {mix}.{good}"
        solvent = self.work.solution.make_up_with
        if self._watered:
            out.append(WrittenStep(said + end, self.vessel.code, StepKind.MARK))
        else:
            out.append(StepWithPlace(solvent, said, end, self.vessel.code, solvent=True, kind=StepKind.MARK))
        return out

    def _about(self, share: Fraction, least: Fraction = Fraction(0)) -> str:
        """Write a rough volume, never more than the share; empty where that is next to nothing.

        One figure, or two where one would be less than `least` of the volume.
        """
        rough = Decimal(int(self.work.amount * share))
        if share < Fraction(1, 50) or rough < quantities.BASE_PER_UNIT:
            return ""
        step = Decimal(1).scaleb(max(rough.adjusted(), 0))
        if int(rough / step) * step < self.work.amount * least:
            step /= 10
        return quantities.show(int(rough / step) * int(step), Measure.VOLUME)


def _plain(step: MethodStep, name_of: Callable[[str], str]) -> str:
    """Write the sentence of a step that measures nothing; empty where it has none."""
    text, t = step.text, step.temperature_c
    after = f": {text}" if text else ""
    match step.kind:
        case StepKind.FUME_FROM:
            return f"In the fume cupboard from here{after}."
        case StepKind.FUME_TO:
            return f"Out of the fume cupboard {text}." if text else "From here on outside the fume cupboard."
        case StepKind.DRY:
            length = duration(step.minutes)
            return f"Dry the {_lower(name_of(step.item))} at {t} °C {length}; let it cool in a desiccator."
        case StepKind.HEAT:
            length = f" {duration(step.minutes)}" if step.minutes else ""
            return f"Warm it to {t} °C{length}{after}."
        case StepKind.BOIL:
            under = f", {text}" if text else ""
            return f"Boil it {duration(step.minutes)}{under}." if step.minutes else "Bring it to the boil."
        case StepKind.COOL:
            where = f", {text}" if text else ""
            return f"Let it cool to {'room temperature' if t is None else f'{t} °C'}{where}."
        case StepKind.FILTER:
            return f"Filter it {text}." if text else "Filter it."
        case StepKind.STAND:
            return f"Let it stand {duration(step.minutes)}, {text}."
        case StepKind.SETTLE:
            return f"Let it settle {duration(step.minutes)}, {text}."
        case StepKind.CHECK:
            return f"Check it with a pH meter: it should be {text}."
        case StepKind.NO_FLASK:
            return ""
        case _:
            return text


def _at(step: MethodStep) -> str:
    """Write the degrees at which a MARK is read: `at 20 to 25 °C`; empty where it is read at any."""
    if step.temperature_c is None:
        return ""
    return (
        f"at {quantities.plain(step.temperature_c)}{f' to {quantities.plain(step.up_to_c)}' if step.up_to_c else ''} °C"
    )


def in_words(steps: Sequence[MethodStep], name_of: Callable[[str], str]) -> list[str]:
    """Write the method as it is on file, a sentence a step, without the figures of a make."""
    out = []
    for step in steps:
        t, where = step.temperature_c, f" in {step.text}" if step.text else ""
        warm = "" if t is None else "cold " if t <= _COLD_C else f"{t} °C "
        if step.kind is StepKind.ADD:
            name = _capital(name_of(step.item)) if step.item else "What it is made from"
            out.append(f"{name}: {step.text or 'add it'}.")
        elif step.kind is StepKind.WATER:
            out.append(f"Some of the {warm}water{where}.")
        elif step.kind is StepKind.BOILED_WATER:
            out.append(f"Boiled and cooled water: {step.text}.")
        elif step.kind is StepKind.MARK:
            out.append(", ".join(filter(None, ("Make it up", _at(step), step.text))) + ".")
        elif step.kind is StepKind.NO_FLASK:
            out.append(f"No volumetric flask: {step.text}.")
        else:
            out.append(_plain(step, name_of))
    return out


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]


def duration(minutes: int) -> str:
    """Write minutes in words: `for 30 minutes`, `overnight`, `for 2 days`."""
    if minutes in _OVERNIGHT:
        return "overnight"
    for size, word in ((_DAY, "day"), (_HOUR, "hour"), (1, "minute")):
        if minutes % size == 0:
            count = minutes // size
            return f"for {plural(count, word)}"
    raise AssertionError(minutes)


def _lower(name: str) -> str:
    """Write a substance's name as it stands in the middle of a sentence."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name
