"""Counts: their entries, what they signed off, and their reports."""

from datetime import date

from sqlalchemy import BigInteger, CheckConstraint, Column, ForeignKey, Index, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class StocktakeRow(StoredRow, table=True):
    """A count of one location, or of all (`location` empty). Closed, `job` posted what it found."""

    __tablename__ = "stocktake"
    __table_args__ = (CheckConstraint("status IN ('open', 'closed', 'dropped')", name="status"),)

    code: str = Field(sa_column=text_column(key=True))
    location: str = Field(sa_column=text_column())
    blind: int = Field(sa_column=Column(Integer, nullable=False))
    status: str = Field(sa_column=text_column())
    opened_on: date
    opened_by: str = Field(sa_column=text_column())
    closed_on: date | None = None
    closed_by: str | None = Field(default=None, sa_column=text_column(null=True))
    job: int | None = Field(default=None, sa_column=Column(Integer, ForeignKey("job.id"), nullable=True))


class TallyRow(StoredRow, table=True):
    """One entry of a count; of several for a bottle the latest stands. Append-only.

    `kind` counted, not found, or found (not on the books: `bottle` empty, `item` empty where the label
    cannot be read). `method` is JSON; `upto` the newest movement at the moment of counting.
    """

    __tablename__ = "tally"
    __table_args__ = (
        CheckConstraint("kind IN ('counted', 'not found', 'found')", name="kind"),
        Index("ix_tally_stocktake_bottle", "stocktake", "bottle"),
        Index("ix_tally_job", "job"),
    )

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    stocktake: str = Field(sa_column=text_column(refers="stocktake.code"))
    bottle: str = Field(sa_column=text_column())
    kind: str = Field(sa_column=text_column())
    readable: int = Field(sa_column=Column(Integer, nullable=False))
    item: str = Field(sa_column=text_column())
    location: str = Field(sa_column=text_column())
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    method: str = Field(sa_column=text_column())
    note: str = Field(sa_column=text_column())
    upto: int = Field(sa_column=Column(Integer, nullable=False))
    by: str = Field(sa_column=text_column())
    at: str = Field(sa_column=text_column())
    job: int | None = Field(default=None, sa_column=Column(Integer, ForeignKey("job.id"), nullable=True))


class SignoffRow(StoredRow, table=True):
    """What a count says of one bottle, as its closing `job` signed it. Append-only.

    `u_after` is decimal text, in the bottle's unit.
    """

    __tablename__ = "signoff"
    __table_args__ = (Index("ix_signoff_bottle", "bottle"),)

    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), primary_key=True))
    stocktake: str = Field(sa_column=text_column(refers="stocktake.code"))
    bottle: str = Field(sa_column=text_column(key=True, refers="bottle.code"))
    book: int = Field(sa_column=Column(BigInteger, nullable=False))
    counted: int = Field(sa_column=Column(BigInteger, nullable=False))
    adjust: int = Field(sa_column=Column(BigInteger, nullable=False))
    u_after: str = Field(sa_column=text_column())
    flagged: int = Field(sa_column=Column(Integer, nullable=False))
    found: int = Field(sa_column=Column(Integer, nullable=False))
    says: str = Field(sa_column=text_column())


class CountReportRow(StoredRow, table=True):
    """The report of a closed count as it was signed, for ever. Append-only; `document` is JSON."""

    __tablename__ = "count_report"
    __table_args__ = (Index("ix_count_report_stocktake", "stocktake"),)

    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), primary_key=True))
    stocktake: str = Field(sa_column=text_column(refers="stocktake.code"))
    document: str = Field(sa_column=text_column())
