"""Weighing a solid for a solution: any hydrate, any assay, any kind of strength, never past solubility."""

from dataclasses import dataclass, replace
from decimal import Decimal

from prep.chemistry import densities
from prep.chemistry.formulas import molar_mass, units_in
from prep.chemistry.model import Form, Line, Strength, StrengthKind, Substance
from prep.chemistry.quantities import figures as _f
from prep.chemistry.quantities import plain, tidy
from prep.chemistry.solutes import About, about_substance
from prep.chemistry.strengths import MASS_SOURCE, convert, least_g_per_100g
from prep.errors import PrepError

SATURATED_EXCESS = Decimal(2)
"""How much more than dissolves is shaken with the water for a saturated solution."""

_NEAR = Decimal("0.8")


@dataclass(frozen=True, slots=True)
class Dissolved:
    """What to weigh. `mass_g` of the solid as it is in the bottle, `pure_g` of it is `formula`.

    `moles` of the solute that the strength counts, None where its formula has no molar mass. `solvent_g` is
    the water to weigh, where the solution is made by mass. `near_limit`: over 0.8 of what dissolves.
    """

    formula: str
    mass_g: Decimal
    pure_g: Decimal
    moles: Decimal | None
    volume_ml: Decimal | None
    solvent_g: Decimal | None
    near_limit: bool
    working: tuple[Line, ...]


def dissolve(
    formula: str,
    strength: Strength,
    *,
    volume_ml: Decimal | None = None,
    solution_g: Decimal | None = None,
    assay_pct: Decimal = Decimal(100),
    about: About | None = None,
) -> Dissolved:
    """Mass of the solid `formula` for a volume [mL] or a mass [g] of solution at `strength`.

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
    if (volume_ml is None) == (solution_g is None):
        raise PrepError("Give either the volume or the mass of the solution to make.")
    made = volume_ml if volume_ml is not None else solution_g
    if made is None or made <= 0:
        raise PrepError("The amount to make must be more than nothing.")
    working: list[Line] = []
    if strength.kind is StrengthKind.SATURATED and volume_ml is not None:
        counted = _to_saturate(volume_ml, about, working)
    elif volume_ml is not None:
        by_volume = convert(strength, StrengthKind.G_PER_L, about)
        counted = by_volume.strength.value * volume_ml / 1000
        working += by_volume.working
        working.append(
            Line(
                f"{_f(by_volume.strength.value)} g/L x {_f(volume_ml)} mL / 1000 = {_f(counted)} g"
                f" of {about.formula or about.called}"
            )
        )
    else:
        by_mass = convert(strength, StrengthKind.PCT_W_W, about)
        counted = by_mass.strength.value * made / 100
        working += by_mass.working
        working.append(
            Line(f"{_f(by_mass.strength.value)} % of {_f(made)} g = {_f(counted)} g of {about.formula or about.called}")
        )
    pure = counted * _hydrate_factor(formula, about.formula, counted, working)
    mass = pure * 100 / assay_pct
    if assay_pct != 100:
        working.append(Line(f"assay: {_f(pure)} g / {plain(assay_pct)} % = {_f(mass)} g to weigh"))
    if solution_g is not None and mass > solution_g:
        raise PrepError(f"{_f(mass)} g of {formula} cannot be in {_f(solution_g)} g of solution.")
    return Dissolved(
        formula,
        tidy(mass),
        tidy(pure),
        _moles(counted, about.formula),
        volume_ml,
        None if solution_g is None else solution_g - tidy(mass),
        _near_limit(strength, about, working),
        tuple(working),
    )


def dissolve_substance(
    substance: Substance,
    strength: Strength,
    volume_ml: Decimal,
    *,
    strength_of: str = "",
    density_g_ml: Decimal | None = None,
    tolerance_pct: Decimal = Decimal(1),
) -> Dissolved:
    """Mass of a solid from its bottle for `volume_ml` at `strength`, counted as `strength_of`.

    `density_g_ml` is the solution's, where known. Raises PrepError as `dissolve`, and if it is no solid.
    """
    if substance.form is not Form.SOLID:
        raise PrepError(f"{substance.name} is not a solid; dilute it instead.")
    known = about_substance(substance, formula=strength_of, tolerance_pct=tolerance_pct)
    known = replace(known, density_g_ml=density_g_ml)
    assay = substance.assay_pct
    found = dissolve(substance.formula, strength, volume_ml=volume_ml, assay_pct=assay or Decimal(100), about=known)
    if assay is not None:
        return found
    return replace(found, working=(*found.working, Line("assay not recorded, taken as 100 %")))


def strength_made(
    formula: str,
    mass_g: Decimal,
    volume_ml: Decimal,
    kind: StrengthKind = StrengthKind.MOL_PER_L,
    *,
    assay_pct: Decimal = Decimal(100),
    about: About | None = None,
) -> Strength:
    """Strength that `mass_g` of a solid gives in `volume_ml` of solution: the inverse of `dissolve`."""
    if mass_g <= 0 or volume_ml <= 0:
        raise PrepError("A mass and a volume, both more than nothing, make a strength.")
    about = about or About(formula)
    counted = mass_g * assay_pct / 100 / _hydrate_factor(formula, about.formula, mass_g, [])
    in_litre = Strength(1000 * counted / volume_ml, StrengthKind.G_PER_L)
    return convert(in_litre, kind, about).strength


def volume_made(formula: str, mass_g: Decimal, strength: Strength, *, assay_pct: Decimal = Decimal(100)) -> Decimal:
    """Volume [mL] of solution at `strength` that `mass_g` of a solid makes."""
    per_litre = dissolve(formula, strength, volume_ml=Decimal(1000), assay_pct=assay_pct).mass_g
    if not per_litre:
        raise PrepError("A solution of no strength has no volume to make.")
    return tidy(1000 * mass_g / per_litre)


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


def _hydrate_factor(formula: str, counted: str, counted_g: Decimal, working: list[Line]) -> Decimal:
    """Grams of the solid for one gram of what the strength counts."""
    if formula == counted:
        return Decimal(1)
    solid, other = molar_mass(formula), molar_mass(counted)
    factor = solid / other / units_in(formula, counted)
    working.append(
        Line(
            f"as {formula}: {_f(counted_g)} g x {_f(solid)} / {_f(other)} = {_f(counted_g * factor)} g",
            MASS_SOURCE,
        )
    )
    return factor


def _moles(grams: Decimal, formula: str) -> Decimal | None:
    try:
        return tidy(grams / molar_mass(formula))
    except PrepError:  # starch, litmus: no molar mass, and a strength by mass needs none
        return None


def _near_limit(strength: Strength, about: About, working: list[Line]) -> bool:
    limit = about.solubility
    if limit is None or strength.kind is StrengthKind.SATURATED:
        return False
    needs = least_g_per_100g(strength, about, limit.formula or about.formula)
    if needs is None or needs <= _NEAR * limit.g_per_100g:
        return False
    working.append(Line(f"close to what dissolves: at least {_f(needs)} g in 100 g of water, of {limit}", limit.source))
    return True
