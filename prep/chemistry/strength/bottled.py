"""A substance as one bottle has it: at the strength on that bottle's own label, not the one on file."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Strength, StrengthKind, Substance
from prep.chemistry.quantities import tidy
from prep.chemistry.strength import densities
from prep.chemistry.strength.solutes import SoluteFacts, about_substance
from prep.chemistry.strength.strengths import BY_MASS, convert, moles_in
from prep.errors import PrepError
from prep.records import record

_ALIKE_PCT = Decimal(5)
"""How far a reagent may be from the strength on file and still serve as it is: common practice, no source."""
_STEPS = 40


def as_found(substance: Substance, found: Strength) -> Substance:
    """Give the substance the assay [% w/w], the density [g/mL] and the name of a bottle of that strength.

    The density is a table's, or lies on the line from water to the bottle on file. Raises PrepError for a strength
    that it cannot have, or that cannot be turned into % w/w.
    """
    if found.kind is StrengthKind.SATURATED or found.value <= 0:
        raise PrepError(f"The strength of a bottle of {substance.name} is a figure above nothing.")
    if substance.form is Form.GAS:
        raise PrepError(f"{substance.name} is a gas; it has no strength of its own.")
    about = replace(about_substance(substance), solubility=None)
    substance = replace(substance, name=substance.called(found))
    if substance.form is Form.SOLID:
        if found.kind is not StrengthKind.PCT_W_W:
            raise PrepError(f"{substance.name} is weighed: give its assay in % w/w, not {found}.")
        return replace(substance, assay_pct=convert(found, StrengthKind.PCT_W_W, about).strength.value)
    if substance.assay_pct is None:
        raise PrepError(f"The assay of {substance.name} is not recorded; a bottle has no strength beside it.")
    if found.kind in BY_MASS or _tabulated(substance):
        pct = convert(found, StrengthKind.PCT_W_W, about).strength.value
        return replace(substance, assay_pct=pct, density_g_ml=_density(substance, pct))
    return _by_volume(substance, found, about)


@record(frozen=True, slots=True)
class FoundRatio:
    """A found strength over the one on file, and whether it serves as it is."""

    ratio: Fraction = Fraction(1)
    serves: bool = True


def over_nominal(substance: Substance, found: Strength) -> FoundRatio:
    """Compare what the bottle holds with what is on file: their ratio, and whether it serves as it is.

    Raises PrepError as `as_found`.
    """
    bottle = as_found(substance, found)
    if substance.form is Form.SOLID:
        ratio = Fraction(bottle.assay_pct or 100) / Fraction(substance.assay_pct or 100)
    elif substance.formula:
        ratio = moles_in(bottle) / moles_in(substance)
    else:
        assert bottle.assay_pct
        assert substance.assay_pct
        ratio = Fraction(bottle.assay_pct) / Fraction(substance.assay_pct)
        if bottle.density_g_ml and substance.density_g_ml:
            ratio *= Fraction(bottle.density_g_ml) / Fraction(substance.density_g_ml)
    within = max(substance.assay_half_width_pct or Decimal(0), _ALIKE_PCT)
    return FoundRatio(ratio, abs(ratio - 1) * 100 <= Fraction(within))


def as_bottled(catalogue: Catalogue, item: str, found: Strength | None) -> Catalogue:
    """Put an item into the catalogue at the strength of one bottle of it. Raises PrepError as `as_found`."""
    if found is None:
        return catalogue
    if (substance := catalogue.substances.get(item)) is not None:
        return replace(catalogue, substances={**catalogue.substances, item: as_found(substance, found)})
    solution = catalogue.solutions.get(item)
    if solution is None or solution.strength is None or solution.recipe:
        return catalogue
    return replace(catalogue, solutions={**catalogue.solutions, item: replace(solution, strength=found)})


def _tabulated(substance: Substance) -> bool:
    return bool(substance.formula) and densities.table_formula(substance.formula) is not None


def _density(substance: Substance, pct: Decimal) -> Decimal | None:
    if pct == substance.assay_pct:
        return substance.density_g_ml
    if _tabulated(substance):
        return densities.density(substance.formula, pct).g_ml
    if substance.density_g_ml is None:
        return None
    assert substance.assay_pct
    return tidy(densities.WATER_G_ML + (substance.density_g_ml - densities.WATER_G_ML) * pct / substance.assay_pct)


def _by_volume(substance: Substance, found: Strength, about: SoluteFacts) -> Substance:
    """Find the % w/w of a bottle whose strength is in grams per litre: w with 10 w rho(w) = c."""
    g_per_l = convert(found, StrengthKind.G_PER_L, about).strength.value
    pct = g_per_l / 10
    for _ in range(_STEPS):
        density = _density(substance, pct)
        if density is None:
            raise PrepError(f"The density of {substance.name} is not recorded; give its strength in % w/w.")
        pct = g_per_l / 10 / density
    if pct > 100:
        raise PrepError(f"{found} is more than there is in pure {substance.name}.")
    pct = tidy(pct)
    return replace(substance, assay_pct=pct, density_g_ml=_density(substance, pct))
