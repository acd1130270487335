"""Diluting a stock or a concentrate, and blending portions: amounts are conserved, volumes need not be."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from prep.chemistry.model import Line, Strength, StrengthKind
from prep.chemistry.quantities import figures as _f
from prep.chemistry.quantities import tidy
from prep.chemistry.strength import alcohol, densities
from prep.chemistry.strength.solutes import About
from prep.chemistry.strength.strengths import BY_MASS, MOLAR, convert, density_of
from prep.errors import PrepError

_ETHANOL = "C2H5OH"
_ALCOHOL_KINDS = (StrengthKind.PCT_V_V, StrengthKind.PCT_W_W)


@dataclass(frozen=True, slots=True)
class Diluted:
    """What to measure for `volume_ml` of the weaker solution.

    `solvent_ml` is about how much water it takes: exact to the densities where both are known, else the
    difference of the volumes; either way the last of it goes in up to the mark.
    """

    take_ml: Decimal
    solvent_ml: Decimal
    volume_ml: Decimal
    working: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Blended:
    """What several portions make together."""

    volume_ml: Decimal
    strength: Strength
    working: tuple[Line, ...]


def dilute(source: Strength, target: Strength, volume_ml: Decimal, *, about: About | None = None) -> Diluted:
    """How much of `source` makes `volume_ml` [mL] of `target`: C1 V1 = C2 V2, in a kind both convert to.

    `about.density_g_ml` is the source's. Ethanol in % v/v or % w/w is reckoned with contraction. Raises
    PrepError: target stronger than source or nothing, impossible strengths, a density or formula wanting.
    """
    source_about = about or About()
    target_about = source_about.without_density()
    if volume_ml <= 0:
        raise PrepError("The volume to make must be more than nothing.")
    if _is_alcohol(source_about, source, target):
        mixed = alcohol.dilute(source, target, volume_ml)
        if not mixed.take_ml:
            raise PrepError("A dilution to nothing takes nothing; the strength must be more than nothing.")
        return Diluted(mixed.take_ml, mixed.water_ml, volume_ml, mixed.working)
    kind = common_kind(source, target, source_about, target_about)
    one, other = convert(source, kind, source_about), convert(target, kind, target_about)
    from_, to = one.strength.value, other.strength.value
    _weaker(source, target, from_, to, source_about)
    working = [*one.working, *other.working]
    take = to * volume_ml / from_
    working.append(Line(f"C1 V1 = C2 V2: {_f(to)} x {_f(volume_ml)} mL / {_f(from_)} = {_f(take)} mL of {source}"))
    solvent = _solvent_ml(source, target, take, volume_ml, source_about, target_about, working)
    return Diluted(tidy(take), tidy(solvent), volume_ml, tuple(working))


def common_kind(source: Strength, target: Strength, source_about: About, target_about: About) -> StrengthKind:
    """The kind, one that counts in a volume, in which C1 V1 = C2 V2 compares two strengths of one solute.

    Their own where they have one: a conversion could cost the last digit, and a bottle that holds just enough
    would be refused.
    """
    if source_about.formula != target_about.formula:  # two hydrates: moles are the same of both
        return StrengthKind.MOL_PER_L
    if source.kind is target.kind and source.kind not in BY_MASS:
        return source.kind
    if source.kind in MOLAR and target.kind in MOLAR:
        return StrengthKind.MOL_PER_L
    return target.kind if target.kind in (*MOLAR, StrengthKind.PCT_W_V) else StrengthKind.G_PER_L


def blend(portions: Sequence[tuple[Decimal, Strength]], *, about: About | None = None) -> Blended:
    """Volume and strength of portions (mL, strength) of one solute poured together; water is of strength 0.

    The strength is in the first portion's kind. By volume: amounts add, and volumes are taken to add. By
    mass: masses add, by each portion's density. Ethanol in % v/v or % w/w contracts. Raises PrepError as
    `convert`, and for no portions or an empty one.
    """
    known = about or About()
    if not portions or min(v for v, _ in portions) <= 0:
        raise PrepError("There is nothing to blend: every portion needs a volume above nothing.")
    if _is_alcohol(known, *(s for _, s in portions)):
        mixed = alcohol.blend(portions)
        first = portions[0][1].kind
        made = convert(mixed.strength, first, About(_ETHANOL))
        return Blended(mixed.volume_ml, made.strength, mixed.working + made.working)
    kind = portions[0][1].kind
    if kind is StrengthKind.SATURATED:
        kind = StrengthKind.PCT_W_W
    working: list[Line] = []
    parts: list[tuple[Decimal, Decimal]] = []
    for volume, strength in portions:
        found = convert(strength, kind, known)
        working += found.working
        parts.append((volume, found.strength.value))
    if kind in BY_MASS:
        return _blend_by_mass(parts, kind, known, working)
    volume = sum((v for v, _ in parts), Decimal(0))
    value = sum((v * c for v, c in parts), Decimal(0)) / volume
    made_strength = Strength(tidy(value), kind)
    sums = " + ".join(f"{_f(v)} x {_f(c)}" for v, c in parts)
    working.append(Line(f"volumes taken to add: {_f(volume)} mL; ({sums}) / {_f(volume)} = {made_strength}"))
    return Blended(tidy(volume), made_strength, tuple(working))


def _weaker(source: Strength, target: Strength, from_: Decimal, to: Decimal, about: About) -> None:
    of = f" of {about.called}" if about.formula or about.name else ""
    if to <= 0:
        raise PrepError(f"{target} is no strength to dilute to; it must be more than nothing.")
    # Rounding of a conversion must not make a strength stronger than itself.
    if to > from_ * Decimal("1.000000001"):
        raise PrepError(f"{source}{of} cannot be diluted to {target}, which is stronger.")


def _solvent_ml(
    source: Strength,
    target: Strength,
    take: Decimal,
    volume_ml: Decimal,
    source_about: About,
    target_about: About,
    working: list[Line],
) -> Decimal:
    try:
        one, other = density_of(source, source_about), density_of(target, target_about)
    except PrepError:
        working.append(Line(f"then water to the mark, about {_f(volume_ml - take)} mL"))
        return volume_ml - take
    solvent = (volume_ml * other.g_ml - take * one.g_ml) / densities.WATER_G_ML
    working.append(
        Line(
            f"then water to the mark: ({_f(volume_ml)} x {_f(other.g_ml)} - {_f(take)} x {_f(one.g_ml)}) g"
            f" / {densities.WATER_G_ML} g/mL = about {_f(solvent)} mL",
            "; ".join(dict.fromkeys((one.source, other.source))),
        )
    )
    return max(solvent, Decimal(0))


def _blend_by_mass(
    parts: list[tuple[Decimal, Decimal]], kind: StrengthKind, about: About, working: list[Line]
) -> Blended:
    total_g = solute_g = Decimal(0)
    for volume, value in parts:
        strength = Strength(value, kind)
        grams = volume * density_of(strength, about).g_ml
        pct = convert(strength, StrengthKind.PCT_W_W, about).strength.value
        total_g += grams
        solute_g += grams * pct / 100
    total_w = 100 * solute_g / total_g
    made = convert(Strength(tidy(total_w), StrengthKind.PCT_W_W), kind, about.without_density()).strength
    density = density_of(made, about)
    working.append(
        Line(
            f"masses add: {_f(solute_g)} g in {_f(total_g)} g = {_f(total_w)} % w/w, "
            f"{_f(total_g / density.g_ml)} mL at {_f(density.g_ml)} g/mL",
            density.source,
        )
    )
    return Blended(tidy(total_g / density.g_ml), made, tuple(working))


def _is_alcohol(about: About, *strengths: Strength) -> bool:
    return (
        bool(about.formula)
        and about.density_g_ml is None
        and densities.table_formula(about.formula) == _ETHANOL
        and all(s.kind in _ALCOHOL_KINDS for s in strengths)
    )
