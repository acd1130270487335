"""What the prep room makes, what goes into it, and how it is made."""

from sqlalchemy import BigInteger, Column, Integer
from sqlmodel import Field

from prep.store.columns import TEXT, StoredRow, text_column


class SolutionRow(StoredRow, table=True):
    """What the room makes."""

    __tablename__ = "solution"

    code: str = Field(sa_column=text_column(key=True))
    name: str = Field(sa_column=text_column())
    purpose: str = Field(sa_column=text_column())
    solute: str = Field(sa_column=text_column())
    strength: str | None = Field(sa_column=text_column(null=True))
    strength_of: str = Field(sa_column=text_column())
    shelf_life_days: int = Field(sa_column=Column(Integer, nullable=False))
    made_fresh: int = Field(sa_column=Column(Integer, nullable=False))
    keeping: str = Field(sa_column=text_column())
    tolerance_pct: str = Field(sa_column=text_column())
    made_from: str = Field(sa_column=text_column())
    make_up_with: str = Field(sa_column=text_column())
    recipe_nl: int = Field(sa_column=Column(BigInteger, nullable=False))
    minutes: int = Field(sa_column=Column(Integer, nullable=False))
    method: str = Field(sa_column=text_column())
    usual_nl: int = Field(sa_column=Column(BigInteger, nullable=False, server_default="0"))
    small_batch: str = Field(sa_column=Column(TEXT, nullable=False, server_default="no"))
    own_steps: str = Field(sa_column=Column(TEXT, nullable=False, server_default=""))  # a school's method, as JSON
    sources: str = Field(sa_column=text_column())


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
    goes_into: str | None = Field(sa_column=text_column(null=True))  # none: recorded before it was asked
    up_to_c: str | None = Field(sa_column=text_column(null=True))  # likewise
