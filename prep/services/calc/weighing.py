"""What to weigh of a solid, or to measure of a liquid, for a solution: from typed text, without a database."""

import contextlib
from dataclasses import replace
from decimal import Decimal
from typing import Any, Literal

from prep.chemistry import quantities, spelling
from prep.chemistry.acid_base.species import Species, resolve
from prep.chemistry.formula.formulas import composition, molar_mass, same_solute
from prep.chemistry.model import Form, Line, Strength, StrengthKind, Substance, head_of
from prep.chemistry.quantities import figures, plain
from prep.chemistry.strength import densities, dilution, dissolving, into_water, strengths
from prep.chemistry.strength.solutes import SoluteFacts, about_substance
from prep.errors import PrepError, SeveralFit
from prep.records import record
from prep.services.calc.arithmetic import Answer, in_g, in_ml, ppm_note
from prep.services.calc.mixing_cautions import cautions
from prep.services.calc.named_substance import (
    assumed,
    choose_form,
    find_substance,
    of_other_form,
    shipped,
    solution_named,
    strength_said,
    substance_named,
)
from prep.services.calc.portions import named_target, one_form
from prep.services.files.csv_file import number
from prep.services.input.checks import is_like_cas_number
from prep.wording import Flag

_LIQUIDS = (Form.AQUEOUS, Form.LIQUID)
_DIGITS = 4
"""Figures of what is to be weighed or measured: no instrument is named, and none of a prep room's shows more of it."""


@record(frozen=True, slots=True)
class Weighing:
    """What is asked: the solid by its `formula` or by a name, the strength, and how much solution, as typed."""

    target: str
    volume: str | None = None
    mass: str | None = None
    formula: str | None = None
    of: str | None = None
    assay: str | None = None
    counted: str | None = None
    excess: str | None = None


@record(frozen=True, slots=True)
class _Solid:
    """What is weighed, and the sentence that says what a name was taken for."""

    formula: str
    about: SoluteFacts
    purity: Decimal
    substance: Substance | None = None
    says: tuple[str, ...] = ()

    @property
    def called(self) -> str:
        return self.substance.name if self.substance else self.formula


def dissolve(asked: Weighing) -> Answer:
    """Work out what to weigh of a solid for an amount of solution; of a liquid, what to measure.

    Raises PrepError: what water does not dissolve, or reacts with, for its reason.
    """
    if asked.formula is not None and asked.of is not None:
        raise PrepError("Give the solid once: either --formula, or its name with --of.")
    if (asked.volume is None) == (asked.mass is None):
        raise PrepError("Give how much to make once: either --volume, or --mass of the solution.")
    strength = quantities.strength(asked.target) if asked.formula is not None else None
    if strength is None:
        named = named_target(asked.target, asked.of)
        asked, strength = replace(asked, of=asked.of or named.what), named.strength
    made = _dissolve(asked, strength)
    return replace(made, says=(*assumed(asked.target), *made.says))


def _dissolve(asked: Weighing, strength: Strength) -> Answer:
    if asked.of is not None and substance_named(asked.of) is None and _is_formula(asked.of):
        asked = replace(asked, of=None, formula=asked.of.strip())
    solid = _solid(asked, strength)
    substance = solid.substance
    on_file = shipped().substances.values()
    if found := into_water.obstacle(solid.formula, substance, on_file):
        raise PrepError(found.sentence(solid.called))
    if substance is not None and substance.form in _LIQUIDS:
        return _measured(asked, strength, substance, solid.says)
    if asked.mass is not None:
        return _by_mass(asked.mass, strength, solid)
    assert asked.volume is not None
    try:
        return _by_volume(asked, strength, quantities.volume_ml(asked.volume), solid)
    except PrepError as problem:
        by_mass = ("make it by mass (", Flag("--mass"), "), which needs none")
        raise PrepError(problem.sentence.by_way_of(*by_mass)) from None


