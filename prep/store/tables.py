"""The tables. Amounts are integers in micrograms or nanolitres; strengths are decimal text; dates are dates.

Every constraint has a name, so that a migration can speak of it. A bottle's `balance` is what its movements
add up to; only `prep.store.ledger` changes it. Table models do not validate: rows are built from dataclasses
that the services have checked.
"""

from datetime import date

from sqlalchemy import BigInteger, CheckConstraint, Column, ForeignKey, Index, Integer
from sqlmodel import Field, SQLModel

from prep.store.columns import TEXT
from prep.store.columns import metadata as metadata
from prep.store.columns import text_column as _text
from prep.store.people import tables as people  # noqa: F401  one metadata holds every table


class SubstanceRow(SQLModel, table=True):
    """A chemical as bought. Lists are separated by `;`, decimals are text, `sources` is JSON."""

    __tablename__ = "substance"

    code: str = Field(sa_column=_text(key=True))
    name: str = Field(sa_column=_text())
    formula: str = Field(sa_column=_text())
    solute: str = Field(sa_column=_text())
    form: str = Field(sa_column=_text())
    other_names: str = Field(sa_column=_text())
    cas: str = Field(sa_column=_text())
    assay_pct: str | None = Field(sa_column=_text(null=True))
    density_g_ml: str | None = Field(sa_column=_text(null=True))
    solubility_g_per_100g: str | None = Field(sa_column=_text(null=True))
    solubility_c: str | None = Field(sa_column=_text(null=True))
    classification: str = Field(sa_column=_text())
    supplemental: str = Field(sa_column=_text())
    flash_point_c: str | None = Field(sa_column=_text(null=True))
    storage_group: str = Field(sa_column=_text())
    disposal: str = Field(sa_column=_text())
    peroxide_class: str = Field(sa_column=_text())
    sources: str = Field(sa_column=_text())


class SolutionRow(SQLModel, table=True):
    """What the room makes."""

    __tablename__ = "solution"

    code: str = Field(sa_column=_text(key=True))
    name: str = Field(sa_column=_text())
    purpose: str = Field(sa_column=_text())
    solute: str = Field(sa_column=_text())
    strength: str | None = Field(sa_column=_text(null=True))
    strength_of: str = Field(sa_column=_text())
    shelf_life_days: int = Field(sa_column=Column(Integer, nullable=False))
    made_fresh: int = Field(sa_column=Column(Integer, nullable=False))
    keeping: str = Field(sa_column=_text())
    tolerance_pct: str = Field(sa_column=_text())
    made_from: str = Field(sa_column=_text())
    make_up_with: str = Field(sa_column=_text())
    recipe_nl: int = Field(sa_column=Column(BigInteger, nullable=False))
    minutes: int = Field(sa_column=Column(Integer, nullable=False))
    method: str = Field(sa_column=_text())
    usual_nl: int = Field(sa_column=Column(BigInteger, nullable=False, server_default="0"))
    small_batch: str = Field(sa_column=Column(TEXT, nullable=False, server_default="no"))
    sources: str = Field(sa_column=_text())


class IngredientRow(SQLModel, table=True):
    """A recipe's line, in order of adding."""

    __tablename__ = "ingredient"

    solution: str = Field(sa_column=_text(key=True, refers="solution.code"))
    position: int = Field(sa_column=Column(Integer, primary_key=True))
    item: str = Field(sa_column=_text())
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    note: str = Field(sa_column=_text())


class DemoRow(SQLModel, table=True):
    """A demonstration."""

    __tablename__ = "demo"

    code: str = Field(sa_column=_text(key=True))
    name: str = Field(sa_column=_text())
    spare: str = Field(sa_column=_text())
    about: str = Field(sa_column=_text())
    caution: str = Field(sa_column=_text())
    source: str = Field(sa_column=_text())


class NeedRow(SQLModel, table=True):
    """What one showing needs of one item."""

    __tablename__ = "need"

    demo: str = Field(sa_column=_text(key=True, refers="demo.code"))
    position: int = Field(sa_column=Column(Integer, primary_key=True))
    item: str = Field(sa_column=_text())
    per_showing: int = Field(sa_column=Column(BigInteger, nullable=False))
    vessel: str = Field(sa_column=_text())
    dead: int = Field(sa_column=Column(BigInteger, nullable=False))
    fresh: int = Field(sa_column=Column(Integer, nullable=False))
    drops: int = Field(sa_column=Column(Integer, nullable=False))
    until: str = Field(sa_column=_text())
    note: str = Field(sa_column=_text())


class LeftoverRow(SQLModel, table=True):
    """What a demo leaves to dispose of."""

    __tablename__ = "leftover"

    demo: str = Field(sa_column=_text(key=True, refers="demo.code"))
    position: int = Field(sa_column=Column(Integer, primary_key=True))
    what: str = Field(sa_column=_text())
    stream: str = Field(sa_column=_text())
    note: str = Field(sa_column=_text())


