"""Class practicals

Revision: 0007, after 0006.
"""

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    op.add_column("demo", sa.Column("kind", TEXT, server_default="demonstration", nullable=False))
    op.add_column("demo", sa.Column("ask_first", TEXT, server_default="", nullable=False))
    op.add_column("need", sa.Column("shared", sa.Integer(), server_default="0", nullable=False))
    guards.create(op.get_bind())  # a rebuilt table loses its triggers without a word


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
