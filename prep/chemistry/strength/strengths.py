"""Strengths of solutions: any kind into any other, the density used named, impossible ones refused.

Two families need no density among themselves: by volume (mol/L, g/L, % w/v, eq/L, volumes, % v/v) and by mass
(% w/w, ppm, mol/kg, saturated). Between the families stands the solution's density: given, from a table, or,
for dilute solutions only, that of water.
"""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from prep.chemistry.formula.formulas import composition, counted_as, molar_mass, split_hydrate, units_in
from prep.chemistry.model import Form, Line, Strength, StrengthKind, Substance
from prep.chemistry.quantities import BASE_PER_UNIT, tidy
from prep.chemistry.quantities import figures as _f
from prep.chemistry.strength import densities
from prep.chemistry.strength.densities import Density
from prep.chemistry.strength.solutes import SoluteFacts, about_substance
from prep.chemistry.strength.solution_density import at_g_per_l, at_pct, of_pure
from prep.errors import NoEquivalents, PrepError
from prep.records import record

MOLAR_VOLUME_L = Decimal("22.414")
MOLAR_VOLUME_SOURCE = "CODATA 2018: molar volume of an ideal gas at 273.15 K and 101.325 kPa, 22.414 L/mol"
MASS_SOURCE = "standard atomic weights (molmass)"

BY_MASS = frozenset({StrengthKind.PCT_W_W, StrengthKind.PPM, StrengthKind.MOL_PER_KG, StrengthKind.SATURATED})
"""Kinds that count mass in mass; the others count in a volume of solution."""

MOLAR = frozenset({StrengthKind.MOL_PER_L, StrengthKind.EQ_PER_L, StrengthKind.VOLUMES})
"""Kinds that count moles in a volume: they need no molar mass among themselves."""

_WATER_KG = Decimal(1000)
_SLACK = Decimal("1.005")  # a litre may hold a little more than a litre's water (sodium hydroxide at 5 %: 0.3 % more)
_LIGHTEST_G_PER_L = Decimal(780)  # pure ethanol, the lightest of the tables, is 789 g/L
_NEARLY_PURE = 98
"""From how many % w/w a table of densities goes as far as the pure liquid."""


@record(frozen=True, slots=True)
class Converted:
    """A strength in another kind, the density used if any, and the working."""

    strength: Strength
    density: Density | None
    working: tuple[Line, ...]


def in_bottle(substance: Substance, kind: StrengthKind) -> Converted:
    """Find the strength of a concentrate or a liquid as bought, from its assay and density (or the table's).

    Raises PrepError for a solid or a gas, no assay, or no density where one is needed.
    """
    if substance.form not in (Form.AQUEOUS, Form.LIQUID):
        raise PrepError(f"{substance.name} is a {substance.form.value}; it has no strength as a liquid.")
    if substance.assay_pct is None:
        raise PrepError(f"The assay of {substance.name} (% w/w of {substance.formula}) is not recorded.")
    known = replace(
        about_substance(substance),
        density_g_ml=substance.density_g_ml,
        density_source=substance.sources.get("density", "the substance's record"),
        solubility=None,
    )
    return convert(Strength(substance.assay_pct, StrengthKind.PCT_W_W), kind, known)


def moles_in(substance: Substance) -> Fraction:
    """Work out the moles in a nanolitre of a liquid as bought, or in a microgram of what is weighed.

    Moles of its formula. An assay of what is weighed that is not recorded counts as 100 %. Raises PrepError as
    `in_bottle` and `molar_mass`.
    """
    if substance.form in (Form.AQUEOUS, Form.LIQUID):
        return Fraction(in_bottle(substance, StrengthKind.MOL_PER_L).strength.value) / 1000 / BASE_PER_UNIT
    return Fraction(substance.assay_pct or 100) / 100 / Fraction(molar_mass(substance.formula)) / BASE_PER_UNIT


