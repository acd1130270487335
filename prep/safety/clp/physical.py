"""Fire: flammable liquids by flash point, oxidising liquids by their limits.

Corrosion of metals is a test result and is never predicted; a solid oxidiser dissolved in water is not an
oxidising liquid (nor is a water-reactive solid once dissolved).
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import pairwise

from prep.chemistry.model import Form
from prep.chemistry.quantities import decimal_of
from prep.records import record
from prep.resources import seed_table
from prep.safety.clp.ingredients import Ingredient, RuleResults, pct
from prep.safety.model import HazardClass, Reason

_LOW, _HIGH, _BOILS = Decimal(23), Decimal(60), Decimal(35)
_TABLE_MARGIN = Decimal(1)  # tables of one liquid in water differ by about this much
_ESTIMATE_FROM = Fraction(5)
_DRY = Fraction(95)  # % w/w of solids from which what is left may be dampness, and is no solution: no source


@record(frozen=True, slots=True)
class FlashPoint:
    """One point of a table: % w/w of a liquid in water, its flash point [degC], source, whether that was read."""

    pct: Fraction
    celsius: Fraction
    source: str
    checked: bool
    liquid: str


def flammable(
    ingredients: Sequence[Ingredient],
    flash_point_c: Decimal | None,
    boiling_point_c: Decimal | None,
    found: RuleResults,
) -> None:
    """Classify Flam. Liq. 1, 2 or 3 by the flash point [degC]: given, or a table of that liquid in water.

    For another flammable liquid without a flash point its own category is taken from 5 % up, and said.
    """
    if flash_point_c is not None:
        _by_flash_point(flash_point_c, boiling_point_c, "", found)
        return
    burning = [i for i in ingredients if i.own("Flam. Liq.")]
    if not burning:
        return
    burning = [i for i in burning if not _too_weak(i, found)]
    kinds = {i.component.cas for i in burning}
    if not kinds:
        return
    if len(kinds) == 1 and (table := _in_water(kinds.pop())):
        _by_table(burning[0].name, sum((i.pct for i in burning), Fraction(0)), table, found)
        return
    worst = min(burning, key=lambda i: i.own("Flam. Liq.")[0].category)
    together = sum((i.pct for i in burning), Fraction(0))
    names = " + ".join(i.name for i in burning)
    if together >= _ESTIMATE_FROM:
        own = worst.own("Flam. Liq.")[0]
        text = f"{names} {pct(together)}: flash point not given, taken as {own} like {worst.name} itself"
        found.reasons.append(Reason("F-calc", f"{text} until measured.", "common practice, no source", False))
        found.classes.append(own)
    else:
        found.reasons.append(Reason("F-calc", f"{names} {pct(together)}: flash point not known.", "", False))
    found.notes.append("The flash point of this mixture is not known; keep flames away.")


def oxidising(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify Ox. Liq. by specific limits (hydrogen peroxide, nitric acid).

    A dissolved solid oxidiser is none; in a mixture of solids without water it keeps its class until that is tested.
    """
    made: list[HazardClass] = []
    dry = all(one.component.form is Form.SOLID for one in ingredients) and sum(one.pct for one in ingredients) >= _DRY
    if dry:
        _solid_oxidisers(ingredients, found)
    for one in ingredients:
        specific = one.specific("Ox. Liq.")
        for limit in specific:
            if limit.covers(one.pct):
                own = HazardClass("Ox. Liq.", limit.category, limit.h_code)
                made.append(own)
                found.say(
                    "SCL",
                    f"{one.name} {pct(one.pct)} >= {pct(limit.lower)} (specific limit): {own}.",
                    [one],
                    limit,
                )
        if specific and one.pct < min(s.lower for s in specific):
            lowest = min(specific, key=lambda s: s.lower)
            text = f"{one.name} {pct(one.pct)} < {pct(lowest.lower)} (specific limit): not oxidising."
            found.say("SCL", text, [one], lowest)
        if one.own("Ox. Sol.") and not dry:
            found.say("O-1", f"{one.name} is an oxidising solid; dissolved it is not counted as Ox. Liq.", [one])
    if made:
        found.classes.append(min(made, key=lambda c: c.category))


