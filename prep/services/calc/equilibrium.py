"""pH, buffers, end points and indicators from typed text, without a database: figures, sentences, working.

Apart from `calculating`, so that a dilution does not wait for the acids and bases.
"""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from math import ceil, floor
from typing import Any, Literal

from prep.chemistry import quantities
from prep.chemistry.acid_base import components, droppers, equilibrium, indicators
from prep.chemistry.acid_base.buffers import Buffer, IngredientAmount, design, shift
from prep.chemistry.acid_base.colour_course import WatchedVessel, course
from prep.chemistry.acid_base.endpoints import Dropper, Drops, Endpoint, IndicatorPassage, plot, through, to_ph
from prep.chemistry.acid_base.equilibrium import mixture_of
from prep.chemistry.acid_base.ph_uncertainty import PhBand
from prep.chemistry.acid_base.species import Component, resolve
from prep.chemistry.model import Line, Strength, StrengthKind
from prep.chemistry.quantities import figures, plain
from prep.errors import PrepError
from prep.plurals import plural
from prep.records import record
from prep.services.calc.arithmetic import Answer, led_by
from prep.services.calc.mixing_cautions import cautions, danger_first, never_together
from prep.services.calc.named_substance import solution_strength, substance_named
from prep.services.calc.neutralising_heat import heat_of_mixing, neutralising_heat
from prep.services.calc.portions import Mixed, forms_in_moles, mixed, portion
from prep.services.calc.titration_curve import CalculatedCourse, on_the_way


def ph(texts: Sequence[str], temperature: str, ideal: bool) -> Answer:
    """Work out the pH and ionic strength of a mixture. Raises PrepError."""
    texts = [quantities.with_of(text) for text in texts]
    with danger_first(texts):
        inside = mixed(texts)
        found = equilibrium.ph_of(inside.components, _temperature(temperature), activities=not ideal)
    strength = f"ionic strength {found.ionic_strength:.3g} mol/kg ({found.model})"
    off = f"+- {found.band.u:.2f} (k = 2)" if found.band else "(no band: outside the model)"
    says = [f"pH {found.ph:.2f} {off}, {strength}"]
    if found.band and found.band.wider:
        says.append(f"The band is wide for: {', '.join(found.band.wider)}.")
    note = " ".join(part for part in (found.note, _in_air(inside.components, found, _temperature(temperature))) if part)
    if note:
        says.append(note)
    document = {
        "ph": found.ph,
        "uncertainty": uncertainty_json(found.band) if found.band else None,
        "ionic_strength": {"value": found.ionic_strength, "unit": "mol/kg"},
        "model": found.model,
        "valid": found.valid,
        "note": note,
        "temperature": {"value": float(_temperature(temperature)), "unit": "degC"},
    }
    if inside.volume_ml is not None:
        document["volume"] = _ml(inside.volume_ml)
        says[0] = f"{inside.volume_ml:g} mL: {says[0]}"
        says += heat_of_mixing(inside.in_whole, inside.volume_ml)
    meet = never_together(inside.texts)
    answer = Answer((*says, *meet.says), document | meet.document, (*inside.working, *found.working))
    return led_by(answer, *texts, form=forms_in_moles(*texts))


@record(frozen=True, slots=True)
class BufferQuestion:
    """A buffer as typed: its pair, pH, whole strength and volume; with `then`, what is added to it.

    With `curve` the answer holds how its pH gives way to strong acid and base.
    """

    pair: str
    target: str
    to: str
    volume: str
    temperature: str = "25"
    ideal: bool = False
    then: str | None = None
    curve: bool = False


