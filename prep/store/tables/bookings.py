"""Bookings, and what they really used."""

from datetime import date

from sqlalchemy import BigInteger, CheckConstraint, Column, ForeignKey, Index, Integer
from sqlmodel import Field, SQLModel

from prep.store.columns import text_column


class BookingRow(SQLModel, table=True):
    """A teacher's booking."""

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


class UsageRow(SQLModel, table=True):
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
