"""The books: jobs and their movements."""

from datetime import date

from sqlalchemy import BigInteger, CheckConstraint, Column, ForeignKey, Index, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class JobRow(StoredRow, table=True):
    """One thing done: all its movements happened together. Append-only. `at` is UTC, ISO 8601."""

    __tablename__ = "job"

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    kind: str = Field(sa_column=text_column())
    by: str = Field(sa_column=text_column())
    at: str = Field(sa_column=text_column())
    on: date
    note: str = Field(sa_column=text_column())
    reverses: int | None = Field(default=None, sa_column=Column(Integer, ForeignKey("job.id"), unique=True))


class MovementRow(StoredRow, table=True):
    """One line of the ledger. Append-only; a mistake is reversed by a line that names it."""

    __tablename__ = "movement"
    __table_args__ = (
        CheckConstraint("amount <> 0", name="amount_not_zero"),
        Index("ix_movement_bottle_amount_job", "bottle", "amount", "job"),  # it alone answers the sums
        Index("ix_movement_job", "job"),
    )

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    bottle: str = Field(sa_column=text_column(refers="bottle.code"))
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    reason: str = Field(sa_column=text_column())
    reverses: int | None = Field(default=None, sa_column=Column(Integer, ForeignKey("movement.id"), unique=True))
