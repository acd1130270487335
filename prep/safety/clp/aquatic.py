"""Hazard to water life: sums of percentages times M-factors against 25 %."""

from collections.abc import Sequence
from fractions import Fraction

from prep.records import record
from prep.safety.clp.ingredients import Ingredient, RuleResults, number
from prep.safety.model import HazardClass, Reason

_SUM = Fraction(25)
_CUT_OFF_1 = Fraction(1, 10)
_CUT_OFF = Fraction(1)

_CHRONIC = (("W-c1", 1, "1", "H410"), ("W-c2", 10, "2", "H411"), ("W-c3", 100, "3", "H412"))


@record(frozen=True, slots=True)
class AquaticPart:
    """An ingredient, its category, and its M-factor (1 beyond category 1)."""

    ingredient: Ingredient
    category: str
    m: int = 1


_ACUTE_1 = HazardClass("Aquatic Acute", "1", "H400")


def aquatic(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify hazard to water life: Aquatic Acute 1; Aquatic Chronic 1, 2 or 3, or 4.

    For Chronic 1, 2 or 3 a category 1 ingredient counts 1, 10 or 100 times. Each M-factor has its source.
    """
    acute = _first(ingredients, "Aquatic Acute", found)
    if acute and _reached(found, "W-a1", "acute", acute, 1, _ACUTE_1):
        found.classes.append(_ACUTE_1)
    parts = _first(ingredients, "Aquatic Chronic", found)
    for rule, weight, category, code in _CHRONIC:
        if category != "1":
            parts = [*parts, *_other(ingredients, category)]
        result = HazardClass("Aquatic Chronic", category, code)
        if parts and _reached(found, rule, "long-term", parts, weight, result):
            found.classes.append(result)
            return
    fourth = _other(ingredients, "4")
    together = sum((one.ingredient.pct for one in [*parts, *fourth]), Fraction(0))
    if fourth and together >= _SUM:
        found.say("W-c4", f"long-term: together {number(together)} >= 25: Aquatic Chronic 4 H413.")
        found.classes.append(HazardClass("Aquatic Chronic", "4", "H413"))


def _first(ingredients: Sequence[Ingredient], hazard_class: str, found: RuleResults) -> list[AquaticPart]:
    """List category 1 ingredients above 0.1 %/M, with their M-factor."""
    parts: list[AquaticPart] = []
    for one in ingredients:
        if not any(c.category == "1" for c in one.own(hazard_class)):
            continue
        known = one.m_factor(hazard_class)
        m = known.times if known else 1
        if one.pct < _CUT_OFF_1 / m:
            continue
        parts.append(AquaticPart(one, "1", m))
        text = f"{one.name}, {hazard_class} 1: M = {m}"
        if known:
            found.reasons.append(Reason("W-m", f"{text}.", known.source, known.seen))
        else:
            found.reasons.append(Reason("W-m", f"{text} (none given for the entry).", "", False))
    return parts


def _other(ingredients: Sequence[Ingredient], category: str) -> list[AquaticPart]:
    """List ingredients of a lesser long-term category, from 1 % up."""
    return [
        AquaticPart(i, category)
        for i in ingredients
        if i.pct >= _CUT_OFF and any(c.category == category for c in i.own("Aquatic Chronic"))
    ]


def _reached(
    found: RuleResults, rule: str, what: str, parts: Sequence[AquaticPart], weight: int, result: HazardClass
) -> bool:
    """Tell whether the weighted sum reaches 25 %, and write the sum down."""
    total = Fraction(0)
    terms = []
    for part in parts:
        one, factor = part.ingredient, weight // {"1": 1, "2": 10, "3": 100}[part.category]
        total += factor * part.m * one.pct
        terms.append(" x ".join([*(str(n) for n in (factor, part.m) if n > 1), f"{number(one.pct)} {one.name}"]))
    reached = total >= _SUM
    end = str(result) if reached else f"no {result.without_statement}"
    text = f"{what}: {' + '.join(terms)} = {number(total)} {'>=' if reached else '<'} 25: {end}."
    found.say(rule, text, [one.ingredient for one in parts])
    return reached