def convert(strength: Strength, kind: StrengthKind, about: SoluteFacts) -> Converted:
    """Convert a strength to another kind, of the same solution.

    With M the molar mass [g/mol], w the mass fraction, rho [g/mL]: c = 10 (100 w) rho [g/L], C = c / M,
    b = 1000 w / (M (1 - w)) per kg of all water present, N = z C, volumes of oxygen = C 22.414 / 2.
    Raises PrepError: an impossible strength, a density, molar mass, solubility or equivalents wanting.
    """
    if kind is StrengthKind.SATURATED and strength.kind is not kind:
        raise PrepError("A strength cannot be turned into 'saturated'; saturated can be turned into others.")
    check_possible(strength, about)
    if strength.kind is kind:
        return Converted(strength, None, ())
    if StrengthKind.TIMES in (strength.kind, kind):
        raise PrepError(f"{strength} says how far something is diluted, not how strong it is; give that too.")
    working: list[Line] = []
    density: Density | None = None
    if strength.kind in MOLAR and kind in MOLAR:
        made = _from_mol_per_l(_to_mol_per_l(strength, about, working), kind, about, working)
        return Converted(Strength(tidy(made), kind), None, tuple(working))
    if strength.kind in BY_MASS:
        value = _to_pct(strength, about, working)
        if kind not in BY_MASS:
            density = at_pct(value, strength, about, working)
            value, pct = 10 * value * density.g_ml, value
            working.append(Line(f"{_f(pct)} % w/w x {_f(density.g_ml)} g/mL x 10 = {_f(value)} g/L of {about.called}"))
    else:
        value = _to_g_per_l(strength, about, working)
        if kind in BY_MASS:
            found = at_g_per_l(value, strength, about, working)
            pct, density = found.pct_w_w, found.density
            working.append(Line(f"{_f(value)} g/L / (10 x {_f(density.g_ml)} g/mL) = {_f(pct)} % w/w"))
            value = pct
    if kind in BY_MASS:
        made = _from_pct(value, kind, about, working)
    else:
        made = _from_g_per_l(value, kind, about, working)
    if kind in (StrengthKind.PCT_W_W, StrengthKind.PCT_V_V) and made > 100:
        made_as = f"{_f(made)} {kind.value}"
        raise PrepError(f"{strength} of {about.called} would be {made_as}; no {kind.value} is above 100.")
    return Converted(Strength(tidy(made), kind), density, tuple(working))


def recount(strength: Strength, about: SoluteFacts, formula: str) -> Converted:
    """Count a strength as another hydrate of the solute (same solution, kind unchanged).

    10 % w/v of CuSO4 is 15.64 % w/v of CuSO4.5H2O. Raises PrepError if `formula` is another solute.
    """
    if strength.kind is StrengthKind.SATURATED or formula == about.formula:
        return Converted(strength, None, ())
    if strength.kind in (*MOLAR, StrengthKind.MOL_PER_KG):
        value = strength.value * units_in(about.formula, formula)
    else:
        value = counted_as(strength.value, about.formula, formula)
    made = Strength(tidy(value), strength.kind)
    line = Line(f"{strength} of {about.formula} = {_f(made.value)} {made.kind.value} of {formula}", MASS_SOURCE)
    return Converted(made, None, (line,))


def of_element(strength: Strength, element: str, formula: str) -> Converted | None:
    """Convert a strength that counts one element to one that counts `formula`; None if it counts none of its.

    1000 ppm of Fe is 4978 ppm of FeSO4.7H2O, 0.1 mol/L of Na is 0.05 mol/L of Na2CO3. Raises PrepError as
    `molar_mass` does.
    """
    inside = composition(formula)
    if element not in inside or len(inside) == 1 or strength.kind is StrengthKind.SATURATED:
        return None
    each = inside[element]
    if strength.kind in (*MOLAR, StrengthKind.MOL_PER_KG):
        value, how = strength.value / each, f"/ {_f(each)} {element} in one {formula}"
    else:
        whole, part = molar_mass(formula), each * molar_mass(element)
        value, how = strength.value * whole / part, f"x {_f(whole)} / {_f(part)}"
    made = Strength(tidy(value), strength.kind)
    line = f"{strength} of {element} {how} = {_f(made.value)} {made.kind.value} of {formula}"
    return Converted(made, None, (Line(line, MASS_SOURCE),))


