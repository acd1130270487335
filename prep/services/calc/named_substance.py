"""The substance that a calculation is about: among the shipped ones, or those of the person's own inventory."""

import contextlib
import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache, lru_cache
from typing import NoReturn

from prep.chemistry import quantities, spelling
from prep.chemistry.catalogue import Catalogue, Item
from prep.chemistry.model import Form, Strength, StrengthKind, Substance
from prep.chemistry.naming import Name, read_name
from prep.chemistry.strength import densities, strengths
from prep.chemistry.strength.into_water import WaterVerdict, obstacle
from prep.chemistry.strength.solutes import SoluteFacts, about_substance
from prep.chemistry.typed_strength import (
    ImpossibleStrength,
    NamedStrength,
    in_parts,
    no_minus,
    thinned,
    which_per_cent,
    written_as,
)
from prep.errors import PrepError, SeveralFit
from prep.records import record
from prep.resources import seed_data
from prep.safety.model import ACIDS
from prep.services.calc import own_room
from prep.services.catalogue.names import candidates, items_of_other_forms, other_forms, usual, without_slips
from prep.services.files.csv_file import read_rows
from prep.services.input.checks import slip_in_cas_number

_RUBBING = re.compile(r"\brubbing\b", re.IGNORECASE)  # rubbing alcohol is any strength from half
_DISSOLVED = re.compile(
    r"^(?:aqueous|aq\.?|dil\.|dilute|bench)\s+|,?\s*(?:\b(?:solution|soln\.?|aqueous|aq\.?)|\(aq\))$", re.I
)
_SPIRITS = ("ethanol-96", "ethanol-denatured")  # labelled by volume
_NEAT_PCT = 90  # % w/w from which a liquid is sold neat: ethanol of 96 % v/v is 93.8 % w/w


@record(frozen=True, slots=True)
class NamedSubstance:
    """The substance taken for a name, the sentence that says so (empty where nothing was chosen), and the others.

    `held`: the several forms of it that the room holds; then the question is the person's.
    """

    substance: Substance
    says: str = ""
    held: tuple[Substance, ...] = ()


@cache
def shipped() -> Catalogue:
    """Read every shipped substance by code: the names now, the rest of each when it is asked for."""
    from prep.services.catalogue.substances import SUBSTANCE_COLUMNS, unread_substances

    return Catalogue(unread_substances(read_rows(seed_data() / "substances.csv", SUBSTANCE_COLUMNS)))


def shipped_with(formula: str) -> list[Substance]:
    """Find the shipped substances in whose formula another stands, as Na2CO3 does in those of its hydrates."""
    return [shipped().substances[one.code] for one in shipped().named if formula in one.formula]


def substances_named(name: str) -> list[Substance]:
    """Find the substances of a name, the usual one first: strengths of one solute go by any of them."""
    found = _candidates(name) or (_candidates(bare) if (bare := _DISSOLVED.sub("", name)) != name else [])
    first = usual(found)
    rest = [one for one in found if one not in first]
    return [one.substance for one in (*first, *rest) if one.substance]


def _candidates(name: str) -> list[Item]:
    return list(_among_shipped(name)) or candidates(name, own_room.substances(shipped()))


@lru_cache(maxsize=512)
def _among_shipped(name: str) -> tuple[Item, ...]:
    """Find the shipped substances of a name; once, as an answer asks for one name again and again."""
    return tuple(candidates(name, shipped()))


def substance_named(name: str) -> Substance | None:
    """Find a substance by code, name, other name, CAS number or formula; None where there is none.

    Of hydrates the one that the room holds, else the usual one. Raises PrepError where the name is of several
    substances, as C6H12 is, and the room holds not just one of them.
    """
    found = substances_named(name)
    if len({one.formula for one in found}) > 1:
        held = _held(found)
        if len(held) == 1:
            return held[0]
    # Hydrates and pieces of one name, such as the anhydrous salt or a powder, are one to a calculation.
    if len({read_name(one.name).without_form.words for one in found}) > 1 and not _of_one_solute(found):
        held = _held(found)
        return held[0] if len(held) == 1 else _ask_which(name, found)
    return next(iter(found), None)


def _held(found: Sequence[Substance]) -> list[Substance]:
    codes = own_room.items_held()
    return [one for one in found if one.code in codes]


