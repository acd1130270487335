"""What portions make together, and how much of two strengths makes a third; ethanol with its contraction."""

import contextlib
import re
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from prep.chemistry import quantities
from prep.chemistry.model import Form, Line, Strength, StrengthKind, Substance
from prep.chemistry.naming import read_name
from prep.chemistry.quantities import figures, plain
from prep.chemistry.strength import alcohol, densities, dilution, strengths
from prep.chemistry.strength.solutes import SoluteFacts
from prep.chemistry.typed_strength import NamedStrength, written_as
from prep.errors import PrepError
from prep.records import record
from prep.services.calc.arithmetic import (
    Answer,
    in_g,
    in_ml,
    led_by,
    order_of_mixing,
    refuse_no_solution,
    strength_json,
)
from prep.services.calc.named_substance import about_named, assumed, strength_named, substance_named
from prep.services.calc.portions import form_said, ppm_said


@record(frozen=True, slots=True)
class Blend:
    """Portions as typed; or, with `target` and `volume`, the two strengths from which that is to be made."""

    portions: tuple[str, ...]
    of: str | None = None
    target: str | None = None
    volume: str | None = None


def blend(asked: Blend) -> Answer:
    """Work out what portions make together, or how much of two strengths makes a third. Raises PrepError."""
    from prep.services.calc.mixing_cautions import danger_first

    asked = replace(asked, portions=tuple(map(quantities.with_of, asked.portions)))
    with danger_first(asked.portions):
        try:
            form = (*form_said(asked.of, *asked.portions, asked.target), *ppm_said(*asked.portions))
            return led_by(_blend(_with_strengths(asked), asked.portions), *asked.portions, form=form)
        except PrepError as problem:
            weighed = problem.sentence.by_way_of('weigh the portions ("100 g of 10 % w/w")')
            raise PrepError(weighed) from None


def _blend(asked: Blend, as_typed: Sequence[str]) -> Answer:
    about = about_named(asked.of, None, None) if asked.of else None
    if asked.target is not None or asked.volume is not None:
        return _to_one_strength(asked, about, as_typed)
    if len(asked.portions) < 2:
        raise PrepError('Give at least two portions, each such as "100 mL of 2 mol/L".')
    if any(_grams(one) is not None for one in asked.portions):
        return _by_mass(asked, about or SoluteFacts())
    portions = quantities.portions(asked.portions)
    if asked.of:
        refuse_no_solution(asked.of, portions[0].strength)
    made = dilution.blend(portions, about=about)
    strongest = max((one.strength for one in portions), key=lambda strength: strength.value)
    typed = [portion.partition(" of ")[2] for portion in as_typed]
    says = (
        f"{figures(made.volume_ml, 5)} mL of {written_as(made.strength, *typed)}",
        *order_of_mixing(asked.of, strongest),
    )
    return Answer(says, {"volume": in_ml(made.volume_ml), "strength": strength_json(made.strength)}, made.working)


def _grams(portion: str) -> Decimal | None:
    """Read the mass [g] of a portion that is weighed, `100 g of 10 % w/w`; None of one that is measured."""
    try:
        return quantities.mass_g(portion.partition(" of ")[0])
    except PrepError:
        return None