def check_possible(strength: Strength, about: SoluteFacts) -> None:
    """Raise PrepError, naming the limit, for a strength that no solution of this solute has."""
    value, kind = strength.value, strength.kind
    if value < 0:
        raise PrepError(f"{strength} is impossible: no strength is below nothing.")
    if kind in (StrengthKind.PCT_W_W, StrengthKind.PCT_V_V) and value > 100:
        raise PrepError(f"{strength} is impossible: no {kind.value} is above 100.")
    if kind is StrengthKind.PPM and value > 1_000_000:
        raise PrepError(f"{strength} is impossible: no ppm (mg in 1 kg) is above 1000000.")
    if kind is StrengthKind.VOLUMES and about.formula not in ("", "H2O2"):
        raise PrepError(f"Volumes are a strength of hydrogen peroxide only, not of {about.called}.")
    if too_much := more_than_pure(strength, about) or more_than_dissolves(strength, about):
        raise PrepError(too_much)


def more_than_pure(strength: Strength, about: SoluteFacts) -> str:
    """Say that a strength exceeds the pure liquid's, which mixes with water in any share; else empty."""
    if strength.kind in BY_MASS or about.density_g_ml is not None or not about.formula:
        return ""
    try:
        g_per_l = _to_g_per_l(strength, about, [])
        if g_per_l <= _LIGHTEST_G_PER_L or (top := densities.largest_pct_w_w(about.formula)) < _NEARLY_PURE:
            return ""
        most = 10 * top * densities.density(about.formula, top).g_ml
    except PrepError:
        return ""
    said = f"is more than the pure liquid: that holds {_f(most)} g in a litre, not {_f(g_per_l)} g."
    return "" if g_per_l <= most * _SLACK else f"{strength} of {about.called} {said}"


def more_than_dissolves(strength: Strength, about: SoluteFacts) -> str:
    """Say that a strength is beyond what dissolves, with the limit; empty where it is not known to be."""
    limit = about.solubility
    if limit is None or strength.kind is StrengthKind.SATURATED:
        return ""
    counted = limit.formula or about.formula
    most = most_g_per_100g(strength, about, counted)
    if most is not None and most <= limit.g_per_100g:
        return ""  # far below: no density is looked up
    needs = least_g_per_100g(strength, about, counted)
    if needs is None or needs <= limit.g_per_100g * _SLACK:
        return ""
    salt = limit.formula or about.formula or "it"
    asks = f"at least {_f(needs)} g of {salt} in 100 g of water" if needs.is_finite() else "no water"
    source = f" ({limit.source})" if limit.source else ""
    return f"{strength} of {about.called} is more than dissolves: it needs {asks}; the limit is {limit}{source}."


def most_g_per_100g(strength: Strength, about: SoluteFacts, formula: str) -> Decimal | None:
    """Find the most grams of `formula` in 100 g of water that this strength can mean, without a density.

    None for a strength by mass and where a density is given: there the exact figure is as quick.
    """
    if strength.kind in BY_MASS or about.density_g_ml is not None:
        return None
    try:
        in_litre = counted_as(_to_g_per_l(strength, about, []), about.formula, formula)
    except PrepError:
        return None
    return _in_100g(in_litre, _LIGHTEST_G_PER_L)


def least_g_per_100g(strength: Strength, about: SoluteFacts, formula: str) -> Decimal | None:
    """Find the grams of `formula` that 100 g of water must at least hold at this strength.

    None if not computable. Exact for strengths by mass and where a density is known; else the least: a litre holds no
    more water than the strongest known, or than a litre where none is known. Infinity where no water is left.
    """
    bare = replace(about, solubility=None)
    try:
        if strength.kind in BY_MASS:
            return _in_100g(counted_as(_to_pct(strength, bare, []), about.formula, formula), Decimal(100))
        g_per_l = _to_g_per_l(strength, bare, [])
        in_litre = counted_as(g_per_l, about.formula, formula)
    except PrepError:
        return None
    water = 1000 * densities.WATER_G_ML
    if about.density_g_ml is not None or (about.formula and densities.table_formula(about.formula)):
        try:
            pct = at_g_per_l(g_per_l, strength, bare, []).pct_w_w
            return _in_100g(counted_as(pct, about.formula, formula), Decimal(100))
        except PrepError:  # beyond the table
            water = min(water, densities.most_water_g_per_l(about.formula))
    waters = split_hydrate(formula).waters if formula else Decimal(0)
    crystal_water = in_litre * waters * molar_mass("H2O") / molar_mass(formula) if waters else Decimal(0)
    return _in_100g(in_litre, water - crystal_water + in_litre)


