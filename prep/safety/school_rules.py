"""A school's own limits: strengths not to exceed for a room or an age group, substances barred."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from prep.chemistry.model import Strength, StrengthKind, Substance
from prep.chemistry.quantities import tidy
from prep.chemistry.strength.solutes import about_substance
from prep.errors import PrepError
from prep.findings import Finding, Severity, worst_first
from prep.safety.clp.composition import counted_formula


@dataclass(frozen=True, slots=True)
class SchoolRule:
    """One line of the school's policy.

    `item` is the code of a substance or solution, or a solute. `at_most` is the strength not to exceed; None
    bars it altogether. `room` and `group` (an age group) narrow the rule; empty means all.
    """

    item: str
    at_most: Strength | None = None
    room: str = ""
    group: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class SubstanceUse:
    """Something used somewhere: `about` is the booking or batch, `substance` the solute's for converting.

    `strength_of` is what an entry says that its strength counts; None where it counts the substance's own formula.
    """

    about: str
    item: str
    name: str
    solutes: tuple[str, ...] = ()
    strength: Strength | None = None
    room: str = ""
    group: str = ""
    substance: Substance | None = None
    strength_of: str | None = None


def broken(uses: Sequence[SubstanceUse], rules: Sequence[SchoolRule]) -> tuple[Finding, ...]:
    """Every rule a use breaks (stop), and every one that cannot be judged for want of a strength (act)."""
    return worst_first(
        [
            finding
            for use in uses
            for rule in rules
            if _applies(rule, use) and (finding := _judge(rule, use)) is not None
        ]
    )


def _applies(rule: SchoolRule, use: SubstanceUse) -> bool:
    return (
        rule.item in (use.item, *use.solutes)
        and (not rule.room or _folded(rule.room) == _folded(use.room))
        and (not rule.group or _folded(rule.group) == _folded(use.group))
    )


def _folded(text: str) -> str:
    """Rooms and groups are typed by many hands: `Lab 2` and `lab  2` are one, or a limit would be slipped."""
    return " ".join(text.casefold().split())


def _judge(rule: SchoolRule, use: SubstanceUse) -> Finding | None:
    where = "".join((f" in {rule.room}" if rule.room else "", f" for {rule.group}" if rule.group else ""))
    why = f" ({rule.why})" if rule.why else ""
    if rule.at_most is None:
        message = f"{use.about}: the school bars {use.name}{where}{why}."
        return Finding(Severity.STOP, "barred", use.about, message, "Choose another demo, or have the policy changed.")
    if use.strength is None:
        message = f"{use.about}: {use.name} may be at most {rule.at_most}{where}{why}; its strength is not known."
        return Finding(Severity.ACT, "strength-not-known", use.about, message, "Record the strength.")
    try:
        strength = _comparable(use, use.strength, rule, rule.at_most)
    except PrepError as wrong:
        message = f"{use.about}: {use.name} may be at most {rule.at_most}{where}{why}; it cannot be compared: {wrong}"
        return Finding(Severity.ACT, "strength-not-known", use.about, message, "State the limit in another unit.")
    if strength is None or strength.value <= rule.at_most.value:
        return None
    rounded = replace(strength, value=tidy(strength.value, 3))
    about = "" if rounded.value == strength.value else "about "
    message = f"{use.about}: {use.name} at {about}{rounded} is above the school's {rule.at_most}{where}{why}."
    return Finding(Severity.STOP, "too-strong", use.about, message, f"Use {rule.at_most} or weaker.")


def _comparable(use: SubstanceUse, strength: Strength, rule: SchoolRule, at_most: Strength) -> Strength | None:
    """The strength in the limit's own kind; None where nothing can pass the limit.

    A limit for one bottle's substance counts that substance's own hydrate, any other what the entry counts.
    """
    if at_most.kind is StrengthKind.SATURATED:
        return None
    substance = use.substance
    if substance is None:
        if strength.kind is at_most.kind:
            return strength
        raise PrepError(f"{strength} and {at_most} need the substance to be compared.")
    counted = substance.formula if use.strength_of is None else counted_formula(use.strength_of, substance)
    wanted = substance.formula if rule.item == substance.code else counted
    if strength.kind is at_most.kind and wanted == counted:
        return strength
    from prep.chemistry.strength.strengths import convert, recount

    strength = recount(strength, about_substance(substance, formula=counted), wanted).strength
    return convert(strength, at_most.kind, about_substance(substance, formula=wanted)).strength
