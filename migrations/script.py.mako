"""${message}

Revision: ${up_revision}, after ${down_revision | comma,n}.
"""

import sqlalchemy as sa
from alembic import op

from prep.store import guards
${imports if imports else ""}
revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = None
depends_on = None


def upgrade() -> None:
    ${upgrades if upgrades else "pass"}
    guards.create(op.get_bind())  # a rebuilt table loses its triggers without a word


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