def density_of(strength: Strength, about: SoluteFacts) -> Density:
    """Find the density of the solution: given, from a table, or water's where near enough, else PrepError."""
    if strength.kind in BY_MASS:
        return at_pct(_to_pct(strength, about, []), strength, about, [])
    return at_g_per_l(_to_g_per_l(strength, about, []), strength, about, []).density


def _in_100g(part_g: Decimal, whole_g: Decimal) -> Decimal:
    """Work out the grams of the part for 100 g of the rest of the whole."""
    return Decimal("Infinity") if part_g >= whole_g else 100 * part_g / (whole_g - part_g)


def _molar(about: SoluteFacts, working: list[Line]) -> Decimal:
    if not about.formula:
        if about.name:
            raise PrepError(
                f"{about.name} has no formula, so its moles weigh nothing certain; give g/L, % w/v or % w/w."
            )
        raise PrepError("A formula is needed to turn moles into grams; name the substance.")
    mass = molar_mass(about.formula)
    working.append(Line(f"M({about.formula}) = {_f(mass)} g/mol", MASS_SOURCE))
    return mass


def _to_g_per_l(strength: Strength, about: SoluteFacts, working: list[Line]) -> Decimal:
    value, kind = strength.value, strength.kind
    if kind is StrengthKind.G_PER_L:
        return value
    if kind is StrengthKind.PCT_W_V:
        return 10 * value
    if kind is StrengthKind.PCT_V_V:
        pure = of_pure(about, working)
        working.append(Line(f"{_f(value)} mL in 100 mL x {_f(pure)} g/mL = {_f(10 * value * pure)} g/L"))
        return 10 * value * pure
    mol_per_l = _to_mol_per_l(strength, about, working)
    mass = _molar(about, working)
    working.append(Line(f"{_f(mol_per_l)} mol/L x {_f(mass)} g/mol = {_f(mol_per_l * mass)} g/L"))
    return mol_per_l * mass


def _from_g_per_l(value: Decimal, kind: StrengthKind, about: SoluteFacts, working: list[Line]) -> Decimal:
    if kind is StrengthKind.G_PER_L:
        return value
    if kind is StrengthKind.PCT_W_V:
        return value / 10
    if kind is StrengthKind.PCT_V_V:
        pure = of_pure(about, working)
        working.append(Line(f"{_f(value)} g/L / (10 x {_f(pure)} g/mL) = {_f(value / pure / 10)} % v/v"))
        return value / pure / 10
    mass = _molar(about, working)
    mol_per_l = value / mass
    working.append(Line(f"{_f(value)} g/L / {_f(mass)} g/mol = {_f(mol_per_l)} mol/L"))
    return _from_mol_per_l(mol_per_l, kind, about, working)


def _to_mol_per_l(strength: Strength, about: SoluteFacts, working: list[Line]) -> Decimal:
    value = strength.value
    if strength.kind is StrengthKind.EQ_PER_L:
        mol_per_l = value / _equivalents(about)
        working.append(_equivalents_line(mol_per_l, value, about))
        return mol_per_l
    if strength.kind is StrengthKind.VOLUMES:
        mol_per_l = 2 * value / MOLAR_VOLUME_L
        working.append(_volumes_line(mol_per_l, value))
        return mol_per_l
    return value


