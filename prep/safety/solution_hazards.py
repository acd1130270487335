"""Hazards of what the room makes: from a solution's strength or recipe to its composition and classes."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from decimal import Decimal

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.contents import by_mass
from prep.chemistry.model import Form, Line, Measure, Solution, Strength, StrengthKind, Substance
from prep.chemistry.quantities import figures
from prep.chemistry.strength.densities import WATER_G_ML, WATER_SOURCE
from prep.chemistry.strength.solutes import about_substance
from prep.chemistry.strength.strengths import MOLAR, recount
from prep.errors import PrepError
from prep.records import record
from prep.safety.clp.composition import component_of, counted_formula, diluted, mixed
from prep.safety.model import Classification, MixtureComponent, Reason

_UG, _NL = Decimal(1_000_000), Decimal(1_000_000)  # per g, per mL
_ML_PER_G_OF_SOLID = Decimal("0.4")
WATER = "water"


@record(frozen=True, slots=True)
class Composition:
    """What a solution is made of [% w/w], its density [g/mL], and the working."""

    components: tuple[MixtureComponent, ...]
    density_g_ml: Decimal
    working: tuple[Line, ...]


def hazards_of(
    solution: Solution,
    catalogue: Catalogue,
) -> Classification:
    """Classify a solution as made, its working preceded by its composition.

    Raises PrepError where its composition cannot be worked out.
    """
    made = composition_of(solution, catalogue)
    from prep.safety.clp.classify import classify  # late import: what is dissolved in what needs none of the rules

    found = classify(made.components)
    counted = tuple(Reason("", line.text, line.source) for line in made.working)
    found = replace(found, reasoning=(*counted, *found.reasoning))
    if solution.recipe and len(made.components) > 1:
        note = "Counted as weighed in: what the ingredients do to each other is not followed."
        found = replace(found, notes=(*found.notes, note))
    return found


def known_or_not(solution: Solution, catalogue: Catalogue) -> Classification:
    """Classify a solution; where its composition cannot be worked out, as not known, and why."""
    try:
        return hazards_of(solution, catalogue)
    except PrepError as problem:
        return Classification(unknown=(solution.name,), reasoning=(Reason("no data", str(problem)),))


def composition_of(solution: Solution, catalogue: Catalogue) -> Composition:
    """Work out the % w/w of everything in a solution, from its strength, else from its recipe.

    A recipe's volume is filled up with its solvent; solids are taken to fill 0.4 mL per gram. Raises
    PrepError: an ingredient that is not recorded, no density of a liquid, a recipe that makes itself.
    """
    return _compose(solution, catalogue, ())


def reagents_of(items: Iterable[str], catalogue: Catalogue) -> tuple[Substance, ...]:
    """List what a making step takes, for `cautions_for`: bottled substances, and what stocks hold dissolved.

    What a stock holds stands under the stock's name and with the hazards of its own strength there. A stock whose
    composition cannot be worked out, or an unknown item, counts as without hazard data.
    """
    found: dict[tuple[str, str], Substance] = {}
    for item in items:
        if item in catalogue.substances:
            found[item, ""] = catalogue.substances[item]
        elif item in catalogue.solutions:
            stock = catalogue.solutions[item]
            try:
                components = composition_of(stock, catalogue).components
            except PrepError:
                unknown = Substance(item, stock.name, "", stock.solute, Form.AQUEOUS)
                components, found[item, ""] = (), unknown
            for one in components:
                found[item, one.code] = _dissolved(stock, catalogue.substances[one.code], one)
    return tuple(found.values())


def _dissolved(stock: Solution, substance: Substance, component: MixtureComponent) -> Substance:
    try:
        from prep.safety.clp.classify import classify

        hazards = classify([component])
    except PrepError as problem:  # its classification cannot be read
        hazards = Classification(unknown=(str(problem),))
    return replace(
        substance,
        code=f"{stock.code}:{substance.code}",
        name=stock.name,
        form=Form.AQUEOUS,
        assay_pct=component.pct,
        density_g_ml=None,
        classification=hazards.in_words if hazards.known else "",
        diluted=True,
    )


def solute_of(
    solution: Solution,
    catalogue: Catalogue,
    above: tuple[str, ...] = (),
) -> Substance:
    """Choose the substance that a simple solution is counted by.

    Its preferred source or its stock's, else any of its solute. Raises PrepError if nothing recorded has that
    solute.
    """
    same: list[Substance] = []
    for code in solution.made_from:
        stock = catalogue.solutions.get(code)
        if code in catalogue.substances and catalogue.substances[code].solute == solution.solute:
            same.append(catalogue.substances[code])
        elif stock and stock.solute == solution.solute and not stock.recipe and code not in above:
            same.append(solute_of(stock, catalogue, (*above, solution.code)))
    others = sorted((s for s in catalogue.substances.values() if s.solute == solution.solute), key=lambda s: s.code)
    counted = [s for s in others if s.formula == solution.strength_of]
    for found in (*same, *counted, *others):
        return found
    raise PrepError(f"{solution.name}: nothing recorded has the solute '{solution.solute}'; record it.")


def _compose(
    solution: Solution,
    catalogue: Catalogue,
    above: tuple[str, ...],
) -> Composition:
    if solution.code in above:
        raise PrepError(f"{solution.name} is made from itself ({' > '.join((*above, solution.code))}).")
    if solution.recipe:
        return _from_recipe(solution, catalogue, (*above, solution.code))
    if solution.strength is None:
        raise PrepError(f"{solution.name} has neither a strength nor a recipe; its hazards cannot be worked out.")
    solute = solute_of(solution, catalogue)
    if solution.make_up_with != WATER:
        return _in_solvent(solution, solution.strength, solute, catalogue.substances)
    return _in_water(solution, solution.strength, solute)


def _in_water(solution: Solution, strength: Strength, solute: Substance) -> Composition:
    about = about_substance(solute)
    working: tuple[Line, ...] = ()
    formula = counted_formula(solution.strength_of, solute)
    if formula != solute.formula and (solution.strength_of or strength.kind not in MOLAR):
        counted = recount(strength, about_substance(solute, formula=formula), solute.formula)
        strength, working = counted.strength, counted.working
    made = by_mass(strength, about, solute)
    return Composition((component_of(solute, made.pct_w_w),), made.density_g_ml, (*working, *made.working))


def _in_solvent(
    solution: Solution, strength: Strength, solute: Substance, substances: Mapping[str, Substance]
) -> Composition:
    """Work out a little of something in another solvent, at the solvent's density."""
    solvent = substances.get(solution.make_up_with)
    if solvent is None or solvent.density_g_ml is None:
        raise PrepError(f"{solution.name}: '{solution.make_up_with}' is not recorded with a density.")
    grams = {StrengthKind.PCT_W_V: strength.value * 10, StrengthKind.G_PER_L: strength.value}.get(strength.kind)
    pct = strength.value if strength.kind is StrengthKind.PCT_W_W else None
    if pct is None and grams is not None:
        pct = grams / (10 * solvent.density_g_ml)
    if pct is None:
        raise PrepError(f"{solution.name}: a strength in {solvent.name} is counted in % w/v, g/L or % w/w.")
    rest = diluted(_bottle(solvent), (100 - pct) / 100)
    line = Line(f"{strength} in {solvent.name}: {figures(pct)} % w/w", solvent.sources.get("density", ""))
    return Composition((component_of(solute, pct), *rest), solvent.density_g_ml, (line,))


