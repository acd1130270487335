"""The school's own limits: asked before a booking is taken, a plan drawn up, a batch made."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.chemistry.model import Form, Solution, Strength, StrengthKind
from prep.errors import NotOnFile, PrepError, Refused
from prep.findings import Finding, Severity
from prep.planning.model import Booking, Demo
from prep.safety.clp.composition import in_formula
from prep.safety.school_rules import SchoolRule, SubstanceUse, broken
from prep.safety.solution_hazards import composition_of, solute_of
from prep.services.bookings import groups
from prep.services.bookings.requests import find_demo_in
from prep.services.catalogue.names import find_item
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.store import ledger, queries
from prep.store.school import bookings

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.planning.model import Snapshot


@dataclass(frozen=True, slots=True)
class Listed:
    """A rule with its number in the list and the name of what it is about."""

    number: int
    rule: SchoolRule
    name: str


def rules(db: Path | None) -> list[Listed]:
    """List the school's rules in the order they were added."""
    with session.reading(db) as connection:
        return _listed(connection, _rules(connection))


@dataclass(frozen=True, slots=True)
class RuleRequest:
    """A rule as a person asks for it; without `at_most` the item is barred.

    `item` may name a demonstration; `demo` says that it does, where a substance has the same name. `from_group` is
    the youngest age group that the rule leaves alone.
    """

    item: str
    at_most: str | None = None
    room: str = ""
    group: str = ""
    why: str = ""
    demo: bool = False
    from_group: str = ""


def add(db: Path | None, asked: RuleRequest, act: Act) -> Listed:
    """Add a rule, as a job; an age group that is not on the school's list is put there. Raises PrepError."""
    for label, text in (("--room", asked.room), ("--group", asked.group), ("--why", asked.why)):
        printable(text, label=label)
    limit = quantities.strength(asked.at_most) if asked.at_most is not None else None
    if limit is not None and limit.kind is StrengthKind.SATURATED:
        raise PrepError("--at-most is a figure such as 2 mol/L.")
    if asked.group.strip() and asked.from_group.strip():
        raise PrepError("A rule is for one age group (--group) or for all before one (--from-group), not both.")
    with session.writing(db) as connection:
        rule = _about(connection, asked)
        if rule.demo and limit is not None:
            raise PrepError("A demonstration is barred or not; --at-most is for a substance or solution.")
        group, from_group = groups.listed(connection, asked.group), groups.on_list(connection, asked.from_group)
        rule = replace(
            rule, at_most=limit, room=asked.room.strip(), group=group, why=asked.why.strip(), from_group=from_group
        )
        there = _rules(connection)
        if rule in there:
            raise PrepError("That rule is there already; see: prep safety rule list")
        bookings.put_school_rule(connection, rule)
        made = _listed(connection, (*there, rule))[-1]
        ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"safety rule added: {_said(made)}")
        return made


def remove(db: Path | None, number: int, act: Act) -> Listed:
    """Take a rule off the list, by its number, as a job. Raises PrepError."""
    with session.writing(db) as connection:
        there = _rules(connection)
        if not 1 <= number <= len(there):
            raise NotOnFile(f"There is no rule {number}; see: prep safety rule list")
        gone = _listed(connection, there)[number - 1]
        bookings.drop_school_rule(connection, number)
        ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"safety rule removed: {_said(gone)}")
        return gone


def _said(one: Listed) -> str:
    """Write a rule in words, for the history."""
    rule = one.rule
    limit = "barred" if rule.at_most is None else f"at most {rule.at_most}"
    return f"{one.name} {limit}{rule.where}"


def refuse_bookings(connection: "Connection", asked: Sequence[Booking]) -> None:
    """Refuse the first booking that breaks a rule of the school, with a sentence. Raises Refused."""
    known = _rules(connection)
    if not known:
        return

    catalogue, demos, listed = queries.catalogue(connection), queries.demos(connection), _groups(connection)
    for booking in asked:
        found = broken(uses(booking, demos.get(booking.demo), catalogue), known, listed)
        if stops := [one for one in found if one.severity == Severity.STOP]:
            raise Refused(f"{stops[0].message} {stops[0].cure} Nothing was changed.")


def refuse_making(connection: "Connection", solution: Solution, snapshot: "Snapshot") -> None:
    """Refuse a solution that the school bars everywhere, or whose strength it does. Raises Refused."""
    _refuse_everywhere(connection, _uses("Making it", solution.code, snapshot.catalogue))


