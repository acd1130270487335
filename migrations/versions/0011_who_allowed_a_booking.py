"""Who allowed a booking that asks for leave, and when

Revision: 0011, after 0010.
"""

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.add_column(sa.Column("allowed_by", TEXT, server_default="", nullable=False))
        batch_op.add_column(sa.Column("allowed_on", sa.Date(), nullable=True))
    guards.create(op.get_bind())  # a rebuilt table loses its triggers without a word


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
