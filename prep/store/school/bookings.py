"""Bookings, the age groups they are for, and the school's own rules about them."""

from collections.abc import Iterable
from dataclasses import asdict

from sqlalchemy import Connection, delete, func, insert, select, update

from prep.planning.age_groups import AgeGroup
from prep.planning.model import Booking
from prep.safety.school_rules import SchoolRule
from prep.store import tables as t
from prep.store.audit.logged_records import WHOLE
from prep.store.queries import strength_of, strength_text
from prep.store.table_rows import by_number, table


def every(connection: Connection) -> list[Booking]:
    """Read every booking, done and cancelled ones too, in date order."""
    rows = table(t.BookingRow)
    return [Booking(*row) for row in connection.execute(select(rows).order_by(rows.c.on, *by_number(rows.c.code)))]


def asked_by(connection: Connection) -> dict[str, int]:
    """Find, by booking, the job that last set its day or how much it takes."""
    rows = table(t.ChangeRow)
    found = connection.execute(
        select(rows.c.code, func.max(rows.c.job).label("job"))
        .where(rows.c.kind == "booking", rows.c.field.in_((WHOLE, "on", "showings", "trials")))
        .group_by(rows.c.code)
    )
    return {row.code: row.job for row in found}


def age_groups(connection: Connection) -> tuple[AgeGroup, ...]:
    """Read the school's age groups, in the order of its list."""
    rows = table(t.AgeGroupRow)
    return tuple(
        AgeGroup(row.name, tuple(row.spellings.split(";")) if row.spellings else ())
        for row in connection.execute(select(rows).order_by(rows.c.position, rows.c.name))
    )


def put_age_groups(connection: Connection, groups: Iterable[AgeGroup]) -> None:
    """Add age groups after those on the list."""
    rows = table(t.AgeGroupRow)
    after = connection.execute(select(func.coalesce(func.max(rows.c.position), 0))).scalar_one()
    new = [
        {"name": one.name, "position": number, "spellings": ";".join(one.spellings)}
        for number, one in enumerate(groups, int(after) + 1)
    ]
    if new:
        connection.execute(insert(rows), new)


def set_spellings(connection: Connection, group: AgeGroup) -> None:
    """Set how else an age group of the list is written."""
    rows = table(t.AgeGroupRow)
    connection.execute(update(rows).where(rows.c.name == group.name).values(spellings=";".join(group.spellings)))


def drop_age_group(connection: Connection, name: str) -> None:
    """Take an age group off the list."""
    rows = table(t.AgeGroupRow)
    connection.execute(delete(rows).where(rows.c.name == name))


def school_rules(connection: Connection) -> tuple[SchoolRule, ...]:
    """Read the school's own rules, in the order in which they were added."""
    rows = table(t.SchoolRuleRow)
    return tuple(
        SchoolRule(
            row.item, strength_of(row.at_most), row.room, row.group, row.why, demo=row.demo, from_group=row.from_group
        )
        for row in connection.execute(select(rows).order_by(rows.c.id))
    )


def put_school_rule(connection: Connection, rule: SchoolRule) -> None:
    """Add a rule of the school's own."""
    connection.execute(insert(table(t.SchoolRuleRow)), [asdict(rule) | {"at_most": strength_text(rule.at_most)}])


def drop_school_rule(connection: Connection, number: int) -> None:
    """Take a rule off, by its number in the list, from 1."""
    rows = table(t.SchoolRuleRow)
    known = connection.execute(select(rows.c.id).order_by(rows.c.id)).scalars().all()
    connection.execute(delete(rows).where(rows.c.id == known[number - 1]))
