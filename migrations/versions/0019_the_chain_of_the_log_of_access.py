"""The chain of the log of access

Revision: 0019, after 0018.
"""

from hashlib import sha256
from typing import Any

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def digest(before: str, *fields: Any) -> str:
    """Compute a line's digest as the program did it at this revision, whatever it does later."""
    made = sha256(before.encode("utf-8", "surrogatepass"))
    for field in map(str, fields):
        made.update(f"{len(field)}:{field};".encode("utf-8", "surrogatepass"))
    return made.hexdigest()


def upgrade() -> None:
    connection = op.get_bind()
    head = op.create_table(
        "access_head",
        sa.Column("line", sa.Integer(), nullable=False),
        sa.Column("digest", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("line", name="pk_access_head"),
    )
    guards.drop(connection)  # the lines that are there get their digests
    with op.batch_alter_table("access_log", schema=None) as batch_op:
        batch_op.add_column(sa.Column("digest", TEXT, nullable=True))
    log = sa.table(
        "access_log", *(sa.column(name) for name in ("id", "at", "by", "kind", "about", "address", "digest"))
    )
    number, before = 0, ""
    for row in connection.execute(sa.select(log).order_by(log.c.id)).all():
        number, before = row.id, digest(before, *row[:-1])
        connection.execute(sa.update(log).where(log.c.id == number).values(digest=before))
    if number:
        op.bulk_insert(head, [{"line": number, "digest": before}])
    with op.batch_alter_table("access_log", schema=None) as batch_op:
        batch_op.alter_column("digest", existing_type=TEXT, nullable=False)
    guards.create(connection)


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