def buffer(asked: BufferQuestion) -> Answer:
    """Work out two ingredients' amounts for a buffer; with `then`, how far an addition moves it. Raises PrepError."""
    to, volume, ideal, then = asked.to, asked.volume, asked.ideal, asked.then
    strength = quantities.strength(to)
    if strength.kind is not StrengthKind.MOL_PER_L:
        raise PrepError(f'--to "{to[:40]}": give the whole strength of a buffer in mol/L, such as "0.1 mol/L".')
    volume_ml, degrees = quantities.volume_ml(volume), _temperature(asked.temperature)
    held = components.pair("/".join(map(_solution_with_strength, asked.pair.split("/"))), substance_named)
    made = design(held, _ph(asked.target), float(strength.value), volume_ml, degrees, activities=not ideal)
    says = [f"{_taken(part)}" for part in made.parts]
    says.append(f"Dissolve and mix in most of the water, check the pH, and make up to {plain(volume_ml)} mL.")
    says += dict.fromkeys(caution for part in made.parts for caution in _minded(part, volume_ml))
    # Rounded inwards, so that the pair holds every pH that the sentence names.
    low_high = " or ".join(f"{ceil(10 * one.low) / 10:g} to {floor(10 * one.high) / 10:g}" for one in made.holds)
    says.append(
        f"pH {made.ph:.2f} +- {made.band.u:.2f} (k = 2); capacity {made.capacity:.3g} mol/L of strong base for each pH "
        f"unit; pKa' {made.pka_effective:.2f}; this pair holds pH {low_high}."
    )
    if made.band.wider:
        says.append(f"The band is wide for: {', '.join(made.band.wider)}.")
    if made.note:
        says.append(made.note)
    document: dict[str, Any] = {
        "ingredients": [_part_json(part) for part in made.parts],
        "ph": made.ph,
        "uncertainty": uncertainty_json(made.band),
        "capacity": {"value": made.capacity, "unit": "mol/L per pH"},
        "ionic_strength": {"value": made.ionic_strength, "unit": "mol/kg"},
        "pka_effective": made.pka_effective,
        "holds": [{"ph_low": one.low, "ph_high": one.high} for one in made.holds],
        "volume": _ml(float(volume_ml)),
        "valid": made.valid,
        "note": made.note,
    }
    working = made.working
    if then is not None:
        with danger_first([*asked.pair.split("/"), then]):
            sentence, document["then"], more = _then(made, then, degrees, not ideal)
        says.append(sentence)
        working = (*working, *more)
    curves = _gives_way(made, asked) if asked.curve else ()
    return Answer(tuple(says), document, working, curves)


def _solution_with_strength(half: str) -> str:
    """Say how strong an ingredient is that is a solution by its name: `vinegar`."""
    made = solution_strength(half.strip())
    return f"{half.strip()} {made.strength}" if made else half


def _gives_way(made: Buffer, asked: BufferQuestion) -> tuple[CalculatedCourse, ...]:
    """Draw the buffer's pH as strong acid, strong base, and what `then` names run into it, until it is spent."""
    inside, volume_ml = mixture_of(made.components), float(made.volume_ml)
    runs = [(text, 1.2 * volume_ml * made.total_mol_per_l) for text in ("HCl 1 mol/L", "NaOH 1 mol/L")]
    if asked.then is not None:
        amount, _, what = quantities.with_of(asked.then).partition(" of ")
        runs.append((what.strip(), 2 * float(quantities.volume_ml(amount))))
    out = []
    for text, most_ml in runs:
        added = mixture_of(mixed([text]).components)
        degrees = _temperature(asked.temperature)
        vessel = WatchedVessel(inside, volume_ml, added, temperature_c=degrees, activities=not asked.ideal)
        out.append(CalculatedCourse(f"with {text}", course(vessel, most_ml)))
    return tuple(out)


@record(frozen=True, slots=True)
class EndpointQuestion:
    """A titration as typed: what the dish holds, what is added, and the pH or the indicator that ends it.

    `after` are drops to be asked about; with them it need not end.
    """

    dish: str
    add: Sequence[str]
    of: Sequence[str] = ()
    target: str | None = None
    indicator: str | None = None
    drops_per_ml: float | None = None
    dropper: str | None = None
    temperature: str = "25"
    ideal: bool = False
    after: Sequence[int] = ()


def endpoint(asked: EndpointQuestion) -> Answer:
    """Work out how much, and how many drops, bring a dish to a pH or through a colour change. Raises PrepError."""
    dish, *others = (quantities.with_of(text) for text in (asked.dish, *asked.of, *asked.add))
    asked = replace(asked, dish=dish, of=others[: len(asked.of)], add=others[len(asked.of) :])
    with danger_first([dish, *others]):
        return _endpoint(asked)


