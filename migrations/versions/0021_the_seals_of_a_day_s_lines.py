"""The seals of a day's lines

Revision: 0021, after 0020.
"""

from collections.abc import Iterable, Sequence
from hashlib import sha256
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def digest(lines: Iterable[Sequence[Any]]) -> str:
    """Compute the digest of a day's lines as the program did it at this revision, whatever it does later."""
    made = sha256()
    for cell in (str(cell) for line in lines for cell in line):
        made.update(f"{len(cell)}:{cell};".encode("utf-8", "surrogatepass"))
    return made.hexdigest()


def upgrade() -> None:
    connection = op.get_bind()
    seal = op.create_table(
        "day_seal",
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("digest", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("day", name=op.f("pk_day_seal")),
    )
    names = ("number", "key", "kind", "says", "request", "logged")
    line = sa.table("day_line", sa.column("day", sa.Date()), *(sa.column(name) for name in names))
    by_day: dict[Any, list[Any]] = {}
    for row in connection.execute(sa.select(line).order_by(line.c.day, line.c.number)):
        by_day.setdefault(row.day, []).append(row)
    if by_day:
        op.bulk_insert(seal, [{"day": day, "digest": digest(rows)} for day, rows in by_day.items()])


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
