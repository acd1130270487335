"""Where a step of a method goes, in a column of its own

Revision: 0020, after 0019.
"""

import json

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def goes_into(kind: str, text: str) -> str:
    """Tell where a step goes by its words, as the program read them up to the revision before."""
    if kind == "mark":
        return "beaker" if text == "in the beaker" else ""
    if kind not in ("water", "add", "add drops"):
        return ""
    if text == "into the vessel":
        return "vessel"
    if "beaker" in text:
        return "beaker"
    return "water" if kind == "add" and "to the water" in text else ""


def upgrade() -> None:
    connection = op.get_bind()
    guards.drop(connection)
    op.add_column("method_step", sa.Column("goes_into", TEXT, nullable=True))
    step = sa.table("method_step", *(sa.column(name) for name in ("kind", "text", "goes_into")))
    for kind, text in connection.execute(sa.select(step.c.kind, step.c.text).distinct()).all():
        of_it = sa.and_(step.c.kind == kind, step.c.text == text)
        connection.execute(sa.update(step).where(of_it).values(goes_into=goes_into(kind, text)))
    solution = sa.table("solution", sa.column("code"), sa.column("own_steps"))
    own = sa.select(solution.c.code, solution.c.own_steps).where(solution.c.own_steps != "")
    for code, steps in connection.execute(own).all():
        placed = [{**one, "goes_into": goes_into(one["kind"], one["text"])} for one in json.loads(steps)]
        said = json.dumps(placed, ensure_ascii=False)
        connection.execute(sa.update(solution).where(solution.c.code == code).values(own_steps=said))
    guards.create(connection)


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
