"""People on the books: the upgrade logs who is on file, what each may do, and their invitations and keys

Revision: 0018, after 0017.
"""

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Change no table: what stands in them is logged after the last migration, as after each."""


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
