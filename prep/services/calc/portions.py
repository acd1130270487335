"""What is mixed, as typed: components of a given strength in the whole, or portions by volume, `10 mL of 0.1 M HCl`."""

import contextlib
from collections.abc import Sequence
from dataclasses import replace

from prep.chemistry import quantities
from prep.chemistry.acid_base.species import Component, resolve
from prep.chemistry.formula.formulas import molar_mass
from prep.chemistry.model import Line, StrengthKind
from prep.chemistry.quantities import figures
from prep.chemistry.typed_number import points
from prep.chemistry.typed_strength import NamedStrength, unit_typed
from prep.errors import PrepError, SeveralFit
from prep.records import record
from prep.services.calc.named_substance import (
    VOLUME_OF,
    choose_form,
    diluted_strength,
    find_substance,
    strength_named,
    substance_named,
    with_strength,
)

_MOST_COMPONENTS = 50


@record(frozen=True, slots=True)
class TypedPortion:
    """A component as typed, and its own volume [mL]; None where its strength is that in the whole."""

    what: str
    volume_ml: float | None = None


@record(frozen=True, slots=True)
class Mixed:
    """What a vessel holds: its components at their strengths in the whole, and the volume of portions [mL], if any."""

    components: list[Component]
    portions: tuple[TypedPortion, ...]
    volume_ml: float | None
    working: tuple[Line, ...]

    @property
    def texts(self) -> list[str]:
        """What each holds and how strong it was before it was mixed."""
        return [one.what for one in self.portions]

    @property
    def in_whole(self) -> list[str]:
        """The same at their strengths in the whole: `HCl 0.05 mol/L`."""
        if self.volume_ml is None:
            return self.texts
        return [
            f"{quantities.component(with_strength(said.what)).what} {one.mol_per_kg:.15g} mol/L"
            for one, said in zip(self.components, self.portions, strict=True)
            if one.mol_per_kg
        ]


def portion(text: str) -> TypedPortion:
    """Read a portion from `10 mL of 0.1 M HCl`, `0.1 M HCl, 10 mL` and the like; one with no volume has none."""
    amount, of, what = quantities.with_of(text).partition(" of ")
    if of:
        with contextlib.suppress(PrepError):
            return TypedPortion(what.strip(), float(quantities.volume_ml(amount)))
    return TypedPortion(points(text).strip())


def mixed(texts: Sequence[str], whole_ml: float | None = None) -> Mixed:
    """Mix components: portions by volume thin each other, and water makes them up to `whole_ml` [mL].

    Volumes are taken to add up. Raises PrepError: a component that cannot be read, only some with a volume, or
    portions of more than the whole.
    """
    if len(texts) > _MOST_COMPONENTS:
        raise PrepError(f"{len(texts)} components are more than the {_MOST_COMPONENTS} that are accepted.")
    found = tuple(portion(text) for text in texts)
    try:
        from prep.chemistry.acid_base import components  # a dilution asks for a hydrate alone, and does not wait for it

        typed = components.read_all([with_strength(one.what) for one in found], substance_named)
    except PrepError as problem:
        for one in found:
            _refuse_unknown(one.what)
        raise PrepError(problem.sentence.by_way_of("give its strength in mol/L")) from None
    inside, working = typed.components, typed.working
    volumes = [one.volume_ml for one in found if one.volume_ml is not None]
    if not volumes:
        return Mixed(inside, found, None, working)
    if len(volumes) < len(found):
        without = next(one.what for one in found if one.volume_ml is None)
        raise PrepError(f'Give the volume of each portion or of none; "{without[:60]}" has none: "10 mL of {without}".')
    filled, total = sum(volumes), whole_ml or sum(volumes)
    if filled > total * (1 + 1e-9):
        raise PrepError(f"The portions are {filled:g} mL together, more than the {total:g} mL that were said.")
    inside = [
        replace(component, mol_per_kg=component.mol_per_kg * volume / total)
        for component, volume in zip(inside, volumes, strict=True)
    ]
    water = [f"{total - filled:g} mL of water"] if total - filled > 1e-9 * total else []
    added = [*(f"{volume:g} mL" for volume in volumes), *water]
    adds_up = Line(f"{' + '.join(added)} = {total:g} mL; volumes are taken to add up")
    return Mixed(inside, found, total, (*working, adds_up) if len(added) > 1 else working)


