"""Demonstrations: what each takes and what it leaves."""

from sqlalchemy import BigInteger, Column, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, added_text, text_column


class DemoRow(StoredRow, table=True):
    """A demonstration."""

    __tablename__ = "demo"

    code: str = Field(sa_column=text_column(key=True))
    name: str = Field(sa_column=text_column())
    spare: str = Field(sa_column=text_column())
    about: str = Field(sa_column=text_column())
    caution: str = Field(sa_column=text_column())
    source: str = Field(sa_column=text_column())
    other_names: str = Field(default="", sa_column=added_text())
    principle: str = Field(default="", sa_column=added_text())
    trials: int = Field(default=0, sa_column=Column(Integer, nullable=False, server_default="0"))
    kind: str = Field(default="demonstration", sa_column=text_column(default="demonstration"))
    ask_first: str = Field(default="", sa_column=added_text())


class NeedRow(StoredRow, table=True):
    """What one showing needs of one item."""

    __tablename__ = "need"

    demo: str = Field(sa_column=text_column(key=True, refers="demo.code"))
    position: int = Field(sa_column=Column(Integer, primary_key=True))
    item: str = Field(sa_column=text_column())
    per_showing: int = Field(sa_column=Column(BigInteger, nullable=False))
    vessel: str = Field(sa_column=text_column())
    dead: int = Field(sa_column=Column(BigInteger, nullable=False))
    fresh: int = Field(sa_column=Column(Integer, nullable=False))
    drops: int = Field(sa_column=Column(Integer, nullable=False))
    until: str = Field(sa_column=text_column())
    note: str = Field(sa_column=text_column())
    dropper: str = Field(default="", sa_column=added_text())
    shared: int = Field(default=0, sa_column=Column(Integer, nullable=False, server_default="0"))
    portions: int = Field(default=1, sa_column=Column(Integer, nullable=False, server_default="1"))


class LeftoverRow(StoredRow, table=True):
    """What a demo leaves to dispose of."""

    __tablename__ = "leftover"

    demo: str = Field(sa_column=text_column(key=True, refers="demo.code"))
    position: int = Field(sa_column=Column(Integer, primary_key=True))
    what: str = Field(sa_column=text_column())
    stream: str = Field(sa_column=text_column())
    note: str = Field(sa_column=text_column())
