"""pH of any mixture of acids, bases and salts, with its working and how far it can be trusted."""

from collections.abc import Sequence
from math import log10

from prep.chemistry.acid_base import activity
from prep.chemistry.acid_base.activity import LIMIT_I, beyond
from prep.chemistry.acid_base.charge_balance import (
    Constants,
    Mixture,
    Solved,
    capacity,
    mix,
    mixture_of,
    parts_for,
    pkas_of,
    solve,
)
from prep.chemistry.acid_base.ph_uncertainty import PhBand, band
from prep.chemistry.acid_base.species import Component, system
from prep.chemistry.model import Line
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table

__all__ = ["Constants", "Mixture", "capacity", "mix", "mixture_of", "parts_for", "solve"]

MOST_MOL = 6.0
"""Moles of ions and molecules in a litre above which water is no longer the solvent that the model takes it for."""

_SOLIDS = {  # what such cations may leave the solution with; solids are not counted
    "calcium": ("sulfate", "carbonate", "phosphate", "oxalate", "fluoride", "tartrate", "citrate"),
    "Ba+2": ("sulfate", "carbonate", "phosphate", "oxalate", "fluoride"),
    "Sr+2": ("sulfate", "carbonate", "phosphate", "oxalate", "fluoride"),
    "Mg+2": ("carbonate", "phosphate", "ammonia", "fluoride"),
}


@record(frozen=True, slots=True)
class PhResult:
    """pH = -log10 of the activity of H+, and how far it can be trusted.

    `ionic_strength` [mol/kg]; `model` is `Davies` or `ideal`; `valid` False with a sentence in `note` where
    the model does not reach. `band`: how far the true pH may be from it, k = 2; None where something falls out or
    there is no solution, which no published pH judges.
    """

    ph: float
    ionic_strength: float
    model: str
    valid: bool
    note: str
    working: tuple[Line, ...]
    band: PhBand | None


def ph_of(
    components: Sequence[Component],
    temperature_c: float = 25.0,
    *,
    activities: bool = True,
    constants: Constants | None = None,
) -> PhResult:
    """Compute pH, ionic strength and working of a mixture at `temperature_c` [0 to 60 degC].

    Without components it is pure water. Charge balance over all ions with conditional constants, pKa' = pKa + A
    f(I) (2 z - 1) for an acid of charge z (Davies); `activities=False` gives the ideal answer of textbooks,
    `constants` a book's own pKa. Raises PrepError for a temperature out of range.
    """
    mixture = mixture_of(components)
    found = solve(mixture, temperature_c, activities=activities, constants=constants)
    per_litre = any(c.per_litre for c in components if c.mol_per_kg)
    return result(
        mixture,
        found,
        temperature_c,
        activities=activities,
        per_litre=per_litre,
        constants=constants,
        components=components,
    )


def result(
    mixture: Mixture,
    found: Solved,
    temperature_c: float,
    *,
    activities: bool = True,
    per_litre: bool = False,
    constants: Constants | None = None,
    components: Sequence[Component] = (),
) -> PhResult:
    """Explain a solved pH: the answer with its working, ready to check by hand."""
    ph, strength = found.ph, found.ionic_strength
    crowded = sum(mixture.ions.values()) + sum(mixture.systems.values())
    valid = (not activities or not beyond(strength)) and crowded <= MOST_MOL
    notes = []
    if crowded > MOST_MOL:
        notes.append(
            f"{crowded:.3g} mol/L in all is no solution in water as the model has it (up to {MOST_MOL:g} mol/L): "
            "take the pH as a rough guide only."
        )
    if activities and beyond(strength):
        notes.append(
            f"Ionic strength {strength:.3g} mol/kg is above {LIMIT_I:g}, where the Davies equation fails: "
            "take the pH as a rough guide only."
        )
    if fallen := fallen_out(mixture, ph, strength, temperature_c, activities=activities):
        valid = False
        notes.append(fallen)
    notes += [_solids(mixture), _untempered(mixture, temperature_c)]
    if mixture.systems.get("carbonate"):
        notes.append("No carbon dioxide is lost to the air in this figure.")
    about = None
    if not fallen and crowded <= MOST_MOL:
        about = band(mixture, ph, strength, temperature_c, activities=activities, components=components)
    return PhResult(
        ph,
        strength,
        "Davies" if activities else "ideal",
        valid,
        " ".join(n for n in notes if n),
        (
            *_working(mixture, ph, strength, temperature_c, activities, per_litre, constants),
            *((about.line,) if about else ()),
        ),
        about,
    )


def fallen_out(mixture: Mixture, ph: float, strength: float, temperature_c: float, *, activities: bool = True) -> str:
    """Say in a sentence that a free acid falls out of the solution; empty where all stays dissolved."""
    af = activity.debye_huckel_a(temperature_c) * activity.davies(strength) if activities else 0.0
    for row in seed_table("undissociated"):
        amount = mixture.systems.get(row["system"], 0.0)
        if amount <= (dissolves := float(row["mol_per_l"])):
            continue
        found, total, log = system(row["system"]), 1.0, 0.0
        for step, constant in zip(found.steps, pkas_of(row["system"], temperature_c, None), strict=True):
            log += ph - constant - af * (2 * step.charge - 1)
            total += 10**log
        if (free := amount / total) > dissolves:
            return (
                f"{found.name.capitalize()} falls out: {free:.2g} mol/L of it would be undissociated, and "
                f"{dissolves:g} mol/L dissolve at {row['temperature_c']} degC."
            )
    return ""


def _solids(mixture: Mixture) -> str:
    for ion, partners in _SOLIDS.items():
        met = [key for key, amount in mixture.systems.items() if amount and key in partners]
        there = mixture.ions.get(ion) or mixture.systems.get(ion)
        if there and met:
            name = {"calcium": "Ca+2"}.get(ion, ion)
            return f"{name} may form a solid with {met[0]}; solids are not counted."
    return ""


def _untempered(mixture: Mixture, temperature_c: float) -> str:
    fixed = [
        system(key).name
        for key, amount in mixture.systems.items()
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
        held = "" if not beyond(strength) else f" (held at I = {LIMIT_I:g})"
        lines += [
            Line(
                f"ionic strength I = {strength:.4g} mol/kg; A = {a:.4f} at {temperature_c:g} degC; one charge: "
                f"log10 gamma = {-af:.4f}{held}",
                f"{activity.DAVIES}; {activity.DEBYE_HUCKEL}",
            )
        ]
    balance = mixture.charge
    pkw = pkas_of("water", temperature_c, constants)[0]
    hydrogen, hydroxide = 10 ** (af - ph), 10 ** (ph - pkw + af)
    for key, amount in mixture.systems.items():
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
    found, pka = system(key), pkas_of(key, temperature_c, constants)
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
    """Check a pH: raise PrepError for one that no solution in water is asked to have."""
    if not 0 <= ph <= 14:
        raise PrepError(f"pH {ph:g} is no target; accepted is 0 to 14.")
