"""Buffers: how much of what is held gives a pH, how well the solution then holds it, and how far it moves."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from math import ceil, floor

from prep.chemistry.acid_base import activity, equilibrium
from prep.chemistry.acid_base.equilibrium import PhResult, capacity, check_ph, mixture_of, solve
from prep.chemistry.acid_base.ph_uncertainty import PhBand
from prep.chemistry.acid_base.species import Component, Species, of_formula, system
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.interval import Interval
from prep.chemistry.model import Line
from prep.chemistry.quantities import figures, tidy
from prep.errors import PrepError
from prep.records import record

HOLDS_PH = 1.5
"""How far from its pKa' a pair still counts as a buffer: there the weaker form is 3 % of the whole."""

_WELL_PH = 1.0
_MASS_SOURCE = "standard atomic weights (molmass)"
_STRONG_SYSTEMS = ("sulfate",)  # sulfuric acid and its hydrogen salts serve as strong acids beside a weaker system


@record(frozen=True, slots=True)
class BufferIngredient:
    """One of the two ingredients as it is held.

    A solid or a pure liquid: `assay_pct` [% w/w of `formula`] and, for a liquid, `density_g_ml`. A solution:
    `mol_per_l`.
    """

    name: str
    formula: str
    assay_pct: Decimal = Decimal(100)
    density_g_ml: Decimal | None = None
    mol_per_l: Decimal | None = None


@record(frozen=True, slots=True)
class IngredientPair:
    """The two that a buffer is made of, in the order in which they were named."""

    one: BufferIngredient
    other: BufferIngredient

    @property
    def called(self) -> str:
        """What the pair is called in a sentence."""
        return f"{self.one.name} and {self.other.name}"

    def __iter__(self) -> Iterator[BufferIngredient]:
        return iter((self.one, self.other))


@record(frozen=True, slots=True)
class IngredientAmount:
    """How much of an ingredient: moles, and the mass [g] or volume [mL] to take (a liquid has both)."""

    name: str
    formula: str
    mol: float
    mass_g: Decimal | None
    volume_ml: Decimal | None


@record(frozen=True, slots=True)
class Buffer:
    """A designed buffer. `capacity`: mol of strong base per litre and pH unit; `holds`: the pH it can have.

    `components` are its contents, for `shift` and for end points. `pka_effective` is the nearest pKa', at this
    ionic strength; `band` how far the pH may be off.
    """

    ph: float
    total_mol_per_l: float
    volume_ml: Decimal
    parts: tuple[IngredientAmount, ...]
    capacity: float
    ionic_strength: float
    pka_effective: float
    holds: tuple[Interval[float], ...]
    components: tuple[Component, ...]
    valid: bool
    note: str
    working: tuple[Line, ...]
    band: PhBand


@record(frozen=True, slots=True)
class Shift:
    """pH before and after something was added."""

    before: PhResult
    after: PhResult

    @property
    def change(self) -> float:
        """By how much pH moved."""
        return self.after.ph - self.before.ph


@record(frozen=True, slots=True)
class _Pair:
    """The two ingredients: from a share x in 0..1 to components [mol/L], the second one growing with x."""

    key: str
    total: float
    one: Species
    other: Species
    shared: bool
    swapped: bool = False  # the strong acid or base was named first
    other_key: str = ""  # of two weak systems mixed, the second one's

    def at(self, x: float) -> tuple[Component, ...]:
        """Give both components at a share x of the second, in the order in which they were named."""
        if not self.key:  # a strong acid beside its neutral salt
            both = Component(self.one, x * self.total, True), Component(self.other, (1 - x) * self.total, True)
            return both[::-1] if self.swapped else both
        first = self.total / self.one.count_of(self.key)
        if self.other_key:
            second = x * self.total / self.other.count_of(self.other_key)
            return Component(self.one, (1 - x) * first, True), Component(self.other, second, True)
        if self.shared:
            second = x * self.total / self.other.count_of(self.key)
            return Component(self.one, (1 - x) * first, True), Component(self.other, second, True)
        # Enough strong acid or base for every step of the system, and a little over.
        most = 1.05 * len(system(self.key).steps) * self.total
        parts = Component(self.one, first, True), Component(self.other, x * most, True)
        return parts[::-1] if self.swapped else parts