def _refuse_unknown(what: str) -> None:
    """Raise PrepError for a name alone that nothing goes by, `lemon juice`: no strength would help it."""
    if any(c.isdigit() for c in what) or not what:
        return
    for read in (quantities.component, lambda text: resolve(text, substance_named)):
        with contextlib.suppress(PrepError):
            read(what)
            return
    find_substance(what)


def named_target(target: str, of: str | None) -> NamedStrength:
    """Read a strength wanted and what it is of, said apart or together: `0.1 M`, `2 N H2SO4`, `1 in 100 conc HCl`.

    Raises PrepError: what it is of is not said, two substances are, or a dilution of what is no solution.
    """
    if of is None:
        named = strength_named(target)
        if not named.what:
            raise PrepError("Give the solid once: either --formula, or its name with --of.")
        return named
    try:
        strength = quantities.strength(target)
    except PrepError:
        with contextlib.suppress(PrepError):
            named = strength_named(target)
            if named.what and substance_named(named.what) == substance_named(of) is not None:
                return NamedStrength(of, named.strength)
        raise
    if strength.kind is not StrengthKind.TIMES:
        return NamedStrength(of, strength)
    if diluted := diluted_strength(f"{target} {of}"):
        return NamedStrength(of, diluted.strength)
    raise PrepError(
        f"{target.strip()} says how far a solution is diluted; of {find_substance(of).name} say how much is "
        "dissolved: 0.1 mol/L, or 5 % w/v."
    )


_MOLES = frozenset({StrengthKind.MOL_PER_L, StrengthKind.MOL_PER_KG, StrengthKind.EQ_PER_L})
_IN_MASS = frozenset({StrengthKind.PCT_W_W, StrengthKind.PPM})
_IN_VOLUME = frozenset({StrengthKind.G_PER_L, StrengthKind.PCT_W_V})


def form_said(of: str | None, *typed: str | None, kinds: Sequence[StrengthKind] = ()) -> tuple[str, ...]:
    """Tell the hydrate that a name is taken for, where its mass is turned into moles, or by a density into a volume.

    `typed` are strengths, with the name or without, `kinds` those of others. Raises PrepError as `choose_form`.
    """
    counted, name = set(kinds), of
    for text in (VOLUME_OF.sub("", one or "").strip() for one in typed):
        with contextlib.suppress(PrepError):
            counted.add(quantities.strength(text).kind)
            continue
        with contextlib.suppress(PrepError):
            named = quantities.component(text)
            counted.add(named.strength.kind)
            name = name or named.what
    by_mass, by_volume = counted & _IN_MASS, counted & _IN_VOLUME
    if not name or not ((by_mass and by_volume) or (counted & _MOLES and by_mass | by_volume)):
        return ()
    said = one_form(name) if substance_named(name) else ""
    return (said,) if said else ()


def one_form(name: str) -> str:
    """Tell the hydrate that a name is taken for; empty where it says it. Raises PrepError where the room holds several.

    Then a mole has as many masses, and the person says which is meant.
    """
    chosen = choose_form(name)
    if chosen.held:
        masses = (f"{figures(molar_mass(one.formula), 5)} g/mol as {one.formula} ({one.code})" for one in chosen.held)
        raise SeveralFit(f'"{name.strip()[:60]}" is held in {len(chosen.held)} forms: {" or ".join(masses)}; name one.')
    return chosen.says


def forms_in_moles(*typed: str) -> tuple[str, ...]:
    """Tell the hydrate that each name of several is taken for, where its strength is by mass and moles are counted.

    And what ppm was taken for.
    """
    said = (form_said(None, one, kinds=(StrengthKind.MOL_PER_L,)) for one in typed)
    return (*dict.fromkeys(sentence for one in said for sentence in one), *ppm_said(*typed))


def ppm_said(*typed: str) -> tuple[str, ...]:
    """Tell what ppm is taken for, where a strength was typed so."""
    units = (unit_typed(VOLUME_OF.sub("", text).strip()) for text in typed)
    if not any(unit is not None and unit.text.lower() in ("ppm", "ppb") for unit in units):
        return ()
    return ("ppm is taken by mass, mg in 1 kg of solution; mg in 1 L is written mg/L.",)
