"""Bookings of demonstrations."""

from datetime import date

from sqlalchemy import BigInteger, CheckConstraint, Column, Index, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, added_text, text_column


class BookingRow(StoredRow, table=True):
    """A teacher's booking: of a demo, or of portions [ug or nL] of an item, for an age group."""

    __tablename__ = "booking"
    __table_args__ = (
        CheckConstraint("status IN ('booked', 'done', 'cancelled')", name="status"),
        CheckConstraint("showings > 0", name="showings"),
        Index("ix_booking_on", "on"),
    )

    code: str = Field(sa_column=text_column(key=True))
    on: date
    period: str = Field(sa_column=text_column())
    room: str = Field(sa_column=text_column())
    teacher: str = Field(sa_column=text_column())
    demo: str = Field(sa_column=text_column())
    showings: int = Field(sa_column=Column(Integer, nullable=False))
    status: str = Field(sa_column=text_column())
    group: str = Field(default="", sa_column=added_text())
    note: str = Field(default="", sa_column=added_text())
    item: str = Field(default="", sa_column=added_text())
    portion: int = Field(default=0, sa_column=Column(BigInteger, nullable=False, server_default="0"))
    trials: int = Field(default=0, sa_column=Column(Integer, nullable=False, server_default="0"))
    set_out: str = Field(default="", sa_column=added_text())
    allowed_by: str = Field(default="", sa_column=added_text())
    allowed_on: date | None = None
