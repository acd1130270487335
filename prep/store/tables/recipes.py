"""What goes into a solution, and how it is made."""

from sqlalchemy import BigInteger, Column, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class IngredientRow(StoredRow, table=True):
    """A recipe's line, in order of adding."""

    __tablename__ = "ingredient"

    solution: str = Field(sa_column=text_column(key=True, refers="solution.code"))
    position: int = Field(sa_column=Column(Integer, primary_key=True))
    item: str = Field(sa_column=text_column())
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    note: str = Field(sa_column=text_column())


class MethodStepRow(StoredRow, table=True):
    """One step of how a solution is made or a substance handled; `code` is either's."""

    __tablename__ = "method_step"

    code: str = Field(sa_column=text_column(key=True))
    position: int = Field(sa_column=Column(Integer, primary_key=True))
    kind: str = Field(sa_column=text_column())
    text: str = Field(sa_column=text_column())
    item: str = Field(sa_column=text_column())
    origins: str = Field(sa_column=text_column())
    share: str | None = Field(sa_column=text_column(null=True))
    temperature_c: str | None = Field(sa_column=text_column(null=True))
    minutes: int = Field(sa_column=Column(Integer, nullable=False))
    source: str = Field(sa_column=text_column())