def _by_mass(asked: Blend, about: SoluteFacts) -> Answer:
    """Work out what portions make of which any is weighed: masses add, and no density is needed for them."""
    working: list[Line] = []
    parts: list[tuple[Decimal, Decimal]] = []
    if asked.of:
        refuse_no_solution(asked.of, None)
    strongest = Strength(Decimal(0), StrengthKind.PCT_W_W)
    for text in asked.portions:
        amount, of, what = text.partition(" of ")
        if not of:
            raise PrepError(f'"{text[:40]}" is not a portion; write such as "100 g of 10 % w/w".')
        water = what.strip().lower() == "water"
        held = Strength(Decimal(0), StrengthKind.PCT_W_W) if water else quantities.strength(what, zero=True)
        # What is in the bottle may be more than dissolves: what comes out may not.
        bottled = about if held.kind is StrengthKind.SATURATED else replace(about, solubility=None)
        by_mass = strengths.convert(held, StrengthKind.PCT_W_W, bottled) if not water else None
        pct = by_mass.strength.value if by_mass else Decimal(0)
        grams = _grams(text)
        if grams is None:
            density = densities.WATER_G_ML if water else strengths.density_of(held, about).g_ml
            measured = quantities.volume_ml(amount)
            grams = measured * density
            working.append(Line(f"{plain(measured)} mL x {figures(density)} g/mL = {figures(grams)} g"))
        working += by_mass.working if by_mass else ()
        parts.append((grams, pct))
        strongest = max(strongest, Strength(pct, StrengthKind.PCT_W_W), key=lambda one: one.value)
    whole = sum((g for g, _ in parts), Decimal(0))
    made = Strength(quantities.tidy(sum((g * p for g, p in parts), Decimal(0)) / whole), StrengthKind.PCT_W_W)
    shown = replace(made, value=Decimal(figures(made.value, 5)))
    if too_much := strengths.more_than_dissolves(shown, about):
        raise PrepError(too_much)
    sums = " + ".join(f"{figures(g)} x {figures(p)}" for g, p in parts)
    working.append(Line(f"masses add: {figures(whole)} g; ({sums}) / {figures(whole)} = {figures(made.value)} % w/w"))
    volume: Decimal | None = None
    with contextlib.suppress(PrepError):
        volume = whole / strengths.density_of(made, about).g_ml
    filled = f", about {figures(volume, 4)} mL" if volume is not None else ""
    says = (f"{figures(whole, 5)} g{filled} of {written_as(made)}.", *order_of_mixing(asked.of, strongest))
    document = {"mass": in_g(whole), "volume": in_ml(volume) if volume is not None else None}
    return Answer(says, document | {"strength": strength_json(made)}, tuple(working))


def _pure(text: str, what: str) -> Substance | None:
    """Find the solid or pure liquid that a weighed portion is of, `100 g of sugar`; None for any other."""
    if _grams(text) is None or what.lower() == "water":
        return None
    one = substance_named(what)
    return one if one is not None and one.form in (Form.SOLID, Form.LIQUID) and not read_name(what).percent else None


def _with_strengths(asked: Blend) -> Blend:
    """Reduce portions to volumes and strengths, where they were said of a solute: `100 mL of 2 M HCl`."""
    of, portions = asked.of, []
    for text in asked.portions:
        volume, between, what = text.partition(" of ")
        what = what.strip() if between else text.strip()
        named = None if what.lower() == "water" else _named_or_none(what)
        if named is None and (pure := _pure(text, what)):
            named = NamedStrength(pure.code, Strength(Decimal(100), StrengthKind.PCT_W_W))
        name = named.what if named else ""
        if of and name and not _same_solute(of, name):
            raise PrepError(
                f"{of} and {name} are two substances, and no strength is of both; what acids and bases make together: "
                "prep calc ph."
            )
        of = of or name or None
        other = None if named is not None or what.lower() == "water" else substance_named(what)
        if named is None and other is None and between and what.lower() != "water" and not _is_nothing(what):
            strength_named(what)  # raises with what is wrong with it
        if of and other is not None and not _same_solute(of, other.code):
            raise PrepError(
                f"{of} and {other.name} are two substances, and no strength is of both. What must never meet: "
                "prep safety classify."
            )
        portions.append(
            text if not named or not name else f"{volume}{between}{named.strength}" if between else str(named.strength)
        )
    return replace(asked, portions=tuple(portions), of=of)


def _same_solute(one: str, other: str) -> bool:
    """Tell whether two names are of one solute, in any form or grade; off the list, whether they are spelled alike."""
    first, second = substance_named(one), substance_named(other)
    if first is None or second is None:
        return first is second and one.casefold() == other.casefold()
    return first.solute == second.solute


def _named_or_none(text: str) -> NamedStrength | None:
    try:
        return strength_named(text)
    except PrepError:
        return None


def _is_nothing(text: str) -> bool:
    """Tell whether a text is the strength of the solvent alone, `0 % v/v`."""
    try:
        return not quantities.strength(text, zero=True).value
    except PrepError:
        return False


