"""What jobs record besides amounts: changes, what was checked, and the seal of each job."""

from datetime import date

from sqlalchemy import CheckConstraint, Column, ForeignKey, Index, Integer
from sqlmodel import Field

from prep.store.columns import StoredRow, text_column


class ChangeRow(StoredRow, table=True):
    """What a job changed besides amounts: one field, its value before and after. Append-only.

    `kind` is the table of the record. `field` is `*` for a record as a whole, as JSON: `before` is null where it is
    new, `after` where it is gone.
    """

    __tablename__ = "change"
    __table_args__ = (
        Index("ix_change_kind_code", "kind", "code"),
        Index("ix_change_job", "job"),
    )

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    kind: str = Field(sa_column=text_column())
    code: str = Field(sa_column=text_column())
    field: str = Field(sa_column=text_column())
    before: str | None = Field(default=None, sa_column=text_column(null=True))
    after: str | None = Field(default=None, sa_column=text_column(null=True))


class SealRow(StoredRow, table=True):
    """The seal of a job: the digest of its lines and of the seal before. A sealed job takes no more lines."""

    __tablename__ = "seal"

    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), primary_key=True))
    digest: str = Field(sa_column=text_column())


class PeroxideTestRow(StoredRow, table=True):
    """A peroxide test that a bottle passed."""

    __tablename__ = "peroxide_test"
    __table_args__ = (Index("ix_peroxide_test_bottle", "bottle"),)

    number: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    bottle: str = Field(sa_column=text_column(refers="bottle.code"))
    on: date
    recorded_by: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))


class HandOverRow(StoredRow, table=True):
    """What this school gave to another, or took from it; `bottle` is at the school that gave. Numbered by its job."""

    __tablename__ = "hand_over"
    __table_args__ = (
        CheckConstraint("side IN ('gave', 'took')", name="side"),
        Index("ix_hand_over_recorded_by", "recorded_by"),
    )

    number: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    name: str = Field(sa_column=text_column())
    side: str = Field(sa_column=text_column())
    school: str = Field(sa_column=text_column())
    bottle: str = Field(sa_column=text_column())
    recorded_by: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))


class SheetCheckRow(StoredRow, table=True):
    """A substance's classification as somebody read it on its supplier's data sheet. Append-only."""

    __tablename__ = "sheet_check"
    __table_args__ = (Index("ix_sheet_check_job", "job"), Index("ix_sheet_check_substance", "substance"))

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    substance: str = Field(sa_column=text_column())
    supplier: str = Field(sa_column=text_column())
    revision: str = Field(sa_column=text_column())
    classification: str = Field(sa_column=text_column())