def _from_mol_per_l(mol_per_l: Decimal, kind: StrengthKind, about: SoluteFacts, working: list[Line]) -> Decimal:
    if kind is StrengthKind.EQ_PER_L:
        value = mol_per_l * _equivalents(about)
        working.append(_equivalents_line(mol_per_l, value, about))
        return value
    if kind is StrengthKind.VOLUMES:
        if about.formula != "H2O2":
            raise PrepError(f"Volumes are a strength of hydrogen peroxide (H2O2) only, not of {about.called}.")
        value = mol_per_l * MOLAR_VOLUME_L / 2
        working.append(_volumes_line(mol_per_l, value))
        return value
    return mol_per_l


def _to_pct(strength: Strength, about: SoluteFacts, working: list[Line]) -> Decimal:
    value, kind = strength.value, strength.kind
    if kind is StrengthKind.PCT_W_W:
        return value
    if kind is StrengthKind.PPM:
        return value / 10_000
    if kind is StrengthKind.SATURATED:
        return _saturated_pct(about, working)
    mass = _molar(about, working)
    dry, waters = _dry_mass(about, working)
    # Crystal water joins the solvent: the kilogram is of all the water there is.
    dry_share = value * dry / (_WATER_KG + value * dry)
    pct = 100 * dry_share * mass / dry
    extra = "" if not waters else ", crystal water counted as solvent"
    working.append(
        Line(
            f"{_f(value)} mol in 1000 g of water{extra}: {_f(value * dry)} g in "
            f"{_f(1000 + value * dry)} g, {_f(pct)} % w/w"
        )
    )
    return pct


def _from_pct(pct: Decimal, kind: StrengthKind, about: SoluteFacts, working: list[Line]) -> Decimal:
    if kind is StrengthKind.PCT_W_W:
        return pct
    if kind is StrengthKind.PPM:
        return 10_000 * pct
    mass = _molar(about, working)
    dry, _ = _dry_mass(about, working)
    dry_pct = pct * dry / mass
    if dry_pct >= 100:
        raise PrepError(f"{_f(pct)} % w/w of {about.called} leaves no water; mol/kg of water has no meaning there.")
    made = _WATER_KG * dry_pct / (100 - dry_pct) / dry
    working.append(Line(f"{_f(dry_pct)} g with {_f(100 - dry_pct)} g of water = {_f(made)} mol in 1 kg of water"))
    return made


def _dry_mass(about: SoluteFacts, working: list[Line]) -> tuple[Decimal, Decimal]:
    found = split_hydrate(about.formula)
    waters = found.waters
    mass = molar_mass(about.formula) - waters * molar_mass("H2O")
    if waters:
        working.append(Line(f"M({found.dry}) = {_f(mass)} g/mol without its water", MASS_SOURCE))
    return mass, waters


def _saturated_pct(about: SoluteFacts, working: list[Line]) -> Decimal:
    limit = about.solubility
    if limit is None:
        raise PrepError(f"The solubility of {about.called} is not recorded, so 'saturated' has no figure.")
    formula = limit.formula or about.formula
    pct = counted_as(limit.pct_w_w, formula, about.formula)
    working.append(Line(f"saturated: {limit}, {_f(pct)} % w/w of {about.formula or 'it'}", limit.source))
    return pct


def _equivalents(about: SoluteFacts) -> int:
    if not about.equivalents or about.equivalents < 1:
        raise NoEquivalents(
            f"eq/L of {about.called} means nothing until its equivalents per mole are named (2 of H+); write mol/L."
        )
    return about.equivalents


def _equivalents_line(mol_per_l: Decimal, eq_per_l: Decimal, about: SoluteFacts) -> Line:
    of = ("" if about.equivalents == 1 else "s") + (f" of {about.equivalents_of}" if about.equivalents_of else "")
    return Line(f"{_f(eq_per_l)} eq/L = {about.equivalents} equivalent{of} per mole x {_f(mol_per_l)} mol/L")


def _volumes_line(mol_per_l: Decimal, volumes: Decimal) -> Line:
    return Line(
        f"2 H2O2 give 1 O2: {_f(volumes)} volumes of oxygen = {_f(mol_per_l)} mol/L x {MOLAR_VOLUME_L} L/mol / 2",
        MOLAR_VOLUME_SOURCE,
    )