def _from_recipe(
    solution: Solution,
    catalogue: Catalogue,
    above: tuple[str, ...],
) -> Composition:
    parts: list[tuple[tuple[MixtureComponent, ...], Decimal]] = []
    working: list[Line] = []
    filled_ml = Decimal(0)
    for one in solution.recipe:
        if one.item in catalogue.substances:
            substance = catalogue.substances[one.item]
            components = _bottle(substance)
            if substance.measure is Measure.MASS:
                mass_g = one.amount / _UG
                filled_ml += mass_g * _ML_PER_G_OF_SOLID
            else:
                mass_g = one.amount / _NL * _density(substance)
                filled_ml += one.amount / _NL
        elif one.item in catalogue.solutions:
            inner = _compose(catalogue.solutions[one.item], catalogue, above)
            components, mass_g = inner.components, one.amount / _NL * inner.density_g_ml
            filled_ml += one.amount / _NL
        elif one.item == WATER:
            components, mass_g = (), one.amount / _NL * WATER_G_ML
            filled_ml += one.amount / _NL
        else:
            raise PrepError(f"{solution.name}: its ingredient '{one.item}' is not recorded.")
        parts.append((components, mass_g))
        working.append(Line(f"{one.item}: {figures(mass_g)} g"))
    made_ml = solution.recipe_nl / _NL
    solvent_ml = max(made_ml - filled_ml, Decimal(0))
    if solution.make_up_with in catalogue.substances:
        solvent = catalogue.substances[solution.make_up_with]
        parts.append((_bottle(solvent), solvent_ml * _density(solvent)))
    elif solution.make_up_with in catalogue.solutions:
        inner = _compose(catalogue.solutions[solution.make_up_with], catalogue, above)
        parts.append((inner.components, solvent_ml * inner.density_g_ml))
    else:
        parts.append(((), solvent_ml * WATER_G_ML))
    total = sum((mass for _, mass in parts), Decimal(0))
    watered = WATER_SOURCE if solution.make_up_with == WATER else ""
    working.append(Line(f"{solution.make_up_with} to {figures(made_ml)} mL: about {figures(total)} g", watered))
    density = total / max(made_ml, filled_ml, Decimal("0.001"))
    return Composition(mixed(parts), density, tuple(working))


def _bottle(substance: Substance) -> tuple[MixtureComponent, ...]:
    """List what comes out of a bottle: a liquid or concentrate by its assay, the rest water; a solid whole."""
    pct = substance.assay_pct if substance.form is not Form.SOLID else None
    if substance.form is Form.AQUEOUS and pct is None:
        raise PrepError(f"The assay of {substance.name} (% w/w of {substance.formula}) is not recorded.")
    return (component_of(substance, pct if pct is not None else Decimal(100)),)


def _density(substance: Substance) -> Decimal:
    if substance.density_g_ml is None:
        raise PrepError(f"The density of {substance.name} is not recorded; its mass cannot be worked out.")
    return substance.density_g_ml
