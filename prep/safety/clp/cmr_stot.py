"""Allergy, genes, cancer, fertility and the unborn, organs, aspiration: each ingredient alone, no adding.

Aspiration is the exception: its ingredients are added.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from prep.resources import seed_table
from prep.safety.clp.ingredients import Ingredient, RuleResults, SpecificLimit, cite, pct
from prep.safety.clp.label_elements import SupplementalHazard
from prep.safety.model import HazardClass, Reason

_RANK = {"1A": 0, "1": 1, "1B": 2, "2": 3, "": 4}
_ONE_BY_ONE = ("Muta.", "Carc.", "STOT SE", "STOT RE", "Lact.")
_SENSITISERS = {"Resp. Sens.": "H334", "Skin Sens.": "H317"}
_ELICITS = {"1A": Fraction(1, 100), "1": Fraction(1, 10), "1B": Fraction(1, 10)}
_H_BY_CATEGORY = {("STOT SE", "1"): "H370", ("STOT SE", "2"): "H371", ("STOT RE", "1"): "H372"}
_H_BY_CATEGORY |= {("STOT RE", "2"): "H373"}
_ASPIRATION = Fraction(10)


def one_by_one(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify Muta., Carc., STOT SE 1 and 2, STOT RE, Lact.: the worst that any single ingredient brings."""
    for hazard_class in _ONE_BY_ONE:
        made = [m for one in ingredients for m in _triggers(one, hazard_class, found)]
        if made:
            best = min(made, key=lambda c: _RANK[c.category])
            code = best.h_code
            if hazard_class == "Carc." and any(m.h_code == "H350" for m in made if best.category != "2"):
                code = "H350"
            found.classes.append(HazardClass(hazard_class, best.category, code))