def _endpoint(asked: EndpointQuestion) -> Answer:
    add, target, indicator, ideal = asked.add, asked.target, asked.indicator, asked.ideal
    drops_per_ml, dropper = asked.drops_per_ml, asked.dropper
    if (target is not None and indicator is not None) or (target is None and indicator is None and not asked.after):
        raise PrepError("Give the end once: either --ph, or --indicator; or drops to ask about: --at 20.")
    if drops_per_ml is not None and dropper is not None:
        raise PrepError("Give the dropper once: either --drops-per-ml, or --dropper.")
    if not add:
        raise PrepError('Give what is added, such as --add "hydrochloric acid 0.1 mol/L".')
    inside, volume_ml = _dish(asked)
    degrees = _temperature(asked.temperature)
    tip, tip_line = _dropper(drops_per_ml, dropper)
    adding = mixed(add)
    there, titrant = inside.components, adding.components
    working = (*inside.working, *adding.working)
    what = " and ".join(add if len(add) > 1 and adding.volume_ml else adding.texts)
    end: Endpoint | None = None
    named = None
    says: list[str] = []
    document: dict[str, Any] = {}
    if target is not None:
        end = to_ph(there, volume_ml, titrant, _ph(target), tip, degrees, activities=not ideal)
        says = [f"{_amount(end)} of {what} carry the dish from pH {end.start_ph:.2f} to pH {end.ph:g}."]
        document = _endpoint_json(end)
    elif indicator is not None:
        named = indicators.indicator(indicator)
        try:
            passage = through(there, volume_ml, titrant, named, tip, degrees, activities=not ideal)
        except PrepError as never:
            if not asked.after:
                raise
            says = [str(never)]
        else:
            end = passage.ends
            says, document = _passed(passage, named.name, what)
    vessel = WatchedVessel(mixture_of(there), volume_ml, mixture_of(titrant), named, tip, 0.0, degrees, not ideal)
    counted = bool(asked.after) or drops_per_ml is not None or dropper is not None
    way = on_the_way(vessel, what, end.volume_ml if end else None, asked.after, counted)
    says += way.says
    says.append(f"Drops by a dropper of {tip.drops_per_ml:g} drops/mL, which differ by {tip.spread_pct:g} %.")
    if end and end.note:
        says.append(end.note)
    elif not way.curve.course.valid:
        says.append("More concentrated than the model holds for (Davies): take the figures as a guide only.")
    if end:
        if adding.volume_ml is not None and end.volume_ml > adding.volume_ml:
            says.append(f"That is more than the {adding.volume_ml:g} mL that there is of it.")
        says += neutralising_heat(inside.in_whole, volume_ml, adding.in_whole, end.volume_ml)
    meet = never_together([*inside.texts, *adding.texts])
    says += meet.says
    document |= meet.document | way.document
    if end:
        drawn = plot(end.curve, (end.volume_ml, end.ph), width=76, drops_per_ml=way.curve.drops_per_ml)
        says += ["", *drawn]
    else:
        points = [(moment.volume_ml, moment.ph) for moment in way.curve.course.moments]
        document |= {"valid": way.curve.course.valid, "start_ph": way.curve.course.start.ph}
        document["curve"] = [{"volume": _ml(volume), "ph": value} for volume, value in points]
        says += ["", *plot(points, width=76, drops_per_ml=way.curve.drops_per_ml)]
    found = Answer(tuple(says), document, (*working, *(end.working if end else ()), tip_line), (way.curve,))
    return led_by(found, asked.dish, *asked.of, *add, form=forms_in_moles(asked.dish, *asked.of, *add))


def _passed(passage: IndicatorPassage, called: str, what: str) -> tuple[list[str], dict[str, Any]]:
    """Describe the first change of an indicator, as a sentence and as a document."""
    end = passage.ends
    begins = (
        "the dish is within the change from the start"
        if not passage.begins.volume_ml
        else f"the change begins after {_amount(passage.begins)}, at pH {passage.begins.ph:g}"
    )
    says = [
        f"{_amount(end)} of {what} take {called} from {passage.colour_before} wholly to "
        f"{passage.colour_after}, at pH {end.ph:g}; {begins}."
    ]
    document = _endpoint_json(end) | {
        "indicator": called,
        "colour_before": passage.colour_before,
        "colour_after": passage.colour_after,
        "begins": {"ph": passage.begins.ph} | _volume_and_drops(passage.begins),
    }
    return says, document


_FROM_AIR = 1.35e-5
"""Carbon dioxide in water that stands in air [mol/kg]: 3.4e-2 mol/(L atm) at 25 degC x 4.0e-4 atm. From memory: Stumm
and Morgan, Aquatic Chemistry, 3rd ed. (Henry's constant)."""


def _in_air(components: Sequence[Component], found: equilibrium.PhResult, degrees: float) -> str:
    """Say where the carbon dioxide of the air would bring a pH that hardly anything holds; else nothing."""
    if not 5.8 < found.ph < 9.5:  # more acid than that, little dissolves as ions; more alkaline, it is a base's own
        return ""
    moved = equilibrium.ph_of([*components, Component(resolve("carbonic acid"), _FROM_AIR)], degrees).ph
    if abs(moved - found.ph) < _AIR_MOVES:
        return ""
    return f"It is hardly buffered: what dissolves of the air's carbon dioxide alone brings it to about pH {moved:.1f}."


_AIR_MOVES = 0.2


def uncertainty_json(band: PhBand) -> dict[str, Any]:
    """Write an uncertainty as JSON: `{"value": 0.05, "unit": "pH", "k": 2, "wider_for": []}`."""
    return {"value": band.u, "unit": "pH", "k": 2, "wider_for": list(band.wider)}


