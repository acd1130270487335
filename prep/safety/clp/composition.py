"""What a mixture is made of in % w/w, as the hazard rules count it."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from prep.chemistry.contents import by_mass
from prep.chemistry.formula.formulas import anhydrous, counted_as, split_hydrate
from prep.chemistry.model import Form, Line, Strength, StrengthKind, Substance
from prep.chemistry.strength.solutes import about_substance
from prep.chemistry.strength.strengths import check_possible
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table
from prep.safety.hazard_tables import keyed, split
from prep.safety.model import MixtureComponent


def component_of(substance: Substance, pct: Decimal) -> MixtureComponent:
    """Make a substance at `pct` % w/w of its formula one part of a mixture.

    A hypochlorite is counted as active chlorine. A salt counts alike whichever hydrate it is named by: without
    its crystal water, or, where the entries of its forms differ, as the form with the severer (dissolved.csv).
    """
    counted = keyed("counted_as", "cas").get(substance.cas) if substance.cas else None
    if counted is None and substance.form is Form.SOLID and substance.formula:
        return _as_one_salt(substance, pct)
    factor = Decimal(counted["factor"]) if counted else Decimal(1)
    return _component(substance, pct * factor, counted["counted_as"] if counted else "", "" if counted else None)


def _component(
    substance: Substance, pct: Decimal, counted_as: str = "", formula: str | None = None
) -> MixtureComponent:
    return MixtureComponent(
        name=substance.bare_name + (f" (as {counted_as})" if counted_as else ""),
        pct=pct,
        cas=substance.cas,
        classification=substance.classification,
        supplemental=substance.supplemental,
        form=substance.form,
        group=substance.storage_group,
        flash_point_c=substance.flash_point_c,
        source=substance.sources.get("hazard", ""),
        code=substance.code,
        formula=substance.formula if formula is None else formula,
    )


def _as_one_salt(substance: Substance, pct: Decimal) -> MixtureComponent:
    """Count a solid as the form of its salt that the rules are asked about."""
    row = next((r for r in seed_table("dissolved") if substance.cas and substance.cas in split(r["cas"])), None)
    try:
        formula = row["counted_formula"] if row else anhydrous(substance.formula)
        pct = counted_as(pct, substance.formula, formula)
    except PrepError:  # a formula that cannot be read, or is not that salt's
        return _component(substance, pct)
    made = _component(substance, pct, formula if formula != substance.formula else "", formula)
    if row is None:
        return made
    made = replace(made, cas=row["counted_cas"])
    if row["classification"] and substance.classification:
        made = replace(made, classification=row["classification"], source=f"{row['source']} ({row['note']})")
    return made


def in_formula(component: MixtureComponent, substance: Substance) -> Decimal:
    """Convert a component's % w/w to the substance's own formula, the way it is weighed out."""
    if not component.formula or component.formula == substance.formula:
        return component.pct
    return counted_as(component.pct, component.formula, substance.formula)


def counted_formula(strength_of: str, solute: Substance) -> str:
    """Find the formula that an entry's strength counts: `strength_of`, else the solute's without crystal water.

    As it is weighed out: 10 % w/v of copper sulfate is of CuSO4, whichever hydrate it is made from. Raises
    PrepError for a formula that cannot be read.
    """
    return strength_of or (split_hydrate(solute.formula).dry if solute.formula else "")


@record(frozen=True, slots=True)
class DissolvedComponent:
    """A solute in % w/w of its solution, and the working; `slurry`: more of it than the water dissolves."""

    component: MixtureComponent
    working: tuple[Line, ...]
    slurry: bool = False


def at_strength(
    substance: Substance,
    strength: Strength,
    *,
    density_g_ml: Decimal | None = None,
    density_source: str = "",
    alone: bool = True,
) -> DissolvedComponent:
    """Convert one solute in water at a strength to % w/w, with the working.

    `density_g_ml` is that of the solution; else a table's, else the least that it can have (`contents.by_mass`).
    `alone`: nothing else is in the water, which could dissolve more of it. A % w/w above what dissolves is a slurry or
    a damp solid, and counts whole. Raises PrepError where no density is at hand, or where a strength by volume is of
    more than dissolves.
    """
    about = about_substance(substance)
    helped: tuple[Line, ...] = ()
    by_mass_alone = alone and strength.kind is StrengthKind.PCT_W_W
    if by_mass_alone or (not alone and strength.kind is not StrengthKind.SATURATED):
        try:
            check_possible(strength, about)
        except PrepError as beyond:
            about = replace(about, solubility=None)
            how = "a slurry or a damp solid" if alone else "dissolved by the rest of the mixture, or solid in it"
            helped = (Line(f"taken as {how}, all of it counted: {str(beyond).rstrip('.')}"),)
    if density_g_ml is not None:
        about = replace(about, density_g_ml=density_g_ml, density_source=density_source)
    made = by_mass(strength, about, substance)
    component = component_of(substance, made.pct_w_w)
    return DissolvedComponent(component, (*helped, *made.working), slurry=alone and bool(helped))


def diluted(components: Sequence[MixtureComponent], factor: Decimal) -> tuple[MixtureComponent, ...]:
    """Dilute the components in a mixture where they make up `factor` of the mass (0 to 1)."""
    return tuple(replace(one, pct=one.pct * factor) for one in components)


def mixed(parts: Sequence[tuple[Sequence[MixtureComponent], Decimal]]) -> tuple[MixtureComponent, ...]:
    """Mix mixtures, each with its mass [g]: components by name, percentages of the whole."""
    total = sum((mass for _, mass in parts), Decimal(0))
    if total <= 0:
        raise PrepError("Nothing is mixed: the masses must add up to more than nothing.")
    together: dict[tuple[str, str], MixtureComponent] = {}
    for components, mass in parts:
        for one in components:
            key = (one.cas, one.name)
            before = together[key].pct if key in together else Decimal(0)
            together[key] = replace(one, pct=before + one.pct * mass / total)
    return tuple(together.values())
