"""Store a small inventory of the present revision for the tests: `python -m tests.new_stored`.

Run it once when a revision is released; a stored file is never made anew. It holds a job of each kind that the
ledger knows, an undone one, a discarded bottle, a closed count, a booking and an order.
"""

import sqlite3
import tempfile
from contextlib import closing
from datetime import date
from pathlib import Path

from sqlalchemy import text

from prep.resources import url_of
from prep.services.bookings import bookings
from prep.services.bookings.requests import BookingRequest
from prep.services.inventory import init
from prep.services.stock import changes, listing, orders
from prep.services.stocktake import adjustments as count_adjustments
from prep.services.stocktake import entry, stocktake
from prep.store import database as store
from prep.store import guards
from prep.store.audit import seals
from prep.store.migrate import HEAD
from tests.days import act

DATA = Path(__file__).with_name("store") / "data"
DAY = date(2027, 1, 11)


def fill(path: Path) -> None:
    """An inventory that was worked with."""
    init.init(path, "Ada", DAY, None, "")
    salt, urea = (
        changes.receive(path, changes.Receipt(item, "500 g", 1, None, date(2030, 1, 31), "L1", ""), act("Ada", DAY))[
            0
        ].code
        for item in ("sodium-chloride", "urea")
    )
    changes.use(path, salt, "12.5 g", "for a demo", act("Ada", DAY))
    changes.use(path, salt, "1 g", "wrong bottle", act("Ben", DAY))
    changes.undo(path, listing.history(path, salt, 1)[0].job, act("Ada", DAY))
    changes.discard(path, [urea], "lumps", act("Ben", DAY))
    order = orders.placed(path, orders.OrderRequest("urea", 1, "250 g", None), act("Ada", DAY))
    orders.arrived(path, order.code, orders.Delivery(None, None, "L2"), act("Ada", DAY))
    demo = bookings.demos(path)[0].code
    asked = BookingRequest(demo, date(2027, 1, 20), 1, "2", "L1", "A. Example", even_closed=True)
    bookings.add(path, asked, act("A. Example", DAY))
    stocktake.open_count(path, None, False, act("Ada", DAY))
    stocktake.enter(path, None, salt, entry.TypedCount(amount="400 g"), act("Ben", DAY))
    count_adjustments.close(path, None, count_adjustments.LeftOpen(True, True), act("Ada", DAY))


def main() -> None:
    """Write the dump of the present revision."""
    DATA.mkdir(exist_ok=True)
    target = DATA / f"revision_{HEAD}.sql"
    if target.exists():
        raise SystemExit(f"{target.name} is stored already; a released revision does not change.")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "inventory.db"
        fill(path)
        engine = store.open_engine(url_of(path))
        with engine.connect().execution_options(write=True) as connection, connection.begin():
            guards.drop(connection)  # the catalogue makes the file large and tests nothing here
            for name in ("need", "leftover", "ingredient", "method_step", "instrument", "rule", "solution"):
                connection.execute(text(f"DELETE FROM {name}"))
            connection.execute(text("DELETE FROM demo WHERE code NOT IN (SELECT demo FROM booking)"))
            connection.execute(text("DELETE FROM substance WHERE code NOT IN (SELECT item FROM bottle)"))
            named = "'demo', 'instrument', 'rule', 'solution', 'substance'"
            connection.execute(text(f"DELETE FROM change WHERE kind IN ({named})"))
            connection.execute(text("DELETE FROM seal"))
            seals.baseline(connection, "what the stored inventory keeps")
            guards.create(connection)
        engine.dispose()
        with closing(sqlite3.connect(path)) as raw:
            target.write_text("\n".join(raw.iterdump()) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
