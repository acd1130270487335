"""What the plan may know of an inventory: what is on file, less what must not be used or shown."""

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.planning.model import Snapshot


def load(connection: "Connection", today: date) -> "Snapshot":
    """The inventory's snapshot.

    Peroxide formers serve only while no test is due, and bookings that break a rule of the school are left
    out; `Snapshot.noticed` says so.
    """
    from prep.services import dating, governing
    from prep.store.queries import load_snapshot

    snapshot = dating.guarded(connection, load_snapshot(connection, today))
    snapshot = governing.governed(connection, snapshot)
    return replace(snapshot, noticed=(*snapshot.noticed, *dating.set_aside(connection, today)))
