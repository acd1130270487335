"""Weighing a solid for a solution: any hydrate, any assay, any kind of strength, never past solubility."""

from dataclasses import replace
from decimal import Decimal

from prep.chemistry.formula.formulas import counted_as, molar_mass
from prep.chemistry.model import Line, Strength, StrengthKind, Substance, head_of
from prep.chemistry.quantities import figures as _f
from prep.chemistry.quantities import plain, tidy
from prep.chemistry.strength import densities
from prep.chemistry.strength.solutes import SoluteFacts
from prep.chemistry.strength.solution_density import at_pct, beyond_known
from prep.chemistry.strength.strengths import MASS_SOURCE, convert, least_g_per_100g, most_g_per_100g
from prep.errors import PrepError
from prep.records import record

SATURATED_EXCESS = Decimal(2)
"""A saturated solution of what hardly dissolves is made with twice that, so that solid remains: common practice, no
source."""
SMALL_EXCESS = Decimal("1.1")
"""Where much dissolves, a tenth more is enough: common practice, no source."""
_HARDLY = Decimal(2)  # grams in 100 g of water

_NEAR = Decimal("0.8")


@record(frozen=True, slots=True)
class Dissolved:
    """What to weigh: `mass_g` of the solid as it is in the bottle, in which `pure_g` are what its formula says.

    `moles` of the solute that the strength counts, None where its formula has no molar mass. Of a saturated
    solution, `dissolves_g` of what is weighed dissolve, in `water_ml` of water.
    """

    mass_g: Decimal
    pure_g: Decimal
    moles: Decimal | None
    working: tuple[Line, ...]
    dissolves_g: Decimal | None = None
    water_ml: Decimal | None = None


def stirred_until(at_c: Decimal | None) -> str:
    """Say how a solution is saturated at a temperature [degC; None: the room's], as the end of a sentence."""
    at = "room temperature" if at_c is None else f"{plain(at_c)} degC"
    return f"at {at}, until no more dissolves (an hour or more, now and then)."


def solid_remains(dissolves_g: Decimal) -> str:
    """Say in a sentence that a saturated solution leaves solid."""
    return f"About {_f(dissolves_g, 2)} g dissolve; the rest stays as solid."


def only_about(one: Substance, stated: Strength) -> str:
    """Say that what is made of no primary standard is only about as strong as stated; empty where it is one."""
    if not one.unfit:
        return ""
    against = f": find it against {one.found_against}" if one.found_against else ": have its strength found"
    about = Strength(Decimal(_f(stated.value, 2)), stated.kind)
    head = head_of(one.name)
    name = head[:1].lower() + head[1:] if head[1:2].islower() else head  # an abbreviation keeps its capitals
    return f"It is about {about}, for {name} {one.unfit}{against} before it is relied on."


def cleared(volume: str) -> str:
    """Say in a sentence how the clear solution is had; `volume` as a person reads it."""
    return f"Let it settle, and pour or filter off {volume} of the clear solution."


def dissolve(
    formula: str,
    strength: Strength,
    volume_ml: Decimal,
    *,
    assay_pct: Decimal = Decimal(100),
    about: SoluteFacts | None = None,
    excess: Decimal | None = None,
) -> Dissolved:
    """Work out the mass of the solid `formula` for a volume [mL] of solution at `strength`.

    `about.formula` is what the strength counts (another hydrate of the same solute, or the same); its density
    is that of the solution. m = c V / 1000 x (M of the solid / M counted) x 100 / assay. For `saturated`, what
    that volume of saturated solution holds (its density by solubility), times `excess`. Raises PrepError: more
    than dissolves, another solute, an assay out of range, a density wanting.
    """
    about = about or SoluteFacts(formula)
    if not about.formula:
        about = replace(about, formula=formula)
    if not 0 < assay_pct <= 100:
        raise PrepError(f"An assay of {plain(assay_pct)} % is not accepted; it is above 0 and at most 100.")
    if volume_ml <= 0:
        raise PrepError("The amount to make must be more than nothing.")
    working: list[Line] = []
    if strength.kind is StrengthKind.SATURATED:
        dissolved, water = _to_saturate(volume_ml, about, working)
        times = excess or (SATURATED_EXCESS if dissolved * 100 <= _HARDLY * water else SMALL_EXCESS)
        left = f"take {plain(times)} times that, {_f(dissolved * times)} g: some must stay undissolved"
        working.append(Line(left, "common practice, no source" if excess is None else ""))
        counted = dissolved * times
    else:
        by_volume = convert(strength, StrengthKind.G_PER_L, about)
        counted = by_volume.strength.value * volume_ml / 1000
        working += by_volume.working
        working.append(
            Line(
                f"{_f(by_volume.strength.value)} g/L x {_f(volume_ml)} mL / 1000 = {_f(counted)} g"
                f" of {about.formula or about.called}"
            )
        )
    pure = counted_as(counted, about.formula, formula)
    if formula != about.formula:
        masses = f"{_f(molar_mass(formula))} / {_f(molar_mass(about.formula))}"
        working.append(Line(f"as {formula}: {_f(counted)} g x {masses} = {_f(pure)} g", MASS_SOURCE))
    mass = pure * 100 / assay_pct
    if assay_pct != 100:
        working.append(Line(f"assay: {_f(pure)} g / {plain(assay_pct)} % = {_f(mass)} g to weigh"))
    working += _near_limit(strength, about)
    made = Dissolved(tidy(mass), tidy(pure), _moles(counted, about.formula), tuple(working))
    if strength.kind is not StrengthKind.SATURATED:
        return made
    crystal_water = (
        counted_as(dissolved, about.formula, formula) - dissolved if formula != about.formula else Decimal(0)
    )
    return replace(made, dissolves_g=tidy(mass / times), water_ml=tidy((water - crystal_water) / densities.WATER_G_ML))


