"""The tables, by aggregate, each built when it is first asked for: a command waits for those that it reads alone."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from prep.store.columns import metadata
    from prep.store.tables.bookings import BookingRow
    from prep.store.tables.bottles import BottleRow
    from prep.store.tables.changes import ChangeRow, HandOverRow, PeroxideTestRow, SealRow, SheetCheckRow
    from prep.store.tables.counts import CountReportRow, SignoffRow, StocktakeRow, TallyRow
    from prep.store.tables.day import DayLineRow, DaySealRow
    from prep.store.tables.demos import DemoRow, LeftoverRow, NeedRow
    from prep.store.tables.ledger import JobRow, MovementRow
    from prep.store.tables.makes import BatchRow, UsageRow
    from prep.store.tables.orders import OrderRow
    from prep.store.tables.places_and_instruments import InstrumentRow, LocationRow
    from prep.store.tables.school_rules import AgeGroupRow, SchoolRuleRow
    from prep.store.tables.settings import ClosedRow, RuleRow, SettingRow
    from prep.store.tables.solutions import IngredientRow, MethodStepRow, SolutionRow
    from prep.store.tables.substances import SubstanceRow
    from prep.store.tables.waste import ResidueRow, WasteRow

_ROWS = {
    "bookings": ("BookingRow",),
    "bottles": ("BottleRow",),
    "changes": (
        "ChangeRow",
        "HandOverRow",
        "PeroxideTestRow",
        "SealRow",
        "SheetCheckRow",
    ),
    "counts": (
        "CountReportRow",
        "SignoffRow",
        "StocktakeRow",
        "TallyRow",
    ),
    "day": ("DayLineRow", "DaySealRow"),
    "demos": (
        "DemoRow",
        "LeftoverRow",
        "NeedRow",
    ),
    "ledger": (
        "JobRow",
        "MovementRow",
    ),
    "makes": (
        "BatchRow",
        "UsageRow",
    ),
    "orders": ("OrderRow",),
    "places_and_instruments": (
        "InstrumentRow",
        "LocationRow",
    ),
    "school_rules": (
        "AgeGroupRow",
        "SchoolRuleRow",
    ),
    "settings": (
        "ClosedRow",
        "RuleRow",
        "SettingRow",
    ),
    "solutions": (
        "IngredientRow",
        "MethodStepRow",
        "SolutionRow",
    ),
    "substances": ("SubstanceRow",),
    "waste": (
        "ResidueRow",
        "WasteRow",
    ),
}
"""The table models by the module that holds them."""
_MODULE_OF = {row: module for module, rows in _ROWS.items() for row in rows}

__all__ = [
    "AgeGroupRow",
    "BatchRow",
    "BookingRow",
    "BottleRow",
    "ChangeRow",
    "ClosedRow",
    "CountReportRow",
    "DayLineRow",
    "DaySealRow",
    "DemoRow",
    "HandOverRow",
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

if not TYPE_CHECKING:  # hidden from the type checker, for which any name would exist

    def __getattr__(name: str) -> Any:
        """Load a table model, or, for `metadata`, all of them: one metadata holds every table."""
        if name == "metadata":
            for module in _ROWS:
                import_module(f"{__name__}.{module}")
            import_module("prep.store.people.tables")
            found = import_module("prep.store.columns").metadata
        elif name in _MODULE_OF:
            found = getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
        else:
            raise AttributeError(f"module {__name__} has no {name}")
        globals()[name] = found
        return found
