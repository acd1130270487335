"""Weighing a solid for a solution: any hydrate, any assay, any kind of strength, never past solubility."""

from dataclasses import dataclass, replace
from decimal import Decimal

from prep.chemistry.formula.formulas import counted_as, molar_mass
from prep.chemistry.model import Line, Strength, StrengthKind
from prep.chemistry.quantities import figures as _f
from prep.chemistry.quantities import plain, tidy
from prep.chemistry.strength import densities
from prep.chemistry.strength.solutes import About
from prep.chemistry.strength.strengths import MASS_SOURCE, convert, least_g_per_100g
from prep.errors import PrepError

SATURATED_EXCESS = Decimal(2)
"""A saturated solution is made with twice what dissolves, so that solid remains: common practice, no source."""

_NEAR = Decimal("0.8")


@dataclass(frozen=True, slots=True)
class Dissolved:
    """What to weigh: `mass_g` of the solid as it is in the bottle, in which `pure_g` are what its formula says.

    `moles` of the solute that the strength counts, None where its formula has no molar mass.
    """

    mass_g: Decimal
    pure_g: Decimal
    moles: Decimal | None
    working: tuple[Line, ...]


def dissolve(
    formula: str,
    strength: Strength,
    volume_ml: Decimal,
    *,
    assay_pct: Decimal = Decimal(100),
    about: About | None = None,
) -> Dissolved:
    """Mass of the solid `formula` for a volume [mL] of solution at `strength`.

    `about.formula` is what the strength counts (another hydrate of the same solute, or the same); its density
    is that of the solution. m = c V / 1000 x (M of the solid / M counted) x 100 / assay. For `saturated`, the
    solid to shake with that volume of water. Raises PrepError: more than dissolves, another solute, an assay
    out of range, a density wanting.
    """
    about = about or About(formula)
    if not about.formula:
        about = replace(about, formula=formula)
    if not 0 < assay_pct <= 100:
        raise PrepError(f"An assay of {plain(assay_pct)} % is not accepted; it is above 0 and at most 100.")
    if volume_ml <= 0:
        raise PrepError("The amount to make must be more than nothing.")
    working: list[Line] = []
    if strength.kind is StrengthKind.SATURATED:
        counted = _to_saturate(volume_ml, about, working)
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
    return Dissolved(tidy(mass), tidy(pure), _moles(counted, about.formula), tuple(working))


def _to_saturate(volume_ml: Decimal, about: About, working: list[Line]) -> Decimal:
    saturated = convert(Strength(Decimal(0), StrengthKind.SATURATED), StrengthKind.PCT_W_W, about)
    pct = saturated.strength.value
    water_g = volume_ml * densities.WATER_G_ML
    dissolves = water_g * pct / (100 - pct)
    working += saturated.working
    working.append(Line(f"{_f(volume_ml)} mL = {_f(water_g)} g of water dissolve {_f(dissolves)} g"))
    working.append(
        Line(
            f"take {plain(SATURATED_EXCESS)} times that, {_f(dissolves * SATURATED_EXCESS)} g: some must "
            "stay undissolved; let it settle and pour off the clear solution",
            "common practice, no source",
        )
    )
    return dissolves * SATURATED_EXCESS


def _moles(grams: Decimal, formula: str) -> Decimal | None:
    try:
        return tidy(grams / molar_mass(formula))
    except PrepError:  # starch, litmus: no molar mass, and a strength by mass needs none
        return None


def _near_limit(strength: Strength, about: About) -> tuple[Line, ...]:
    """A line that says so where the strength is over 0.8 of what dissolves."""
    limit = about.solubility
    if limit is None or strength.kind is StrengthKind.SATURATED:
        return ()
    needs = least_g_per_100g(strength, about, limit.formula or about.formula)
    if needs is None or needs <= _NEAR * limit.g_per_100g:
        return ()
    text = f"close to what dissolves: at least {_f(needs)} g in 100 g of water, of {limit}"
    return (Line(text, limit.source),)
