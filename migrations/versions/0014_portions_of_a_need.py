"""Equal portions of what a demonstration needs

Revision: 0014, after 0013.
"""

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("need", schema=None) as batch_op:
        batch_op.add_column(sa.Column("portions", sa.Integer(), server_default="1", nullable=False))
    guards.create(op.get_bind())  # a rebuilt table loses its triggers without a word


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
