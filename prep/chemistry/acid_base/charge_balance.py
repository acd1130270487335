"""The charge balance of any mixture of acids, bases and salts, with activity coefficients.

At a given ionic strength the charge of the solution falls strictly as pH rises, so there is one root and a
bracketed search cannot miss it. The ionic strength is found round it by a fixed point kept in a bracket of
its own. mol/L is taken as mol/kg of water.
"""

from collections.abc import Mapping, Sequence
from dataclasses import field

from prep.chemistry.acid_base import activity, polyborates
from prep.chemistry.acid_base.activity import LIMIT_I
from prep.chemistry.acid_base.species import Component, system
from prep.records import record

Constants = Mapping[str, tuple[float, ...]]
"""System key -> its pKa's, to use in place of the table's; `water` for pKw."""

_LN10 = 2.302585092994046
_LOWEST, _HIGHEST = -8.0, 24.0
"""pH between which every root lies: 100 mol/kg of anything is far inside."""

_ROUNDING, _NEAR = 4e-16, 1e-7
"""What rounding leaves of a sum of charges, of its size; a step of pH after which the next is nothing."""


@record(frozen=True, slots=True)
class Mixture:
    """Totals of a solution [mol/kg]: strong ions by name, conjugate systems by key."""

    charge: float = 0.0  # sum of z c over strong ions
    charge_squared: float = 0.0  # sum of z^2 c over strong ions
    systems: Mapping[str, float] = field(default_factory=dict, hash=False)
    ions: Mapping[str, float] = field(default_factory=dict, hash=False)

    def scaled(self, factor: float) -> "Mixture":
        """Dilute the solution: every total times a factor (below 1)."""
        return mix(((self, factor),))


def mixture_of(components: Sequence[Component]) -> Mixture:
    """Add up the strong ions and the conjugate systems of a list of components."""
    ions: dict[str, float] = {}
    systems: dict[str, float] = {}
    charge = squared = 0.0
    for part in components:
        for one in part.species.ions:
            amount = one.count * part.mol_per_kg
            ions[one.ion] = ions.get(one.ion, 0.0) + amount
            charge += one.charge * amount
            squared += one.charge * one.charge * amount
        for unit in part.species.systems:
            systems[unit.key] = systems.get(unit.key, 0.0) + unit.count * part.mol_per_kg
    return Mixture(charge, squared, systems, ions)


def mix(parts: Sequence[tuple[Mixture, float]]) -> Mixture:
    """Add mixtures up, each times its share of the whole."""
    ions: dict[str, float] = {}
    systems: dict[str, float] = {}
    for part, share in parts:
        for ion, amount in part.ions.items():
            ions[ion] = ions.get(ion, 0.0) + share * amount
        for key, amount in part.systems.items():
            systems[key] = systems.get(key, 0.0) + share * amount
    charge = sum(share * part.charge for part, share in parts)
    squared = sum(share * part.charge_squared for part, share in parts)
    return Mixture(charge, squared, systems, ions)


@record(frozen=True, slots=True)
class Solved:
    """The pH of a mixture, and its ionic strength [mol/kg] there."""

    ph: float
    ionic_strength: float


def solve(
    mixture: Mixture,
    temperature_c: float = 25.0,
    *,
    activities: bool = True,
    constants: Constants | None = None,
) -> Solved:
    """Solve a mixture for its pH: the quick form of `ph_of`, without working.

    Raises PrepError for a temperature outside 0 to 60 degC.
    """
    activity.check_temperature(temperature_c)
    weak = _weak(mixture, temperature_c, constants, activities)
    pkw = pkas_of("water", temperature_c, constants)[0]
    a = activity.debye_huckel_a(temperature_c) if activities else 0.0
    if not activities:
        ph = _root(mixture, weak, pkw, 0.0, 7.0)
        return Solved(ph, _at(ph, mixture, weak, pkw, 0.0)[2])
    guess, low, high = 0.5 * mixture.charge_squared, 0.0, float("inf")
    ph, last, last_off = 7.0, guess, 0.0
    for turn in range(200):
        af = a * activity.davies(guess)
        ph = _root(mixture, weak, pkw, af, ph)
        found = _at(ph, mixture, weak, pkw, af)[2]
        off = found - guess
        # Above the limit the coefficients no longer change: the answer stands as it is.
        if abs(off) <= 1e-13 + 1e-10 * found or (found >= LIMIT_I and guess >= LIMIT_I):
            return Solved(ph, found)
        low, high = (guess, high) if off > 0 else (low, guess)
        # The secant through the last two; the map itself, a contraction, where that leaves the bracket.
        bent = guess - off * (guess - last) / (off - last_off) if turn and off != last_off else found
        last, last_off = guess, off
        guess = bent if low < bent < high else found
        # Halving takes over should rounding ever stop both.
        if not low < guess < high or turn >= 100:
            guess = (low + min(high, 2 * low + 1)) / 2
        if high - low <= 1e-13 + 1e-10 * low:
            break
    return Solved(ph, found)


def ph_beside(
    mixture: Mixture, ph: float, strength: float, temperature_c: float = 25.0, *, activities: bool = True
) -> float:
    """Find the pH of a mixture that differs little from one of known pH and ionic strength [mol/kg].

    The activity coefficients of the known one are used.
    """
    af = activity.debye_huckel_a(temperature_c) * activity.davies(strength) if activities else 0.0
    weak = _weak(mixture, temperature_c, None, activities)
    return _root(mixture, weak, pkas_of("water", temperature_c, None)[0], af, ph, near=1e-3)


