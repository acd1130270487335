"""Density of aqueous solutions against % w/w: tables at 20 degC, a cubic spline through them, its error.

The tables are seed_data/tables/densities.csv, each row with its source and its own uncertainty. Ethanol is
computed by the alcoholometric formula (`prep.chemistry.strength.alcohol`), most other salts by a published model
(`prep.chemistry.strength.density_model`).
"""

import csv
import re
from bisect import bisect_right
from collections.abc import Callable
from decimal import Decimal
from functools import cache, lru_cache, partial

from prep.chemistry.formula.formulas import counted_as, same_solute, split_hydrate
from prep.chemistry.quantities import plain
from prep.chemistry.strength import alcohol, density_model
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_data
from prep.wording import WayOut

WATER_G_ML = Decimal("0.99821")
WATER_SOURCE = "Tanaka et al., Recommended table for the density of water, Metrologia 38 (2001) 301, 20 degC"

_BEYOND_PCT = 1.0
"""How far past its last row a table is followed [% w/w]: a saturated solution is often just there."""

_BEYOND_MODEL = 1.1
"""How far past its last data the model is followed, as a factor of that % w/w."""

_SYMBOL = re.compile("[A-Z][a-z]?")
_SYMBOLS_WITH_C = re.compile("C[adlorsu]")  # calcium, chlorine, copper ... are no carbon

# Other ways to write a table's formula; an isomer with the same atoms is not the same solute.
_WRITTEN = {
    "CH3COOH": ("C2H4O2", "HC2H3O2", "CH3CO2H"),
    "C2H5OH": ("C2H6O", "CH3CH2OH"),
    "CH3OH": ("CH4O",),
    "CH3CH(OH)CH3": ("(CH3)2CHOH",),
    "C3H8O3": ("C3H5(OH)3",),
    "CH3CH2CH2OH": ("CH3(CH2)2OH",),
    "CO(NH2)2": ("CH4N2O", "(NH2)2CO", "NH2CONH2"),
    "H2C2O4": ("C2H2O4", "(COOH)2"),
    "C6H8O7": ("H3C6H5O7",),
    "Na3C6H5O7": ("C6H5Na3O7",),
    "C4H11NO3": ("(HOCH2)3CNH2", "(CH2OH)3CNH2", "H2NC(CH2OH)3"),
}


@record(frozen=True, slots=True)
class Density:
    """Density of a solution [g/mL], the error to reckon with [g/mL], and where it comes from."""

    g_ml: Decimal
    error_g_ml: Decimal
    source: str


@record(frozen=True, slots=True)
class _Table:
    """Nodes of one solute with the spline's slopes, and each interval's interpolation error."""

    pct: tuple[float, ...]
    g_ml: tuple[float, ...]
    slope: tuple[float, ...]
    node_error: tuple[float, ...]
    gap_error: tuple[float, ...]
    sources: tuple[str, ...]

    def interval(self, pct: float) -> int:
        return min(max(bisect_right(self.pct, pct) - 1, 0), len(self.pct) - 2)

    def at(self, pct: float) -> float:
        return _hermite(self.pct, self.g_ml, self.slope, self.interval(pct), pct)


@cache
def table_formula(formula: str) -> str | None:
    """Find the formula under which the tables or the model hold a solute; None where neither has it.

    Any hydrate serves, and `NH4OH` as NH3.
    """
    known = _by_spelling()
    if one := known.get(_dry(formula)) or known.get(formula):
        return one
    # Hydrates of a tabulated solute count too; organic formulas are left to the lists above.
    symbols = set(_SYMBOL.findall(_dry(formula)))
    alike = (one for one in _inorganic() if set(_SYMBOL.findall(one)) == symbols)
    return next((one for one in alike if same_solute(formula, one)), None)


@cache
def _covered() -> tuple[str, ...]:
    """List the formulas of the tables and of the model."""
    return (*_tables(), "C2H5OH", *density_model.parameters())


@cache
def _by_spelling() -> dict[str, str]:
    """List every way of writing a covered formula, with the formula that it is covered as."""
    found: dict[str, str] = {}
    for one in _covered():
        for spelling in (one, *_other_spellings(one)):
            found.setdefault(spelling, one)
    return found


@cache
def _inorganic() -> tuple[str, ...]:
    return tuple(formula for formula in _covered() if "C" not in _SYMBOLS_WITH_C.sub("", formula))


def is_tabulated(formula: str) -> bool:
    """Tell whether measured densities of the solute are on file, not the model alone."""
    known = table_formula(formula)
    return known is not None and (known == "C2H5OH" or known in _tables())


