"""Where bottles stand: the places, in the order in which a person walks them."""

from sqlalchemy import Connection, update

from prep.store import tables as t
from prep.store.jobs import prepared_statements
from prep.store.table_rows import table


def all_places(connection: Connection) -> dict[str, str]:
    """Read the name of every place by its code, in walking order."""
    rows = prepared_statements.run(connection, "SELECT code, name FROM location ORDER BY walk_order, code")
    return {row[0]: row[1] for row in rows}


def change(connection: Connection, code: str, name: str, walk_order: int | None) -> None:
    """Give a place another name, and another turn in the walk where one is said."""
    rows = table(t.LocationRow)
    turn = {} if walk_order is None else {"walk_order": walk_order}
    connection.execute(update(rows).where(rows.c.code == code).values(name=name, **turn))
