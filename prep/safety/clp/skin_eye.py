"""Skin corrosion and irritation, eye damage and irritation, extreme pH; STOT SE 3, which adds the same way.

Each ingredient's share of its own limit is added, C1/L1 + C2/L2 + ... >= 1, the specific limit before the
generic one. With generic limits only this is the published additivity with its tenfold weight.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from prep.records import record
from prep.safety.clp.ingredients import Ingredient, RuleResults, SpecificLimit, cite, number, pct
from prep.safety.clp.ph import acidity
from prep.safety.model import ACIDS, ALKALIS, HazardClass, Reason

_CUT_OFF = Fraction(1)
_CORROSIVE, _IRRITANT = Fraction(5), Fraction(10)  # Table 3.2.3
_DAMAGE, _EYE_IRRITANT = Fraction(3), Fraction(10)  # Table 3.3.3
_WEIGHTED = Fraction(1)  # 10 % over the weight of 10
_EFFECT = Fraction(20)  # 3.8.3.4.5
_SEVERITY = ("1A", "1B", "1C", "1")
ACID_PH, ALKALI_PH = Decimal(2), Decimal("11.5")
_ACIDS_AND_BASES = ACIDS | ALKALIS | {"amine", "hypochlorite", "sulfide"}  # storage groups
_SKIN_IRRITANT = HazardClass("Skin Irrit.", "2", "H315")
_EYE_DAMAGING = HazardClass("Eye Dam.", "1", "H318")
_EYE_IRRITANT_CLASS = HazardClass("Eye Irrit.", "2", "H319")


@record(frozen=True, slots=True)
class LimitShare:
    """An ingredient, the limit [%] that it is weighed against, and the specific limit that gives it, if one does."""

    ingredient: Ingredient
    limit: Fraction
    specific: SpecificLimit | None = None

    @property
    def pct(self) -> Fraction:
        """What of the ingredient is weighed [%]."""
        return self.ingredient.against(self.specific)

    @property
    def part(self) -> Fraction:
        """How much of its limit it makes up."""
        return self.pct / self.limit


def skin(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify Skin Corr. 1A, 1B, 1C, 1 or Skin Irrit. 2."""
    relevant = [i for i in ingredients if i.pct >= _cut_off(i, "Skin Corr.", "Skin Irrit.")]
    unsplit = any(c.category == "1" for i in relevant for c in i.own("Skin Corr."))
    for level, category in enumerate(_SEVERITY):
        shares = [
            share for i in relevant if (share := _lowest(_corrosive_limits(i), _SEVERITY[: level + 1])) is not None
        ]
        if _reached(shares):
            corrosive = HazardClass("Skin Corr.", "1" if unsplit else category, "H314")
            _say(found, "S-1", shares, corrosive, scl_rule="S-scl")
            found.classes.append(corrosive)
            return
    shares = [share for i in relevant if (share := _irritant_share(i)) is not None]
    if not shares:
        return
    rule = "S-2b" if all(i.own("Skin Irrit.") for i in (share.ingredient for share in shares)) else "S-2c"
    if len(shares) == 1 and rule == "S-2c":
        rule = "S-2a"
    _say(found, rule, shares, _SKIN_IRRITANT, scl_rule="S-scl")
    if _reached(shares):
        found.classes.append(_SKIN_IRRITANT)


