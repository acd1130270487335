"""Density of aqueous solutions by Laliberte's model, for the solutes whose densities no table on file has.

The parameters are seed_data/tables/density_parameters.csv.
"""

import math
from functools import cache

from prep.records import record
from prep.resources import seed_table

SOURCE = "Laliberte, J. Chem. Eng. Data 54 (2009) 1725"


@record(frozen=True, slots=True)
class Parameters:
    """A solute's parameters of the model, and what they were fitted to [degC, % w/w]."""

    c: tuple[float, float, float, float, float]
    from_c: float
    to_c: float
    to_pct: float


@cache
def parameters() -> dict[str, Parameters]:
    """Read the parameters of each solute by its formula without water of crystallisation."""
    return {
        row["formula"]: Parameters(
            (float(row["c0"]), float(row["c1"]), float(row["c2"]), float(row["c3"]), float(row["c4"])),
            float(row["from_c"]),
            float(row["to_c"]),
            float(row["to_pct_w_w"]),
        )
        for row in seed_table("density_parameters")
    }


@cache
def also_written() -> dict[str, tuple[str, ...]]:
    """List other ways to write each organic formula of the model."""
    return {row["formula"]: tuple(row["also_written"].split(";")) for row in seed_table("density_parameters")}


def water_g_ml(at_c: float) -> float:
    """Compute the density of water [g/mL] at `at_c` [degC], as the model was fitted with it."""
    above = (
        (((-2.8054253e-10 * at_c + 1.0556302e-7) * at_c - 4.6170461e-5) * at_c - 0.0079870401) * at_c + 16.945176
    ) * at_c
    return (above + 999.83952) / (1 + 0.01687985 * at_c) / 1000


def density_g_ml(formula: str, pct: float, at_c: float = 20.0) -> float:
    """Compute the density [g/mL] of `pct` [% w/w] of a solute of `parameters()` in water at `at_c` [degC].

    1/rho = (1 - w)/rho_water + w/rho_app, rho_app = (c0 w + c1) exp(1e-6 (t + c4)^2) / (w + c2 + c3 t) [kg/m3].
    """
    c0, c1, c2, c3, c4 = parameters()[formula].c
    w = pct / 100
    apparent = (c0 * w + c1) * math.exp(1e-6 * (at_c + c4) ** 2) / (w + c2 + c3 * at_c) / 1000
    return 1 / ((1 - w) / water_g_ml(at_c) + w / apparent)


def error_g_ml(formula: str, pct: float, g_ml: float) -> float:
    """Estimate what the model may be off by [g/mL]: 0.08 % and 0.6 % of the mass fraction.

    Twice that past its last data. So much it differs at most, to 40 % w/w, from the CRC Handbook's tables of the
    eight solutes that have both.
    """
    share = 0.0008 + 0.006 * pct / 100
    return g_ml * (share if pct <= parameters()[formula].to_pct else 2 * share)
