"""Seals of jobs, records as a whole in the log, reports of counts, waste bottles

Revision: 0004, after 0003.
"""

import sqlalchemy as sa
from alembic import op

from prep.store import guards

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    guards.drop(op.get_bind())
    with op.batch_alter_table("change") as batch:
        batch.drop_constraint(op.f("ck_change_kind"), type_="check")
    with op.batch_alter_table("bottle") as batch:
        batch.add_column(sa.Column("full", sa.BigInteger(), nullable=True))
        batch.add_column(sa.Column("supplier", TEXT, nullable=True))
        batch.add_column(sa.Column("cost", TEXT, nullable=True))
    with op.batch_alter_table("tally") as batch:
        batch.add_column(sa.Column("job", sa.Integer(), nullable=True))
        batch.create_foreign_key("fk_tally_job", "job", ["job"], ["id"])
        batch.create_index("ix_tally_job", ["job"])
    op.execute(  # entries from before belong to a job of the upgrade, so that they are sealed
        "INSERT INTO job (kind, \"by\", at, \"on\", note) SELECT 'upgrade', 'prep', max(at), CURRENT_DATE, "
        "'entries of counts from before' FROM tally HAVING count(*) > 0"
    )
    op.execute("UPDATE tally SET job = (SELECT max(id) FROM job)")
    _signoff()
    op.create_table(
        "seal",
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("digest", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.id"], name="fk_seal_job"),
        sa.PrimaryKeyConstraint("job", name="pk_seal"),
    )
    op.create_table(
        "count_report",
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("stocktake", TEXT, nullable=False),
        sa.Column("document", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.id"], name="fk_count_report_job"),
        sa.ForeignKeyConstraint(["stocktake"], ["stocktake.code"], name="fk_count_report_stocktake"),
        sa.PrimaryKeyConstraint("job", name="pk_count_report"),
    )
    op.create_index("ix_count_report_stocktake", "count_report", ["stocktake"])
    op.create_table(
        "waste",
        sa.Column("code", TEXT, nullable=False),
        sa.Column("stream", TEXT, nullable=False),
        sa.Column("location", TEXT, nullable=False),
        sa.Column("full", sa.BigInteger(), nullable=False),
        sa.Column("status", TEXT, nullable=False),
        sa.CheckConstraint("status IN ('open', 'closed')", name=op.f("ck_waste_status")),
        sa.ForeignKeyConstraint(["location"], ["location.code"], name="fk_waste_location"),
        sa.PrimaryKeyConstraint("code", name="pk_waste"),
    )
    op.create_table(
        "residue",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("waste", TEXT, nullable=False),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.Column("what", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.id"], name="fk_residue_job"),
        sa.ForeignKeyConstraint(["waste"], ["waste.code"], name="fk_residue_waste"),
        sa.PrimaryKeyConstraint("id", name="pk_residue"),
    )
    op.create_index("ix_residue_job", "residue", ["job"])
    op.create_index("ix_residue_waste", "residue", ["waste"])
    guards.create(op.get_bind())  # a rebuilt table loses its triggers without a word


def _signoff() -> None:
    """A sign-off belongs to the job that signed it; one that was opened again is gone."""
    op.rename_table("signoff", "signoff_before")
    op.drop_index("ix_signoff_bottle", table_name="signoff_before")
    if op.get_bind().dialect.name == "postgresql":
        for name in ("pk_signoff", "fk_signoff_bottle", "fk_signoff_stocktake"):
            op.drop_constraint(name, "signoff_before")
    op.create_table(
        "signoff",
        sa.Column("job", sa.Integer(), nullable=False),
        sa.Column("stocktake", TEXT, nullable=False),
        sa.Column("bottle", TEXT, nullable=False),
        sa.Column("book", sa.BigInteger(), nullable=False),
        sa.Column("counted", sa.BigInteger(), nullable=False),
        sa.Column("adjust", sa.BigInteger(), nullable=False),
        sa.Column("u_after", TEXT, nullable=False),
        sa.Column("flagged", sa.Integer(), nullable=False),
        sa.Column("found", sa.Integer(), nullable=False),
        sa.Column("says", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["bottle"], ["bottle.code"], name="fk_signoff_bottle"),
        sa.ForeignKeyConstraint(["job"], ["job.id"], name="fk_signoff_job"),
        sa.ForeignKeyConstraint(["stocktake"], ["stocktake.code"], name="fk_signoff_stocktake"),
        sa.PrimaryKeyConstraint("job", "bottle", name="pk_signoff"),
    )
    columns = "stocktake, bottle, book, counted, adjust, u_after, flagged, found, says"
    op.execute(
        f"INSERT INTO signoff (job, {columns}) SELECT c.job, s.{columns.replace(', ', ', s.')} "
        "FROM signoff_before s JOIN stocktake c ON c.code = s.stocktake WHERE c.status = 'closed'"
    )
    op.drop_table("signoff_before")
    op.create_index("ix_signoff_bottle", "signoff", ["bottle"])


def downgrade() -> None:
    raise RuntimeError("Databases are not downgraded: restore the backup made before the upgrade.")
