"""The tables of the numbered lines of a day, and of what proves them."""

from datetime import date

from sqlalchemy import Column, ForeignKey, Integer, UniqueConstraint
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class DayLineRow(StoredRow, table=True):
    """A numbered line of a day. `request` is JSON: what logging it as planned takes; `logged` is the job that did."""

    __tablename__ = "day_line"
    __table_args__ = (UniqueConstraint("day", "key"),)

    day: date = Field(primary_key=True)
    number: int = Field(sa_column=Column(Integer, primary_key=True))
    key: str = Field(sa_column=text_column())
    kind: str = Field(sa_column=text_column())
    says: str = Field(sa_column=text_column())
    request: str = Field(sa_column=text_column())
    logged: int | None = Field(default=None, sa_column=Column(Integer, ForeignKey("job.id")))


class DaySealRow(StoredRow, table=True):
    """The digest of a day's lines as they were written last, with what logged them."""

    __tablename__ = "day_seal"

    day: date = Field(primary_key=True)
    digest: str = Field(sa_column=text_column())
