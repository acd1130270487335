"""bookings for groups and of plain items

Revision: 0005, after 0004.
"""

import json

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
RULES, GROUPS = "safety_rules", "booking_groups"


def upgrade() -> None:
    op.create_table(
        "age_group",
        sa.Column("name", TEXT, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("spellings", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_age_group")),
    )
    op.create_table(
        "school_rule",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("item", TEXT, nullable=False),
        sa.Column("at_most", TEXT, nullable=True),
        sa.Column("room", TEXT, nullable=False),
        sa.Column("group", TEXT, nullable=False),
        sa.Column("why", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_school_rule")),
    )
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.add_column(sa.Column("group", TEXT, server_default="", nullable=False))
        batch_op.add_column(sa.Column("note", TEXT, server_default="", nullable=False))
        batch_op.add_column(sa.Column("item", TEXT, server_default="", nullable=False))
        batch_op.add_column(sa.Column("portion", sa.BigInteger(), server_default="0", nullable=False))
        batch_op.add_column(sa.Column("trials", sa.Integer(), server_default="0", nullable=False))
        batch_op.add_column(sa.Column("set_out", TEXT, server_default="", nullable=False))

    with op.batch_alter_table("demo", schema=None) as batch_op:
        batch_op.add_column(sa.Column("other_names", TEXT, server_default="", nullable=False))
        batch_op.add_column(sa.Column("principle", TEXT, server_default="", nullable=False))
        batch_op.add_column(sa.Column("trials", sa.Integer(), server_default="0", nullable=False))

    with op.batch_alter_table("need", schema=None) as batch_op:
        batch_op.add_column(sa.Column("dropper", TEXT, server_default="", nullable=False))

    _from_settings(op.get_bind())
    guards.create(op.get_bind())  # a rebuilt table loses its triggers without a word


def _from_settings(connection: sa.Connection) -> None:
    """School rules and the bookings' age groups stood in settings, as JSON: give them their rows."""
    setting = sa.table("setting", sa.column("key"), sa.column("value"))
    rule = sa.table("school_rule", *map(sa.column, ("item", "at_most", "room", "group", "why")))
    booking = sa.table("booking", sa.column("code"), sa.column("group"))
    group = sa.table("age_group", sa.column("name"), sa.column("position"), sa.column("spellings"))
    found = {
        row.key: json.loads(row.value)
        for row in connection.execute(sa.select(setting).where(setting.c.key.in_((RULES, GROUPS))))
    }
    rules, groups = found.get(RULES, []), found.get(GROUPS, {})
    names: dict[str, str] = {}
    for said in (*(one["group"] for one in rules), *groups.values()):
        if said:
            names.setdefault(" ".join(said.casefold().split()), said)
    if names:
        connection.execute(
            sa.insert(group),
            [{"name": name, "position": number, "spellings": ""} for number, name in enumerate(names.values())],
        )
    for one in rules:
        one["group"] = names.get(" ".join(one["group"].casefold().split()), "")
        connection.execute(sa.insert(rule), [one])
    for code, said in groups.items():
        named = names.get(" ".join(said.casefold().split()), "")
        connection.execute(sa.update(booking).where(booking.c.code == code).values(group=named))
    connection.execute(sa.delete(setting).where(setting.c.key.in_((RULES, GROUPS))))


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