def largest_pct_w_w(formula: str) -> Decimal:
    """Find the highest % w/w of `formula` to which its density is known.

    Raises PrepError where it is not known at all.
    """
    known = _known(formula)
    return _decimal(_top(known)) / _share(formula, known)


def most_water_g_per_l(formula: str) -> Decimal:
    """Work out the grams of water, that of crystals too, in a litre of what is stronger than any density known.

    What dissolves takes water's place: a litre has no more of it than the strongest solution that is known.
    """
    if not formula or table_formula(formula) is None:
        return 1000 * WATER_G_ML
    known = _known(formula)
    last = _followed_to(known)
    return 10 * _decimal(_reader(known)(last)) * (100 - _decimal(last) * _share(known, _dry(known)))


def density(formula: str, pct_w_w: Decimal, at_c: float = 20.0) -> Density:
    """Find the density [g/mL] of `pct_w_w` [% w/w, counted as `formula`] in water at 20 degC.

    By the model, where no table has it, at `at_c` [degC]. Error: that of the nearer table row, plus an eighth of
    what the spline misses a neighbouring row by when that row is left out (halving a cubic spline's interval
    divides its error by 16). Raises PrepError where nothing covers the solute or the strength.
    """
    known = _known(formula)
    pct = float(pct_w_w * _share(formula, known))
    if not 0 <= pct <= _followed_to(known) * (1 + 1e-9):
        raise PrepError(
            f"The densities of {formula} in water are known up to "
            f"{plain(round(largest_pct_w_w(formula), 2))} % w/w, not at {plain(round(pct_w_w, 3))} % w/w; ",
            WayOut("give the density"),
            ".",
        )
    if known == "C2H5OH":
        return Density(_decimal(alcohol.density_g_ml(pct)), Decimal("0.0001"), alcohol.SOURCE)
    if known not in _tables():
        found = density_model.density_g_ml(known, pct, at_c)
        return Density(_decimal(found), _decimal(density_model.error_g_ml(known, pct, found)), density_model.SOURCE)
    table = _table_of(known)
    i = table.interval(pct)
    near = i if pct - table.pct[i] < table.pct[i + 1] - pct else i + 1
    at_node = pct == table.pct[near]
    if pct > table.pct[-1]:  # past the last row: what the spline misses when a row is left out, in full
        error = table.node_error[-1] + 8 * table.gap_error[-1]
        return Density(_decimal(table.at(pct)), _decimal(error), "extrapolated from " + table.sources[-1])
    error = table.node_error[near] + (0.0 if at_node else table.gap_error[i])
    sources = (table.sources[near],) if at_node else (table.sources[i], table.sources[i + 1])
    return Density(_decimal(table.at(pct)), _decimal(error), "; ".join(dict.fromkeys(sources)))


@lru_cache(maxsize=4096)
def pct_w_w_at(formula: str, g_per_l: Decimal) -> Decimal:
    """Find the % w/w of `formula` in water that holds `g_per_l` [g/L] at 20 degC: the inverse of `density`.

    Mass per volume rises with % w/w throughout, so bisection finds the one answer. Raises PrepError where nothing
    covers the solute, or the strength is beyond what is known of it.
    """
    known = _known(formula)
    share = _share(formula, known)
    wanted = float(g_per_l * share)
    read = _reader(known)
    low, high = 0.0, _followed_to(known)
    most = 10 * high * read(high)
    if wanted > most * (1 + 1e-9):
        raise PrepError(
            f"{plain(round(g_per_l, 1))} g/L of {formula} is beyond the densities on file, which serve to "
            f"{plain(round(_decimal(most) / share, 1))} g/L "
            f"({plain(round(_decimal(_followed_to(known)) / share, 2))} % w/w)."
        )
    for _ in range(60):
        middle = (low + high) / 2
        if 10 * middle * read(middle) < wanted:
            low = middle
        else:
            high = middle
    return Decimal(repr((low + high) / 2)) / share


def _reader(known: str) -> Callable[[float], float]:
    """Choose what gives a density [g/mL] from % w/w at 20 degC: the alcohol formula, a table or the model."""
    if known == "C2H5OH":
        return alcohol.density_g_ml
    return _table_of(known).at if known in _tables() else partial(density_model.density_g_ml, known)


def _top(known: str) -> float:
    if known == "C2H5OH":
        return 100.0
    return _tables()[known][-1][0] if known in _tables() else density_model.parameters()[known].to_pct


