"""Hazards for a person: of any mixture typed, of what is on file and on the shelves, of a demo and its waste."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Line, Solution, StrengthKind, Substance
from prep.chemistry.typed_strength import no_minus
from prep.errors import PrepError
from prep.records import record
from prep.resources import seed_data
from prep.safety.cautions import never_meet, taken_at
from prep.safety.clp.classify import classify, classify_substance
from prep.safety.clp.composition import DissolvedComponent, at_strength
from prep.safety.model import Classification, MixtureComponent, Reason
from prep.safety.solution_hazards import composition_of, known_or_not
from prep.services.calc.mixing_cautions import danger_first
from prep.services.calc.named_substance import find_substance
from prep.services.catalogue.names import candidates, find_alike, find_item
from prep.services.inventory import session
from prep.wording import Flag, Sentence

_ALONE = Sentence("Each % w/w is that of the component alone in water; give ", Flag("--density"), " for the mixture's.")
_IN_A_VOLUME = frozenset(
    {StrengthKind.MOL_PER_L, StrengthKind.G_PER_L, StrengthKind.PCT_W_V, StrengthKind.EQ_PER_L, StrengthKind.VOLUMES}
)
"""Strengths whose % w/w follows from the density of the solution."""
_FLASHES_OR_BOILS_C = (-150, 500)
_NO_WATER = Decimal("99.5")
"""From so much [% w/w] of what is named no water is left in a mixture."""


@record(frozen=True, slots=True)
class ClassifiedMixture:
    """What was asked about, its hazards, and each component in % w/w."""

    what: str
    hazards: Classification
    components: tuple[MixtureComponent, ...]
    must_not_meet: tuple[Line, ...] = ()


def classify_typed(
    texts: Sequence[str],
    density: str | None = None,
    ph: str | None = None,
    flash_point: str | None = None,
    boiling_point: str | None = None,
    db: Path | None = None,
) -> ClassifiedMixture:
    """Classify a mixture from `hydrochloric acid 3 mol/L` and the like, or one item by its name.

    Several components are one mixture in water. `density` is that of the mixture. Names are those of the
    inventory `db`, or of the shipped list without one. Raises PrepError: what is not on file, a strength that
    cannot become % w/w, percentages that pass 100.
    """
    if not texts or not all(text.strip() for text in texts):
        raise PrepError('Name what is to be classified, such as "hydrochloric acid 3 mol/L".')
    with danger_first(texts):
        return _classify_typed(texts, density, ph, flash_point, boiling_point, db)


def _classify_typed(
    texts: Sequence[str],
    density: str | None,
    ph: str | None,
    flash_point: str | None,
    boiling_point: str | None,
    db: Path | None,
) -> ClassifiedMixture:
    for text in texts:  # before a name is looked for in it, which may be found without its sign
        no_minus(text)
    sour = quantities.ph(ph, -2, 16) if ph is not None else None  # that of concentrates lies beyond 0 and 14
    flash = quantities.temperature_c(flash_point, *_FLASHES_OR_BOILS_C) if flash_point is not None else None
    boils = quantities.temperature_c(boiling_point, *_FLASHES_OR_BOILS_C) if boiling_point is not None else None
    if boils is not None and flash is None:
        raise PrepError(
            Flag("--boiling-point"),
            " tells the most flammable liquids apart: give it with ",
            Flag("--flash-point"),
            ".",
        )
    if boils is not None and flash is not None and flash >= boils:
        raise PrepError(f"A flash point of {flash:f} degC and boiling from {boils:f} degC cannot be: it flashes below.")
    own = _on_file(db) if db is not None else None
    if len(texts) == 1 and (item := _item_typed(texts[0], own)):
        if density is not None or sour is not None or flash is not None:
            raise PrepError(
                Flag("--density"),
                ", ",
                Flag("--ph"),
                " and ",
                Flag("--flash-point"),
                " go with components that have a strength.",
            )
        return item
    given = quantities.density_g_ml(density) if density is not None else None
    components: list[MixtureComponent] = []
    counted: list[Line] = []
    named: list[Substance] = []
    slurry = in_a_volume = False
    for text in texts:
        typed = _component(text, given, own, alone=len(texts) == 1)
        named.append(typed.substance)
        components.append(typed.made.component)
        counted += typed.made.working
        slurry = slurry or typed.made.slurry
        in_a_volume = in_a_volume or typed.kind in _IN_A_VOLUME
    found = classify(components, ph=sour, flash_point_c=flash, boiling_point_c=boils)
    first = tuple(Reason("", line.text, line.source) for line in counted)
    notes = found.notes
    if len(components) > 1 and given is None and in_a_volume:
        notes = (*notes, _ALONE)
    if slurry:
        notes = (*notes, "More than dissolves: classified as a slurry or a damp solid, all of it counted.")
    found = replace(found, reasoning=(*first, *found.reasoning), notes=notes)
    dry = sum((one.pct for one in components), Decimal(0)) >= _NO_WATER
    meet = never_meet([taken_at(what, part, dry=dry) for what, part in zip(named, components, strict=True)])
    return ClassifiedMixture(" + ".join(text.strip() for text in texts), found, tuple(components), meet)


def _on_file(db: Path) -> Catalogue:
    from prep.store import queries

    with session.reading(db) as connection:
        return queries.catalogue(connection)


@record(frozen=True, slots=True)
class _TypedSubstance:
    """A substance as typed, its kind of strength, and its part of a mixture."""

    substance: Substance
    kind: StrengthKind
    made: DissolvedComponent


def _component(text: str, density_g_ml: Decimal | None, own: Catalogue | None, *, alone: bool) -> _TypedSubstance:
    named = quantities.component(text)
    substance = (
        own.substances[find_alike(named.what, Catalogue(own.substances)).code] if own else find_substance(named.what)
    )
    source = "as given" if density_g_ml else ""
    made = at_strength(substance, named.strength, density_g_ml=density_g_ml, density_source=source, alone=alone)
    one = made.component
    working = made.working or (Line(f"{one.name}: {quantities.figures(one.pct)} % w/w"),)
    return _TypedSubstance(substance, named.strength.kind, replace(made, working=working))


def _item_typed(text: str, own: Catalogue | None) -> ClassifiedMixture | None:
    """Classify a substance as bottled, or a solution, if that is what was typed: of an inventory, or as shipped."""
    try:
        quantities.component(text)
    except PrepError:
        pass
    else:
        return None
    if own:
        item = find_alike(text, own)
        if item.substance:
            return ClassifiedMixture(item.name, of_substance(item.substance), ())
        assert item.solution
        return ClassifiedMixture(item.name, of_item(item.code, own), components_of(item.solution, own))
    try:
        substance = find_substance(text)
    except PrepError as unknown:
        from prep.services.catalogue.seed import read_catalogue

        shipped = read_catalogue(seed_data())
        if candidates(text, shipped) and (solution := find_item(text, shipped).solution):
            return ClassifiedMixture(solution.name, known_or_not(solution, shipped), components_of(solution, shipped))
        if any(char.isdigit() for char in text):
            quantities.component(text)  # raises with what is wrong with the strength
        raise unknown from None
    return ClassifiedMixture(substance.name, of_substance(substance), ())


def of_substance(substance: Substance) -> Classification:
    """Classify a substance as it stands in its bottle; not known where its hazards cannot be worked out."""
    try:
        return classify_substance(substance)
    except PrepError as problem:
        return Classification(unknown=(substance.name,), reasoning=(Reason("no data", str(problem)),))


def of_item(item: str, catalogue: Catalogue) -> Classification:
    """Classify a substance or a solution on file."""
    if item in catalogue.substances:
        return of_substance(catalogue.substances[item])
    return known_or_not(catalogue.solutions[item], catalogue)


def components_of(solution: Solution, catalogue: Catalogue) -> tuple[MixtureComponent, ...]:
    """List what is in a solution [% w/w]; nothing where it cannot be worked out."""
    try:
        return composition_of(solution, catalogue).components
    except PrepError:
        return ()
