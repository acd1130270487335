"""Activity coefficients of ions in water (Davies), and constants carried to another temperature."""

from functools import lru_cache
from math import log, pow, sqrt

from prep.chemistry.acid_base.species import Dissociation, system
from prep.errors import PrepError

LIMIT_I = 0.5
"""Ionic strength [mol/kg] up to which the Davies equation is used; above, its coefficients are held there."""


def beyond(ionic_strength: float) -> bool:
    """Tell whether an ionic strength [mol/kg] is above `LIMIT_I`, to the three figures that are printed."""
    return ionic_strength > LIMIT_I + 0.0005


LOWEST_C, HIGHEST_C = 0.0, 60.0

_B = 0.24

DAVIES = (
    "Davies equation with b = 0.24: log10 gamma = -A z^2 (sqrt I/(1 + sqrt I) - 0.24 I); from memory: "
    "MINTEQA2/PRODEFA2 manual (1991)"
)
DEBYE_HUCKEL = (
    "A = 1.8248e6 sqrt(density)/(permittivity T)^1.5; permittivity: Malmberg & Maryott, J. Res. NBS 56 (1956) 1; "
    "density: Kell, J. Chem. Eng. Data 20 (1975) 97"
)

_GAS_J = 8.314462618
_LN10 = 2.302585092994046
_T0_K, _T25_K = 273.15, 298.15


def check_temperature(temperature_c: float) -> None:
    """Check a temperature [degC]: raise PrepError outside what the constants and van 't Hoff's rule can carry."""
    if not LOWEST_C <= temperature_c <= HIGHEST_C:
        raise PrepError(
            f"The acid constants are used from {LOWEST_C:g} to {HIGHEST_C:g} degC, not at {temperature_c:g} degC."
        )


@lru_cache(maxsize=256)
def debye_huckel_a(temperature_c: float) -> float:
    """Compute the Debye-Huckel A of water [kg^0.5 mol^-0.5], log10 form: 0.511 at 25 degC.

    Sources in `DEBYE_HUCKEL`.
    """
    t = temperature_c
    permittivity = 87.740 - 0.40008 * t + 9.398e-4 * t**2 - 1.410e-6 * t**3
    density = (
        999.83952
        + 16.945176 * t
        - 7.9870401e-3 * t**2
        - 46.170461e-6 * t**3
        + 105.56302e-9 * t**4
        - 280.54253e-12 * t**5
    ) / (1 + 16.879850e-3 * t)
    return 1.8248e6 * sqrt(density / 1000) / pow(permittivity * (t + _T0_K), 1.5)


def davies(ionic_strength: float) -> float:
    """Compute f(I) = sqrt I/(1 + sqrt I) - 0.24 I, where log10 gamma = -A z^2 f.

    Above `LIMIT_I` f is held at its value there: the equation turns round near 0.5, and far above it the
    coefficients would grow without bound.
    """
    i = ionic_strength if ionic_strength < LIMIT_I else LIMIT_I
    root = sqrt(i)
    return root / (1 + root) - _B * i


def pka_at(step: Dissociation, temperature_c: float) -> float:
    """Carry a pKa to a temperature T: van 't Hoff, and the change of heat capacity where it is known.

    With T0 = 298.15 K: pKa(T) = pKa(T0) + [dH (1/T - 1/T0) - dCp (T0/T - 1 + ln(T/T0))] / (R ln 10)
    (Clarke and Glew 1966).
    """
    if step.dh_kj_mol is None:
        return step.pka
    t = temperature_c + _T0_K
    change = 1000 * step.dh_kj_mol * (1 / t - 1 / _T25_K)
    if step.dcp_j_mol_k is not None:
        change -= step.dcp_j_mol_k * (_T25_K / t - 1 + log(t / _T25_K))
    return step.pka + change / (_GAS_J * _LN10)


@lru_cache(maxsize=1024)
def pkas(key: str, temperature_c: float) -> tuple[float, ...]:
    """List every pKa of an acid-base system at a temperature, from the most protonated form downwards."""
    return tuple(pka_at(step, temperature_c) for step in system(key).steps)
