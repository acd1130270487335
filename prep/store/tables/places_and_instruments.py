"""Where bottles stand, and what the room measures with."""

from sqlalchemy import Column, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class InstrumentRow(StoredRow, table=True):
    """A kind of vessel or balance the room owns; figures are decimal text in mL or g."""

    __tablename__ = "instrument"

    code: str = Field(sa_column=text_column(key=True))
    position: int = Field(sa_column=Column(Integer, nullable=False))
    name: str = Field(sa_column=text_column())
    kind: str = Field(sa_column=text_column())
    grade: str = Field(sa_column=text_column())
    capacity: str = Field(sa_column=text_column())
    tolerance: str = Field(sa_column=text_column())
    resolution: str = Field(sa_column=text_column())
    count: int = Field(sa_column=Column(Integer, nullable=False))
    source: str = Field(sa_column=text_column())


class LocationRow(StoredRow, table=True):
    """Where bottles stand, in walking order."""

    __tablename__ = "location"

    code: str = Field(sa_column=text_column(key=True))
    name: str = Field(sa_column=text_column())
    walk_order: int = Field(sa_column=Column(Integer, nullable=False))
    note: str = Field(sa_column=text_column())
