"""Orders placed with suppliers."""

from datetime import date

from sqlalchemy import BigInteger, CheckConstraint, Column, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class OrderRow(StoredRow, table=True):
    """An order placed with a supplier."""

    __tablename__ = "purchase"
    __table_args__ = (CheckConstraint("status IN ('placed', 'arrived', 'cancelled')", name="status"),)

    code: str = Field(sa_column=text_column(key=True))
    item: str = Field(sa_column=text_column())
    pack: int = Field(sa_column=Column(BigInteger, nullable=False))
    packs: int = Field(sa_column=Column(Integer, nullable=False))
    placed: date
    due: date
    status: str = Field(sa_column=text_column())
    by: str = Field(sa_column=text_column())
