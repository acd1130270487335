"""Orders on file: placed, arrived or cancelled."""

from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, select

from prep.books import OrderStatus
from prep.chemistry.model import Form, Measure
from prep.store.table_rows import by_number, table
from prep.store.tables import OrderRow, SubstanceRow


@dataclass(frozen=True, slots=True)
class Purchase:
    """An order on file."""

    code: str
    item: str
    name: str
    measure: Measure
    pack: int
    packs: int
    placed: date
    due: date
    status: OrderStatus
    by: str


def purchases(connection: Connection) -> list[Purchase]:
    """Read every order, by the day on which it is due."""
    o, s = table(OrderRow), table(SubstanceRow)
    query = select(o, s.c.name, s.c.form).select_from(o.join(s, s.c.code == o.c.item))
    return [
        Purchase(
            row.code,
            row.item,
            row.name,
            Measure.VOLUME if row.form in (Form.LIQUID, Form.AQUEOUS) else Measure.MASS,
            row.pack,
            row.packs,
            row.placed,
            row.due,
            row.status,
            row.by,
        )
        for row in connection.execute(query.order_by(o.c.due, *by_number(o.c.code)))
    ]