def _of_one_solute(found: Sequence[Substance]) -> bool:
    return len({one.solute or one.code for one in found}) == 1


def _ask_which(name: str, found: Sequence[Substance]) -> NoReturn:
    codes = ", ".join(sorted(one.code for one in found))
    raise SeveralFit(f'"{name.strip()[:60]}" may be {codes}; give one of these codes.')


def find_substance(name: str) -> Substance:
    """Find a substance as `substance_named` does. Raises PrepError where there is none, naming its other forms."""
    found = substance_named(name)
    if found is None:
        if made := solution_named(name):
            raise PrepError(f'"{name[:60]}" is a solution ({made}), not a substance as bought; see: prep make {made}')
        if forms := other_forms(name, shipped()):
            raise PrepError(f'"{name[:60]}" is on file only as {forms}.')
        if slip := slip_in_cas_number(name.strip()):
            raise PrepError(slip)
        near = spelling.near(name, {one.code: (one.name, *one.other_names) for one in shipped().named})
        raise PrepError(
            f'"{name[:60]}" is no substance on file; give a name, CAS number or formula (prep substance list).{near}'
        )
    return found


def choose_form(name: str) -> NamedSubstance:
    """Choose the hydrate or grade that a name is taken for: the one the room holds, else the one usually sold.

    Raises PrepError where there is none of that name, and where none of several is usual.
    """
    one, found = find_substance(name), substances_named(name)
    if not _of_one_solute(found) or len({one.formula for one in found}) == 1:
        return NamedSubstance(one, _slip(name, one))
    held = _held(found)
    why = "the form that the room holds" if len(held) == 1 else "the form usually sold"
    if not held and len(usual(_items(found))) > 1:
        _ask_which(name, found)
    says = f'"{name.strip()}" is taken as {one.name} ({one.formula}), {why}.'
    return NamedSubstance(one, says, tuple(held) if len(held) > 1 else ())


def _slip(name: str, found: Substance) -> str:
    """Tell in a sentence how a name with a wrong letter was read; empty where it had none."""
    right = without_slips(name.strip(), shipped())
    plain = candidates(name, Catalogue({found.code: found})) if right != name.strip() else []
    return f'"{name.strip()}" is read as "{right}": {found.name}.' if right != name.strip() and plain else ""


def of_other_form(name: str) -> Substance | None:
    """Find what a name is of whose form is not on file, where all forms on file have one formula: iron wool is iron."""
    found = [one.substance for one in items_of_other_forms(name, shipped()) if one.substance]
    return found[0] if len({one.formula for one in found}) == 1 and found[0].formula else None


def strength_named(text: str) -> NamedStrength:
    """Read a strength alone, with its solute, or of a concentrate as sold: `2 M`, `2 M HCl`, `conc HCl`.

    What it is of is empty where none was given. Raises PrepError.
    """
    try:
        return NamedStrength("", quantities.strength(text))
    except PrepError as problem:
        no_minus(text)
        if diluted := diluted_strength(text):
            return diluted
        try:
            named = quantities.component(text)
        except ImpossibleStrength:
            raise
        except PrepError:
            named = None
        if named is not None and substance_named(named.what):
            return named
        salt = solution_strength(named.what) if named is not None else None
        if salt is not None and named is not None and named.strength.kind is StrengthKind.SATURATED:
            return NamedStrength(salt.what, named.strength)  # `saturated brine` is saturated with the same salt
        if named is not None and named.strength.kind is StrengthKind.TIMES:
            return NamedStrength("", named.strength)  # a stock such as 10x TBE: ten times its own working strength
        if sold := as_sold(text) or solution_strength(text):
            return sold
        if named is not None:
            _refuse_unknown(named)
        if one := substance_named(text):
            if one.form is Form.LIQUID and (way := obstacle(one.formula, one)):
                raise PrepError(f"{one.name} is not diluted with water: {way.reason}.") from None
            bottled = one.assay_pct and one.form in (Form.AQUEOUS, Form.LIQUID) and not _RUBBING.search(text)
            if read_name(text).percent and not bottled:
                raise PrepError(which_per_cent(text)) from None
            spirit = ("70 % v/v" if one.formula else "95 % v/v") if one.form is Form.LIQUID else "0.1 mol/L"
            strong = f"{one.assay_pct} % w/w" if bottled else spirit
            raise PrepError(
                f'"{text.strip()}" is {one.name}; say how strong as well, as its label has it: '
                f'"{strong} {text.strip()}".'
            ) from None
        if read_name(text).percent:
            raise PrepError(which_per_cent(text)) from None
        if text.strip() and not any(c.isdigit() for c in text):
            find_substance(text)  # a name alone: raises with what it is, or what is near it
        raise problem from None


