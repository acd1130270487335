"""What somebody read on a supplier's data sheet

Revision: 0008, after 0007.
"""

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    op.create_table(
        "sheet_check",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("substance", TEXT, nullable=False),
        sa.Column("supplier", TEXT, nullable=False),
        sa.Column("revision", TEXT, nullable=False),
        sa.Column("classification", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.id"], name="fk_sheet_check_job"),
        sa.PrimaryKeyConstraint("id", name="pk_sheet_check"),
    )
    op.create_index("ix_sheet_check_job", "sheet_check", ["job"])
    op.create_index("ix_sheet_check_substance", "sheet_check", ["substance"])
    guards.create(op.get_bind())


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
