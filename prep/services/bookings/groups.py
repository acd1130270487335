"""The school's list of age groups: what bookings and rules may name."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind
from prep.errors import NotOnFile, PrepError
from prep.planning.age_groups import AgeGroup, clash, folded, group_named
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.wording import AtTerminal

if TYPE_CHECKING:
    from sqlalchemy import Connection


def age_groups(db: Path | None) -> tuple[AgeGroup, ...]:
    """Read the school's age groups, in the order of its list."""
    from prep.store.school import bookings

    with session.reading(db) as connection:
        return bookings.age_groups(connection)


def add(db: Path | None, name: str, also: Sequence[str], act: Act) -> AgeGroup:
    """Put an age group on the list, or give one that is there more spellings, as a job. Raises PrepError."""
    from prep.store import ledger
    from prep.store.school import bookings

    with session.writing(db) as connection:
        known = bookings.age_groups(connection)
        old = next((one for one in known if folded(one.name) == folded(name)), None)
        group = checked(AgeGroup(old.name if old else name, (*(old.spellings if old else ()), *also)))
        if taken := clash(group, [one for one in known if one is not old]):
            raise PrepError(
                f'"{taken}" is written for another age group already', AtTerminal("; see: prep book group list", ".")
            )
        if old:
            bookings.set_spellings(connection, group)
        else:
            bookings.put_age_groups(connection, [group])
        said = f" (also {', '.join(group.spellings)})" if group.spellings else ""
        ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"age group {group.name}{said}")
        return group


def drop(db: Path | None, name: str, act: Act) -> AgeGroup:
    """Take an age group off the list, as a job. Raises PrepError while a booking or a rule names it."""
    from prep.store import ledger
    from prep.store.school import bookings

    with session.writing(db) as connection:
        known = bookings.age_groups(connection)
        wanted = group_named(name, known) if folded(name) else ""
        group = next((one for one in known if one.name == wanted), None)
        if group is None:
            raise NotOnFile(
                f'"{name[:40]}" is no age group on the list', AtTerminal("; see: prep book group list", ".")
            )
        if any(one.group == group.name and one.stands for one in bookings.every(connection)):
            raise PrepError(f"Bookings are for {group.name}", AtTerminal("; see: prep book list", "."))
        if any(group.name in (one.group, one.from_group) for one in bookings.school_rules(connection)):
            raise PrepError(
                f"A rule of the school is for {group.name}", AtTerminal("; see: prep safety rule list", ".")
            )
        bookings.drop_age_group(connection, group.name)
        ledger.begin(connection, JobKind.SETTINGS, act.by, act.on, f"age group {group.name} taken off the list")
        return group


def listed(connection: "Connection", text: str) -> str:
    """Find the school's name of a group; one that is new is put on the list."""
    from prep.store.school import bookings

    known = bookings.age_groups(connection)
    try:
        return group_named(text, known)
    except PrepError:
        group = checked(AgeGroup(text))
        bookings.put_age_groups(connection, [group])
        return group.name


def on_list(connection: "Connection", text: str) -> str:
    """Find the school's name of a group that is on the list; empty stays empty. Raises PrepError."""
    from prep.store.school import bookings

    return group_named(text, bookings.age_groups(connection))


def checked(group: AgeGroup) -> AgeGroup:
    """Tidy an age group's name and spellings. Raises PrepError for one that is empty, or no plain text."""
    said = [" ".join(one.split()) for one in (group.name, *group.spellings)]
    for one in said:
        if not printable(one, 40, "the age group") or ";" in one:
            raise PrepError("An age group's name and spellings are plain text without a semicolon.")
    unique = {folded(one): one for one in reversed(said)}
    del unique[folded(said[0])]
    return replace(group, name=said[0], spellings=tuple(reversed(unique.values())))
