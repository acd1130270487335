"""What every table is made of: one metadata, names for constraints, and columns of text."""

from sqlalchemy import Column, ForeignKey, MetaData, Text
from sqlmodel import SQLModel

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class StoredRow(SQLModel):
    """A row of a table. Its validator, which no table uses, is built only when it is asked for."""

    model_config = {"defer_build": True}


SQLModel.metadata.naming_convention = NAMES
metadata: MetaData = SQLModel.metadata

# Sorted by the characters' numbers, as SQLite does it, whatever the server's language: a plan is the same on either.
TEXT = Text().with_variant(Text(collation="C"), "postgresql")


def text_column(
    *, key: bool = False, null: bool = False, refers: str = "", default: str | None = None
) -> "Column[str]":
    """Make a column of text; `refers` names the column of another table that it points to."""
    extra = (ForeignKey(refers),) if refers else ()
    return Column(TEXT, *extra, primary_key=key, nullable=null, server_default=default)


def added_text() -> "Column[str]":
    """Make a text column that a later revision adds: empty in the rows that were there."""
    return Column(TEXT, nullable=False, server_default="")