def eye(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify Eye Dam. 1 or Eye Irrit. 2; nothing beside Skin Corr. 1, which implies eye damage."""
    if any(one.hazard_class == "Skin Corr." for one in found.classes):
        # Adds no class, so the result does not rest on this rule.
        text = "Corrosive to skin is damaging to eyes too; H318 is not printed beside H314."
        found.reasons.append(Reason("E-imp", text, cite("E-imp").source))
        return
    relevant = [i for i in ingredients if i.pct >= _cut_off(i, "Eye Dam.", "Eye Irrit.")]
    shares = [share for i in relevant if (share := _damage_share(i)) is not None]
    if _reached(shares):
        _say(found, "E-1", shares, _EYE_DAMAGING, scl_rule="S-scl")
        found.classes.append(_EYE_DAMAGING)
        return
    shares = [share for i in relevant if (share := _eye_irritant_share(i)) is not None]
    if not shares:
        return
    rule = "E-2b" if all(not _damages(i) for i in (share.ingredient for share in shares)) else "E-2c"
    if len(shares) == 1 and rule == "E-2c":
        rule = "E-2a"
    _say(found, rule, shares, _EYE_IRRITANT_CLASS, scl_rule="S-scl")
    if _reached(shares):
        found.classes.append(_EYE_IRRITANT_CLASS)


def single_exposure_3(ingredients: Sequence[Ingredient], found: RuleResults) -> None:
    """Classify STOT SE 3: breathing irritation (H335) and drowsiness (H336), each added apart."""
    for code in ("H335", "H336"):
        shares: list[LimitShare] = []
        for one in ingredients:
            specific = [s for s in one.specific("STOT SE") if s.h_code == code]
            limit = specific[0] if specific else None
            generic = any(c.h_code == code for c in one.own("STOT SE"))
            if (limit or generic) and one.pct >= min(_CUT_OFF, limit.lower if limit else _CUT_OFF):
                shares.append(LimitShare(one, limit.lower if limit else _EFFECT, limit))
        if shares:
            result = HazardClass("STOT SE", "3", code)
            _say(found, "T-se3", shares, result, scl_rule="S-scl")
            if _reached(shares):
                found.classes.append(result)


def extreme_ph(ingredients: Sequence[Ingredient], measured: Decimal | None, found: RuleResults) -> None:
    """Classify a pH of 2 or less, or 11.5 or more: corrosive, unless other information is at hand.

    Other information is, for every acid or base that makes it so: a specific limit for skin, a generic limit that
    the entry is known to follow (ammonia), or a row that says it is not corrosive undiluted (dilution does not
    make it worse). What damages the eyes undiluted keeps the pH rule for the eyes (3.3.3.1.2).
    The pH is `measured`, else computed; where that cannot be, and it matters, that is said.
    """
    if any(c.hazard_class == "Skin Corr." for c in found.classes):
        return
    if measured is not None:
        _judge_ph(measured, _by_group(ingredients, measured), found)
        return
    computed = acidity([one.component for one in ingredients])
    sided = [i for i in ingredients if i.component.group in _ACIDS_AND_BASES]
    silent = [i for i in sided if not _excuse(i)]
    if computed.ph is None:
        if silent:
            names = " and ".join(i.name for i in silent)
            text = f"pH not known: {computed.how}. Nothing else is known of {names}: the pH rule is not applied."
            found.reasons.append(Reason("S-ph", text, cite("S-ph").source, False))
            found.notes.append("pH not known: at 2 or less, or 11.5 or more, it is corrosive. Measure it.")
        return
    extreme = not ACID_PH < computed.ph < ALKALI_PH
    if extreme or sided:
        # Where every acid and base has limits of its own the pH adds no class, and the result does not rest on it.
        text = f"pH {computed.ph} computed: {computed.how}."
        found.reasons.append(Reason("S-ph", text, computed.source, computed.checked or not silent))
    if extreme:
        alone = [i for i in ingredients if _as_extreme(acidity([i.component]).ph, computed.ph)]
        _judge_ph(computed.ph, alone or _by_group(ingredients, computed.ph), found)


def _judge_ph(ph: Decimal, causes: Sequence[Ingredient], found: RuleResults) -> None:
    """Judge what a pH makes of a mixture, with the ingredients that make it so."""
    if ACID_PH < ph < ALKALI_PH:
        return
    shown = f"{ph.normalize():f}"
    told = [(i, why) for i in causes if (why := _excuse(i))]
    if causes and len(told) == len(causes):
        why = "; ".join(f"{i.name}: {why}" for i, why in told)
        found.say("S-ph", f"pH {shown} is extreme, the pH rule is set aside ({why}).", causes)
        harms = [i for i, _ in told if i.own("Eye Dam.") and not i.specific("Eye Dam.", "Eye Irrit.")]
        if harms and not any(c.hazard_class == "Eye Dam." for c in found.classes):
            found.classes[:] = [c for c in found.classes if c.hazard_class != "Eye Irrit."]
            found.classes.append(_EYE_DAMAGING)
            names = " and ".join(i.name for i in harms)
            text = f"pH {shown} is extreme, and {names} undiluted damages the eyes: Eye Dam. 1 H318."
            found.say("E-ph", text, harms)
            found.notes.append(
                f"pH about {shown}: a test of it, or the supplier's data sheet, may say less for the eyes."
            )
            return
        found.notes.append(f"pH about {shown}: protect the eyes although no class applies by pH.")
        return
    found.classes[:] = [c for c in found.classes if c.hazard_class not in ("Skin Irrit.", "Eye Irrit.", "Eye Dam.")]
    found.classes.append(HazardClass("Skin Corr.", "1", "H314"))
    limit = "<= 2" if ph <= ACID_PH else ">= 11.5"
    what = " and ".join(i.name for i in causes if not _excuse(i)) or "the mixture"
    found.say("S-ph", f"pH {shown} {limit}, no other information on {what}: Skin Corr. 1 H314.", causes)
    found.say("E-ph", "The same pH rule holds for the eyes; covered by H314.")
    found.notes.append(
        f"Corrosive by its pH alone, about {shown}. A test of it, or the supplier's data sheet for that strength, may "
        "say less; a small reserve of acid or alkali alone does not."
    )


def _by_group(ingredients: Sequence[Ingredient], ph: Decimal) -> list[Ingredient]:
    return [i for i in ingredients if _can_cause(i, sour=ph <= ACID_PH)]


def _as_extreme(ph: Decimal | None, whole: Decimal) -> bool:
    """Tell whether an ingredient's own pH is extreme on the side that the whole is."""
    return ph is not None and (ph <= ACID_PH if whole <= ACID_PH else ph >= ALKALI_PH)


def _corrosive_limits(one: Ingredient) -> dict[str, LimitShare]:
    specific = one.specific("Skin Corr.")
    if specific:
        return {s.category: LimitShare(one, s.lower, s) for s in specific}
    return {c.category: LimitShare(one, _CORROSIVE) for c in one.own("Skin Corr.")}


def _lowest(limits: dict[str, LimitShare], categories: Sequence[str]) -> LimitShare | None:
    return min((limits[c] for c in categories if c in limits), key=lambda share: share.limit, default=None)


def _irritant_share(one: Ingredient) -> LimitShare | None:
    if specific := one.specific("Skin Irrit."):
        return LimitShare(one, specific[0].lower, specific[0])
    if _corrosive_limits(one):
        return LimitShare(one, _WEIGHTED)
    return LimitShare(one, _IRRITANT) if one.own("Skin Irrit.") else None


def _damages(one: Ingredient) -> bool:
    return bool(_corrosive_limits(one) or one.own("Eye Dam.") or one.specific("Eye Dam."))


def _damage_share(one: Ingredient) -> LimitShare | None:
    """Find an ingredient's share of eye damage from its own limit, or from where its irritant band ends."""
    specific = one.specific("Eye Dam.")
    if specific:
        return LimitShare(one, specific[0].lower, specific[0])
    if band := one.specific("Eye Irrit."):
        return LimitShare(one, band[0].upper, band[0]) if band[0].upper else None
    return LimitShare(one, _DAMAGE) if _damages(one) else None


def _eye_irritant_share(one: Ingredient) -> LimitShare | None:
    if specific := one.specific("Eye Irrit."):
        return LimitShare(one, specific[0].lower, specific[0])
    if _damages(one):
        return LimitShare(one, _WEIGHTED)
    return LimitShare(one, _EYE_IRRITANT) if one.own("Eye Irrit.") else None


def _can_cause(one: Ingredient, *, sour: bool) -> bool:
    if not one.known:
        return True
    group = one.component.group
    return group in (ACIDS if sour else ALKALIS) or bool(one.own("Skin Corr.") and group not in ACIDS | ALKALIS)


def _excuse(one: Ingredient) -> str:
    if one.specific("Skin Corr.", "Skin Irrit."):
        return "its specific limits are other information"
    if one.component.cas in _GENERIC_HOLDS:
        return "its entry has no specific limit for skin; the generic limits 5 % and 1 % apply"
    if one.known and not one.classes:
        return "its row says that it is not classified, and dilution does not make it worse"
    lesser = one.own("Skin Irrit.", "Eye Dam.", "Eye Irrit.")
    if lesser and not one.own("Skin Corr."):
        return f"undiluted it is {lesser[0]}, not corrosive to skin, and dilution does not make it worse"
    return ""


# Ammonia: the entry names a limit for STOT SE 3 only.
_GENERIC_HOLDS = frozenset({"1336-21-6"})


def _cut_off(one: Ingredient, *hazard_classes: str) -> Fraction:
    return min([_CUT_OFF, *(s.lower for s in one.specific(*hazard_classes))])


def _reached(shares: Sequence[LimitShare]) -> bool:
    return sum((share.part for share in shares), Fraction(0)) >= 1


def _say(found: RuleResults, rule: str, shares: Sequence[LimitShare], result: HazardClass, *, scl_rule: str) -> None:
    """Write one line: the sum of shares against 1, or one percentage against its limit."""
    reached = _reached(shares)
    end = str(result) if reached else f"no {result.without_statement}"
    with_limit = [share.specific for share in shares if share.specific]
    if len(shares) == 1:
        (share,) = shares
        kind = "specific limit" if share.specific else "limit"
        is_ = ">=" if reached else "<"
        text = f"{share.ingredient.name} {pct(share.pct)} {is_} {pct(share.limit)} ({kind}): {end}."
        found.say("SCL" if share.specific else rule, text, [share.ingredient], share.specific)
        return
    total = sum((share.part for share in shares), Fraction(0))
    text = " + ".join(f"{number(share.pct)}/{number(share.limit)} {share.ingredient.name}" for share in shares)
    differing = len({share.limit for share in shares}) > 1 and with_limit
    found.say(
        scl_rule if differing else rule,
        f"{text} = {number(total)} {'>=' if reached else '<'} 1: {end}.",
        [share.ingredient for share in shares],
        min(with_limit, key=lambda s: s.checked) if with_limit else None,
    )
