"""The method of a make: the steps on file for a solution and for what it is made from, in one order."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from prep.chemistry.heat_of_solution import Warmth, rise
from prep.chemistry.model import Measure, MethodStep, Origin, StepKind, StepPlace, Substance, place_said
from prep.chemistry.preparation.routes import RouteKind
from prep.chemistry.preparation.vessels import MeasuredPortion, VesselWork

_ORIGINS = {
    RouteKind.DISSOLVE: Origin.SOLID,
    RouteKind.CONCENTRATE: Origin.CONCENTRATE,
    RouteKind.DILUTE: Origin.STOCK,
}
_WARM_C = Decimal(30)
"""What is warmer is cooled before the mark, which is set at 20 degC: ISO 1042, reference temperature."""
_STANDARD_PCT = Decimal(2)
"""Up to this tolerance a solution has its primary standard dried first: common practice, no source."""

_HALF, _MOST = Decimal("0.5"), Decimal("0.7")
_MARK = MethodStep(StepKind.MARK)
_DEFAULTS = {
    Origin.SOLID: (
        MethodStep(StepKind.ADD),
        MethodStep(StepKind.DISSOLVE, "a beaker", share=_MOST),
        _MARK,
    ),
    Origin.CONCENTRATE: (
        MethodStep(StepKind.WATER, "a heat-proof beaker", share=_HALF, goes_into=StepPlace.BEAKER),
        MethodStep(StepKind.ADD, "add it slowly to the water, stirring", goes_into=StepPlace.WATER),
        MethodStep(StepKind.COOL),
        _MARK,
    ),
    Origin.STOCK: (
        MethodStep(StepKind.WATER, share=_HALF),
        MethodStep(StepKind.ADD),
        _MARK,
    ),
}
_HOT_SOLID = (
    MethodStep(StepKind.WATER, share=_HALF),
    MethodStep(StepKind.ADD, "add it to the water a little at a time, stirring", goes_into=StepPlace.WATER),
    MethodStep(StepKind.COOL),
    _MARK,
)
"""The usual steps for a solid that grows hot with water, such as an anhydrous salt: common practice, no source."""
_GROWS = {Warmth.WARM: "it grows warm", Warmth.HOT: "it grows hot", Warmth.VERY_HOT: "it grows very hot"}
_SATURATING = (
    MethodStep(StepKind.WATER, "a beaker", share=Decimal(1), goes_into=StepPlace.BEAKER),
    MethodStep(StepKind.ADD, "into the beaker", goes_into=StepPlace.BEAKER),
    MethodStep(StepKind.SHAKE),
    MethodStep(StepKind.DECANT),
)
"""The usual steps where more is weighed than dissolves: nothing is made up to a mark."""
_FIRST = (StepKind.FIRST, StepKind.BOILED_WATER, StepKind.NO_FLASK, StepKind.CAUTION, StepKind.FUME_FROM)
_LAST = (StepKind.NOTE, StepKind.STAND, StepKind.SETTLE, StepKind.DECANT, StepKind.CHECK, StepKind.FUME_TO)


def method_of(work: VesselWork, known: Mapping[str, Substance]) -> tuple[MethodStep, ...]:
    """List the steps of a make in order: the solution's own where they name what goes in, else the usual ones.

    Every ADD step names its item. What is on file for a substance holds wherever that substance is taken.
    """
    origin = _ORIGINS.get(work.route.kind)
    own = [step for step in work.solution.method_steps if not step.origins or origin in step.origins]
    portions = [portion for portion in work.portions if portion.item != "water"]
    if any(step.kind is StepKind.ADD for step in own):
        script = list(own)
    elif origin is None or len(portions) != 1:
        script = _amended(_recipe(work, known), own)
    else:
        (portion,) = portions
        script = _amended(_usual(work, portion, origin, known), own)
    script = _named(script, work)
    for portion in work.portions:
        script = _handled(script, portion, work, known)
    return tuple(_cooled(script))


def _held(portion: MeasuredPortion, known: Mapping[str, Substance]) -> tuple[MethodStep, ...]:
    substance = known.get(portion.item)
    return substance.method_steps if substance is not None else ()


def _warmth(work: VesselWork, portion: MeasuredPortion, known: Mapping[str, Substance]) -> Warmth | None:
    """Judge how warm a portion makes the whole; None where that is not known, or where it grows cold."""
    substance = known.get(portion.item)
    degrees = rise(substance, round(portion.option.per_nl * work.amount), work.amount) if substance else None
    return None if degrees is None or degrees < 0 else Warmth.of(degrees)


def _usual(
    work: VesselWork, portion: MeasuredPortion, origin: Origin, known: Mapping[str, Substance]
) -> list[MethodStep]:
    """List the usual steps from a solid, a concentrate or a stock; the substance's own where it has them."""
    if portion.option.saturation is not None:
        return list(_SATURATING)
    if portion.found is not None and portion.found.dilutions:
        into = f"let it run into the {work.vessel.name}"
        return [MethodStep(StepKind.ADD, into), _MARK] if origin is Origin.SOLID else list(_DEFAULTS[Origin.STOCK])
    held, warmth = _held(portion, known), _warmth(work, portion, known)
    if any(step.kind is StepKind.ADD for step in held) and not (warmth is Warmth.NONE and origin is Origin.SOLID):
        fumes = (StepKind.FUME_FROM, StepKind.FUME_TO)
        return _warmed([*(step for step in held if step.kind not in (*fumes, StepKind.CAUTION)), _MARK], warmth)
    if origin is Origin.SOLID and warmth is not None and warmth >= Warmth.HOT:
        return _warmed(_HOT_SOLID, warmth)
    return _warmed(_DEFAULTS[origin], warmth)