class InstrumentRow(SQLModel, table=True):
    """A kind of vessel or balance the room owns; figures are decimal text in mL or g."""

    __tablename__ = "instrument"

    code: str = Field(sa_column=_text(key=True))
    position: int = Field(sa_column=Column(Integer, nullable=False))
    name: str = Field(sa_column=_text())
    kind: str = Field(sa_column=_text())
    grade: str = Field(sa_column=_text())
    capacity: str = Field(sa_column=_text())
    tolerance: str = Field(sa_column=_text())
    resolution: str = Field(sa_column=_text())
    count: int = Field(sa_column=Column(Integer, nullable=False))
    source: str = Field(sa_column=_text())


class LocationRow(SQLModel, table=True):
    """Where bottles stand, in walking order."""

    __tablename__ = "location"

    code: str = Field(sa_column=_text(key=True))
    name: str = Field(sa_column=_text())
    walk_order: int = Field(sa_column=Column(Integer, nullable=False))
    note: str = Field(sa_column=_text())


class RuleRow(SQLModel, table=True):
    """Minimum stock, packs (amounts between `;`) and days an order takes."""

    __tablename__ = "rule"

    item: str = Field(sa_column=_text(key=True))
    minimum: int = Field(sa_column=Column(BigInteger, nullable=False))
    packs: str = Field(sa_column=_text())
    lead_days: int = Field(sa_column=Column(Integer, nullable=False))


class ClosedRow(SQLModel, table=True):
    """A day on which the room is closed."""

    __tablename__ = "closed"

    on: date = Field(primary_key=True)
    why: str = Field(sa_column=_text())


class SettingRow(SQLModel, table=True):
    """One setting of the school; `value` is JSON."""

    __tablename__ = "setting"

    key: str = Field(sa_column=_text(key=True))
    value: str = Field(sa_column=_text())


class JobRow(SQLModel, table=True):
    """One thing done: all its movements happened together. Append-only. `at` is UTC, ISO 8601."""

    __tablename__ = "job"

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    kind: str = Field(sa_column=_text())
    by: str = Field(sa_column=_text())
    at: str = Field(sa_column=_text())
    on: date
    note: str = Field(sa_column=_text())
    reverses: int | None = Field(default=None, sa_column=Column(Integer, ForeignKey("job.id"), unique=True))


class BottleRow(SQLModel, table=True):
    """One container. `measure` is mass (ug) or volume (nL).

    `strength` is the found strength, with its uncertainty (k = 2) in per cent; `tare` [ug] is the empty
    container's mass, for weighing what is left.
    """

    __tablename__ = "bottle"
    __table_args__ = (
        CheckConstraint("balance >= 0", name="balance_not_below_zero"),
        CheckConstraint("measure IN ('mass', 'volume')", name="measure"),
        CheckConstraint("status IN ('in service', 'quarantine', 'discarded')", name="status"),
        Index("ix_bottle_item", "item"),
    )

    code: str = Field(sa_column=_text(key=True))
    item: str = Field(sa_column=_text())
    measure: str = Field(sa_column=_text())
    balance: int = Field(sa_column=Column(BigInteger, nullable=False))
    status: str = Field(sa_column=_text())
    location: str = Field(sa_column=_text(refers="location.code"))
    received: date | None = None
    opened: date | None = None
    use_by: date | None = None
    lot: str = Field(sa_column=_text())
    strength: str | None = Field(default=None, sa_column=_text(null=True))
    strength_uncertainty_pct: str | None = Field(default=None, sa_column=_text(null=True))
    tare: int | None = Field(default=None, sa_column=Column(BigInteger, nullable=True))
    made_by: str = Field(sa_column=_text())
    note: str = Field(sa_column=_text())


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
    bottle: str = Field(sa_column=_text(refers="bottle.code"))
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    reason: str = Field(sa_column=_text())
    reverses: int | None = Field(default=None, sa_column=Column(Integer, ForeignKey("movement.id"), unique=True))


class ChangeRow(SQLModel, table=True):
    """What a job changed besides amounts: one field, its value before and after. Append-only.

    `kind` is bottle, purchase, booking or stocktake. `before` is null for the status of a bottle new on the books.
    """

    __tablename__ = "change"
    __table_args__ = (
        CheckConstraint("kind IN ('bottle', 'purchase', 'booking', 'stocktake')", name="kind"),
        Index("ix_change_kind_code", "kind", "code"),
        Index("ix_change_job", "job"),
    )

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    kind: str = Field(sa_column=_text())
    code: str = Field(sa_column=_text())
    field: str = Field(sa_column=_text())
    before: str | None = Field(default=None, sa_column=_text(null=True))
    after: str | None = Field(default=None, sa_column=_text(null=True))


class BatchRow(SQLModel, table=True):
    """One making of a solution, and the bottle it filled."""

    __tablename__ = "batch"

    bottle: str = Field(sa_column=_text(key=True, refers="bottle.code"))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    solution: str = Field(sa_column=_text())
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    nominal: str | None = Field(default=None, sa_column=_text(null=True))
    uncertainty_pct: str | None = Field(default=None, sa_column=_text(null=True))
    made_on: date
    use_by: date
    made_by: str = Field(sa_column=_text())