def parts_for(one: Mixture, other: Mixture, ph: float, temperature_c: float = 25.0) -> float | None:
    """Work out how many parts of `other` bring one part of `one` to a pH; None where no amount does.

    Davies; volumes additive. At a pH the charge of a mixture is linear in its parts, so only the ionic strength is
    sought, by a fixed point. The quick form of `endpoints.to_ph`. Raises PrepError for a temperature outside 0 to
    60 degC.
    """
    activity.check_temperature(temperature_c)
    pkw = pkas_of("water", temperature_c, None)[0]
    sides = [(mixture, _weak(mixture, temperature_c, None)) for mixture in (one, other)]
    a = activity.debye_huckel_a(temperature_c)
    guess, parts = 0.1, 0.0
    for _ in range(200):
        af = a * activity.davies(guess)
        (charge, _, own), (adds, _, more) = (_at(ph, mixture, weak, pkw, af) for mixture, weak in sides)
        if not adds or (parts := -charge / adds) < 0:
            return None
        found = (own + parts * more) / (1 + parts)
        if abs(found - guess) <= 1e-12 + 1e-10 * found:
            break
        guess = found
    return parts


def capacity(mixture: Mixture, temperature_c: float = 25.0, *, activities: bool = True) -> float:
    """Compute the buffer capacity [mol/kg per pH unit]: strong base added over the rise of pH.

    Taken over about 0.001 of pH each way. Slyke's beta, but with the ionic strength following what is added. Raises
    PrepError as `solve` does.
    """
    there = solve(mixture, temperature_c, activities=activities)
    af = activity.debye_huckel_a(temperature_c) * activity.davies(there.ionic_strength) if activities else 0.0
    pkw = pkas_of("water", temperature_c, None)[0]
    step = -1e-3 * _at(there.ph, mixture, _weak(mixture, temperature_c, None, activities), pkw, af)[1]
    ends = [
        solve(
            Mixture(mixture.charge + z * step, mixture.charge_squared + step, mixture.systems),
            temperature_c,
            activities=activities,
        ).ph
        for z in (-1, 1)
    ]
    return 2 * step / (ends[1] - ends[0])


def pkas_of(key: str, temperature_c: float, constants: Constants | None) -> tuple[float, ...]:
    """Find every pKa of a system: as given, else as on file."""
    given = constants.get(key) if constants else None
    return given or activity.pkas(key, temperature_c)


_Weak = list[tuple[float, int, tuple[float, ...], tuple[float, float] | None]]


def _weak(mixture: Mixture, temperature_c: float, constants: Constants | None, activities: bool = True) -> _Weak:
    return [
        (
            amount,
            system(key).top_charge,
            pkas_of(key, temperature_c, constants),
            polyborates.constants(temperature_c)
            if key == "borate" and activities and amount > polyborates.LEAST
            else None,
        )
        for key, amount in mixture.systems.items()
        if amount
    ]


def _at(ph: float, mixture: Mixture, weak: _Weak, pkw: float, af: float) -> tuple[float, float, float]:
    """Compute (charge, its slope per pH unit, ionic strength) at a pH, with A f(I) = `af`.

    For each system, r_j = 10^(j pH - sum of pKa') is the share of the form that lost j H+, relative to
    the most protonated one; its mean and variance give charge and slope.
    """
    hydrogen = 10.0 ** (af - ph)
    hydroxide = 10.0 ** (ph - pkw + af)
    charge = mixture.charge + hydrogen - hydroxide
    slope = hydrogen + hydroxide
    squared = mixture.charge_squared + hydrogen + hydroxide
    for amount, top, pka, poly in weak:
        if poly is not None:
            borates = polyborates.charge(amount, ph, pka[0], af, poly)
            charge -= borates.minus
            slope += borates.slope
            squared += borates.squared
            continue
        total, first, second, log_r = 1.0, 0.0, 0.0, 0.0
        z = top
        for lost, constant in enumerate(pka, start=1):
            log_r += ph - constant - af * (2 * z - 1)
            z -= 1
            r = 10.0**log_r
            total += r
            first += lost * r
            second += lost * lost * r
        mean, mean_square = first / total, second / total
        charge += amount * (top - mean)
        slope += amount * (mean_square - mean * mean)
        squared += amount * (top * top - 2 * top * mean + mean_square)
    return charge, -_LN10 * slope, 0.5 * squared


def _root(mixture: Mixture, weak: _Weak, pkw: float, af: float, ph: float, near: float = _NEAR) -> float:
    """Find the pH where the charge is nil: Newton's steps, with halving where they converge badly."""
    low, high = _LOWEST, _HIGHEST
    before = high - low
    for _ in range(200):
        charge, slope, strength = _at(ph, mixture, weak, pkw, af)
        if abs(charge) <= _ROUNDING * strength:  # no search finds more than the sums are exact to
            return ph
        if charge > 0:
            low = ph
        else:
            high = ph
        step = -charge / slope if slope else before
        if abs(step) < near:  # each step of Newton's squares the error, so the next would change nothing
            return ph + step
        if not low < ph + step < high or abs(step) > 0.5 * before:
            step = (low + high) / 2 - ph
        ph += step
        before = abs(step)
    return ph