def _warmed(script: Sequence[MethodStep], warmth: Warmth | None) -> list[MethodStep]:
    """Adapt steps to a portion that warms the whole: what it is mixed in, and whether it is left to cool."""
    if warmth is None:
        return list(script)
    beaker = "a heat-proof beaker that stands in cold water" if warmth >= Warmth.HOT else "a beaker"
    out = []
    for step in script:
        if step.kind is StepKind.WATER:
            step = replace(step, text=beaker, goes_into=StepPlace.BEAKER)
        elif step.kind is StepKind.ADD and step.text and warmth:
            step = replace(step, text=f"{step.text}: {_GROWS[warmth]}")
        if warmth or step.kind is not StepKind.COOL:
            out.append(step)
    return out


def _recipe(work: VesselWork, known: Mapping[str, Substance]) -> list[MethodStep]:
    """List the usual steps of a recipe: half of the water where there is room, then part by part."""
    out: list[MethodStep] = []
    warmest = max((_warmth(work, portion, known) or Warmth.NONE for portion in work.portions), default=Warmth.NONE)
    if work.free >= Decimal("0.5"):
        out += _warmed([MethodStep(StepKind.WATER, share=_HALF)], warmest)
    for portion in work.portions:
        held, warmth = _held(portion, known), _warmth(work, portion, known)
        own = next((step for step in held if step.kind is StepKind.ADD), None)
        if portion.note or own is None or warmth is Warmth.NONE:
            out.append(_added(portion))
        else:
            steps = [replace(own, item=portion.written), *(step for step in held if step.kind is StepKind.COOL)]
            out += _warmed(steps, warmth)
    return [*out, _MARK]


def _amended(script: list[MethodStep], own: Sequence[MethodStep]) -> list[MethodStep]:
    """Insert a solution's own steps where they belong among the usual ones."""
    first: list[MethodStep] = []
    before: list[MethodStep] = []
    after: list[MethodStep] = []
    for step in own:
        if step.kind is StepKind.WATER:
            kinds = (StepKind.WATER, StepKind.DISSOLVE)
            script = [_instead(step, s) if s.kind in kinds else s for s in script]
        elif step.kind is StepKind.MARK:
            script = [step if s.kind is StepKind.MARK else s for s in script]
        elif step.kind in _FIRST:
            first.append(step)
        elif step.kind in _LAST or after:
            after.append(step)
        else:
            before.append(step)
    at = next((n for n, s in enumerate(script) if s.kind is StepKind.MARK), len(script))
    return [*first, *script[:at], *before, *script[at:], *after]


