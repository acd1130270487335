"""pH of any mixture of acids, bases and salts: charge balance with activity coefficients.

At a given ionic strength the charge of the solution falls strictly as pH rises, so there is one root and a
bracketed search cannot miss it. The ionic strength is found round it by a fixed point kept in a bracket of
its own. mol/L is taken as mol/kg of water.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import log10

from prep.chemistry.acid_base import activity
from prep.chemistry.acid_base.activity import LIMIT_I
from prep.chemistry.acid_base.species import Component, system
from prep.chemistry.model import Line
from prep.errors import PrepError

Constants = Mapping[str, tuple[float, ...]]
"""System key -> its pKa's, to use in place of the table's; `water` for pKw."""

_LN10 = 2.302585092994046
_LOWEST, _HIGHEST = -8.0, 24.0
"""pH between which every root lies: 100 mol/kg of anything is far inside."""

_CALCIUM_PAIRS = 12.0

_SOLIDS = {  # what such cations may leave the solution with; solids are not counted
    "Ca+2": ("sulfate", "carbonate", "phosphate", "oxalate", "fluoride", "tartrate", "citrate"),
    "Ba+2": ("sulfate", "carbonate", "phosphate", "oxalate", "fluoride"),
    "Sr+2": ("sulfate", "carbonate", "phosphate", "oxalate", "fluoride"),
    "Mg+2": ("carbonate", "phosphate", "ammonia", "fluoride"),
}


@dataclass(frozen=True, slots=True)
class Mixture:
    """Totals of a solution [mol/kg]: strong ions by name, conjugate systems by key."""

    charge: float = 0.0  # sum of z c over strong ions
    charge_squared: float = 0.0  # sum of z^2 c over strong ions
    systems: tuple[tuple[str, float], ...] = ()
    ions: Mapping[str, float] = field(default_factory=dict, hash=False)

    def scaled(self, factor: float) -> "Mixture":
        """The same solution, diluted (factor below 1)."""
        return mix(((self, factor),))


@dataclass(frozen=True, slots=True)
class PhResult:
    """pH = -log10 of the activity of H+, and how far it can be trusted.

    `ionic_strength` [mol/kg]; `model` is `Davies` or `ideal`; `valid` False with a sentence in `note` where
    the model does not reach.
    """

    ph: float
    ionic_strength: float
    model: str
    valid: bool
    note: str
    working: tuple[Line, ...]


def ph_of(
    components: Sequence[Component],
    temperature_c: float = 25.0,
    *,
    activities: bool = True,
    constants: Constants | None = None,
) -> PhResult:
    """pH, ionic strength and working of a mixture at `temperature_c` [0 to 60 degC]; none is pure water.

    Charge balance over all ions with conditional constants, pKa' = pKa + A f(I) (2 z - 1) for an acid of
    charge z (Davies); `activities=False` gives the ideal answer of textbooks, `constants` a book's own pKa.
    Raises PrepError for a temperature out of range.
    """
    mixture = mixture_of(components)
    ph, strength = solve(mixture, temperature_c, activities=activities, constants=constants)
    per_litre = any(c.per_litre for c in components if c.mol_per_kg)
    return result(mixture, ph, strength, temperature_c, activities=activities, per_litre=per_litre, constants=constants)


def mixture_of(components: Sequence[Component]) -> Mixture:
    """Totals of strong ions and of conjugate systems."""
    ions: dict[str, float] = {}
    systems: dict[str, float] = {}
    charge = squared = 0.0
    for part in components:
        for ion, z, count in part.species.ions:
            amount = count * part.mol_per_kg
            ions[ion] = ions.get(ion, 0.0) + amount
            charge += z * amount
            squared += z * z * amount
        for key, count in part.species.systems:
            systems[key] = systems.get(key, 0.0) + count * part.mol_per_kg
    return Mixture(charge, squared, tuple(systems.items()), ions)


def mix(parts: Sequence[tuple[Mixture, float]]) -> Mixture:
    """Mixtures added up, each times its share of the whole."""
    ions: dict[str, float] = {}
    systems: dict[str, float] = {}
    for part, share in parts:
        for ion, amount in part.ions.items():
            ions[ion] = ions.get(ion, 0.0) + share * amount
        for key, amount in part.systems:
            systems[key] = systems.get(key, 0.0) + share * amount
    charge = sum(share * part.charge for part, share in parts)
    squared = sum(share * part.charge_squared for part, share in parts)
    return Mixture(charge, squared, tuple(systems.items()), ions)


def solve(
    mixture: Mixture,
    temperature_c: float = 25.0,
    *,
    activities: bool = True,
    constants: Constants | None = None,
) -> tuple[float, float]:
    """(pH, ionic strength [mol/kg]) of a mixture: the quick form of `ph_of`, without working.

    Raises PrepError for a temperature outside 0 to 60 degC.
    """
    activity.check_temperature(temperature_c)
    weak = _weak(mixture, temperature_c, constants)
    pkw = _pkas("water", temperature_c, constants)[0]
    a = activity.debye_huckel_a(temperature_c) if activities else 0.0
    if not activities:
        ph = _root(mixture, weak, pkw, 0.0, 7.0)
        return ph, _at(ph, mixture, weak, pkw, 0.0)[2]
    guess, low, high = 0.5 * mixture.charge_squared, 0.0, float("inf")
    ph = 7.0
    for turn in range(200):
        af = a * activity.davies(guess)
        ph = _root(mixture, weak, pkw, af, ph)
        found = _at(ph, mixture, weak, pkw, af)[2]
        # Above the limit the coefficients no longer change: the answer stands as it is.
        if abs(found - guess) <= 1e-13 + 1e-10 * found or (found >= LIMIT_I and guess >= LIMIT_I):
            return ph, found
        low, high = (guess, high) if found > guess else (low, guess)
        # The map is a contraction; halving takes over should rounding ever stop it.
        guess = found if low < found < high and turn < 100 else (low + min(high, 2 * low + 1)) / 2
        if high - low <= 1e-13 + 1e-10 * low:
            break
    return ph, found


def parts_for(one: Mixture, other: Mixture, ph: float, temperature_c: float = 25.0) -> float | None:
    """Parts of `other` that give one part of `one` a pH (Davies; volumes additive); None where no amount does.

    At a pH the charge of a mixture is linear in its parts, so only the ionic strength is sought, by a fixed
    point. The quick form of `endpoints.to_ph`. Raises PrepError for a temperature outside 0 to 60 degC.
    """
    activity.check_temperature(temperature_c)
    pkw = _pkas("water", temperature_c, None)[0]
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
    """Buffer capacity [mol/kg per pH unit]: strong base added over the rise of pH, for about 0.001 each way.

    Slyke's beta, but with the ionic strength following what is added. Raises PrepError as `solve` does.
    """
    ph, strength = solve(mixture, temperature_c, activities=activities)
    af = activity.debye_huckel_a(temperature_c) * activity.davies(strength) if activities else 0.0
    pkw = _pkas("water", temperature_c, None)[0]
    step = -1e-3 * _at(ph, mixture, _weak(mixture, temperature_c, None), pkw, af)[1]
    ends = [
        solve(
            Mixture(mixture.charge + z * step, mixture.charge_squared + step, mixture.systems),
            temperature_c,
            activities=activities,
        )[0]
        for z in (-1, 1)
    ]
    return 2 * step / (ends[1] - ends[0])


def _pkas(key: str, temperature_c: float, constants: Constants | None) -> tuple[float, ...]:
    given = constants.get(key) if constants else None
    return given or activity.pkas(key, temperature_c)


_Weak = list[tuple[float, int, tuple[float, ...]]]


def _weak(mixture: Mixture, temperature_c: float, constants: Constants | None) -> _Weak:
    return [
        (amount, system(key).top_charge, _pkas(key, temperature_c, constants))
        for key, amount in mixture.systems
        if amount
    ]


def _at(ph: float, mixture: Mixture, weak: _Weak, pkw: float, af: float) -> tuple[float, float, float]:
    """(charge, its slope per pH unit, ionic strength) at a pH, with A f(I) = `af`.

    For each system, r_j = 10^(j pH - sum of pKa') is the share of the form that lost j H+, relative to
    the most protonated one; its mean and variance give charge and slope.
    """
    hydrogen = 10.0 ** (af - ph)
    hydroxide = 10.0 ** (ph - pkw + af)
    charge = mixture.charge + hydrogen - hydroxide
    slope = hydrogen + hydroxide
    squared = mixture.charge_squared + hydrogen + hydroxide
    for amount, top, pka in weak:
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


def _root(mixture: Mixture, weak: _Weak, pkw: float, af: float, ph: float) -> float:
    """The pH where the charge is nil: Newton's steps, halving the bracket whenever they serve it badly."""
    low, high = _LOWEST, _HIGHEST
    before = high - low
    for _ in range(200):
        charge, slope, _ = _at(ph, mixture, weak, pkw, af)
        if charge > 0:
            low = ph
        elif charge < 0:
            high = ph
        else:
            return ph
        step = -charge / slope if slope else before
        if not low < ph + step < high or abs(step) > 0.5 * before:
            step = (low + high) / 2 - ph
        ph += step
        before = abs(step)
        if before < 1e-11:
            return ph
    return ph


def result(
    mixture: Mixture,
    ph: float,
    strength: float,
    temperature_c: float,
    *,
    activities: bool = True,
    per_litre: bool = False,
    constants: Constants | None = None,
) -> PhResult:
    """The answer with its working, ready to check by hand."""
    valid = not activities or strength <= LIMIT_I
    notes = []
    if not valid:
        notes.append(
            f"Ionic strength {strength:.2g} mol/kg is above {LIMIT_I:g}, where the Davies equation fails: "
            "take the pH as a rough guide only."
        )
    notes += [_solids(mixture), _untempered(mixture, temperature_c)]
    if mixture.ions.get("Ca+2") and ph > _CALCIUM_PAIRS:
        notes.append("The ion pair CaOH+ is not counted: saturated limewater comes out about 0.06 too high.")
    if any(key == "carbonate" and amount for key, amount in mixture.systems):
        notes.append("No carbon dioxide is lost to the air in this figure.")
    return PhResult(
        ph,
        strength,
        "Davies" if activities else "ideal",
        valid,
        " ".join(n for n in notes if n),
        tuple(_working(mixture, ph, strength, temperature_c, activities, per_litre, constants)),
    )


def _solids(mixture: Mixture) -> str:
    for ion, partners in _SOLIDS.items():
        met = [key for key, amount in mixture.systems if amount and key in partners]
        if mixture.ions.get(ion) and met:
            return f"{ion} may form a solid with {met[0]}; solids are not counted."
    return ""


def _untempered(mixture: Mixture, temperature_c: float) -> str:
    fixed = [
        system(key).name
        for key, amount in mixture.systems
        if amount and any(step.dh_kj_mol is None for step in system(key).steps)
    ]
    if temperature_c == 25 or not fixed:
        return ""
    return f"The constants of {fixed[0]} are those of 25 degC, as no enthalpy is known."


def _working(
    mixture: Mixture,
    ph: float,
    strength: float,
    temperature_c: float,
    activities: bool,
    per_litre: bool,
    constants: Constants | None,
) -> list[Line]:
    lines = []
    if per_litre:
        lines.append(Line("mol/L is taken as mol per kg of water"))
    if mixture.ions:
        lines.append(
            Line("strong ions: " + ", ".join(f"{ion} {amount:.5g}" for ion, amount in mixture.ions.items()) + " mol/kg")
        )
    af = 0.0
    if activities:
        a = activity.debye_huckel_a(temperature_c)
        af = a * activity.davies(strength)
        held = "" if strength <= LIMIT_I else f" (held at I = {LIMIT_I:g})"
        lines += [
            Line(
                f"ionic strength I = {strength:.4g} mol/kg; A = {a:.4f} at {temperature_c:g} degC; one charge: "
                f"log10 gamma = {-af:.4f}{held}",
                f"{activity.DAVIES}; {activity.DEBYE_HUCKEL}",
            )
        ]
    balance = mixture.charge
    pkw = _pkas("water", temperature_c, constants)[0]
    hydrogen, hydroxide = 10 ** (af - ph), 10 ** (ph - pkw + af)
    for key, amount in mixture.systems:
        if amount:
            line, mean_charge = _system_line(key, amount, ph, af, temperature_c, constants)
            lines.append(line)
            balance += amount * mean_charge
    water = system("water").steps[0]
    lines += [
        Line(
            f"water: pKw = {pkw:.3f} at {temperature_c:g} degC; H+ {hydrogen:.4g}, OH- {hydroxide:.4g} mol/kg",
            water.source,
        ),
        Line(
            f"charges: {mixture.charge:+.5g} of strong ions {hydrogen:+.4g} of H+ {-hydroxide:+.4g} of OH- "
            f"{balance - mixture.charge:+.5g} of the systems = {balance + hydrogen - hydroxide:.1e}"
        ),
        Line(
            f"pH = -log10(H+) - log10 gamma = {-log10(hydrogen):.3f} + {af:.3f} = {ph:.3f}"
            if activities
            else f"pH = -log10(H+) = {ph:.3f} (ideal: activity coefficients left out)"
        ),
    ]
    return lines


def _system_line(
    key: str, amount: float, ph: float, af: float, temperature_c: float, constants: Constants | None
) -> tuple[Line, float]:
    found, pka = system(key), _pkas(key, temperature_c, constants)
    logs = [0.0]
    for step, constant in zip(found.steps, pka, strict=True):
        logs.append(logs[-1] + ph - constant - af * (2 * step.charge - 1))
    most = max(logs)
    weights = [10 ** (value - most) for value in logs]
    shares = [w / sum(weights) for w in weights]
    mean = sum(share * (found.top_charge - j) for j, share in enumerate(shares))
    charges = ", ".join(f"{share:.4g} of charge {found.top_charge - j:+d}" for j, share in enumerate(shares)).replace(
        "+0", "0"
    )
    printed = ", ".join(f"{value:.3f}" for value in pka)
    given = constants is not None and key in constants
    text = (
        f"{found.name}: {amount:.5g} mol/kg, pKa {printed} at {temperature_c:g} degC; shares {charges}; "
        f"mean charge {mean:+.5g}"
    )
    return Line(text, "as given" if given else "; ".join(dict.fromkeys(step.source for step in found.steps))), mean


def check_ph(ph: float) -> None:
    """Raise PrepError for a pH that no water solution is asked to have."""
    if not 0 <= ph <= 14:
        raise PrepError(f"pH {ph:g} is no target; accepted is 0 to 14.")
