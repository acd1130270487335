"""An indicator's colours for a person: by pH, or by the potential, the metal or the precipitate that changes them."""

from collections.abc import Sequence
from typing import Any

from prep.chemistry import quantities
from prep.chemistry.acid_base import indicators
from prep.chemistry.acid_base.other_indicators import OtherIndicator, other_indicator
from prep.chemistry.model import Line
from prep.errors import PrepError
from prep.services.calc.arithmetic import Answer


def indicator(name: str, at: Sequence[str]) -> Answer:
    """Describe an indicator's changes; its colour at a pH; at two, whether they look alike. Raises PrepError."""
    if len(at) > 2:
        raise PrepError("Give --ph once, or twice to compare two dishes.")
    if not at and (other := other_indicator(name)) is not None:
        return _of_something_else(other)
    found = indicators.indicator(name)
    says = [found.name + (f" ({', '.join(found.other_names)})" if found.other_names else "")]
    for change in found.changes:
        pkin = f", pKin {change.pkin:g}" if change.pkin is not None else ""
        note = f" ({change.note})" if change.note and change.note not in "".join(says) else ""
        says.append(
            f"  {change.colour_low} up to pH {change.ph_low:g}, {change.colour_high} from pH "
            f"{change.ph_high:g}{pkin}{note}"
        )
    working = [
        Line(f"pH {c.ph_low:g} to {c.ph_high:g}: {c.colour_low} to {c.colour_high}", c.source) for c in found.changes
    ]
    document: dict[str, Any] = {
        "name": found.name,
        "other_names": list(found.other_names),
        "changes": [
            {
                "ph_low": c.ph_low,
                "ph_high": c.ph_high,
                "colour_low": c.colour_low,
                "colour_high": c.colour_high,
                "pkin": c.pkin,
                "note": c.note,
                "source": c.source,
            }
            for c in found.changes
        ],
    }
    values = [float(quantities.ph(text)) for text in at]
    shades = []
    for value in values:
        shade = indicators.shade_at(found, value)
        share = None if shade.change.pkin is None else indicators.share_high(shade.change, value)
        shades.append({"ph": value, "colour": shade.colour, "state": shade.state, "share_high": share})
        says.append(f"at pH {value:g}: {shade.colour}")
        if share is not None:
            form, half = shade.change.colour_high, indicators.half_at(shade.change)
            why = "" if half == shade.change.pkin else ", the middle of its range, as pKin is not within it,"
            says_share = f"share in the {form} form at pH {value:g}, half at {half:g}{why}"
            working.append(Line(f"{says_share} = 1/(1 + 10^({half:g} - {value:g})) = {share:.3f}"))
    if shades:
        document["at"] = shades
        document |= {"ph": shades[0]["ph"], "colour": shades[0]["colour"], "state": shades[0]["state"]}
    if len(values) == 2:
        both = indicators.same_at_both(found, *values)
        says.append(both.sentence)
        document["alike"] = both.same
    return Answer(tuple(says), document, tuple(working))


def _of_something_else(one: OtherIndicator) -> Answer:
    """Describe an indicator of a potential, a metal, a precipitate or iodine: its colours and where they change."""
    at = f" at {one.potential_v:.2f} V" if one.potential_v is not None else ""
    says = [
        one.name + (f" ({', '.join(one.other_names)})" if one.other_names else ""),
        f"  answers to {one.kind.answers_to}, not to pH: {one.colour_before}, then {one.colour_after}{at}, "
        f"{one.conditions}",
        f"  used for: {one.used_for}",
    ]
    document = {
        "name": one.name,
        "other_names": list(one.other_names),
        "kind": one.kind.value,
        "changes": [],
        "potential": None if one.potential_v is None else {"value": one.potential_v, "unit": "V"},
        "conditions": one.conditions,
        "colour_before": one.colour_before,
        "colour_after": one.colour_after,
        "used_for": one.used_for,
        "source": one.source,
    }
    return Answer(tuple(says), document, (Line(f"{one.colour_before} to {one.colour_after}", one.source),))