def _refuse_unknown(named: NamedStrength) -> NoReturn:
    """Raise PrepError for the strength of what is not on file: a strength alone needs no name."""
    try:
        find_substance(named.what)
    except PrepError as problem:
        raise PrepError(f"{problem} A strength alone will do where nothing turns on what it is of.") from None
    raise AssertionError(named.what)  # it was looked for before, and not found


def diluted_strength(text: str) -> NamedStrength | None:
    """Work out how strong what is diluted then is: `1 in 100 conc HCl`, `bleach diluted 1:10`.

    One part by volume: a strength by mass becomes one by volume first. None where the text says no dilution, or of
    nothing whose strength it says.
    """
    said = thinned(text)
    if said is None:
        return None
    try:
        whole = strength_named(said.what)
        held = whole.strength
        if held.kind in strengths.BY_MASS:
            about = about_named(whole.what or None, held, None)
            by_volume = StrengthKind.MOL_PER_L if about.formula else StrengthKind.G_PER_L
            held = strengths.convert(held, by_volume, about).strength
    except PrepError:
        return None
    if held.kind is StrengthKind.TIMES:
        return None
    return replace(whole, strength=replace(held, value=quantities.tidy(held.value * said.share)))


def with_strength(text: str) -> str:
    """Add the strength to a component whose name alone says it: `glacial acetic acid`, `vinegar`."""
    if said := thinned(text):
        diluted = diluted_strength(text) or strength_named(said.what)  # raises with what it does not say
        return f"{diluted.what} {diluted.strength}" if diluted.what else text
    try:
        named = quantities.component(text)
    except PrepError:
        if found := solution_strength(text) or as_sold(text):
            return f"{found.what} {found.strength}"
        return text
    if named.strength.kind is StrengthKind.SATURATED and (whole := solution_strength(named.what)):
        return f"saturated {whole.what}"  # `saturated limewater` is saturated with the same solute
    return text


def as_sold(text: str) -> NamedStrength | None:
    """Find the strength of a concentrate of that name, and its code; None where the name is of none.

    The strength is that in the name; else the one marked on its bottles in the room, where they agree; else as it is
    sold [% w/w].
    """
    said = read_name(text)
    figures = any(word == "glacial" or word[0].isdigit() for word in said.words)
    says_it = said.concentrated or said.percent or said.gravity or figures or said.as_sold
    one = substance_named(text)
    if one is None or one.form not in (Form.AQUEOUS, Form.LIQUID):
        return None
    if said.made and one.form is Form.LIQUID:
        return None  # a solution of glycerol is not the neat liquid
    if not says_it and (_RUBBING.search(text) or not _sold_pure(one, said)):
        return None  # `HCl` alone may be any strength of it
    as_on_file = Strength(one.assay_pct, StrengthKind.PCT_W_W) if one.assay_pct is not None else None
    strength = strength_said(text) or _marked(one) or as_on_file
    return NamedStrength(one.code, strength) if strength else None


def _sold_pure(one: Substance, said: Name) -> bool:
    """Tell whether a liquid of that name comes only neat: `acetone`, but no acid, also diluted under its name."""
    return (
        one.form is Form.LIQUID
        and (one.assay_pct or 0) >= _NEAT_PCT
        and one.solubility_g_per_100g is None
        and one.storage_group not in ACIDS
        and not said.dilute
        and obstacle(one.formula, one) is None
    )


