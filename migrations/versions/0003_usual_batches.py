"""The usual batch of a solution, and why it may be made in less

Revision: 0003, after 0002.
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

# In the order of the characters' numbers, as SQLite has it, whatever the server's language.
TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    op.add_column("solution", sa.Column("usual_nl", sa.BigInteger(), nullable=False, server_default="0"))
    op.add_column("solution", sa.Column("small_batch", TEXT, nullable=False, server_default="no"))
