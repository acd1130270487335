"""What bookings may name, as it stands in an open inventory."""

from typing import TYPE_CHECKING

from prep.dates import DayOrder
from prep.services.bookings.requests import BookableNames
from prep.services.catalogue.on_file import OnFile
from prep.services.school.usual import DAY_ORDER
from prep.store import queries, table_rows
from prep.store.school import bookings

if TYPE_CHECKING:
    from sqlalchemy import Connection


def names_of(connection: "Connection") -> BookableNames:
    """Read all that a booking may name: demos, age groups, substances and solutions."""
    catalogue = queries.catalogue(connection)
    on_file = OnFile(
        catalogue.substances,
        catalogue.solutions,
        queries.demos(connection),
        held=frozenset(queries.items_held(connection)),
    )
    order = table_rows.settings(connection).get(DAY_ORDER, "")
    return BookableNames(
        on_file, bookings.age_groups(connection), order=DayOrder(order) if order in set(DayOrder) else None
    )