def design(
    pair: IngredientPair,
    ph: float,
    total_mol_per_l: float,
    volume_ml: Decimal,
    temperature_c: float = 25.0,
    *,
    activities: bool = True,
) -> Buffer:
    """Work out both ingredients for `volume_ml` [mL] of buffer at `ph` and `total_mol_per_l` [mol/L] in all.

    The pair: an acid and its salt, an acid and a strong base, or a salt and a strong acid. The total counts
    every form of the buffering system. The share is found by halving, as pH follows it in one direction.
    Raises PrepError: no such pair, nothing to make, or a pH that the pair cannot hold (the limit is named).
    """
    check_ph(ph)
    if total_mol_per_l <= 0 or volume_ml <= 0:
        raise PrepError("A buffer needs a strength and a volume of more than nothing.")
    found = _pair(pair, total_mol_per_l)

    def ph_at(x: float) -> float:
        return solve(mixture_of(found.at(x)), temperature_c, activities=activities).ph

    ends = ph_at(0.0), ph_at(1.0)
    rising = ends[1] > ends[0]
    reach = Interval(min(ends), max(ends))
    low, high = 0.0, 1.0
    for _ in range(60 if ph in reach else 0):
        middle = (low + high) / 2
        low, high = (middle, high) if (ph_at(middle) < ph) == rising else (low, middle)
    x = (low + high) / 2
    components = found.at(x)
    result = equilibrium.ph_of(components, temperature_c, activities=activities)
    if fallen := equilibrium.fallen_out(mixture_of(components), result.ph, result.ionic_strength, temperature_c):
        raise PrepError(f"{pair.called} at {total_mol_per_l:g} mol/L hold no pH {ph:g}: {fallen}")
    constants = _constants(found, result.ionic_strength, temperature_c, activities) or (result.ph,)
    holds = _holds(found, temperature_c, activities)
    called = pair.called
    if not any(ph in one for one in holds):
        raise PrepError(_cannot(called, ph, total_mol_per_l, holds, reach))
    nearest = min(constants, key=lambda constant: abs(constant - ph))
    beta = capacity(mixture_of(components), temperature_c, activities=activities)
    lines: list[Line] = [
        Line(
            f"{called}: {found.total:g} mol/L in all of {_named(found)}; share found so "
            f"that pH = {ph:g}: " + " and ".join(f"{c.mol_per_kg:.5g} mol/L of {c.species.formula}" for c in components)
        )
    ]
    parts = tuple(_part(held, c.mol_per_kg, volume_ml, lines) for held, c in zip(pair, components, strict=True))
    if sum(p.volume_ml or 0 for p in parts) > volume_ml:
        raise PrepError(
            f"The ingredients alone come to more than {figures(volume_ml)} mL: what is held is too weak for "
            f"{total_mol_per_l:g} mol/L of buffer."
        )
    lines.append(
        Line(
            f"capacity: {beta:.4g} mol/L of strong base per pH unit (from the pH with a little acid and a "
            f"little base); pKa' = {nearest:.2f} at this ionic strength"
        )
    )
    note = result.note
    if abs(nearest - ph) > _WELL_PH:
        weak = f"pH {ph:g} is {abs(nearest - ph):.1f} from pKa' {nearest:.2f}: the buffer is weak there."
        note = f"{note} {weak}".strip()
    if result.band is None:
        raise PrepError(f"A buffer of {total_mol_per_l:g} mol/L is none that can be reckoned. {note}")
    return Buffer(
        result.ph,
        total_mol_per_l,
        volume_ml,
        parts,
        beta,
        result.ionic_strength,
        nearest,
        holds,
        components,
        result.valid,
        note,
        (*lines, *result.working),
        result.band,
    )


def shift(
    components: Sequence[Component],
    volume_ml: float,
    added: Sequence[Component],
    added_ml: float,
    temperature_c: float = 25.0,
    *,
    activities: bool = True,
) -> Shift:
    """Predict how far pH moves when `added_ml` [mL] of a solution joins `volume_ml` [mL]; volumes are additive.

    Raises PrepError for a volume of nothing.
    """
    if volume_ml <= 0 or added_ml < 0:
        raise PrepError("The volume that is there must be more than nothing, and what is added not less.")
    whole = volume_ml + added_ml
    mixed = equilibrium.mix(((mixture_of(components), volume_ml / whole), (mixture_of(added), added_ml / whole)))
    found = solve(mixed, temperature_c, activities=activities)
    return Shift(
        equilibrium.ph_of(components, temperature_c, activities=activities),
        equilibrium.result(mixed, found, temperature_c, activities=activities, per_litre=True),
    )


def _pair(pair: IngredientPair, total: float) -> _Pair:
    one, other = (of_formula(held.formula, called=held.name) for held in pair)
    shared = [unit.key for unit in one.systems if other.count_of(unit.key)]
    if shared and one != other:
        return _Pair(shared[0], total, one, other, True)
    for first, second in ((one, other), (other, one)):
        weak = [unit.key for unit in first.systems if unit.key not in _STRONG_SYSTEMS]
        strong = not any(unit.key not in _STRONG_SYSTEMS for unit in second.systems)
        if weak and strong and (second.charge or second.systems):
            return _Pair(weak[0], total, first, second, False, swapped=first != one)
    both = [[unit.key for unit in s.systems if unit.key not in _STRONG_SYSTEMS] for s in (one, other)]
    if both[0] and both[1] and one != other:
        return _Pair(both[0][0], total, one, other, False, other_key=both[1][0])
    for acid, salt, turned in ((one, other, False), (other, one, True)):
        neutral = not salt.systems and salt.charge == 0
        if (
            neutral
            and acid.charge < 0
            and not acid.systems
            and {each.ion for each in acid.ions} & {each.ion for each in salt.ions}
        ):
            return _Pair("", total, acid, salt, False, swapped=turned)
    raise PrepError(
        f"{pair.called} make no buffer; accepted is an acid and its own salt, an acid and a "
        "strong base, or a salt and a strong acid."
    )


