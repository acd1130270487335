"""Acute toxicity of a mixture by the ATE formula, route by route."""

from collections.abc import Sequence
from fractions import Fraction
from functools import cache

from prep.chemistry.model import Form
from prep.records import record
from prep.resources import seed_table
from prep.safety.clp.ingredients import Ingredient, RuleResults, number, pct
from prep.safety.hazard_tables import Row, is_from_memory, keyed
from prep.safety.model import HazardClass, Reason

_H_CODES = {
    "oral": ("H300", "H300", "H301", "H302"),
    "dermal": ("H310", "H310", "H311", "H312"),
    "inhalation": ("H330", "H330", "H331", "H332"),
}
_UNKNOWN_ABOVE = Fraction(10)
_SAID_FROM = Fraction(1)


def acute(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify Acute Tox. by mouth, skin and breath: 100/ATE = sum of C/ATE, C in %, one route at a time.

    An ingredient counts from 0.1 % (category 1 to 3) or 1 % (category 4). Unknown ingredients above 10 %
    together make the rest stronger: (100 - C unknown)/ATE. Breathing in is counted by form (gas, vapour,
    dust or mist), each against its own scale.
    """
    unknown = sum((i.pct for i in ingredients if not i.known), Fraction(0))
    for route in _H_CODES:
        by_form: dict[str, list[_ToxicPart]] = {}
        for one in ingredients:
            for own in one.own("Acute Tox."):
                least = Fraction(1) if own.category == "4" else Fraction(1, 10)
                if own.route == route and one.pct >= least:
                    estimate = _estimate(one, own)
                    by_form.setdefault(estimate.form, []).append(_ToxicPart(one, estimate))
        worst: HazardClass | None = None
        for form, parts in by_form.items():
            made = _category(route, form, parts, unknown, found)
            if made and (worst is None or made.category < worst.category):
                worst = made
        if worst:
            found.classes.append(worst)
    if unknown >= _SAID_FROM:
        found.say("A-stmt", f"{pct(unknown)} of the mixture is of unknown acute toxicity.")
        found.notes.append(f"{pct(unknown)} of the mixture consists of ingredients of unknown acute toxicity.")


@record(frozen=True, slots=True)
class _Estimate:
    """The form breathed in (empty for other routes), the acute toxicity estimate, and its source if harmonised."""

    form: str
    ate: Fraction
    source: str = ""


@record(frozen=True, slots=True)
class _ToxicPart:
    """An ingredient, and its estimate."""

    ingredient: Ingredient
    estimate: _Estimate


def _category(
    route: str,
    form: str,
    parts: Sequence[_ToxicPart],
    unknown: Fraction,
    found: RuleResults,
) -> HazardClass | None:
    taken = unknown if unknown > _UNKNOWN_ABOVE else Fraction(0)
    estimate = (100 - taken) / sum((one.ingredient.pct / one.estimate.ate for one in parts), Fraction(0))
    scale = _scale(route, form)
    row = next((r for r in scale if estimate <= Fraction(r["upper_ate"])), None)
    terms = " + ".join(
        f"{number(one.ingredient.pct)}/{number(one.estimate.ate)} {one.ingredient.name}" for one in parts
    )
    over = f"(100 - {number(taken)})" if taken else "100"
    where = f"{route}, {form}" if form else route
    result = f"Acute Tox. {row['category']}" if row else "not classified"
    limit = f"<= {row['upper_ate']}" if row else f"> {scale[-1]['upper_ate']}"
    text = f"{where}: {over} / ({terms}) = {number(estimate)} {scale[0]['unit']} {limit}: {result}."
    found.say("A-unk" if taken else "A-sum", text, [one.ingredient for one in parts])
    for one in parts:
        if source := one.estimate.source:
            ate = number(one.estimate.ate)
            text = f"{one.ingredient.name}: harmonised estimate {ate} {scale[0]['unit']} used."
            found.reasons.append(Reason("ATE", text, source, not is_from_memory(source)))
    if row is None:
        return None
    return HazardClass("Acute Tox.", row["category"], _H_CODES[route][int(row["category"]) - 1], route)


def _estimate(one: Ingredient, own: HazardClass) -> _Estimate:
    """Find the acute toxicity estimate of an ingredient by a route."""
    if known := one.estimate(own.route):
        return _Estimate(known.form, known.ate, known.source)
    form = _form(one) if own.route == "inhalation" else ""
    point = next(r["point_ate"] for r in _scale(own.route, form) if r["category"] == own.category)
    return _Estimate(form, Fraction(point))


def _form(one: Ingredient) -> str:
    """Choose the form breathed in: gases as gases, liquids as vapours, what is dissolved as mist.

    Some entries say otherwise.
    """
    row = keyed("inhalation_form", "cas").get(one.component.cas)
    if row:
        return row["form"]
    return {Form.GAS: "gases", Form.LIQUID: "vapours"}.get(one.component.form, "dust/mist")


@cache
def _scale(route: str, form: str) -> tuple[Row, ...]:
    return tuple(r for r in seed_table("acute_toxicity") if r["route"] == route and r["form"] == form)