def assumed(*texts: str | None) -> tuple[str, ...]:
    """Tell what was taken for each text that names something without its strength, or with a wrong letter."""
    says = []
    for text in texts:
        what = VOLUME_OF.sub("", text or "").strip()
        if (thin := thinned(what)) and (made := diluted_strength(what)):
            says += [*assumed(thin.what), f'{in_parts(what, thin.share)}: "{what}" is {written_as(made.strength)}.']
            continue
        with contextlib.suppress(PrepError):
            named = quantities.component(what)
            one = substance_named(named.what)
            if one is not None and (slip := _slip(named.what, one)):
                says.append(slip)
            continue
        with contextlib.suppress(PrepError):
            quantities.strength(what)
            continue
        said = read_name(what)
        if not what or (not said.percent and strength_said(what)):
            continue
        if (sold := as_sold(what)) is not None:
            one = substance_named(sold.what)
            assert one is not None
            marked = _marked(one)
            if said.percent and not said.percent.width:
                shown = f"{sold.strength}, as bottles of it are labelled"
                if one.form is Form.LIQUID and sold.strength.kind is not StrengthKind.PCT_V_V:
                    shown = f"{one.name} ({sold.strength})"
                if not re.search(r"[wvm]/[wvm]", what):
                    says.append(f'"{what}" is taken as {shown}; if not so, write % w/w, % w/v or % v/v.')
                continue
            how = "as the bottle of it here is marked" if marked else "as it is usually sold"
            bottle = marked or f"{one.name} ({sold.strength})"
            says.append(f'"{what}" is taken as {bottle}, {how}; if its label says another strength, say that.')
        elif (known := solution_strength(what)) is not None:
            says.append(f'"{what}" is taken as {known.strength} {known.what.replace("-", " ")}.')
    return tuple(says)


VOLUME_OF = re.compile(r"^\s*[\d.,]+\s*[A-Za-zµμ]+[³3]?\s+of\s+")


def _marked(one: Substance) -> Strength | None:
    """Find the strength that stands on the room's bottles of a substance; None where none does, or several."""
    found = own_room.strengths_of(one.code)
    return found[0] if len(found) == 1 else None


def strength_said(text: str) -> Strength | None:
    """Read the strength in the name of a concentrate itself: `100 vol peroxide`, `37 % HCl`; None where none.

    One per cent of a concentrate in water is by weight, as bottles are labelled (an alcohol's is by volume); a range
    of them says no one strength.
    """
    with contextlib.suppress(PrepError):
        named = quantities.component(text)
        if substance_named(named.what):
            return named.strength
    percent, one = read_name(text).percent, substance_named(text)
    by_volume = one is not None and one.code in _SPIRITS
    if percent is None or percent.width or one is None or (one.form is not Form.AQUEOUS and not by_volume):
        return None
    return Strength(percent.low, StrengthKind.PCT_V_V if by_volume else StrengthKind.PCT_W_W)


def solution_strength(name: str) -> NamedStrength | None:
    """Find the solute and strength of a shipped solution by its name alone: `vinegar`; None for any other text."""
    if any(c.isdigit() for c in name) or spelling.key(name) == "water" or _candidates(name):
        return None
    found = _shipped_solutions().solutions.get(solution_named(name))
    return (
        NamedStrength(found.solute, found.strength) if found is not None and found.solute and found.strength else None
    )


def solution_named(name: str) -> str:
    """Find the code of the shipped solution of that name; empty where there is none, or more than one."""
    found = candidates(name, _shipped_solutions(), only="solution")
    return found[0].code if len(found) == 1 else ""


@cache
def _shipped_solutions() -> Catalogue:
    """Read everything shipped, once: it takes as long as a whole calculation."""
    from prep.services.catalogue.seed import read_catalogue

    return read_catalogue(seed_data())


def about_named(name: str | None, strength: Strength | None, density: str | None) -> SoluteFacts:
    """Gather what is known of a named solute: a density as given, or a bottle's where there is no table."""
    one = find_substance(name) if name else None
    about = about_substance(one) if one else SoluteFacts()
    way = obstacle(one.formula, one) if one else None
    if way and way.verdict is WaterVerdict.OTHER_SOLVENT:
        about = replace(about, solubility=None)  # iodine is held in iodide, and is stronger there than in water
    if density is not None:
        return replace(about, density_g_ml=quantities.density_g_ml(density))
    if name and strength and strength.kind is StrengthKind.PCT_W_W and not densities.is_tabulated(about.formula):
        for one in substances_named(name):
            bottled = one.form in (Form.AQUEOUS, Form.LIQUID)
            if bottled and one.assay_pct == strength.value and one.density_g_ml:
                source = one.sources.get("density", "the substance's record")
                return replace(about, density_g_ml=one.density_g_ml, density_source=f"{one.name}: {source}")
    return about


def _items(found: Sequence[Substance]) -> list[Item]:
    return [Item(one.code, one.name, one.measure, substance=one) for one in found]