def dissolve_by_mass(
    formula: str, strength: Strength, solution_g: Decimal, assay_pct: Decimal, about: SoluteFacts
) -> Dissolved:
    """Work out the mass of the solid for a mass [g] of solution at a strength by mass.

    No density is needed. m = w M / 100 x 100 / assay. Raises PrepError as `dissolve`, and as `convert` for a
    strength by volume.
    """
    by_mass = convert(strength, StrengthKind.PCT_W_W, about)
    counted = by_mass.strength.value * solution_g / 100
    line = (
        f"{_f(by_mass.strength.value)} % w/w of {_f(solution_g)} g = {_f(counted)} g of {about.formula or about.called}"
    )
    pure = counted_as(counted, about.formula, formula)
    mass = pure * 100 / assay_pct
    working = [*by_mass.working, Line(line)]
    if assay_pct != 100:
        working.append(Line(f"assay: {_f(pure)} g / {plain(assay_pct)} % = {_f(mass)} g to weigh"))
    if mass >= solution_g:
        raise PrepError(f"{strength} of {about.called} leaves no room for water in {_f(solution_g)} g.")
    water = (solution_g - mass) / densities.WATER_G_ML
    working.append(
        Line(f"water: {_f(solution_g)} g - {_f(mass)} g = {_f(solution_g - mass)} g", densities.WATER_SOURCE)
    )
    return Dissolved(tidy(mass), tidy(pure), _moles(counted, about.formula), tuple(working), water_ml=tidy(water))


def _to_saturate(volume_ml: Decimal, about: SoluteFacts, working: list[Line]) -> tuple[Decimal, Decimal]:
    """Work out the grams that a volume of saturated solution holds, and its water [g]."""
    saturated = convert(Strength(Decimal(0), StrengthKind.SATURATED), StrengthKind.PCT_W_W, about)
    pct = saturated.strength.value
    working += saturated.working
    density = _density_of_saturated(pct, saturated.strength, about, working)
    if density is None:  # a litre of solution holds less than a litre of water, so a litre of it is always enough
        water = volume_ml * densities.WATER_G_ML
        dissolves = water * pct / (100 - pct)
        more = "a little more" if pct < _LITTLE_PCT else "more"
        text = (
            f"no density of the saturated solution is known: {_f(volume_ml)} mL of water ({_f(water)} g) dissolve "
            f"{_f(dissolves)} g and make {more} than is needed"
        )
        working.append(Line(text))
        return dissolves, water
    solution = volume_ml * density
    dissolves = solution * pct / 100
    working.append(
        Line(f"{_f(volume_ml)} mL x {_f(density)} g/mL x {_f(pct)} % = {_f(dissolves)} g in {_f(volume_ml)} mL of it")
    )
    return dissolves, solution - dissolves


_LITTLE_PCT = 10
"""Up to so many % w/w what is dissolved swells water by a few hundredths at most."""


def _density_of_saturated(pct: Decimal, strength: Strength, about: SoluteFacts, working: list[Line]) -> Decimal | None:
    """Find the density [g/mL] of a saturated solution of `pct` [% w/w]; None where nothing is known of it."""
    try:
        return at_pct(pct, strength, about, working, at_c=_at_c(about)).g_ml
    except PrepError:
        try:
            return beyond_known(pct, about, working)
        except PrepError:
            return None


def _at_c(about: SoluteFacts) -> float:
    known = about.solubility.temperature_c if about.solubility else None
    return 20.0 if known is None else float(known)


def _moles(grams: Decimal, formula: str) -> Decimal | None:
    try:
        return tidy(grams / molar_mass(formula))
    except PrepError:  # starch, litmus: no molar mass, and a strength by mass needs none
        return None


def _near_limit(strength: Strength, about: SoluteFacts) -> tuple[Line, ...]:
    """Warn in a line of working where the strength is over 0.8 of what dissolves."""
    limit = about.solubility
    if limit is None or strength.kind is StrengthKind.SATURATED:
        return ()
    counted = limit.formula or about.formula
    most = most_g_per_100g(strength, about, counted)
    if most is not None and most <= _NEAR * limit.g_per_100g:
        return ()
    needs = least_g_per_100g(strength, about, counted)
    if needs is None or needs <= _NEAR * limit.g_per_100g:
        return ()
    text = f"close to what dissolves: at least {_f(needs)} g in 100 g of water, of {limit}"
    return (Line(text, limit.source),)