def _instead(own: MethodStep, usual: MethodStep) -> MethodStep:
    """Write a solution's own water in the place of the usual; where it goes is the usual's, if its own says nothing."""
    text, into = (own.text, own.goes_into) if own.text else (usual.text, usual.goes_into)
    return replace(own, kind=usual.kind, text=text, goes_into=into)


def _added(portion: MeasuredPortion) -> MethodStep:
    """Make the step that adds a portion of a recipe, by its note where it has one."""
    text = portion.note or "add it, stirring until it is dissolved or mixed"
    return MethodStep(StepKind.ADD, text, portion.written, goes_into=place_said(StepKind.ADD, text))


def _named(script: Sequence[MethodStep], work: VesselWork) -> list[MethodStep]:
    """Name in every ADD step a part of this make; a part that no step names goes in before the mark."""
    written = [portion.written for portion in work.portions]
    out = []
    for step in script:
        if step.kind is StepKind.ADD:
            item = step.item or next(iter(written), "")
            if item not in written:
                continue  # this make has no such ingredient
            step = replace(step, item=item)
        out.append(step)
    named = {step.item for step in out if step.kind is StepKind.ADD}
    at = next((n for n, step in enumerate(out) if step.kind is StepKind.MARK), len(out))
    out[at:at] = [_added(portion) for portion in work.portions if portion.written not in named]
    return out


def _handled(
    script: list[MethodStep], portion: MeasuredPortion, work: VesselWork, known: Mapping[str, Substance]
) -> list[MethodStep]:
    """Insert what is on file for a substance that is taken: drying, fume cupboard, cautions."""
    substance = known.get(portion.item)
    if substance is None:
        return script
    at = next(n for n, s in enumerate(script) if s.kind is StepKind.ADD and s.item == portion.written)
    held = substance.method_steps
    before = [step for step in held if step.kind is StepKind.CAUTION and step not in script]
    # What goes in beside the standard, such as the carbonate that keeps thiosulfate from souring, is taken as it is.
    counts = work.solution.solute in ("", substance.solute)
    dries = substance.dry_c is not None and counts and work.solution.tolerance_pct <= _STANDARD_PCT
    if dries and substance.measure is Measure.MASS and portion.found is not None:
        drying = MethodStep(
            StepKind.DRY, item=portion.item, temperature_c=substance.dry_c, minutes=substance.dry_minutes
        )
        # Drying comes first: it takes an hour or more, and nothing warm should wait for it.
        script, at = [drying, *script], at + 1
    fumes = next((step for step in held if step.kind is StepKind.FUME_FROM), None)
    if fumes is None or any(step.kind is StepKind.FUME_FROM for step in script):
        return [*script[:at], *before, *script[at:]]
    # It leaves the cupboard when what fumes is in the water and cold; where there is no mark, at the end.
    mark = next((n for n, s in enumerate(script) if n > at and s.kind is StepKind.MARK), len(script))
    leave = next(step for step in held if step.kind is StepKind.FUME_TO)
    return [*script[:at], *before, fumes, *script[at:mark], leave, *script[mark:]]


def _cooled(script: Sequence[MethodStep]) -> list[MethodStep]:
    """Insert a COOL before the mark where something was warmed after the last one."""
    out: list[MethodStep] = []
    warm = False
    for step in script:
        if step.kind is StepKind.COOL:
            warm = False
        elif step.kind is StepKind.BOIL or ((step.temperature_c or 0) > _WARM_C and step.kind is not StepKind.DRY):
            warm = True
        elif step.kind is StepKind.MARK and warm and not step.stays_in_beaker:
            out.append(MethodStep(StepKind.COOL))
            warm = False
        out.append(step)
    return out