def _is_formula(text: str) -> bool:
    try:
        molar_mass(text.strip())
    except PrepError:
        return False
    return True


def _limits(one: Substance, formula: str) -> bool:
    """Tell whether what is on file of a substance says how much of that salt, in any hydrate, water dissolves."""
    return one.solubility_g_per_100g is not None and bool(one.formula) and same_solute(one.formula, formula)


def _solid(asked: Weighing, strength: Strength) -> _Solid:
    assay = _per_cent(asked.assay, "--assay")
    if asked.of is None:
        assert asked.formula is not None
        molar_mass(asked.formula)
        every = shipped().substances
        known = next((every[one.code] for one in shipped().named if one.formula == asked.formula), None)
        kept = known or next((one for one in every.values() if _limits(one, asked.formula)), None)
        about = replace(about_substance(kept), name="") if kept else SoluteFacts()
        about = replace(about, formula=asked.counted or asked.formula)
        return _Solid(asked.formula, about, assay or Decimal(100), known)
    chosen = choose_form(asked.of)
    if chosen.held and asked.volume is not None:
        raise PrepError(_which(asked.of, chosen.held, strength, quantities.volume_ml(asked.volume), assay))
    one = chosen.substance
    about = about_substance(one, formula=asked.counted or "")
    says = chosen.says
    if (
        not says
        and one.form is Form.SOLID
        and not any(spelling.key(n).endswith(spelling.key(asked.of)) for n in (one.name, one.formula))
    ):
        says = f'"{asked.of.strip()}" is {one.name}{f" ({one.formula})" if one.formula else ""}.'
    return _Solid(one.formula, about, assay or one.assay_pct or Decimal(100), one, (says,) if says else ())


def _by_volume(asked: Weighing, strength: Strength, volume_ml: Decimal, solid: _Solid) -> Answer:
    about, working = solid.about, tuple[Line, ...]()
    given = strength
    if asked.counted and (of_salt := strengths.of_element(strength, asked.counted.strip(), solid.formula)):
        about, given, working = replace(about, formula=solid.formula), of_salt.strength, of_salt.working
    excess = None
    if asked.excess is not None:
        if strength.kind is not StrengthKind.SATURATED:
            raise PrepError("--excess is how much more than dissolves a saturated solution takes.")
        excess = 1 + _excess(asked.excess) / 100
    made = dissolving.dissolve(solid.formula, given, volume_ml, assay_pct=solid.purity, about=about, excess=excess)
    weigh = f"Weigh {figures(made.mass_g, _DIGITS)} g of {solid.formula or solid.called}"
    document: dict[str, Any] = {"mass": in_g(made.mass_g), "volume": in_ml(volume_ml)}
    if made.dissolves_g is not None and made.water_ml is not None:
        document |= {"dissolves": in_g(made.dissolves_g), "water": in_ml(made.water_ml)}
        says: tuple[str, ...] = (
            f"{weigh} and stir it with {figures(made.water_ml, 4)} mL of water, "
            f"{dissolving.stirred_until(about.solubility.temperature_c if about.solubility else None)}",
            f"{dissolving.solid_remains(made.dissolves_g)} {dissolving.cleared(f'{plain(volume_ml)} mL')}",
        )
    elif way := into_water.own_way(solid.formula, solid.substance.code if solid.substance else ""):
        reason = way.reason[0].upper() + way.reason[1:]
        says = (f"{weigh}. {reason}: {way.instead}; then make it up to {plain(volume_ml)} mL with water.",)
        document["way"] = {"text": way.instead, "source": way.source}
    else:
        first_ml = _first_ml(volume_ml, made.mass_g, given, about)
        roomy = first_ml >= volume_ml * _LEAST_FIRST
        water = f"about {figures(first_ml, 2)} mL of water" if roomy else "as little water as dissolves it"
        says = (f"{weigh}, dissolve it in {water}, and make it up to {plain(volume_ml)} mL.",)
        if not roomy:
            says += (f"So much may leave no room for its water in {plain(volume_ml)} mL: make a little first.",)
    notes = (
        *_only_about(solid.substance, strength),
        *(_not_on_file(made.mass_g / volume_ml, solid) if "way" not in document else ()),
        *ppm_note(strength, about, given if given.kind is strength.kind else None),
        *_cautions(solid.substance, strength, "dissolve", made.moles, volume_ml),
    )
    return Answer((*solid.says, *says, *notes), document, (*working, *made.working))