def _followed_to(known: str) -> float:
    modelled = known != "C2H5OH" and known not in _tables()
    return min(100.0, _top(known) * _BEYOND_MODEL if modelled else _top(known) + _BEYOND_PCT)


def _known(formula: str) -> str:
    if found := table_formula(formula):
        return found
    raise PrepError(f"No density of {formula} in water is on file; ", WayOut("give the density"), ".")


def _other_spellings(known: str) -> tuple[str, ...]:
    return _WRITTEN.get(known) or density_model.also_written().get(known, ())


def _dry(formula: str) -> str:
    try:
        return split_hydrate(formula).dry
    except PrepError:
        return formula


@cache
def _share(formula: str, known: str) -> Decimal:
    """Work out the grams of `known` in one gram of `formula` (1 unless one is a hydrate of the other)."""
    if formula == known or formula in _other_spellings(known):
        return Decimal(1)
    return counted_as(Decimal(1), formula, known)


def _decimal(value: float) -> Decimal:
    return Decimal(f"{value:.6f}")


@cache
def _tables() -> dict[str, list[tuple[float, float, float, str]]]:
    """Read the rows of each table by its formula, by rising % w/w."""
    rows: dict[str, list[tuple[float, float, float, str]]] = {}
    with (seed_data() / "tables" / "densities.csv").open(encoding="utf-8", newline="") as file:
        for r in csv.DictReader(file):
            row = (float(r["pct_w_w"]), float(r["density_g_ml"]), float(r["error_g_ml"]), r["source"])
            rows.setdefault(r["formula"], []).append(row)
    return {formula: sorted(found) for formula, found in rows.items()}


@cache
def _table_of(formula: str) -> _Table:
    return _table(_tables()[formula])


def _table(rows: list[tuple[float, float, float, str]]) -> _Table:
    """Lay the spline through a table's rows, and estimate its error between them."""
    x, y, errors, sources = zip(*rows, strict=True)
    missed = [0.0] * len(x)
    for i in range(1, len(x) - 1):
        fewer_x, fewer_y = x[:i] + x[i + 1 :], y[:i] + y[i + 1 :]
        slopes = _spline_slopes(fewer_x, fewer_y)
        missed[i] = abs(_hermite(fewer_x, fewer_y, slopes, i - 1, x[i]) - y[i])
    gaps = tuple(max(missed[i], missed[i + 1]) / 8 for i in range(len(x) - 1))
    return _Table(x, y, _spline_slopes(x, y), errors, gaps, sources)


def _hermite(x: tuple[float, ...], y: tuple[float, ...], slope: tuple[float, ...], i: int, at: float) -> float:
    width = x[i + 1] - x[i]
    u = (at - x[i]) / width
    return (
        (1 + 2 * u) * (1 - u) ** 2 * y[i]
        + u * (1 - u) ** 2 * width * slope[i]
        + u * u * (3 - 2 * u) * y[i + 1]
        + u * u * (u - 1) * width * slope[i + 1]
    )


def _spline_slopes(x: tuple[float, ...], y: tuple[float, ...]) -> tuple[float, ...]:
    """Compute the slopes at the nodes of the cubic spline whose end intervals are parabolas.

    Tridiagonal system for the second derivatives (de Boor, A Practical Guide to Splines, 1978, chapter IV),
    the first and last equal to their neighbours.
    """
    n = len(x)
    width = [x[i + 1] - x[i] for i in range(n - 1)]
    secant = [(y[i + 1] - y[i]) / width[i] for i in range(n - 1)]
    diagonal, right = [0.0] * n, [0.0] * n
    for i in range(1, n - 1):
        diagonal[i] = 2 * (width[i - 1] + width[i])
        right[i] = 6 * (secant[i] - secant[i - 1])
    diagonal[1] += width[0]
    diagonal[n - 2] += width[n - 2]
    for i in range(2, n - 1):
        factor = width[i - 1] / diagonal[i - 1]
        diagonal[i] -= factor * width[i - 1]
        right[i] -= factor * right[i - 1]
    bend = [0.0] * n
    for i in range(n - 2, 0, -1):
        above = width[i] * bend[i + 1] if i < n - 2 else 0.0
        bend[i] = (right[i] - above) / diagonal[i]
    bend[0], bend[-1] = bend[1], bend[-2]
    slopes = [secant[i] - width[i] * (2 * bend[i] + bend[i + 1]) / 6 for i in range(n - 1)]
    return (*slopes, secant[-1] + width[-1] * (bend[-2] + 2 * bend[-1]) / 6)
