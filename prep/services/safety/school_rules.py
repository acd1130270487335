"""The school's own limits: asked before a booking is taken, a plan drawn up, a batch made."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.chemistry import quantities
from prep.chemistry.model import Solution, Strength, StrengthKind
from prep.errors import NotOnFile, PrepError, Refused
from prep.findings import Severity
from prep.planning.model import Booking
from prep.safety.school_rules import SchoolRule, SubstanceUse, broken
from prep.services.bookings import groups
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.services.safety.governed_bookings import uses, uses_of_item
from prep.services.safety.rule_subject import rule_about
from prep.store import ledger, queries
from prep.store.school import bookings
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.planning.model import Snapshot


@dataclass(frozen=True, slots=True)
class ListedRule:
    """A rule with its number in the list and the name of what it is about."""

    number: int
    rule: SchoolRule
    name: str


def rules(db: Path | None) -> list[ListedRule]:
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


def add(db: Path | None, asked: RuleRequest, act: Act) -> ListedRule:
    """Add a rule, as a job; an age group that is not on the school's list is put there. Raises PrepError."""
    for label, text in ((Flag("--room"), asked.room), (Flag("--group"), asked.group), (Flag("--why"), asked.why)):
        printable(text, label=label)
    limit = quantities.strength(asked.at_most) if asked.at_most is not None else None
    if limit is not None and limit.kind is StrengthKind.SATURATED:
        raise PrepError(Flag("--at-most"), " is a figure such as 2 mol/L.")
    if asked.group.strip() and asked.from_group.strip():
        raise PrepError(
            "A rule is for one age group (",
            Flag("--group"),
            ") or for all before one (",
            Flag("--from-group"),
            "), not both.",
        )

    def work(connection: "Connection") -> tuple[SchoolRule, str]:
        rule = rule_about(asked.item, asked.demo, queries.catalogue(connection), queries.demos(connection))
        if rule.demo and limit is not None:
            raise PrepError("A demonstration is barred or not; ", Flag("--at-most"), " is for a substance or solution.")
        return rule, _listed(connection, [rule])[0].name

    def post(connection: "Connection", worked: tuple[SchoolRule, str]) -> ListedRule:
        rule, name = worked
        group, from_group = groups.listed(connection, asked.group), groups.on_list(connection, asked.from_group)
        rule = replace(
            rule, at_most=limit, room=asked.room.strip(), group=group, why=asked.why.strip(), from_group=from_group
        )
        there = _rules(connection)
        if rule in there:
            raise PrepError("That rule is there already", AtTerminal("; see: prep safety rule list", "."))
        bookings.put_school_rule(connection, rule)
        made = ListedRule(len(there) + 1, rule, name)
        ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"safety rule added: {_said(made)}")
        return made

    return session.worked_out(db, work, post)


def remove(db: Path | None, number: int, act: Act) -> ListedRule:
    """Take a rule off the list, by its number, as a job. Raises PrepError."""

    def work(connection: "Connection") -> ListedRule:
        there = _rules(connection)
        if not 1 <= number <= len(there):
            raise NotOnFile(f"There is no rule {number}", AtTerminal("; see: prep safety rule list", "."))
        return _listed(connection, there)[number - 1]

    def post(connection: "Connection", gone: ListedRule) -> ListedRule:
        bookings.drop_school_rule(connection, number)
        ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"safety rule removed: {_said(gone)}")
        return gone

    return session.worked_out(db, work, post)


def _said(one: ListedRule) -> str:
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
    _refuse_everywhere(connection, uses_of_item("Making it", solution.code, snapshot.catalogue))


def refuse_buffer(connection: "Connection", taken: Iterable[tuple[str, Strength]], snapshot: "Snapshot") -> None:
    """Refuse a buffer with an item, or its strength [mol/L] there, that the school bars everywhere. Raises Refused."""
    _refuse_everywhere(
        connection,
        (
            replace(use, name=f"{use.name} in the buffer", strength=strength, strength_of="")
            for item, strength in taken
            for use in uses_of_item("Making it", item, snapshot.catalogue)
        ),
    )


def _refuse_everywhere(connection: "Connection", making: Iterable[SubstanceUse]) -> None:
    everywhere = [one for one in _rules(connection) if not one.where]
    if stops := [one for one in broken(list(making), everywhere) if one.severity == Severity.STOP]:
        raise Refused(f"{stops[0].message} Nothing was changed.")


def _listed(connection: "Connection", kept: Sequence[SchoolRule]) -> list[ListedRule]:
    catalogue, demos = queries.catalogue(connection), queries.demos(connection)
    return [
        ListedRule(
            number, rule, demos[rule.demo].name if rule.demo in demos else catalogue.name(rule.item or rule.demo)
        )
        for number, rule in enumerate(kept, 1)
    ]


def _groups(connection: "Connection") -> tuple[str, ...]:
    return tuple(one.name for one in bookings.age_groups(connection))


def _rules(connection: "Connection") -> tuple[SchoolRule, ...]:
    return bookings.school_rules(connection)
