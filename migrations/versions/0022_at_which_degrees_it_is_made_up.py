"""At which degrees a solution is made up to the mark, in columns

Revision: 0022, after 0021.
"""

import json
import re
from typing import Any

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
RANGE = re.compile(r"at (\d+) to (\d+) °C")


def of_words(step: dict[str, Any]) -> dict[str, Any]:
    """Take the degrees of a mark out of its words, as the program wrote them up to the revision before."""
    found = RANGE.fullmatch(step["text"]) if step["kind"] == "mark" else None
    if found is None:
        return {"up_to_c": ""}
    return {"text": "", "temperature_c": found[1], "up_to_c": found[2]}


def upgrade() -> None:
    connection = op.get_bind()
    guards.drop(connection)
    op.add_column("method_step", sa.Column("up_to_c", TEXT, nullable=True))
    step = sa.table("method_step", *(sa.column(name) for name in ("kind", "text", "temperature_c", "up_to_c")))
    for kind, text in connection.execute(sa.select(step.c.kind, step.c.text).distinct()).all():
        of_it = sa.and_(step.c.kind == kind, step.c.text == text)
        connection.execute(sa.update(step).where(of_it).values(of_words({"kind": kind, "text": text})))
    solution = sa.table("solution", sa.column("code"), sa.column("own_steps"))
    own = sa.select(solution.c.code, solution.c.own_steps).where(solution.c.own_steps != "")
    for code, steps in connection.execute(own).all():
        said = json.dumps([{**one, **of_words(one)} for one in json.loads(steps)], ensure_ascii=False)
        connection.execute(sa.update(solution).where(solution.c.code == code).values(own_steps=said))
    guards.create(connection)


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
