"""Diluting a stock or a concentrate, and blending portions: amounts are conserved, volumes need not be."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from prep.chemistry.model import Line, PouredPart, Strength, StrengthKind
from prep.chemistry.quantities import decimal_of, tidy
from prep.chemistry.quantities import figures as _f
from prep.chemistry.strength import alcohol, densities
from prep.chemistry.strength.solutes import SoluteFacts
from prep.chemistry.strength.strengths import BY_MASS, MOLAR, Converted, check_possible, convert, density_of
from prep.errors import PrepError
from prep.records import record

_ETHANOL = "C2H5OH"
_ALCOHOL_KINDS = (StrengthKind.PCT_V_V, StrengthKind.PCT_W_W)


@record(frozen=True, slots=True)
class Diluted:
    """What to measure for `volume_ml` of the weaker solution.

    `solvent_ml` is about how much water it takes: exact to the densities where both are known, else the
    difference of the volumes; either way the last of it goes in up to the mark.
    """

    take_ml: Decimal
    solvent_ml: Decimal
    volume_ml: Decimal
    working: tuple[Line, ...]


@record(frozen=True, slots=True)
class MixedTo:
    """How much of each of two solutions [mL]."""

    volumes_ml: tuple[Decimal, Decimal]
    working: tuple[Line, ...]


@record(frozen=True, slots=True)
class Blended:
    """What several portions make together."""

    volume_ml: Decimal
    strength: Strength
    working: tuple[Line, ...]


def dilute(source: Strength, target: Strength, volume_ml: Decimal, *, about: SoluteFacts | None = None) -> Diluted:
    """Work out how much of `source` makes `volume_ml` [mL] of `target`: C1 V1 = C2 V2.

    In a kind of strength that both convert to. `about.density_g_ml` is the source's. Ethanol in % v/v or % w/w is
    reckoned with contraction. Raises PrepError: target stronger than source or nothing, impossible strengths, a
    density or formula wanting.
    """
    source_about = about or SoluteFacts()
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
    take = decimal_of(share_of(to, from_) * Fraction(volume_ml))
    working.append(Line(f"C1 V1 = C2 V2: {_f(to)} x {_f(volume_ml)} mL / {_f(from_)} = {_f(take)} mL of {source}"))
    solvent = _solvent_ml(source, target, take, volume_ml, source_about, target_about, working)
    return Diluted(tidy(take), tidy(solvent), volume_ml, tuple(working))


def share_of(target: Decimal, source: Decimal) -> Fraction:
    """Compute V1 / V2 = C2 / C1: the part of a volume of strength C2 that comes from a source of C1.

    Of two volumes it is C2 / C1, the part that a strength becomes.
    """
    return Fraction(target) / Fraction(source)


def scaled(made: Diluted, times: Decimal) -> Diluted:
    """Scale a dilution: so many times as much of it."""
    line = Line(f"x {_f(times)}: {_f(made.take_ml * times)} mL taken make {_f(made.volume_ml * times)} mL")
    return Diluted(
        tidy(made.take_ml * times), tidy(made.solvent_ml * times), tidy(made.volume_ml * times), (*made.working, line)
    )


def other_strength(
    known: Strength, take_ml: Decimal, volume_ml: Decimal, *, weaker: bool, about: SoluteFacts | None = None
) -> Converted:
    """Work out the strength made of the known one (`weaker`), or to start from: C1 V1 = C2 V2.

    `take_ml` become `volume_ml` [mL]. In the kind of the known one, or in g/L or mol/L where that is by mass.
    Raises PrepError as `convert`.
    """
    found = Converted(known, None, ())
    if known.kind in BY_MASS:
        kind = StrengthKind.MOL_PER_L if about and about.formula else StrengthKind.G_PER_L
        found = convert(known, kind, about or SoluteFacts())
    over, under = (take_ml, volume_ml) if weaker else (volume_ml, take_ml)
    made = Strength(tidy(decimal_of(share_of(over, under) * Fraction(found.strength.value))), found.strength.kind)
    line = Line(f"C1 V1 = C2 V2: {found.strength} x {_f(over)} mL / {_f(under)} mL = {made}")
    check_possible(made, about or SoluteFacts())
    return Converted(made, found.density, (*found.working, line))


def mix_to(
    one: Strength, other: Strength, target: Strength, volume_ml: Decimal, *, about: SoluteFacts | None = None
) -> MixedTo:
    """Work out how much of two strengths makes a volume of a strength between them; water is of strength 0.

    By mass where the densities of all three are known, m1 = m (w - w2) / (w1 - w2); else volumes are taken to add,
    V1 = V (c - c2) / (c1 - c2). Raises PrepError: the target not between the two, and as `convert`.
    """
    known = about or SoluteFacts()
    try:
        return (
            _mixed_by_mass(one, other, target, volume_ml, known)
            if known.formula
            else _mixed(one, other, target, volume_ml, known)
        )
    except PrepError:
        return _mixed(one, other, target, volume_ml, known)


def _mixed(one: Strength, other: Strength, target: Strength, volume_ml: Decimal, about: SoluteFacts) -> MixedTo:
    kind = target.kind if target.kind not in BY_MASS else StrengthKind.G_PER_L
    nothing = Converted(Strength(Decimal(0), kind), None, ())
    found = [convert(s, kind, about) if s.value else nothing for s in (one, other, target)]
    c1, c2, c = (f.strength.value for f in found)
    _between(c1, c2, c, one, other, target)
    first = volume_ml * (c - c2) / (c1 - c2)
    share = f"({_f(c)} - {_f(c2)}) / ({_f(c1)} - {_f(c2)})"
    line = f"volumes taken to add: {_f(volume_ml)} mL x {share} = {_f(first)} mL of {one}"
    working = (*(w for f in found for w in f.working), Line(line))
    return MixedTo((tidy(first), tidy(volume_ml - first)), working)


def _mixed_by_mass(one: Strength, other: Strength, target: Strength, volume_ml: Decimal, about: SoluteFacts) -> MixedTo:
    three = (one, other, target)
    w1, w2, w = (convert(s, StrengthKind.PCT_W_W, about).strength.value if s.value else Decimal(0) for s in three)
    rho1, rho2, rho = (density_of(s, about).g_ml if s.value else densities.WATER_G_ML for s in three)
    _between(w1, w2, w, one, other, target)
    grams = volume_ml * rho
    first = grams * (w - w2) / (w1 - w2)
    rest = grams - first
    working = (
        Line(f"{_f(volume_ml)} mL x {_f(rho)} g/mL = {_f(grams)} g of {_f(w)} % w/w"),
        Line(
            f"by mass: {_f(grams)} g x ({_f(w)} - {_f(w2)}) / ({_f(w1)} - {_f(w2)}) = {_f(first)} g of {one}, "
            f"/ {_f(rho1)} g/mL = {_f(first / rho1)} mL"
        ),
        Line(f"the rest, {_f(rest)} g / {_f(rho2)} g/mL = {_f(rest / rho2)} mL of {other}"),
    )
    return MixedTo((tidy(first / rho1), tidy(rest / rho2)), working)


def _between(c1: Decimal, c2: Decimal, c: Decimal, one: Strength, other: Strength, target: Strength) -> None:
    if c1 == c2 or not min(c1, c2) <= c <= max(c1, c2):
        raise PrepError(f"{target} is not between {one} and {other}; no mixture of the two has it.")


def common_kind(
    source: Strength, target: Strength, source_about: SoluteFacts, target_about: SoluteFacts
) -> StrengthKind:
    """Choose the kind of strength, counted in a volume, in which C1 V1 = C2 V2 compares two of one solute.

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


