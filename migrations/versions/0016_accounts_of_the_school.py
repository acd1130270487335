"""Accounts of the school

Revision: 0016, after 0015.
"""

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    with op.batch_alter_table("person", schema=None) as batch_op:
        batch_op.add_column(sa.Column("issuer", TEXT, nullable=True))
        batch_op.add_column(sa.Column("subject", TEXT, nullable=True))
        batch_op.create_unique_constraint("uq_person_account", ["issuer", "subject"])
    guards.create(op.get_bind())  # a rebuilt table loses its triggers without a word


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
