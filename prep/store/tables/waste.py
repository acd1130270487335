"""Waste bottles, and what was put into them."""

from sqlalchemy import BigInteger, CheckConstraint, Column, ForeignKey, Index, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class WasteRow(StoredRow, table=True):
    """A waste bottle: its stream, where it stands, and what it takes [nL] until it is full."""

    __tablename__ = "waste"
    __table_args__ = (CheckConstraint("status IN ('open', 'closed')", name="status"),)

    code: str = Field(sa_column=text_column(key=True))
    stream: str = Field(sa_column=text_column())
    location: str = Field(sa_column=text_column(refers="location.code"))
    full: int = Field(sa_column=Column(BigInteger, nullable=False))
    status: str = Field(sa_column=text_column())


class ResidueRow(StoredRow, table=True):
    """What was put into a waste bottle [nL], or, below zero, taken away when it was emptied. Append-only."""

    __tablename__ = "residue"
    __table_args__ = (Index("ix_residue_waste", "waste"), Index("ix_residue_job", "job"))

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    waste: str = Field(sa_column=text_column(refers="waste.code"))
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    what: str = Field(sa_column=text_column())
