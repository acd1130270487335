"""What the school knows: substances, solutions, demos, instruments, places, rules and settings."""

from datetime import date

from sqlalchemy import BigInteger, Column, ForeignKey, Index, Integer
from sqlmodel import Field, SQLModel

from prep.store.columns import TEXT, added_text, text_column


class SubstanceRow(SQLModel, table=True):
    """A chemical as bought. Lists are separated by `;`, decimals are text, `sources` is JSON."""

    __tablename__ = "substance"

    code: str = Field(sa_column=text_column(key=True))
    name: str = Field(sa_column=text_column())
    formula: str = Field(sa_column=text_column())
    solute: str = Field(sa_column=text_column())
    form: str = Field(sa_column=text_column())
    other_names: str = Field(sa_column=text_column())
    cas: str = Field(sa_column=text_column())
    assay_pct: str | None = Field(sa_column=text_column(null=True))
    density_g_ml: str | None = Field(sa_column=text_column(null=True))
    solubility_g_per_100g: str | None = Field(sa_column=text_column(null=True))
    solubility_c: str | None = Field(sa_column=text_column(null=True))
    classification: str = Field(sa_column=text_column())
    supplemental: str = Field(sa_column=text_column())
    flash_point_c: str | None = Field(sa_column=text_column(null=True))
    storage_group: str = Field(sa_column=text_column())
    disposal: str = Field(sa_column=text_column())
    peroxide_class: str = Field(sa_column=text_column())
    sources: str = Field(sa_column=text_column())
    assay_half_width_pct: str | None = Field(default=None, sa_column=text_column(null=True))
    dry_c: str | None = Field(default=None, sa_column=text_column(null=True))
    dry_minutes: int = Field(default=0, sa_column=Column(Integer, nullable=False, server_default="0"))
    unfit: str = Field(default="", sa_column=Column(TEXT, nullable=False, server_default=""))
    found_against: str = Field(default="", sa_column=Column(TEXT, nullable=False, server_default=""))


class SheetCheckRow(SQLModel, table=True):
    """A substance's classification as somebody read it on its supplier's data sheet. Append-only."""

    __tablename__ = "sheet_check"
    __table_args__ = (Index("ix_sheet_check_job", "job"), Index("ix_sheet_check_substance", "substance"))

    id: int | None = Field(default=None, sa_column=Column(Integer, primary_key=True))
    job: int = Field(sa_column=Column(Integer, ForeignKey("job.id"), nullable=False))
    substance: str = Field(sa_column=text_column())
    supplier: str = Field(sa_column=text_column())
    revision: str = Field(sa_column=text_column())
    classification: str = Field(sa_column=text_column())


class SolutionRow(SQLModel, table=True):
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
    sources: str = Field(sa_column=text_column())


class MethodStepRow(SQLModel, table=True):
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


class IngredientRow(SQLModel, table=True):
    """A recipe's line, in order of adding."""

    __tablename__ = "ingredient"

    solution: str = Field(sa_column=text_column(key=True, refers="solution.code"))
    position: int = Field(sa_column=Column(Integer, primary_key=True))
    item: str = Field(sa_column=text_column())
    amount: int = Field(sa_column=Column(BigInteger, nullable=False))
    note: str = Field(sa_column=text_column())


class DemoRow(SQLModel, table=True):
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


class NeedRow(SQLModel, table=True):
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


class LeftoverRow(SQLModel, table=True):
    """What a demo leaves to dispose of."""

    __tablename__ = "leftover"

    demo: str = Field(sa_column=text_column(key=True, refers="demo.code"))
    position: int = Field(sa_column=Column(Integer, primary_key=True))
    what: str = Field(sa_column=text_column())
    stream: str = Field(sa_column=text_column())
    note: str = Field(sa_column=text_column())


class InstrumentRow(SQLModel, table=True):
    """A kind of vessel or balance the room owns; figures are decimal text in mL or g."""

    __tablename__ = "instrument"

    code: str = Field(sa_column=text_column(key=True))
    position: int = Field(sa_column=Column(Integer, nullable=False))
    name: str = Field(sa_column=text_column())
    kind: str = Field(sa_column=text_column())
    grade: str = Field(sa_column=text_column())
    capacity: str = Field(sa_column=text_column())
    tolerance: str = Field(sa_column=text_column())
    resolution: str = Field(sa_column=text_column())
    count: int = Field(sa_column=Column(Integer, nullable=False))
    source: str = Field(sa_column=text_column())


class LocationRow(SQLModel, table=True):
    """Where bottles stand, in walking order."""

    __tablename__ = "location"

    code: str = Field(sa_column=text_column(key=True))
    name: str = Field(sa_column=text_column())
    walk_order: int = Field(sa_column=Column(Integer, nullable=False))
    note: str = Field(sa_column=text_column())


class RuleRow(SQLModel, table=True):
    """Minimum stock, packs (amounts between `;`) and days an order takes."""

    __tablename__ = "rule"

    item: str = Field(sa_column=text_column(key=True))
    minimum: int = Field(sa_column=Column(BigInteger, nullable=False))
    packs: str = Field(sa_column=text_column())
    lead_days: int = Field(sa_column=Column(Integer, nullable=False))


class ClosedRow(SQLModel, table=True):
    """A day on which the room is closed."""

    __tablename__ = "closed"

    on: date = Field(primary_key=True)
    why: str = Field(sa_column=text_column())


class SettingRow(SQLModel, table=True):
    """One setting of the school; `value` is JSON."""

    __tablename__ = "setting"

    key: str = Field(sa_column=text_column(key=True))
    value: str = Field(sa_column=text_column())
