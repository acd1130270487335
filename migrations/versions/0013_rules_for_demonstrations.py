"""Rules that bar a demonstration, or hold for the age groups before one

Revision: 0013, after 0012.
"""

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    with op.batch_alter_table("school_rule", schema=None) as batch_op:
        batch_op.add_column(sa.Column("demo", TEXT, server_default="", nullable=False))
        batch_op.add_column(sa.Column("from_group", TEXT, server_default="", nullable=False))
    guards.create(op.get_bind())  # a rebuilt table loses its triggers without a word


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
