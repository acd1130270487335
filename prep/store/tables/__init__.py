"""The tables, by aggregate: catalogue, stock, bookings, counts."""

from prep.store.columns import metadata
from prep.store.people import tables as people  # noqa: F401  one metadata holds every table
from prep.store.tables.bookings import AgeGroupRow, BookingRow, SchoolRuleRow, UsageRow
from prep.store.tables.catalogue import (
    ClosedRow,
    DemoRow,
    IngredientRow,
    InstrumentRow,
    LeftoverRow,
    LocationRow,
    MethodStepRow,
    NeedRow,
    RuleRow,
    SettingRow,
    SheetCheckRow,
    SolutionRow,
    SubstanceRow,
)
from prep.store.tables.counts import CountReportRow, SignoffRow, StocktakeRow, TallyRow
from prep.store.tables.day import DayLineRow
from prep.store.tables.stock import (
    BatchRow,
    BottleRow,
    ChangeRow,
    JobRow,
    MovementRow,
    OrderRow,
    PeroxideTestRow,
    ResidueRow,
    SealRow,
    WasteRow,
)

__all__ = [
    "AgeGroupRow",
    "BatchRow",
    "BookingRow",
    "BottleRow",
    "ChangeRow",
    "ClosedRow",
    "CountReportRow",
    "DayLineRow",
    "DemoRow",
    "IngredientRow",
    "InstrumentRow",
    "JobRow",
    "LeftoverRow",
    "LocationRow",
    "MethodStepRow",
    "MovementRow",
    "NeedRow",
    "OrderRow",
    "PeroxideTestRow",
    "ResidueRow",
    "RuleRow",
    "SchoolRuleRow",
    "SealRow",
    "SettingRow",
    "SheetCheckRow",
    "SignoffRow",
    "SolutionRow",
    "StocktakeRow",
    "SubstanceRow",
    "TallyRow",
    "UsageRow",
    "WasteRow",
    "metadata",
]
