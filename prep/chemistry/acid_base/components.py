"""Components as typed: `acetic acid 0.1 mol/L` to a species and an amount, `acid/salt` to a buffer's pair."""

import re
from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from prep.chemistry import quantities
from prep.chemistry.acid_base.buffers import BufferIngredient, IngredientPair
from prep.chemistry.acid_base.species import Component, Lookup, Species, find, of_formula, resolve
from prep.chemistry.model import Form, Line, Strength, StrengthKind, Substance
from prep.chemistry.strength import strengths
from prep.chemistry.strength.solutes import SoluteFacts, about_substance
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_table


@record(frozen=True, slots=True)
class TypedComponent:
    """One component as read: what it is, how strong it was written, and how that became moles."""

    component: Component
    strength: Strength
    working: tuple[Line, ...]


def read(text: str, lookup: Lookup | None = None) -> TypedComponent:
    """Read a component from `acetic acid 0.1 mol/L`: a name, other name, CAS number or formula and a strength.

    `lookup` knows names beyond the species table. mol/kg stays; every other kind becomes mol/L, with the
    density it took in the working. `water` needs no strength. Raises PrepError: unknown species, a strength
    that cannot be read, is impossible, or cannot become mol/L.
    """
    if text.strip().casefold() == "water":
        return TypedComponent(Component(resolve("water"), 0.0), Strength(Decimal(0), StrengthKind.MOL_PER_L), ())
    named = quantities.component(text)
    return of_strength(named.what, named.strength, lookup)


@record(frozen=True, slots=True)
class TypedComponents:
    """Several components as typed, and the working of all of them."""

    components: list[Component]
    working: tuple[Line, ...]


def read_all(texts: Iterable[str], lookup: Lookup | None = None) -> TypedComponents:
    """Read several components. Raises PrepError as `read` does."""
    typed = [read(text, lookup) for text in texts]
    return TypedComponents([t.component for t in typed], tuple(line for t in typed for line in t.working))


def of_strength(what: str, strength: Strength, lookup: Lookup | None = None) -> TypedComponent:
    """Make a component of a name and a strength already read. Raises PrepError as `read` does."""
    species, about = _about(what, lookup)
    sparing = any(species.count_of(row["system"]) for row in seed_table("undissociated"))
    if sparing and strength.kind is not StrengthKind.SATURATED:
        about = replace(about, solubility=None)  # its salts dissolve; what falls out at the pH found is said with it
    by_mass_of_water = strength.kind is StrengthKind.MOL_PER_KG
    kind = StrengthKind.MOL_PER_KG if by_mass_of_water else StrengthKind.MOL_PER_L
    made = strengths.convert(strength, kind, about)
    component = Component(species, float(made.strength.value), not by_mass_of_water)
    return TypedComponent(component, strength, made.working)


def families() -> dict[str, str]:
    """List the usual pair of each buffer that goes by its acid alone: common practice, no source."""
    return {row["family"]: row["pair"] for row in seed_table("buffer_families")}


_SALTS = {
    **dict.fromkeys(("acetate", "ethanoate"), "sodium acetate"),
    **dict.fromkeys(("bicarbonate", "hydrogencarbonate", "bicarb"), "sodium hydrogencarbonate"),
    "carbonate": "sodium carbonate",
    "citrate": "trisodium citrate",
    "ammonium": "ammonium chloride",
}
"""The salt meant where half a pair is said by its ion alone, `acetic acid/acetate`: common practice, no source."""


def pair(text: str, lookup: Lookup | None = None) -> IngredientPair:
    """Read the two ingredients of a buffer from `acetic acid/sodium acetate`, each with a strength if a solution.

    `acetic acid/sodium hydroxide 1 mol/L` takes the base from a bottle of 1 mol/L. Raises PrepError if there
    are not two, or one is unknown.
    """
    family = re.sub(r"\s+buffer$", "", text.strip(), flags=re.IGNORECASE).casefold()
    halves = [half.strip() for half in families().get(family, text).split("/")]
    # "NaOH 1 mol/L" holds a slash of its own.
    joined: list[str] = []
    for half in halves:
        if joined and half in ("L", "kg", "l", "w", "v", "mL", "100 mL", "dm3"):
            joined[-1] += "/" + half
        else:
            joined.append(half)
    if len(joined) != 2 or not all(joined):
        raise PrepError(
            f'"{text[:60]}" is not a pair; write an acid and its salt, or either with a strong base or acid, '
            f'such as "acetic acid/sodium acetate"; or a buffer by its name: {", ".join(families())}.'
        )
    first, second = (_SALTS.get(one.casefold(), one) for one in joined)
    return IngredientPair(_held(first, lookup), _held(second, lookup))


def _held(text: str, lookup: Lookup | None) -> BufferIngredient:
    try:
        named = quantities.component(text)
    except PrepError:
        return held(text, lookup)
    typed = of_strength(named.what, named.strength, lookup)
    return BufferIngredient(
        named.what, typed.component.species.formula, mol_per_l=Decimal(repr(typed.component.mol_per_kg))
    )


def held(what: str, lookup: Lookup | None = None) -> BufferIngredient:
    """Look up an ingredient as it stands on the shelf.

    The catalogue's assay and density, else the pure substance.
    """
    known = find(what, lookup)
    if isinstance(known, Substance):
        of_formula(known.formula, called=known.name)
        liquid = known.form in (Form.LIQUID, Form.AQUEOUS)
        return BufferIngredient(
            known.name, known.formula, known.assay_pct or Decimal(100), known.density_g_ml if liquid else None
        )
    species = resolve(what, lookup)
    return BufferIngredient(what, known or _as_typed(what, species))


def _about(what: str, lookup: Lookup | None) -> tuple[Species, SoluteFacts]:
    known = find(what, lookup)
    if isinstance(known, Substance):
        return of_formula(known.formula, called=known.name), about_substance(known)
    species = resolve(what, lookup)
    return species, SoluteFacts(formula=known or _as_typed(what, species), name=species.name)


def _as_typed(what: str, species: Species) -> str:
    """Choose the formula to weigh: the typed one where it is a formula (its hydrate counts), else the table's."""
    try:
        return what if of_formula(what) == species else species.formula
    except PrepError:
        return species.formula