def _dish(asked: EndpointQuestion) -> tuple[Mixed, float]:
    """Read what a dish holds, and how much [mL]: `25 mL` of the components said, `25 mL of HCl 0.1 M`, or portions."""
    first = portion(asked.dish)
    if first.volume_ml is None:
        volume_ml = float(quantities.volume_ml(asked.dish))
        return mixed(asked.of, volume_ml), volume_ml
    if any(portion(text).volume_ml is not None for text in asked.of):
        inside = mixed([asked.dish, *asked.of])
        return inside, inside.volume_ml or first.volume_ml
    return mixed([first.what, *asked.of]), first.volume_ml


def _temperature(text: str) -> float:
    return float(quantities.temperature_c(text))


def _ph(text: str) -> float:
    return float(quantities.ph(text))


def _dropper(drops_per_ml: float | None, name: str | None) -> tuple[Dropper, Line]:
    if drops_per_ml is not None:
        made = droppers.of_rate(drops_per_ml)
        return made, Line(f"{drops_per_ml:g} drops/mL as given; spread {made.spread_pct:g} % as of the nearest on file")
    found = droppers.dropper(name) if name is not None else droppers.common()
    return found.dropper, Line(f"{found.name}: {found.dropper.drops_per_ml:g} drops/mL", found.source)


def _then(made: Buffer, text: str, degrees: float, activities: bool) -> tuple[str, dict[str, Any], tuple[Line, ...]]:
    """Work out what an addition such as `10 mL of hydrochloric acid 0.1 mol/L` does to the whole buffer."""
    amount, of, what = quantities.with_of(text).partition(" of ")
    if not of:
        raise PrepError(f'--then "{text[:60]}": write such as "10 mL of hydrochloric acid 0.1 mol/L".')
    read = mixed([what])
    added, working = read.components, read.working
    added_ml = float(quantities.volume_ml(amount))
    moved = shift(made.components, float(made.volume_ml), added, added_ml, degrees, activities=activities)
    sentence = (
        f"With {added_ml:g} mL of {what.strip()} in it the pH goes from {moved.before.ph:.3f} to "
        f"{moved.after.ph:.3f} ({moved.change:+.3f})."
    )
    document = {"ph": moved.after.ph, "change": moved.change, "added": _ml(added_ml), "valid": moved.after.valid}
    return sentence, document, (*working, Line(f"then: {sentence}"), *moved.after.working)


def _taken(part: IngredientAmount) -> str:
    if part.mass_g is None:
        assert part.volume_ml is not None
        return f"Measure {figures(part.volume_ml, 4)} mL of {part.name}."
    grams, what = f"{figures(part.mass_g, 4)} g", f"{part.name} ({part.formula})"
    if part.volume_ml is not None:
        return f"Measure {figures(part.volume_ml, 4)} mL of {what} ({grams})."
    return f"Weigh {grams} of {what}."


def _minded(part: IngredientAmount, volume_ml: Decimal) -> tuple[str, ...]:
    """Gather the order of mixing, the heat and the fumes of a part that is taken from its bottle."""
    one = substance_named(part.name) if part.mass_g is not None else None
    if one is None:
        return ()
    in_whole = Strength(Decimal(repr(part.mol)) * 1000 / volume_ml, StrengthKind.MOL_PER_L)
    way: Literal["dilute", "dissolve"] = "dilute" if part.volume_ml is not None else "dissolve"
    return cautions(one, in_whole, way, Decimal(repr(part.mol)), volume_ml)


def _part_json(part: IngredientAmount) -> dict[str, Any]:
    document: dict[str, Any] = {"name": part.name, "formula": part.formula}
    if part.mass_g is not None:
        document["mass"] = {"value": float(part.mass_g), "unit": "g"}
    if part.volume_ml is not None:
        document["volume"] = _ml(float(part.volume_ml))
    document["amount"] = document.get("mass") or document["volume"]
    document["moles"] = {"value": part.mol, "unit": "mol"}
    return document


def _amount(end: Endpoint) -> str:
    volume = f"{end.volume_ml:.4g} mL"
    if end.drops is None:
        return volume
    return f"{volume} ({_said(end.drops)})"


def _said(drops: Drops) -> str:
    if drops.fewest == drops.most:
        return plural(drops.count, "drop")
    return f"{plural(drops.count, 'drop')}, {drops.fewest} to {drops.most}"


def _volume_and_drops(end: Endpoint) -> dict[str, Any]:
    document: dict[str, Any] = {"volume": _ml(end.volume_ml)}
    if end.drops is not None:
        drops = end.drops
        document["drops"] = {"value": drops.count, "unit": "drops", "fewest": drops.fewest, "most": drops.most}
    return document


def _endpoint_json(end: Endpoint) -> dict[str, Any]:
    return {
        **_volume_and_drops(end),
        "ph": end.ph,
        "start_ph": end.start_ph,
        "curve": [{"volume": _ml(volume), "ph": value} for volume, value in end.curve],
        "valid": end.valid,
        "note": end.note,
    }


def _ml(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "mL"}