class BookingRow(SQLModel, table=True):
    """A teacher's booking."""

    __tablename__ = "booking"
    __table_args__ = (
        CheckConstraint("status IN ('booked', 'done', 'cancelled')", name="status"),
        CheckConstraint("showings > 0", name="showings"),
        Index("ix_booking_on", "on"),
    )

    code: str = Field(sa_column=_text(key=True))
    on: date
    period: str = Field(sa_column=_text())
    room: str = Field(sa_column=_text())
    teacher: str = Field(sa_column=_text())
    demo: str = Field(sa_column=_text())
    showings: int = Field(sa_column=Column(Integer, nullable=False))
    status: str = Field(sa_column=_text())


class OrderRow(SQLModel, table=True):
    """An order placed with a supplier."""

    __tablename__ = "purchase"
    __table_args__ = (CheckConstraint("status IN ('placed', 'arrived', 'cancelled')", name="status"),)

    code: str = Field(sa_column=_text(key=True))
    item: str = Field(sa_column=_text())
    pack: int = Field(sa_column=Column(BigInteger, nullable=False))
    packs: int = Field(sa_column=Column(Integer, nullable=False))
    placed: date
    due: date
    status: str = Field(sa_column=_text())
    by: str = Field(sa_column=_text())


class UsageRow(SQLModel, table=True):
    """What a booking really used of an item, beside the demo's own figure. Append-only.

    `measured` is 0 where nobody said what was used and it was booked as planned.
    """

    __tablename__ = "usage"
    __table_args__ = (Index("ix_usage_booking", "booking"),)

    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), primary_key=True))
    item: str = Field(sa_column=_text(key=True))
    booking: str = Field(sa_column=_text(refers="booking.code"))
    demo: str = Field(sa_column=_text())
    planned: int = Field(sa_column=Column(BigInteger, nullable=False))
    used: int = Field(sa_column=Column(BigInteger, nullable=False))
    measured: int = Field(sa_column=Column(Integer, nullable=False))


class StocktakeRow(SQLModel, table=True):
    """A count of one location, or of all (`location` empty). Closed, `job` posted what it found."""

    __tablename__ = "stocktake"
    __table_args__ = (CheckConstraint("status IN ('open', 'closed', 'dropped')", name="status"),)

    code: str = Field(sa_column=_text(key=True))
    location: str = Field(sa_column=_text())
    blind: int = Field(sa_column=Column(Integer, nullable=False))
    status: str = Field(sa_column=_text())
    opened_on: date
    opened_by: str = Field(sa_column=_text())
    closed_on: date | None = None
    closed_by: str | None = Field(default=None, sa_column=_text(null=True))
    job: int | None = Field(default=None, sa_column=Column(Integer, ForeignKey("job.id"), nullable=True))


class TallyRow(SQLModel, table=True):
    """One entry of a count; of several for a bottle the latest stands. Append-only.

    `kind` counted, not found, or found (not on the books: `bottle` empty, `item` empty where the label
    cannot be read). `method` is JSON; `upto` the newest movement at the moment of counting.
    """

    __tablename__ = "tally"
    __table_args__ = (
        CheckConstraint("kind IN ('counted', 'not found', 'found')", name="kind"),
        Index("ix_tally_stocktake_bottle", "stocktake", "bottle"),
    )

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    stocktake: str = Field(sa_column=_text(refers="stocktake.code"))
    bottle: str = Field(sa_column=_text())
    kind: str = Field(sa_column=_text())
    readable: int = Field(sa_column=Column(Integer, nullable=False))
    item: str = Field(sa_column=_text())
    location: str = Field(sa_column=_text())
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    method: str = Field(sa_column=_text())
    note: str = Field(sa_column=_text())
    upto: int = Field(sa_column=Column(Integer, nullable=False))
    by: str = Field(sa_column=_text())
    at: str = Field(sa_column=_text())


class SignoffRow(SQLModel, table=True):
    """What a closed count says of one bottle. `u_after` is decimal text, in the bottle's unit."""

    __tablename__ = "signoff"
    __table_args__ = (Index("ix_signoff_bottle", "bottle"),)

    stocktake: str = Field(sa_column=_text(key=True, refers="stocktake.code"))
    bottle: str = Field(sa_column=_text(key=True, refers="bottle.code"))
    book: int = Field(sa_column=Column(BigInteger, nullable=False))
    counted: int = Field(sa_column=Column(BigInteger, nullable=False))
    adjust: int = Field(sa_column=Column(BigInteger, nullable=False))
    u_after: str = Field(sa_column=_text())
    flagged: int = Field(sa_column=Column(Integer, nullable=False))
    found: int = Field(sa_column=Column(Integer, nullable=False))
    says: str = Field(sa_column=_text())
