"""Hand-overs between schools

Revision: 0017, after 0016.
"""

import re

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
GAVE = re.compile(r"hand-over (\w+) to (\w+): \d+ (?:ug|nL) of \S+ from bottle (\S+)")
TOOK = re.compile(r"hand-over (\w+) from (\w+): bottle (\S+)")


def upgrade() -> None:
    hand_overs = op.create_table(
        "hand_over",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("name", TEXT, nullable=False),
        sa.Column("side", TEXT, nullable=False),
        sa.Column("school", TEXT, nullable=False),
        sa.Column("bottle", TEXT, nullable=False),
        sa.Column("recorded_by", sa.Integer(), nullable=False),
        sa.CheckConstraint("side IN ('gave', 'took')", name=op.f("ck_hand_over_side")),
        sa.ForeignKeyConstraint(["recorded_by"], ["job.id"], name="fk_hand_over_recorded_by"),
        sa.PrimaryKeyConstraint("number", name="pk_hand_over"),
    )
    op.create_index("ix_hand_over_recorded_by", "hand_over", ["recorded_by"])
    # Until now the note of the job named the other school and the bottle.
    connection = op.get_bind()
    standing = sa.text(
        "SELECT id, note FROM job WHERE kind = 'transfer' "
        "AND id NOT IN (SELECT reverses FROM job WHERE reverses IS NOT NULL) ORDER BY id"
    )
    rows = []
    for job, note in connection.execute(standing):
        for side, form in (("gave", GAVE), ("took", TOOK)):
            if said := form.fullmatch(note):
                row = {"name": said[1], "side": side, "school": said[2], "bottle": said[3], "recorded_by": job}
                rows.append({"number": job, **row})
    if rows:
        op.bulk_insert(hand_overs, rows)
    guards.create(connection)


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
