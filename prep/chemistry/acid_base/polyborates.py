"""Polyborates: what boric acid of more than a few hundredths of a mole forms with itself and its ion.

2 B(OH)3 = B2O(OH)5- + H+ (+ H2O), log K -9.306; 3 B(OH)3 = B3O3(OH)4- + H+ (+ 2 H2O), log K -7.306: NIST Critically
Selected Stability Constants (Standard Reference Database 46), as printed in the PHREEQC database minteq.v4.dat.
"""

from functools import lru_cache

from prep.records import record

LEAST = 0.004
"""Boron [mol/kg] below which they change no pH by 0.001."""

_DIMER, _TRIMER = -9.306, -7.306
_DIMER_KJ, _TRIMER_KJ = 8.4, 29.4
_LN10 = 2.302585092994046


@lru_cache(maxsize=256)
def constants(temperature_c: float) -> tuple[float, float]:
    """Carry log K of the dimer and the trimer to a temperature (van 't Hoff)."""
    carried = (1 / (temperature_c + 273.15) - 1 / 298.15) / (8.314462618e-3 * _LN10)
    return _DIMER - _DIMER_KJ * carried, _TRIMER - _TRIMER_KJ * carried


@record(frozen=True, slots=True)
class BoronCharge:
    """The negative charge of borates [mol/kg], its slope / ln 10 per pH unit, and their sum of z^2 c."""

    minus: float
    slope: float
    squared: float


def charge(amount: float, ph: float, pka: float, af: float, logs: tuple[float, float]) -> BoronCharge:
    """Compute the charge of `amount` [mol/kg] of boron at a pH.

    With m the boric acid left and a = 10^pH: m + m k1 a + 2 m^2 k2 a + 3 m^3 k3 a is all the boron; one charge each.
    """
    # Each step makes one charge of none, so activities raise its log K by 2 A f; the activity in pH takes one back.
    k1, k2, k3 = (10.0 ** (log + af + ph) for log in (-pka, *logs))
    m = amount / (1 + k1)
    for _ in range(60):
        f = m * (1 + k1 + m * (2 * k2 + 3 * k3 * m)) - amount
        df = 1 + k1 + m * (4 * k2 + 9 * k3 * m)
        step = f / df
        m -= step
        if abs(step) <= 1e-14 * amount:
            break
    minus = m * (k1 + m * (k2 + k3 * m))
    # d(minus)/d(ln a): all three grow with a, and m falls so that the boron stays the same.
    grows_q, grows_b = minus, m * (k1 + m * (2 * k2 + 3 * k3 * m))
    dq_dm, db_dm = k1 + m * (2 * k2 + 3 * k3 * m), 1 + k1 + m * (4 * k2 + 9 * k3 * m)
    return BoronCharge(minus, grows_q - dq_dm * grows_b / db_dm, minus)