def refuse_buffer(connection: "Connection", taken: Iterable[tuple[str, Strength]], snapshot: "Snapshot") -> None:
    """Refuse a buffer with an item, or its strength [mol/L] there, that the school bars everywhere. Raises Refused."""
    _refuse_everywhere(
        connection,
        (
            replace(use, name=f"{use.name} in the buffer", strength=strength, strength_of="")
            for item, strength in taken
            for use in _uses("Making it", item, snapshot.catalogue)
        ),
    )


def _refuse_everywhere(connection: "Connection", making: Iterable[SubstanceUse]) -> None:
    everywhere = [one for one in _rules(connection) if not one.where]
    if stops := [one for one in broken(list(making), everywhere) if one.severity == Severity.STOP]:
        raise Refused(f"{stops[0].message} Nothing was changed.")


def governed(connection: "Connection", snapshot: "Snapshot", known: Sequence[SchoolRule]) -> "Snapshot":
    """Remove from the snapshot the bookings that break one of the rules; each is told of in `noticed`."""
    listed = _groups(connection)
    kept: list[Booking] = []
    noticed: list[Finding] = []
    for booking in snapshot.bookings:
        found: tuple[Finding, ...] = ()
        if booking.stands:
            demo = snapshot.demos.get(booking.demo)
            found = broken(uses(booking, demo, snapshot.catalogue), known, listed)
        noticed += [Finding(f.severity, f.code, booking.code, f.message, f.cure) for f in found]
        if not any(one.severity == Severity.STOP for one in found):
            kept.append(booking)
    return replace(snapshot, bookings=tuple(kept), noticed=(*snapshot.noticed, *noticed))


def uses(
    booking: Booking,
    demo: Demo | None,
    catalogue: Catalogue,
) -> list[SubstanceUse]:
    """List what a booking puts to use, for the rules."""
    items = dict.fromkeys(need.item for need in demo.needs) if demo else {booking.item: None} if booking.item else {}
    about = f"Booking {booking.code}"
    found = [SubstanceUse(about, "", demo.name, demo=demo.code)] if demo else []
    found += [use for item in items for use in _uses(about, item, catalogue)]
    return [replace(use, room=booking.room, group=booking.group) for use in found]


def _uses(about: str, item: str, catalogue: Catalogue) -> Iterable[SubstanceUse]:
    """List an item, and everything in it with its own strength there."""
    if item in catalogue.substances:
        one = catalogue.substances[item]
        pct = one.assay_pct if one.form is Form.AQUEOUS else Decimal(100)
        strength = Strength(pct, StrengthKind.PCT_W_W) if pct is not None else None
        yield SubstanceUse(about, item, one.name, (one.solute,), strength, substance=one)
    elif item in catalogue.solutions:
        solution = catalogue.solutions[item]
        if not solution.recipe:
            try:
                counted = solute_of(solution, catalogue)
            except PrepError:
                counted = None
            codes = (solution.solute, counted.code) if counted else (solution.solute,)
            yield SubstanceUse(
                about,
                item,
                solution.name,
                codes,
                solution.strength,
                substance=counted,
                strength_of=solution.strength_of,
            )
            return
        yield SubstanceUse(about, item, solution.name)
        try:
            inside = composition_of(solution, catalogue).components
        except PrepError:
            inside = ()
        for part in inside:
            one = catalogue.substances[part.code]
            strength = Strength(in_formula(part, one), StrengthKind.PCT_W_W)
            yield SubstanceUse(
                about, part.code, f"{one.name} in {solution.name}", (one.solute,), strength, substance=one
            )


def _about(connection: "Connection", asked: RuleRequest) -> SchoolRule:
    """Find what a rule is about: a solute by its code, with its solutions; else a substance, solution or demo by name.

    Raises PrepError.
    """
    demos, wanted = queries.demos(connection), asked.item.strip()
    if asked.demo:
        return SchoolRule("", demo=find_demo_in(demos, wanted).code)
    catalogue = queries.catalogue(connection)
    if any(one.solute == wanted for one in catalogue.substances.values()):
        return SchoolRule(wanted)
    try:
        return SchoolRule(find_item(wanted, catalogue).code)
    except NotOnFile as unknown:
        try:
            return SchoolRule("", demo=find_demo_in(demos, wanted).code)
        except NotOnFile:
            raise unknown from None


def _listed(connection: "Connection", kept: Sequence[SchoolRule]) -> list[Listed]:
    catalogue, demos = queries.catalogue(connection), queries.demos(connection)
    return [
        Listed(number, rule, demos[rule.demo].name if rule.demo in demos else catalogue.name(rule.item or rule.demo))
        for number, rule in enumerate(kept, 1)
    ]


def _groups(connection: "Connection") -> tuple[str, ...]:
    return tuple(one.name for one in bookings.age_groups(connection))


def _rules(connection: "Connection") -> tuple[SchoolRule, ...]:
    return bookings.school_rules(connection)
