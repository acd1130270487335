"""What jobs changed besides amounts, and the seal of each job."""

from sqlalchemy import Column, ForeignKey, Index, Integer
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
