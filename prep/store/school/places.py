"""Where bottles stand: the places, in the order in which a person walks them."""

from sqlalchemy import Connection, select, update

from prep.store import tables as t
from prep.store.table_rows import table


def all_places(connection: Connection) -> dict[str, str]:
    """Read the name of every place by its code, in walking order."""
    rows = table(t.LocationRow)
    query = select(rows.c.code, rows.c.name).order_by(rows.c.walk_order, rows.c.code)
    return {row.code: row.name for row in connection.execute(query)}


def change(connection: Connection, code: str, name: str, walk_order: int | None) -> None:
    """Give a place another name, and another turn in the walk where one is said."""
    rows = table(t.LocationRow)
    turn = {} if walk_order is None else {"walk_order": walk_order}
    connection.execute(update(rows).where(rows.c.code == code).values(name=name, **turn))
