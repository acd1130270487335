"""The containers on the shelves."""

from datetime import date

from sqlalchemy import BigInteger, CheckConstraint, Column, Index
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class BottleRow(StoredRow, table=True):
    """One container. `measure` is mass (ug) or volume (nL).

    `strength` is the found strength, with its uncertainty (k = 2) in per cent; `tare` [ug] is the empty
    container's mass, for weighing what is left; `full` is what it holds when full, in its unit; `cost` is what it
    cost, full, as decimal text in the school's currency.
    """

    __tablename__ = "bottle"
    __table_args__ = (
        CheckConstraint("balance >= 0", name="balance_not_below_zero"),
        CheckConstraint("measure IN ('mass', 'volume')", name="measure"),
        CheckConstraint("status IN ('in service', 'quarantine', 'discarded')", name="status"),
        Index("ix_bottle_item", "item"),
    )

    code: str = Field(sa_column=text_column(key=True))
    item: str = Field(sa_column=text_column())
    measure: str = Field(sa_column=text_column())
    balance: int = Field(sa_column=Column(BigInteger, nullable=False))
    status: str = Field(sa_column=text_column())
    location: str = Field(sa_column=text_column(refers="location.code"))
    received: date | None = None
    opened: date | None = None
    use_by: date | None = None
    lot: str = Field(sa_column=text_column())
    strength: str | None = Field(default=None, sa_column=text_column(null=True))
    strength_uncertainty_pct: str | None = Field(default=None, sa_column=text_column(null=True))
    tare: int | None = Field(default=None, sa_column=Column(BigInteger, nullable=True))
    made_by: str = Field(sa_column=text_column())
    note: str = Field(sa_column=text_column())
    full: int | None = Field(default=None, sa_column=Column(BigInteger, nullable=True))
    supplier: str | None = Field(default=None, sa_column=text_column(null=True))
    cost: str | None = Field(default=None, sa_column=text_column(null=True))
