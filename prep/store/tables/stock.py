"""The books: jobs, bottles, movements, changes, batches, orders, and the seal of each job."""

from datetime import date

from sqlalchemy import BigInteger, CheckConstraint, Column, ForeignKey, Index, Integer
from sqlmodel import Field, SQLModel

from prep.store.columns import text_column


class JobRow(SQLModel, table=True):
    """One thing done: all its movements happened together. Append-only. `at` is UTC, ISO 8601."""

    __tablename__ = "job"

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    kind: str = Field(sa_column=text_column())
    by: str = Field(sa_column=text_column())
    at: str = Field(sa_column=text_column())
    on: date
    note: str = Field(sa_column=text_column())
    reverses: int | None = Field(default=None, sa_column=Column(Integer, ForeignKey("job.id"), unique=True))


class BottleRow(SQLModel, table=True):
    """One container. `measure` is mass (ug) or volume (nL).

    `strength` is the found strength, with its uncertainty (k = 2) in per cent; `tare` [ug] is the empty
    container's mass, for weighing what is left; `full` is what it holds when full, in its unit; `cost` is what it
    cost, full, as decimal text in the school's currency.
    """

    __tablename__ = "bottle"
    __table_args__ = (
        CheckConstraint("balance >= 0", name="balance_not_below_zero"),
        CheckConstraint("measure IN ('mass', 'volume')", name="measure"),
        CheckConstraint("status IN ('in service', 'quarantine', 'discarded')", name="status"),
        Index("ix_bottle_item", "item"),
    )

    code: str = Field(sa_column=text_column(key=True))
    item: str = Field(sa_column=text_column())
    measure: str = Field(sa_column=text_column())
    balance: int = Field(sa_column=Column(BigInteger, nullable=False))
    status: str = Field(sa_column=text_column())
    location: str = Field(sa_column=text_column(refers="location.code"))
    received: date | None = None
    opened: date | None = None
    use_by: date | None = None
    lot: str = Field(sa_column=text_column())
    strength: str | None = Field(default=None, sa_column=text_column(null=True))
    strength_uncertainty_pct: str | None = Field(default=None, sa_column=text_column(null=True))
    tare: int | None = Field(default=None, sa_column=Column(BigInteger, nullable=True))
    made_by: str = Field(sa_column=text_column())
    note: str = Field(sa_column=text_column())
    full: int | None = Field(default=None, sa_column=Column(BigInteger, nullable=True))
    supplier: str | None = Field(default=None, sa_column=text_column(null=True))
    cost: str | None = Field(default=None, sa_column=text_column(null=True))


class MovementRow(SQLModel, table=True):
    """One line of the ledger. Append-only; a mistake is reversed by a line that names it."""

    __tablename__ = "movement"
    __table_args__ = (
        CheckConstraint("amount <> 0", name="amount_not_zero"),
        Index("ix_movement_bottle_amount_job", "bottle", "amount", "job"),  # the sums need no other page
        Index("ix_movement_job", "job"),
    )

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    bottle: str = Field(sa_column=text_column(refers="bottle.code"))
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    reason: str = Field(sa_column=text_column())
    reverses: int | None = Field(default=None, sa_column=Column(Integer, ForeignKey("movement.id"), unique=True))


class ChangeRow(SQLModel, table=True):
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


class BatchRow(SQLModel, table=True):
    """One making of a solution, and the bottle it filled."""

    __tablename__ = "batch"

    bottle: str = Field(sa_column=text_column(key=True, refers="bottle.code"))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    solution: str = Field(sa_column=text_column())
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    nominal: str | None = Field(default=None, sa_column=text_column(null=True))
    uncertainty_pct: str | None = Field(default=None, sa_column=text_column(null=True))
    made_on: date
    use_by: date
    made_by: str = Field(sa_column=text_column())


class PeroxideTestRow(SQLModel, table=True):
    """A peroxide test that a bottle passed."""

    __tablename__ = "peroxide_test"
    __table_args__ = (Index("ix_peroxide_test_bottle", "bottle"),)

    number: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    bottle: str = Field(sa_column=text_column(refers="bottle.code"))
    on: date
    recorded_by: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))


class OrderRow(SQLModel, table=True):
    """An order placed with a supplier."""

    __tablename__ = "purchase"
    __table_args__ = (CheckConstraint("status IN ('placed', 'arrived', 'cancelled')", name="status"),)

    code: str = Field(sa_column=text_column(key=True))
    item: str = Field(sa_column=text_column())
    pack: int = Field(sa_column=Column(BigInteger, nullable=False))
    packs: int = Field(sa_column=Column(Integer, nullable=False))
    placed: date
    due: date
    status: str = Field(sa_column=text_column())
    by: str = Field(sa_column=text_column())


class SealRow(SQLModel, table=True):
    """The seal of a job: the digest of its lines and of the seal before. A sealed job takes no more lines."""

    __tablename__ = "seal"

    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), primary_key=True))
    digest: str = Field(sa_column=text_column())


class WasteRow(SQLModel, table=True):
    """A waste bottle: its stream, where it stands, and what it takes [nL] until it is full."""

    __tablename__ = "waste"
    __table_args__ = (CheckConstraint("status IN ('open', 'closed')", name="status"),)

    code: str = Field(sa_column=text_column(key=True))
    stream: str = Field(sa_column=text_column())
    location: str = Field(sa_column=text_column(refers="location.code"))
    full: int = Field(sa_column=Column(BigInteger, nullable=False))
    status: str = Field(sa_column=text_column())


class ResidueRow(SQLModel, table=True):
    """What was put into a waste bottle [nL], or, below zero, taken away when it was emptied. Append-only."""

    __tablename__ = "residue"
    __table_args__ = (Index("ix_residue_waste", "waste"), Index("ix_residue_job", "job"))

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    waste: str = Field(sa_column=text_column(refers="waste.code"))
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    what: str = Field(sa_column=text_column())