_LEAST_FIRST = Decimal("0.1")
"""Of the volume, the least water to begin with that can be told: how much room a solid takes up is only reckoned."""


def _first_ml(volume_ml: Decimal, solid_g: Decimal, strength: Strength, about: SoluteFacts) -> Decimal:
    """Work out the water to begin with: seven tenths of the volume, or nine tenths of all the water where it is less.

    Where no density is known a gram of the solid is reckoned to take up 0.65 mL, as of sucrose: most take less.
    """
    water_ml = volume_ml - solid_g * Decimal("0.65")
    with contextlib.suppress(PrepError):
        water_ml = (volume_ml * strengths.density_of(strength, about).g_ml - solid_g) / densities.WATER_G_ML
    return min(volume_ml * Decimal("0.7"), water_ml * Decimal("0.9"))


def _by_mass(mass: str, strength: Strength, solid: _Solid) -> Answer:
    solution_g = quantities.mass_g(mass)
    made = dissolving.dissolve_by_mass(solid.formula, strength, solution_g, solid.purity, solid.about)
    assert made.water_ml is not None
    water_g = made.water_ml * densities.WATER_G_ML
    says = (
        f"Weigh {figures(made.mass_g, _DIGITS)} g of {solid.formula or solid.called} and "
        f"{figures(water_g, _DIGITS)} g of water ({figures(made.water_ml, 4)} mL): {plain(solution_g)} g of solution.",
    )
    document = {"mass": in_g(made.mass_g), "water": in_ml(made.water_ml), "solution": in_g(solution_g)}
    notes = (
        *_only_about(solid.substance, strength),
        *_not_on_file(made.mass_g / solution_g, solid),
        *_cautions(solid.substance, strength, "dissolve"),
    )
    return Answer((*solid.says, *says, *notes), document, made.working)


_A_PINCH = Decimal("0.002")
"""Grams of a solid in a gram of water that are a trace: of a dye or an indicator they are taken to dissolve."""


def _not_on_file(share: Decimal, solid: _Solid) -> tuple[str, ...]:
    """Say that nothing is known of how much dissolves, where the solid is more than a trace."""
    if solid.about.solubility is not None or share <= _A_PINCH:
        return ()
    return (f"How much of {solid.called} dissolves in water is not on file: make a little first.",)


