"""What the school sets: minimum stocks, closed days, settings."""

from datetime import date

from sqlalchemy import BigInteger, Boolean, Column, Integer, false
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class RuleRow(StoredRow, table=True):
    """Minimum stock, packs (amounts between `;`) and days an order takes; `own`: the school set that minimum."""

    __tablename__ = "rule"

    item: str = Field(sa_column=text_column(key=True))
    minimum: int = Field(sa_column=Column(BigInteger, nullable=False))
    packs: str = Field(sa_column=text_column())
    lead_days: int = Field(sa_column=Column(Integer, nullable=False))
    own: bool = Field(sa_column=Column(Boolean, nullable=False, server_default=false()))


class ClosedRow(StoredRow, table=True):
    """A day on which the room is closed."""

    __tablename__ = "closed"

    on: date = Field(primary_key=True)
    why: str = Field(sa_column=text_column())


class SettingRow(StoredRow, table=True):
    """One setting of the school; `value` is JSON."""

    __tablename__ = "setting"

    key: str = Field(sa_column=text_column(key=True))
    value: str = Field(sa_column=text_column())
