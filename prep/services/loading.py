"""What the plan may know: what is on file, less what must not be used or shown.

It comes from an inventory, or straight from a school's files; a test keeps the two equal.
"""

from datetime import date
from typing import TYPE_CHECKING

from prep.planning.model import Snapshot
from prep.safety.dates import Dated
from prep.services import dating
from prep.services.catalogue import Catalogue

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.services.school import School


def load(connection: "Connection", today: date) -> Snapshot:
    """The inventory's snapshot.

    Peroxide formers serve only while no test is due, and bookings that break a rule of the school are left
    out; `Snapshot.noticed` says so.
    """
    from prep.services import governing
    from prep.store.queries import load_snapshot

    snapshot = load_snapshot(connection, today)
    dates = dating.dated(connection, only_peroxides=True)
    return dating.guarded(governing.governed(connection, snapshot), dates)


def of_school(catalogue: Catalogue, school: "School", today: date) -> Snapshot:
    """The snapshot that `prep init --from` the school's folder and then `load` would give."""
    held = sorted((one for one in school.bottles if one.bottle.status != "discarded"), key=lambda one: one.bottle.code)
    snapshot = Snapshot(
        today=today,
        substances=dict(sorted(catalogue.substances.items())),
        solutions=dict(sorted(catalogue.solutions.items())),
        demos=dict(sorted(catalogue.demos.items())),
        bookings=tuple(sorted(school.bookings, key=lambda one: (one.on, one.code))),
        bottles=tuple(one.bottle for one in held),
        orders=tuple(sorted((one.open for one in school.orders), key=lambda one: (one.due, one.code))),
        rules=dict(sorted(catalogue.rules.items())),
        instruments=tuple(one for one in catalogue.instruments if one.count),
        calendar=school.calendar,
    )
    formers = [
        (one, catalogue.substances[one.bottle.item])
        for one in held
        if one.bottle.amount > 0 and one.bottle.item in catalogue.substances
    ]
    dates = [
        Dated(
            bottle=one.bottle.code,
            name=substance.name,
            use_by=one.bottle.use_by,
            received=one.bottle.received,
            opened=one.opened,
            peroxide_class=substance.peroxide_class,
            tested=None,
        )
        for one, substance in formers
        if substance.peroxide_class
    ]
    return dating.guarded(snapshot, dates)