def _measured(asked: Weighing, strength: Strength, one: Substance, says: tuple[str, ...]) -> Answer:
    """Work out what to measure of a liquid as bought, by its own assay and density."""
    if asked.volume is None:
        assert asked.mass is not None
        return _measured_by_mass(asked.mass, strength, one, says)
    if one.assay_pct is None:
        raise PrepError(_no_assay(one))
    about = about_substance(one)
    if one.form is Form.LIQUID and (too_much := strengths.more_than_dissolves(strength, about)):
        raise PrepError(too_much)
    about = replace(about, solubility=None)  # a concentrate may be stronger than what dissolves of the solid
    sold = strength_said(asked.of or "")
    if sold is None or str(sold) in one.name or sold == Strength(one.assay_pct, StrengthKind.PCT_W_W):
        sold = Strength(one.assay_pct, StrengthKind.PCT_W_W)
        source = one.sources.get("density", "the substance's record")
        about = replace(about, density_g_ml=one.density_g_ml, density_source=source)
        bought = strengths.in_bottle(one, StrengthKind.MOL_PER_L)
        called, density = one.name, one.density_g_ml
    else:  # the name says another strength than the one on file
        bought = strengths.convert(sold, StrengthKind.MOL_PER_L, about)
        called, density = f"{head_of(one.name)}, {sold}", bought.density.g_ml if bought.density else None
    volume_ml = quantities.volume_ml(asked.volume)
    made = dilution.dilute(sold, strength, volume_ml, about=about)
    mass = made.take_ml * density if density else None
    grams = f" ({figures(mass, 4)} g)" if mass is not None else ""
    order = "pour it slowly into" if _corrodes(one) else "add it to"
    first_ml = min(volume_ml * Decimal("0.7"), (volume_ml - made.take_ml) * Decimal("0.9"))
    says += (
        f"{called} is a liquid as bought, {figures(bought.strength.value, 4)} mol/L: it is measured, not weighed as "
        "a solid.",
        f"Take {figures(made.take_ml, 4)} mL of it{grams}, {order} about "
        f"{figures(first_ml, 2)} mL of water, let it come to room temperature, and make it up to "
        f"{plain(volume_ml)} mL.",
    )
    document: dict[str, Any] = {"take": in_ml(made.take_ml), "volume": in_ml(volume_ml), "mass": None}
    if mass is not None:
        document["mass"] = in_g(mass)
    moles = bought.strength.value * made.take_ml / 1000
    notes = (
        *_only_about(one, strength),
        *_cautions(replace(one, name=called), strength, "dilute", moles, volume_ml),
    )
    return Answer((*says, *notes), document, (*bought.working, *made.working))


def _measured_by_mass(mass: str, strength: Strength, one: Substance, says: tuple[str, ...]) -> Answer:
    """Work out a liquid as bought for a mass of solution: by mass alone, so that no density is needed."""
    if one.assay_pct is None:
        raise PrepError(_no_assay(one))
    solution_g = quantities.mass_g(mass)
    by_mass = strengths.convert(strength, StrengthKind.PCT_W_W, about_substance(one))
    pct = by_mass.strength.value
    if pct > one.assay_pct:
        raise PrepError(f"{strength} is stronger than {one.name} ({plain(one.assay_pct)} % w/w).")
    take_g = solution_g * pct / one.assay_pct
    take_ml = take_g / one.density_g_ml if one.density_g_ml else None
    measure = f" ({figures(take_ml, 4)} mL)" if take_ml is not None else ""
    water_g = solution_g - take_g
    order = "pour it slowly into" if _corrodes(one) else "add it to"
    text = (
        f"Weigh {figures(take_g, _DIGITS)} g of {one.name}{measure} and {order} "
        f"{figures(water_g, _DIGITS)} g of water: {plain(solution_g)} g of solution."
    )
    line = Line(f"{plain(solution_g)} g x {figures(pct)} % / {plain(one.assay_pct)} % = {figures(take_g)} g to weigh")
    document: dict[str, Any] = {"mass": in_g(take_g), "water": in_ml(water_g / densities.WATER_G_ML)}
    document |= {"solution": in_g(solution_g), "take": in_ml(take_ml) if take_ml is not None else None}
    notes = (*_only_about(one, strength), *_cautions(one, strength, "dilute"))
    return Answer((*says, text, *notes), document, (*by_mass.working, line))


def _only_about(one: Substance | None, strength: Strength) -> tuple[str, ...]:
    """Say that what is no primary standard gives a strength only about as asked, as a plan's steps do."""
    if one is None or strength.kind is StrengthKind.SATURATED or not (said := dissolving.only_about(one, strength)):
        return ()
    return (said,)


def _no_assay(one: Substance) -> str:
    if "ethanol" in one.name.casefold():
        return f'What {one.name} holds is not recorded: prep calc alcohol --from "95 % v/v", as its label says.'
    of = f" (% w/w of {one.formula})" if one.formula else ""
    return (
        f"The assay of {one.name}{of} is not recorded; give the strength that its label says: prep calc dilute --from."
    )


