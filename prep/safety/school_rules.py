"""A school's own limits: strengths not to exceed for a room or an age group, substances and demonstrations barred."""

import re
from collections.abc import Sequence
from dataclasses import replace

from prep.chemistry.model import Strength, StrengthKind, Substance
from prep.chemistry.quantities import tidy
from prep.chemistry.strength.solutes import about_substance
from prep.chemistry.strength.strengths import convert, recount
from prep.errors import PrepError
from prep.findings import Finding, Severity, worst_first
from prep.records import record
from prep.safety.clp.composition import counted_formula


@record(frozen=True, slots=True)
class SchoolRule:
    """One line of the school's policy.

    `item` is the code of a substance or solution, or a solute. `at_most` is the strength not to exceed; None
    bars it altogether. `demo`, where it is given instead, is the code of a demonstration that is barred as such.
    `room` and `group` (an age group) narrow the rule; empty means all. `from_group` is the youngest age group that
    the rule leaves alone.
    """

    item: str
    at_most: Strength | None = None
    room: str = ""
    group: str = ""
    why: str = ""
    demo: str = ""
    from_group: str = ""

    @property
    def where(self) -> str:
        """In which room and for which age groups it holds, in words with a space before; empty for everywhere."""
        parts = ((" in ", self.room), (" for ", self.group), (" before ", self.from_group))
        return "".join(f"{word}{named}" for word, named in parts if named)


@record(frozen=True, slots=True)
class SubstanceUse:
    """Something used somewhere: `about` is the booking or batch, `substance` the solute's for converting.

    `strength_of` is what an entry says that its strength counts; None where it counts the substance's own formula.
    `demo` is set, and `item` empty, where the use is a demonstration itself.
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
    demo: str = ""


def broken(
    uses: Sequence[SubstanceUse], rules: Sequence[SchoolRule], groups: Sequence[str] = ()
) -> tuple[Finding, ...]:
    """List every rule that a use breaks (stop), and every one that cannot be judged (act).

    A rule cannot be judged for want of a strength or an age group. `groups` are the school's age groups in the
    order of its list.
    """
    return worst_first(
        [
            finding
            for use in uses
            for rule in rules
            if _applies(rule, use, groups) and (finding := _judge(rule, use)) is not None
        ]
    )


def is_younger(group: str, than: str, groups: Sequence[str]) -> bool:
    """Tell whether an age group comes before another: `Year 8` before `Year 9` by number, others by the list's order.

    A group that is not on the list counts as younger: a least age is not slipped by a name nobody knows.
    """
    (word, number), (other, least) = _numbered(group), _numbered(than)
    if word == other and number is not None and least is not None:
        return number < least
    order = [_folded(one) for one in groups]
    if _folded(group) not in order or _folded(than) not in order:
        return _folded(group) != _folded(than)
    return order.index(_folded(group)) < order.index(_folded(than))


def _numbered(group: str) -> tuple[str, int | None]:
    found = re.fullmatch(r"(\D*?) ?(\d+)", _folded(group))
    return (found[1], int(found[2])) if found else (_folded(group), None)


def _applies(rule: SchoolRule, use: SubstanceUse, groups: Sequence[str]) -> bool:
    return (
        (rule.demo == use.demo if rule.demo or use.demo else rule.item in (use.item, *use.solutes))
        and (not rule.room or _folded(rule.room) == _folded(use.room))
        and (not rule.group or _folded(rule.group) == _folded(use.group))
        and (not rule.from_group or not use.group.strip() or is_younger(use.group, rule.from_group, groups))
    )


def _folded(text: str) -> str:
    """Reduce a room or a group for comparing: `Lab 2` and `lab  2` are one, or a limit would be slipped.

    They are typed by many hands.
    """
    return " ".join(text.casefold().split())


def _judge(rule: SchoolRule, use: SubstanceUse) -> Finding | None:
    where = rule.where
    why = f" ({rule.why})" if rule.why else ""
    if rule.from_group and not use.group.strip():
        limit = f"may be at most {rule.at_most}" if rule.at_most else "is barred"
        message = f"{use.about}: {use.name} {limit}{where}{why}; the booking names no age group."
        return Finding(Severity.ACT, "group-not-known", use.about, message, "Say for which age group it is.")
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
    """Convert the strength to the limit's own kind; None where nothing can pass the limit.

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

    strength = recount(strength, about_substance(substance, formula=counted), wanted).strength
    return convert(strength, at_most.kind, about_substance(substance, formula=wanted)).strength
