"""The density of one solution: as given, from a table, or water's where the solution is dilute enough.

Each function adds the line of working that says which it was.
"""

from decimal import Decimal

from prep.chemistry.model import Line, Strength
from prep.chemistry.quantities import figures as _f
from prep.chemistry.quantities import plain
from prep.chemistry.strength import densities
from prep.chemistry.strength.densities import Density
from prep.chemistry.strength.solutes import Concentrate, SoluteFacts
from prep.errors import PrepError
from prep.records import record
from prep.wording import WayOut

# How far the density of a solution of mass fraction w may be from water's: at most about 1.25 w, the
# steepest common case being sodium hydroxide (CRC: 1 % w/w is 1.13 % denser than water).
_STEEPEST = Decimal("1.25")

# How far a concentrate and water may be from volumes that add, as shares: always, and half and half.
_ADDED = Decimal("0.001")
_SHRINKS = Decimal("0.008")


def of_pure(about: SoluteFacts, working: list[Line]) -> Decimal:
    """Find the density [g/mL] of the pure liquid, given or the end of its table; PrepError where neither is."""
    if about.pure_density_g_ml is not None:
        working.append(
            Line(
                f"density of pure {about.called} {_f(about.pure_density_g_ml)} g/mL",
                about.pure_density_source,
            )
        )
        return about.pure_density_g_ml
    known = densities.table_formula(about.formula) if about.formula else None
    if known is None or densities.largest_pct_w_w(known) < 100:
        raise PrepError(f"% v/v of {about.called} needs the density of the pure liquid; give it.")
    found = densities.density(known, Decimal(100))
    working.append(Line(f"density of pure {known} {_f(found.g_ml)} g/mL at 20 degC", found.source))
    return found.g_ml


def at_pct(pct: Decimal, strength: Strength, about: SoluteFacts, working: list[Line], *, at_c: float = 20.0) -> Density:
    """Find the density of a solution of `pct` [% w/w], by the model at `at_c` [degC].

    Raises PrepError: neither given, nor on file, nor near water's.
    """
    if about.density_g_ml is not None:
        return _given(about, working)
    if about.formula and densities.table_formula(about.formula):
        found = densities.density(about.formula, pct, at_c)
        working.append(_table_line(pct, found, about))
        return found
    if about.concentrate is not None and pct <= about.concentrate.pct_w_w:
        return _between(pct / about.concentrate.pct_w_w, about.concentrate, about, working)
    return _as_water(pct, strength, about, working)


def beyond_known(pct: Decimal, about: SoluteFacts, working: list[Line]) -> Decimal:
    """Estimate the density [g/mL] of a solution stronger [% w/w] than any whose density is on file.

    What a gram of the solute takes up in the strongest known is taken to stay: v = (100 / d - (100 - w) / d_water) / w.
    Raises PrepError where no density of the solute is on file.
    """
    top = densities.largest_pct_w_w(about.formula)
    known = densities.density(about.formula, top)
    takes_up = (100 / known.g_ml - (100 - top) / densities.WATER_G_ML) / top
    g_ml = 100 / ((100 - pct) / densities.WATER_G_ML + pct * takes_up)
    text = (
        f"density of {_f(pct)} % w/w about {_f(g_ml, 3)} g/mL: beyond what is on file, a gram of {about.formula} is "
        f"taken to take up {_f(takes_up, 3)} mL, as at {_f(top)} % w/w"
    )
    working.append(Line(text, known.source))
    return g_ml


@record(frozen=True, slots=True)
class MassStrength:
    """A solution by mass: its % w/w and its density."""

    pct_w_w: Decimal
    density: Density


def at_g_per_l(g_per_l: Decimal, strength: Strength, about: SoluteFacts, working: list[Line]) -> MassStrength:
    """Find % w/w and density of the solution that holds `g_per_l` [g/L]. PrepError as `at_pct`."""
    if about.density_g_ml is not None:
        density = _given(about, working)
        pct = g_per_l / density.g_ml / 10
    elif about.formula and densities.table_formula(about.formula):
        pct = densities.pct_w_w_at(about.formula, g_per_l)
        density = densities.density(about.formula, pct)
        working.append(_table_line(pct, density, about))
    elif about.concentrate is not None and (share := _share_of(g_per_l, about.concentrate)) <= 1:
        pct = share * about.concentrate.pct_w_w
        density = _between(share, about.concentrate, about, working)
    else:
        pct = g_per_l / densities.WATER_G_ML / 10
        density = _as_water(pct, strength, about, working)
    if pct > 100 + Decimal("1e-9"):
        raise PrepError(
            f"{strength} of {about.called} is impossible: it would be {_f(pct)} % w/w "
            f"at {_f(density.g_ml)} g/mL, and no % w/w is above 100."
        )
    return MassStrength(min(pct, Decimal(100)), density)


def _given(about: SoluteFacts, working: list[Line]) -> Density:
    assert about.density_g_ml is not None
    working.append(Line(f"density {_f(about.density_g_ml)} g/mL", about.density_source))
    return Density(about.density_g_ml, Decimal(0), about.density_source)


def _table_line(pct: Decimal, found: Density, about: SoluteFacts) -> Line:
    return Line(
        f"density of {_f(pct)} % w/w {about.formula} {_f(found.g_ml)} +- {found.error_g_ml:.4f} g/mL at 20 degC",
        found.source,
    )


def _between(share: Decimal, one: Concentrate, about: SoluteFacts, working: list[Line]) -> Density:
    """Work out the density where `share` of the mass is the concentrate, the rest water; volumes add."""
    g_ml = 1 / ((1 - share) / densities.WATER_G_ML + share / one.density_g_ml)
    error = g_ml * (_ADDED + _SHRINKS * 4 * share * (1 - share))
    working.append(
        Line(
            f"density {_f(g_ml)} +- {error:.4f} g/mL: {_f(100 * share)} % of the mass is {about.called} as sold "
            f"({_f(one.density_g_ml)} g/mL), the rest water, volumes taken to add",
            one.source,
        )
    )
    return Density(g_ml.quantize(Decimal("0.000001")), error.quantize(Decimal("0.000001")), one.source)


def _share_of(g_per_l: Decimal, one: Concentrate) -> Decimal:
    """Work out the share of the mass that is the concentrate, as `_between` reckons densities."""
    water, swells = 1 / densities.WATER_G_ML, 1 / one.density_g_ml - 1 / densities.WATER_G_ML
    left = 10 * one.pct_w_w - g_per_l * swells
    return g_per_l * water / left if left > 0 else Decimal("Infinity")


def _as_water(pct: Decimal, strength: Strength, about: SoluteFacts, working: list[Line]) -> Density:
    off = _STEEPEST * pct
    if off > about.tolerance_pct:
        raise PrepError(
            f"{strength} of {about.called} needs the solution's density: no table covers it, and taking "
            f"water's could be off by {_f(off, 2)} % (at most {plain(about.tolerance_pct)} % is allowed); ",
            WayOut("give the density"),
            ".",
        )
    working.append(
        Line(
            f"dilute: density taken as water's, {densities.WATER_G_ML} g/mL at 20 degC; off by at most {_f(off, 2)} %",
            densities.WATER_SOURCE,
        )
    )
    error = (densities.WATER_G_ML * off / 100).quantize(Decimal("0.000001"))
    return Density(densities.WATER_G_ML, error, densities.WATER_SOURCE)
