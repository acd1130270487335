"""Where bottles stand: the places, in the order in which a person walks them."""

from sqlalchemy import Connection, select

from prep.store import tables as t
from prep.store.table_rows import table


def all_places(connection: Connection) -> list[tuple[str, str]]:
    """Read every place in walking order: (code, name)."""
    rows = table(t.LocationRow)
    query = select(rows.c.code, rows.c.name).order_by(rows.c.walk_order, rows.c.code)
    return [(code, name) for code, name in connection.execute(query)]
