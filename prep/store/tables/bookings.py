"""Bookings, the age groups and school rules about them, and what they really used."""

from datetime import date

from sqlalchemy import BigInteger, CheckConstraint, Column, ForeignKey, Index, Integer
from sqlmodel import Field, SQLModel

from prep.store.columns import added_text, text_column


class BookingRow(SQLModel, table=True):
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


class AgeGroupRow(SQLModel, table=True):
    """An age group as the school calls it; `spellings` are other ways to write it, between `;`."""

    __tablename__ = "age_group"

    name: str = Field(sa_column=text_column(key=True))
    position: int = Field(sa_column=Column(Integer, nullable=False))
    spellings: str = Field(sa_column=text_column())


class SchoolRuleRow(SQLModel, table=True):
    """A limit of the school's own; without `at_most` the item is barred. Empty room or group: everywhere, all."""

    __tablename__ = "school_rule"

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    item: str = Field(sa_column=text_column())
    at_most: str | None = Field(default=None, sa_column=text_column(null=True))
    room: str = Field(sa_column=text_column())
    group: str = Field(sa_column=text_column())
    why: str = Field(sa_column=text_column())


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