def reproduction(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify Repr. with the letters of all ingredients together.

    F is fertility, D the unborn; a small letter is only suspected. A specific limit for one letter (suspected
    infertility of soluble lead) leaves the other at its own.
    """
    known: set[str] = set()
    suspected: set[str] = set()
    categories: list[str] = []
    boron = sum((i.counted for i in ingredients if i.entry and "11" in i.entry.notes and i.own("Repr.")), Fraction(0))
    for one in ingredients:
        together = one.entry is not None and "11" in one.entry.notes
        for own in one.own("Repr."):
            letters = re.sub(r"^H36[01]", "", own.h_code)
            own_letter = {s.h_code[-1]: s for s in one.specific("Repr.") if s.h_code[-1] in letters}
            rest = "".join(letter for letter in letters if letter not in own_letter)
            for letter, limit in own_letter.items():
                if _passes(one, "Repr.", limit.category, limit.h_code, limit.lower, limit, "R-2clp", found):
                    (suspected if letter.islower() else known).add(letter.upper())
                    categories.append(limit.category)
            row = _generic("Repr.", own.category)[0]
            lower, rule = Fraction(row["lower_pct"]), row["rule"]
            if together and boron > one.counted:
                text = f"boron compounds add up (Note 11): {pct(boron)} together"
                found.reasons.append(Reason("Note 11", f"{text}, {one.name} {pct(one.counted)}.", one.component.source))
                one = replace(one, counted=boron)
            if (rest or not letters) and _passes(
                one, "Repr.", own.category, own.h_code[:4] + rest, lower, None, rule, found
            ):
                categories.append(own.category)
                known |= {c for c in rest if c.isupper()}
                suspected |= {c.upper() for c in rest if c.islower()}
    if not categories:
        return
    best = min(categories, key=lambda c: _RANK[c])
    suspected -= known
    order = [c for c in "FD" if c in known] + [c.lower() for c in "FD" if c in suspected]
    found.classes.append(HazardClass("Repr.", best, ("H361" if best == "2" else "H360") + "".join(order)))


def sensitising(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify Resp. Sens. and Skin Sens.

    EUH208 stands for each allergen too little to classify but enough to elicit.
    """
    named: list[str] = []
    for hazard_class, code in _SENSITISERS.items():
        made: list[HazardClass] = []
        for one in ingredients:
            triggered = _triggers(one, hazard_class, found)
            made += triggered
            own = one.own(hazard_class) or tuple(
                HazardClass(hazard_class, s.category, code) for s in one.specific(hazard_class)
            )
            if own and not triggered and one.name not in named:
                elicits = _ELICITS[own[0].category]
                specific = [s.lower for s in one.specific(hazard_class) if s.lower < Fraction(1, 10)]
                elicits = min([elicits, *(lower / 10 for lower in specific)])
                if one.counted >= elicits:
                    named.append(one.name)
                    text = f"{one.name} {pct(one.counted)} >= {pct(elicits)} ({hazard_class} {own[0].category})"
                    found.say("N-eli", f"{text}: EUH208.", [one])
        if made:
            found.classes.append(HazardClass(hazard_class, min(made, key=lambda c: _RANK[c.category]).category, code))
    if named:
        found.euh.append(SupplementalHazard("EUH208", ", ".join(named)))


def aspiration(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify Asp. Tox. 1: 10 % or more together, in a thin liquid.

    Thin is at most 20.5 mm2/s at 40 C, taken for granted.
    """
    parts = [i for i in ingredients if i.own("Asp. Tox.") and i.pct >= 1]
    if not parts:
        return
    total = sum((i.pct for i in parts), Fraction(0))
    reached = total >= _ASPIRATION
    end = "Asp. Tox. 1 H304" if reached else "not classified for aspiration"
    names = " + ".join(i.name for i in parts)
    found.say("P-1", f"{names} {pct(total)} {'>=' if reached else '<'} 10 %, taken as a thin liquid: {end}.", parts)
    if reached:
        found.classes.append(HazardClass("Asp. Tox.", "1", "H304"))


def _triggers(one: Ingredient, hazard_class: str, found: RuleResults) -> list[HazardClass]:
    """Find what one ingredient alone makes of the mixture in a class: by its own limits, else the generic ones."""
    specific = [s for s in one.specific(hazard_class) if s.category != "3"]
    if specific:
        return [
            HazardClass(hazard_class, s.category, s.h_code)
            for s in specific
            if _passes(one, hazard_class, s.category, s.h_code, s.lower, s, "CMR-add", found)
            and (s.upper is None or one.stated < s.upper)
        ][:1]
    for own in one.own(hazard_class):
        if own.category == "3":
            continue
        generic = _generic(hazard_class, own.category)
        for row in generic:
            code = _H_BY_CATEGORY.get((hazard_class, row["result"]), own.h_code)
            lower = Fraction(row["lower_pct"])
            last = row is generic[-1]
            if one.counted >= lower or last:
                hit = _passes(one, hazard_class, row["result"], code, lower, None, row["rule"], found)
                return [HazardClass(hazard_class, row["result"], code)] if hit else []
    return []


def _generic(hazard_class: str, category: str) -> list[dict[str, str]]:
    return [r for r in seed_table("generic_limits") if r["hazard_class"] == hazard_class and r["category"] == category]


def _passes(
    one: Ingredient,
    hazard_class: str,
    category: str,
    code: str,
    lower: Fraction,
    limit: SpecificLimit | None,
    rule: str,
    found: RuleResults,
) -> bool:
    share = one.against(limit)
    hit = limit.reached(share) if limit else share >= lower
    name = f"{hazard_class} {category}".strip()
    end = f"{name} {code}" if hit else f"no {name}"
    kind = "specific limit" if limit else "limit"
    text = f"{one.name} {pct(share)} {'>=' if hit else '<'} {pct(lower)} ({kind}): {end}."
    rests_on = limit or cite(rule)
    found.reasons.append(Reason("SCL" if limit else rule, text, rests_on.source, rests_on.checked and one.checked))
    return hit


def supplemental(ingredients: Iterable[Ingredient], found: RuleResults) -> None:
    """Add the EUH statements that a mixture carries on from an ingredient.

    EUH031 and EUH032 by the entry's limit, EUH019 too from 1 % (own reading: the regulation gives no number);
    EUH071 where the mixture is corrosive and its ingredient makes it so.
    """
    ingredients = list(ingredients)
    for code in ("EUH019", "EUH031", "EUH032"):
        for one in ingredients:
            limit = next((s for s in one.limits if s.hazard_class == code), None)
            if not limit and code not in one.component.supplemental:
                continue
            lower = limit.lower if limit else Fraction(1)
            hit = one.pct >= lower
            text = f"{one.name} {pct(one.pct)} {'>=' if hit else '<'} {pct(lower)}"
            found.say("SCL" if limit else "EUH-acid", f"{text}: {'' if hit else 'no '}{code}.", [one], limit)
            if hit and SupplementalHazard(code) not in found.euh:
                found.euh.append(SupplementalHazard(code))
    if not any(c.hazard_class == "Skin Corr." for c in found.classes):
        return
    corrosive = SupplementalHazard("EUH071")
    for one in ingredients:
        if corrosive.code in one.component.supplemental and _corrodes(one) and corrosive not in found.euh:
            found.euh.append(corrosive)
            found.say("EUH-resp", f"{one.name} {pct(one.pct)} makes the mixture corrosive: EUH071.", [one])


def _corrodes(one: Ingredient) -> bool:
    """Tell whether an ingredient alone reaches its lowest limit for corrosion."""
    limits = [s.lower for s in one.specific("Skin Corr.")] or [Fraction(5)]
    return one.pct >= min(limits)
