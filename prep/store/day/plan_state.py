"""What tells one state of the books from another, as far as the plan goes."""

from typing import Any

from sqlalchemy import Connection, func, select

from prep.store import tables as t
from prep.store.table_rows import table

_COUNTED: tuple[Any, ...] = (
    t.SubstanceRow,
    t.SolutionRow,
    t.IngredientRow,
    t.DemoRow,
    t.NeedRow,
    t.LeftoverRow,
    t.BookingRow,
    t.OrderRow,
    t.LocationRow,
    t.ClosedRow,
    t.BottleRow,
)


def state_of(connection: Connection) -> tuple[Any, ...]:
    """Read the figures that differ between one state of the books and another, by a few quick queries.

    Everything that changes a bottle, a booking or an order is a job; what is added without one changes how many
    there are; settings are few and stand in whole.
    """
    job, rule, glass, setting = (table(one) for one in (t.JobRow, t.RuleRow, t.InstrumentRow, t.SettingRow))
    sizes = [select(func.count()).select_from(table(one)).scalar_subquery() for one in _COUNTED]
    sums = select(
        select(func.max(job.c.id)).scalar_subquery(),
        select(func.sum(rule.c.minimum)).scalar_subquery(),
        select(func.sum(rule.c.lead_days)).scalar_subquery(),
        select(func.sum(glass.c.count)).scalar_subquery(),
        *sizes,
    )
    settings = connection.execute(select(setting.c.key, setting.c.value).order_by(setting.c.key))
    return (*connection.execute(sums).one(), *map(tuple, settings))
