"""A table of the peroxide tests that bottles passed

Revision: 0010, after 0009.
"""

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    tests = op.create_table(
        "peroxide_test",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("bottle", TEXT, nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("recorded_by", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["bottle"], ["bottle.code"], name="fk_peroxide_test_bottle"),
        sa.ForeignKeyConstraint(["recorded_by"], ["job.id"], name="fk_peroxide_test_recorded_by"),
        sa.PrimaryKeyConstraint("number", name="pk_peroxide_test"),
    )
    op.create_index("ix_peroxide_test_bottle", "peroxide_test", ["bottle"])
    # Until now the note of the job named the bottle that was tested.
    connection = op.get_bind()
    standing = sa.text(
        "SELECT id, note, \"on\" FROM job WHERE kind = 'peroxide test' "
        "AND id NOT IN (SELECT reverses FROM job WHERE reverses IS NOT NULL) ORDER BY id"
    ).columns(id=sa.Integer, note=sa.Text, on=sa.Date)
    bottles = set(connection.execute(sa.text("SELECT code FROM bottle")).scalars())
    found = [(row.note.partition(": ")[0], row.on, row.id) for row in connection.execute(standing)]
    rows = [
        {"number": number, "bottle": bottle, "on": on, "recorded_by": job}
        for number, (bottle, on, job) in enumerate((one for one in found if one[0] in bottles), 1)
    ]
    if rows:
        op.bulk_insert(tests, rows)
    guards.create(connection)


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