def blend(portions: Sequence[PouredPart], *, about: SoluteFacts | None = None) -> Blended:
    """Work out volume and strength of portions of one solute poured together.

    The strength is in the first portion's kind. Where the
    solute and its densities are known, masses add; else amounts add, and volumes are taken to add. Ethanol in % v/v
    or % w/w contracts. Raises PrepError as `convert`, and for no portions or an empty one.
    """
    known = about or SoluteFacts()
    if not portions or min(one.volume_ml for one in portions) <= 0:
        raise PrepError("There is nothing to blend: every portion needs a volume above nothing.")
    if _is_alcohol(known, *(one.strength for one in portions)):
        mixed = alcohol.blend(portions)
        first = portions[0].strength.kind
        made = convert(mixed.strength, first, SoluteFacts(_ETHANOL))
        return Blended(mixed.volume_ml, made.strength, mixed.working + made.working)
    kind = portions[0].strength.kind
    if kind is StrengthKind.SATURATED:
        kind = StrengthKind.PCT_W_W
    if known.formula and kind not in BY_MASS:
        try:
            return _blend_by_mass(portions, kind, known, [])
        except PrepError:  # no density: volumes are taken to add
            pass
    working: list[Line] = []
    parts: list[PouredPart] = []
    for one in portions:
        found = convert(one.strength, kind, known)
        working += found.working
        parts.append(PouredPart(one.volume_ml, Strength(found.strength.value, kind)))
    if kind in BY_MASS:
        return _blend_by_mass(parts, kind, known, working)
    volume = sum((one.volume_ml for one in parts), Decimal(0))
    value = sum((one.volume_ml * one.strength.value for one in parts), Decimal(0)) / volume
    made_strength = Strength(tidy(value), kind)
    sums = " + ".join(f"{_f(one.volume_ml)} x {_f(one.strength.value)}" for one in parts)
    working.append(Line(f"volumes taken to add: {_f(volume)} mL; ({sums}) / {_f(volume)} = {made_strength}"))
    return Blended(tidy(volume), made_strength, tuple(working))


def _weaker(source: Strength, target: Strength, from_: Decimal, to: Decimal, about: SoluteFacts) -> None:
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
    source_about: SoluteFacts,
    target_about: SoluteFacts,
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


def _blend_by_mass(parts: Sequence[PouredPart], kind: StrengthKind, about: SoluteFacts, working: list[Line]) -> Blended:
    total_g = solute_g = Decimal(0)
    for one in parts:
        grams = one.volume_ml * density_of(one.strength, about).g_ml
        pct = convert(one.strength, StrengthKind.PCT_W_W, about).strength.value
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


def _is_alcohol(about: SoluteFacts, *strengths: Strength) -> bool:
    return (
        bool(about.formula)
        and about.density_g_ml is None
        and densities.table_formula(about.formula) == _ETHANOL
        and all(s.kind in _ALCOHOL_KINDS for s in strengths)
    )
