"""The school's age groups and its own limits."""

from sqlalchemy import Column, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, added_text, text_column


class AgeGroupRow(StoredRow, table=True):
    """An age group as the school calls it; `spellings` are other ways to write it, between `;`."""

    __tablename__ = "age_group"

    name: str = Field(sa_column=text_column(key=True))
    position: int = Field(sa_column=Column(Integer, nullable=False))
    spellings: str = Field(sa_column=text_column())


class SchoolRuleRow(StoredRow, table=True):
    """A limit of the school's own; without `at_most` the item, or the demonstration, is barred.

    Empty room or group: everywhere, all. `from_group` is the youngest age group that it leaves alone.
    """

    __tablename__ = "school_rule"

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    item: str = Field(sa_column=text_column())
    at_most: str | None = Field(default=None, sa_column=text_column(null=True))
    room: str = Field(sa_column=text_column())
    group: str = Field(sa_column=text_column())
    why: str = Field(sa_column=text_column())
    demo: str = Field(default="", sa_column=added_text())
    from_group: str = Field(default="", sa_column=added_text())
