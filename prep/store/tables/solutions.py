"""What the prep room makes."""

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