def _named(found: _Pair) -> str:
    if not found.key:
        return "acid and salt"
    if found.other_key:
        return f"{system(found.key).name} and {system(found.other_key).name}"
    return f"{system(found.key).name} and its bases"


def _constants(found: _Pair, strength: float, temperature_c: float, activities: bool) -> tuple[float, ...]:
    """List the pKa' of each step of the pair's one system, or of both."""
    keys = [key for key in (found.key, found.other_key) if key]
    return tuple(k for key in keys for k in _effective(key, strength, temperature_c, activities))


def _effective(key: str, strength: float, temperature_c: float, activities: bool) -> tuple[float, ...]:
    """Compute pKa' of each step, the pH at which acid and base are equal: pKa + A f(I) (2 z - 1)."""
    af = activity.debye_huckel_a(temperature_c) * activity.davies(strength) if activities else 0.0
    steps = system(key).steps
    constants = activity.pkas(key, temperature_c)
    return tuple(k + af * (2 * step.charge - 1) for k, step in zip(constants, steps, strict=True))


def _holds(found: _Pair, temperature_c: float, activities: bool) -> tuple[Interval[float], ...]:
    """Find the pH ranges of this pair's own mixtures that lie within `HOLDS_PH` of a pKa' (each at its own I)."""

    def at(x: float) -> tuple[float, tuple[float, ...]]:
        there = solve(mixture_of(found.at(x)), temperature_c, activities=activities)
        return there.ph, _constants(found, there.ionic_strength, temperature_c, activities)

    (first, constants), (last, _) = at(0.0), at(1.0)
    if not found.key:  # to where a twentieth is acid: beyond, the acid is too little to hold it
        return (Interval(last, at(0.05)[0]),)
    rising = last > first
    ranges: list[Interval[float]] = []
    for i in range(len(constants)):
        edges = []
        for away in (-HOLDS_PH, HOLDS_PH):
            low, high = 0.0, 1.0
            for _ in range(40):
                middle = (low + high) / 2
                ph, here = at(middle)
                low, high = (middle, high) if (ph < here[i] + away) == rising else (low, middle)
            edges.append(at((low + high) / 2)[0])
        near = Interval(*edges)
        if near.width < 0.01:  # both at an end of what the pair reaches
            continue
        if ranges and near.low in ranges[-1]:
            ranges[-1] = Interval(ranges[-1].low, max(near.high, ranges[-1].high))
        else:
            ranges.append(near)
    return tuple(ranges)


def _cannot(called: str, ph: float, total: float, holds: Sequence[Interval[float]], reach: Interval[float]) -> str:
    if not holds:
        return (
            f"{called} at {total:g} mol/L hold no pH: their mixtures run from pH {reach.low:.1f} to "
            f"{reach.high:.1f}, more than {HOLDS_PH:g} from any pKa'."
        )
    # Rounded inwards: what the sentence accepts must be accepted.
    can = " or ".join(f"{ceil(100 * one.low) / 100:.2f} to {floor(100 * one.high) / 100:.2f}" for one in holds)
    return f"{called} at {total:g} mol/L cannot hold pH {ph:g}; accepted is pH {can}."


def _part(held: BufferIngredient, mol_per_l: float, volume_ml: Decimal, lines: list[Line]) -> IngredientAmount:
    mol = Decimal(repr(mol_per_l)) * volume_ml / 1000
    if held.mol_per_l is not None:
        if held.mol_per_l <= 0:
            raise PrepError(f"The strength of {held.name} must be more than nothing.")
        volume = tidy(mol / held.mol_per_l * 1000)
        lines.append(Line(f"{held.name}: {figures(mol)} mol / {figures(held.mol_per_l)} mol/L = {figures(volume)} mL"))
        return IngredientAmount(held.name, held.formula, float(mol), None, volume)
    mass = tidy(mol * molar_mass(held.formula) * 100 / held.assay_pct)
    assay = "" if held.assay_pct == 100 else f" / {figures(held.assay_pct / 100)}"
    lines.append(
        Line(
            f"{held.name}: {figures(mol)} mol x {figures(molar_mass(held.formula), 6)} g/mol{assay} = "
            f"{figures(mass)} g",
            _MASS_SOURCE,
        )
    )
    if held.density_g_ml is None:
        return IngredientAmount(held.name, held.formula, float(mol), mass, None)
    volume = tidy(mass / held.density_g_ml)
    lines.append(Line(f"{figures(mass)} g / {figures(held.density_g_ml)} g/mL = {figures(volume)} mL"))
    return IngredientAmount(held.name, held.formula, float(mol), mass, volume)
