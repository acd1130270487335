"""What is on file of a job besides its movements: batches, what a booking used."""

from datetime import date

from sqlalchemy import BigInteger, Column, ForeignKey, Index, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class BatchRow(StoredRow, table=True):
    """One making of a solution, and the bottle it filled."""

    __tablename__ = "batch"

    bottle: str = Field(sa_column=text_column(key=True, refers="bottle.code"))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    solution: str = Field(sa_column=text_column())
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    nominal: str | None = Field(default=None, sa_column=text_column(null=True))
    uncertainty_pct: str | None = Field(default=None, sa_column=text_column(null=True))
    made_on: date
    use_by: date
    made_by: str = Field(sa_column=text_column())


class UsageRow(StoredRow, table=True):
    """What a booking really used of an item, beside the demo's own figure. Append-only.

    `measured` is 0 where nobody said what was used and it was booked as planned.
    """

    __tablename__ = "usage"
    __table_args__ = (Index("ix_usage_booking", "booking"),)

    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), primary_key=True))
    item: str = Field(sa_column=text_column(key=True))
    booking: str = Field(sa_column=text_column(refers="booking.code"))
    demo: str = Field(sa_column=text_column())
    planned: int = Field(sa_column=Column(BigInteger, nullable=False))
    used: int = Field(sa_column=Column(BigInteger, nullable=False))
    measured: int = Field(sa_column=Column(Integer, nullable=False))