def _to_one_strength(asked: Blend, about: SoluteFacts | None, as_typed: Sequence[str]) -> Answer:
    if asked.target is None or asked.volume is None or len(asked.portions) != 2:
        raise PrepError(
            'Give two strengths, --to and --volume: "2 mol/L" "0.5 mol/L" --to "1 mol/L" --volume "500 mL".'
        )
    zero = [one.strip().lower() == "water" for one in asked.portions]
    if all(zero):
        raise PrepError("Water and water is water; give two strengths.")
    target, volume = quantities.strength(asked.target), quantities.volume_ml(asked.volume)
    held = [
        Strength(Decimal(0), target.kind) if z else quantities.strength(p)
        for z, p in zip(zero, asked.portions, strict=True)
    ]
    made = dilution.mix_to(held[0], held[1], target, volume, about=about)
    one, other = (p.strip() for p in as_typed)
    says = (
        f"Mix {figures(made.volumes_ml[0], 4)} mL of {one} with {figures(made.volumes_ml[1], 4)} mL of {other}, and "
        f"make up to {plain(volume)} mL if it falls short.",
        *order_of_mixing(asked.of, max(held, key=lambda one: one.value)),
    )
    document = {
        "portions": [
            {"strength": strength_json(h), "volume": in_ml(v)} for h, v in zip(held, made.volumes_ml, strict=True)
        ],
        "volume": in_ml(volume),
        "strength": strength_json(target),
    }
    return Answer(says, document, made.working)


def dilute_alcohol(source: str, target: str, volume: str, temperature: str) -> Answer:
    """Work out how much ethanol and water make a weaker ethanol, with their contraction. Raises PrepError."""
    held, wanted = _spirit(source), _spirit(target)
    made = alcohol.dilute(
        held.strength, wanted.strength, quantities.volume_ml(volume), quantities.temperature_c(temperature)
    )
    says = (
        *dict.fromkeys((*held.says, *wanted.says)),
        f"Take {figures(made.take_ml, 4)} mL of the {source.strip()} and {figures(made.water_ml, 4)} mL of water, "
        f"at {plain(made.temperature_c)} degC; they shrink by {figures(made.contraction_ml, 3)} mL to "
        f"{plain(made.volume_ml)} mL.",
        "Highly flammable: no flame or hot plate near.",
    )
    document = {
        "take": in_ml(made.take_ml),
        "water": in_ml(made.water_ml),
        "contraction": in_ml(made.contraction_ml),
        "volume": in_ml(made.volume_ml),
        "taken_as": list(dict.fromkeys((*held.says, *wanted.says))),
    }
    return Answer(says, document, made.working)


@record(frozen=True, slots=True)
class _Spirit:
    """The strength of an ethanol as typed, and what its name was taken for."""

    strength: Strength
    says: tuple[str, ...] = ()


_DENATURED = "ethanol-denatured"


def _spirit(text: str) -> _Spirit:
    """Read the strength of an ethanol, alone or by its name: `96 % v/v`, `IMS 96 %`, `absolute alcohol`.

    A bare per cent of a named spirit is by volume, as its bottles are labelled. Raises PrepError: a name alone that
    says no strength, and what is no ethanol.
    """
    with contextlib.suppress(PrepError):
        return _Spirit(quantities.strength(text))
    said = read_name(text)
    percent, one = said.percent, substance_named(" ".join(said.words))
    by_volume = percent is not None and not percent.width and not _KIND_SAID.search(text)
    if percent is not None and by_volume and one is not None and one.solute in _ETHANOLS:
        named = NamedStrength(one.code, Strength(percent.low, StrengthKind.PCT_V_V))
        first: tuple[str, ...] = (f'"{text.strip()}" is taken as {percent.low} % v/v; if not so, write % w/w.',)
    else:
        named, first = strength_named(text), assumed(text)
    one = substance_named(named.what) if named.what else None
    if one is not None and one.solute not in _ETHANOLS:
        raise PrepError(f"{one.name} is no ethanol: its contraction with water is not on file here.")
    if one is not None and one.solute == _DENATURED:
        first = (*first, "What denatures it is counted as ethanol.")
    return _Spirit(named.strength, first)


_ETHANOLS = ("ethanol", _DENATURED)
_KIND_SAID = re.compile(r"[wvm]\s*/\s*[wvm]|by (?:mass|weight|volume)", re.IGNORECASE)