def _corrodes(one: Substance) -> bool:
    return "H314" in one.classification


def _cautions(
    one: Substance | None,
    strength: Strength,
    action: Literal["dilute", "dissolve"],
    moles: Decimal | None = None,
    volume_ml: Decimal | None = None,
) -> tuple[str, ...]:
    """Gather the order of mixing, heat and fumes of this substance, where they apply."""
    return cautions(one, strength, action, moles, volume_ml) if one is not None else ()


def _excess(text: str) -> Decimal:
    """Read a percentage of 1 to 500, from `10 %` or `10`. Raises PrepError."""
    try:
        value = Decimal(text.strip().removesuffix("%").strip())
    except ArithmeticError:
        value = Decimal(0)
    if not 1 <= value <= 500:
        raise PrepError(f'--excess "{text[:20]}" is out of range; accepted is 1 to 500 (%).')
    return value


def _which(
    said: str, held: tuple[Substance, ...], strength: Strength, volume_ml: Decimal, assay: Decimal | None
) -> str:
    """Ask which of several forms it is, with what to weigh of each."""
    amounts = []
    for one in held:
        purity = assay or one.assay_pct or Decimal(100)
        made = dissolving.dissolve(one.formula, strength, volume_ml, assay_pct=purity, about=about_substance(one))
        amounts.append(f"{figures(made.mass_g, _DIGITS)} g of {one.name} ({one.formula})")
    return f'"{said.strip()}" is held in {len(held)} forms: {" or ".join(amounts)}; name the one to weigh.'


def _per_cent(text: str | None, option: str) -> Decimal | None:
    """Read a share of more than 0 and at most 100 %; None where none is given. Raises PrepError."""
    if text is None:
        return None
    value = number(text.strip().removesuffix("%").strip())
    if not 0 < value <= 100:
        raise PrepError(f'{option} "{text[:20]}" is out of range; accepted is more than 0 and at most 100 (%).')
    return value


def molar_mass_of(what: str) -> Answer:
    """Work out the molar mass of a formula or of a named substance, atom by atom. Raises PrepError."""
    said: tuple[str, ...] = ()
    try:
        named = substance_named(what)
        substance = named or of_other_form(what)
    except SeveralFit:
        if not _is_formula(what):
            raise
        named = substance = None  # sugars of one formula have one mass
    if substance is not None and substance.formula:
        formula = substance.formula
        if formula != what.strip():
            said = ((one_form(what) if named else "") or f'"{what.strip()}" is {substance.name} ({formula}).',)
    elif (other := _acid_or_salt(what)) is not None:
        formula, said = other.formula, (f'"{what.strip()}" is {other.formula}.',)
    else:
        formula = what.strip()
        if substance is not None:
            raise PrepError(f"{substance.name} has no one formula on file, and so no molar mass.")
        if solution_named(what) or "'" in what:
            find_substance(what)  # raises: it is a solution, or no substance on file
        if (formula.replace(" ", "").isalpha() and formula.islower()) or is_like_cas_number(formula):
            find_substance(formula)  # small letters are a name, or it is a number: raises with what is near it
    mass = molar_mass(formula)
    atoms = composition(formula)
    parts = [f"{plain(count)} {symbol} x {figures(molar_mass(symbol), 6)}" for symbol, count in atoms.items()]
    working = (Line(f"{' + '.join(parts)} = {figures(mass, 6)} g/mol", strengths.MASS_SOURCE),)
    says = (*said, f"M({formula}) = {figures(mass, 6)} g/mol")
    return Answer(says, {"formula": formula, "molar_mass": {"value": float(mass), "unit": "g/mol"}}, working)


def _acid_or_salt(what: str) -> Species | None:
    """Find an acid, base or salt that pH knows by its name in small letters, though no bottle of it is on file."""
    try:
        return resolve(what) if what.strip()[:1].islower() else None
    except PrepError:
        return None
