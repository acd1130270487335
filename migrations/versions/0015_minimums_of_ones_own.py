"""Minimum stocks that the school set itself

Revision: 0015, after 0014.
"""

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("rule", schema=None) as batch_op:
        batch_op.add_column(sa.Column("own", sa.Boolean(), server_default=sa.false(), nullable=False))
    # What a school set before stands in its history.
    op.execute(
        sa.text(
            "UPDATE rule SET own = :yes WHERE EXISTS "
            "(SELECT 1 FROM job WHERE job.kind = 'settings' AND job.note LIKE 'order rule: ' || rule.item || ':%')"
        ).bindparams(sa.bindparam("yes", True, sa.Boolean()))
    )
    guards.create(op.get_bind())  # a rebuilt table loses its triggers without a word


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
