"""Fire: flammable liquids by flash point, oxidising liquids by their limits.

Corrosion of metals is a test result and is never predicted; a solid oxidiser dissolved in water is not an
oxidising liquid (nor is a water-reactive solid once dissolved).
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from prep.safety.clp.ingredients import Found, Ingredient, pct
from prep.safety.model import HazardClass, Reason
from prep.safety.tables import rows

_LOW, _HIGH, _BOILS = Decimal(23), Decimal(60), Decimal(35)
_TABLE_MARGIN = Decimal(2)  # tables of ethanol and water differ by about this much
_ETHANOL = "64-17-5"
_NOT_BELOW = {"64-19-7": Fraction(80)}
_ESTIMATE_FROM = Fraction(5)


def flammable(
    ingredients: Sequence[Ingredient],
    flash_point_c: Decimal | None,
    boiling_point_c: Decimal | None,
    found: Found,
) -> None:
    """Flam. Liq. 1, 2 or 3 by the flash point [degC]: given, or the table of ethanol in water.

    For another flammable liquid without a flash point its own category is taken from 5 % up, and said.
    """
    if flash_point_c is not None:
        _by_flash_point(flash_point_c, boiling_point_c, "", found)
        return
    burning = [i for i in ingredients if i.own("Flam. Liq.")]
    if not burning:
        return
    others = [i for i in burning if i.component.cas != _ETHANOL]
    others = [i for i in others if not _too_weak(i, found)]
    if not others:
        ethanol = sum((i.pct for i in burning if i.component.cas == _ETHANOL), Fraction(0))
        if ethanol:
            _ethanol(ethanol, found)
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


def oxidising(ingredients: Sequence[Ingredient], found: Found) -> None:
    """Ox. Liq. by specific limits (hydrogen peroxide, nitric acid); a dissolved solid oxidiser is none."""
    made: list[HazardClass] = []
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
        if one.own("Ox. Sol."):
            found.say("O-1", f"{one.name} is an oxidising solid; dissolved it is not counted as Ox. Liq.", [one])
    if made:
        found.classes.append(min(made, key=lambda c: c.category))


def _by_flash_point(flash: Decimal, boils: Decimal | None, where: str, found: Found) -> None:
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


def _ethanol(share: Fraction, found: Found) -> None:
    """From the table of ethanol in water by mass, between its points; just above 23 C counts as below."""
    table = [(Fraction(r["pct_w_w"]), Fraction(r["flash_point_c"]), r["source"]) for r in rows("flash_points")]
    if share < table[0][0]:
        text = f"ethanol {pct(share)}: below {pct(table[0][0])} the flash point is above 60 C."
        found.reasons.append(Reason("F-calc", text, table[0][2], False))
        return
    low, high = next((a, b) for a, b in pairwise(table) if a[0] <= share <= b[0])
    value = low[1] + (high[1] - low[1]) * (share - low[0]) / (high[0] - low[0])
    flash = round(Decimal(value.numerator) / Decimal(value.denominator), 1)
    text = f"ethanol {pct(share)} in water: flash point about {flash.normalize():f} C by the table."
    found.reasons.append(Reason("F-calc", text, low[2], False))
    where = " (table)"
    if _LOW <= flash <= _LOW + _TABLE_MARGIN:
        flash, where = _LOW - 1, " (within 2 C of the limit in a table: taken as below it)"
    _by_flash_point(flash, None, where, found)


def _too_weak(one: Ingredient, found: Found) -> bool:
    """Water solutions of acetic or formic acid burn only when strong: by the entry, else the transport list's line."""
    if own := next(iter(one.specific("Flam. Liq.")), None):
        if not own.covers(one.pct):
            text = f"{one.name} {pct(one.pct)} <= {pct(own.lower)} (specific limit): not a flammable liquid."
            found.say("SCL", text, [one], own)
        return not own.covers(one.pct)
    limit = _NOT_BELOW.get(one.component.cas)
    if limit is None or one.pct > limit:
        return False
    found.say("UN2789", f"{one.name} {pct(one.pct)} <= {pct(limit)} in water: not a flammable liquid.", [one])
    return True