def _solid_oxidisers(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify Ox. Sol. as the severest oxidiser of a mixture of solids: at which share that ends is for a test."""
    oxidisers = [one for one in ingredients if one.own("Ox. Sol.")]
    if not oxidisers:
        return
    worst = min(oxidisers, key=lambda one: one.own("Ox. Sol.")[0].category)
    own = worst.own("Ox. Sol.")[0]
    if len(ingredients) > 1:
        text = f"{worst.name} {pct(worst.pct)} in a mixture of solids: taken as {own} until it is tested."
        found.say("O-2", text, [worst])
    else:
        found.say("O-2", f"{worst.name} {pct(worst.pct)}, a solid: {own}.", [worst])
    found.classes.append(own)


def _by_flash_point(flash: Decimal, boils: Decimal | None, where: str, found: RuleResults) -> None:
    shown = f"flash point {flash.normalize():f} C{where}"
    if flash > _HIGH:
        found.say("F-3", f"{shown} > 60 C: not a flammable liquid.")
        return
    if flash >= _LOW:
        found.say("F-3", f"23 C <= {shown} <= 60 C: Flam. Liq. 3 H226.")
        if flash > _BOILS:
            found.say("F-sus", "Above 35 C: exempt if it does not sustain burning (test); not taken here.")
        found.classes.append(HazardClass("Flam. Liq.", "3", "H226"))
        return
    one = boils is not None and boils <= _BOILS
    code = ("1", "H224") if one else ("2", "H225")
    point = f", boiling from {boils} C" if boils is not None else ""
    found.say("F-1" if one else "F-2", f"{shown} < 23 C{point}: Flam. Liq. {' '.join(code)}.")
    found.classes.append(HazardClass("Flam. Liq.", *code))


@cache
def _in_water(cas: str) -> tuple[FlashPoint, ...]:
    """Find the flash points of one liquid in water, weakest first; none where there is no table."""
    return tuple(
        FlashPoint(
            Fraction(r["pct_w_w"]), Fraction(r["flash_point_c"]), r["source"], r["confidence"] == "seen", r["name"]
        )
        for r in seed_table("flash_points")
        if r["cas"] == cas
    )


def _by_table(name: str, share: Fraction, table: tuple[FlashPoint, ...], found: RuleResults) -> None:
    """Classify by a table of flash points by mass, between its points; just above 23 C counts as below."""
    first, last = table[0], table[-1]
    if share < first.pct:
        text = f"{name} {pct(share)}: below {pct(first.pct)} the flash point is above 60 C."
        found.reasons.append(Reason("F-calc", text, first.source, first.checked))
        return
    share = min(share, last.pct)
    low, high = next((a, b) for a, b in pairwise(table) if a.pct <= share <= b.pct)
    value = low.celsius + (high.celsius - low.celsius) * (share - low.pct) / (high.pct - low.pct)
    flash = round(decimal_of(value), 1)
    text = f"{name} {pct(share)} w/w in water: flash point about {flash.normalize():f} C by the table."
    found.reasons.append(Reason("F-calc", text, low.source, low.checked))
    where = " (table)"
    if _LOW <= flash <= _LOW + _TABLE_MARGIN:
        flash, where = _LOW - 1, " (within 1 C of the limit in a table: taken as below it)"
    _by_flash_point(flash, None, where, found)


def _too_weak(one: Ingredient, found: RuleResults) -> bool:
    """Tell whether its entry says that so little of it in water is not flammable (formic acid)."""
    own = next(iter(one.specific("Flam. Liq.")), None)
    if own is None or own.covers(one.pct):
        return False
    text = f"{one.name} {pct(one.pct)} <= {pct(own.lower)} (specific limit): not a flammable liquid."
    found.say("SCL", text, [one], own)
    return True
