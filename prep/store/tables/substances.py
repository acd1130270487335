"""Substances as bought."""

from sqlalchemy import Column, Integer
from sqlmodel import Field

from prep.store.columns import TEXT, StoredRow, text_column


class SubstanceRow(StoredRow, table=True):
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
