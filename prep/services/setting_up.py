"""`prep init`: a new inventory with the shipped catalogue, a folder of one's own, or the sample school."""

import os
import secrets
import time
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.errors import PrepError
from prep.planning.model import Calendar
from prep.services.calendarfile import CALENDAR_KEYS
from prep.services.catalogue import Catalogue, read_catalogue
from prep.services.door import printable
from prep.services.school import School, read_school

if TYPE_CHECKING:
    from sqlalchemy import Connection

_LEFT_BEHIND = 3600  # seconds
DEFAULT_PLACES = (("PREP", "Prep room", 1, ""),)


@dataclass(frozen=True, slots=True)
class Made:
    """What a new inventory holds."""

    where: str
    substances: int
    solutions: int
    demos: int
    bottles: int
    bookings: int


def init(db: Path | None, by: str, today: date, school_folder: Path | None, school_name: str) -> Made:
    """Make a new inventory. Raises PrepError if there is one already, or a file is wrong."""
    from prep.resources import seed_data
    from prep.store import engine as store
    from prep.store.migrate import revision

    catalogue = read_catalogue(seed_data())
    school = read_school(school_folder, catalogue, today) if school_folder else None
    printable(school_name, 80, "--school")
    url = store.url_of(db)
    path = store.file_of(url)
    if path is None or (path.exists() and path.stat().st_size):
        engine = store.open_engine(url)
        try:
            with store.reading(engine) as connection:
                found = revision(connection)  # a file of another program is said to be that
            if path is not None or found is not None:
                raise PrepError(f"{store.name_of(engine)}: there is an inventory already; nothing was changed.")
        finally:
            engine.dispose()
    if path is None:
        _fill(url, catalogue, school, school_name, by, today)
    else:
        # Filled beside its place and put there whole: a disk that fills leaves no half of an inventory.
        draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
        try:
            _fill(f"sqlite:///{draft}", catalogue, school, school_name, by, today)
            _place(draft, path)
        finally:
            _sweep(path, draft)
    return Made(
        str(path or url),
        len(catalogue.substances),
        len(catalogue.solutions),
        len(catalogue.demos),
        len(school.bottles) if school else 0,
        len(school.bookings) if school else 0,
    )


def _place(draft: Path, path: Path) -> None:
    """Put a whole inventory in its place. Raises PrepError if another was made there meanwhile."""
    try:
        os.link(draft, path)  # unlike a renaming, never over what is there
    except FileExistsError:
        if path.stat().st_size:
            raise PrepError(f"{path}: there is an inventory already; nothing was changed.") from None
        draft.replace(path)
    except OSError:  # a file system that knows no second name for a file
        draft.replace(path)


def _sweep(path: Path, draft: Path) -> None:
    """Take away a draft, and those that were left behind where making an inventory was killed an hour ago or more."""
    if not path.parent.is_dir():
        return
    for one in path.parent.iterdir():
        if one.name.startswith(f".{path.name}.") and one.name.endswith((".part", ".part-wal", ".part-shm")):
            with suppress(OSError):
                if one.name.startswith(draft.name) or one.stat().st_mtime < time.time() - _LEFT_BEHIND:
                    one.unlink()


def _fill(url: str, catalogue: Catalogue, school: School | None, name: str, by: str, today: date) -> None:
    """Make the tables and write what a new inventory starts with."""
    from prep.store import engine as store
    from prep.store import seeding
    from prep.store.migrate import bring_up

    engine = store.open_engine(url)
    try:
        bring_up(engine, create=True)
        with store.writing(engine) as connection:
            put_catalogue(connection, catalogue, school.calendar if school else catalogue.calendar)
            if school:
                put_school(connection, school, catalogue, by, today)
            else:
                seeding.put_locations(connection, DEFAULT_PLACES)
                seeding.put_settings(connection, {"school": name})
    finally:
        engine.dispose()


def put_catalogue(connection: "Connection", catalogue: Catalogue, calendar: Calendar) -> None:
    """Write a catalogue and a calendar into an empty inventory."""
    from prep.store import seeding

    seeding.put_substances(connection, catalogue.substances.values())
    seeding.put_solutions(connection, catalogue.solutions.values())
    seeding.put_demos(connection, catalogue.demos.values())
    seeding.put_instruments(connection, catalogue.instruments)
    seeding.put_rules(connection, catalogue.rules.values())
    seeding.put_calendar(connection, calendar)


def put_school(connection: "Connection", school: School, catalogue: Catalogue, by: str, on: date) -> None:
    """Write a school's own facts; what is in the bottles goes on the books as one opening job."""
    from prep.services import governing
    from prep.store import ledger, seeding
    from prep.store.queries import strength_text

    seeding.put_settings(
        connection,
        {k: v for k, v in school.settings.items() if k not in CALENDAR_KEYS},
    )
    seeding.put_locations(connection, [(p.code, p.name, p.walk_order, p.note) for p in school.locations])
    seeding.put_bookings(connection, school.bookings)
    governing.set_groups(connection, school.groups)
    placed = {"status": "placed", "by": by}
    seeding.put_orders(connection, [asdict(one) | placed | {"placed": one.placed or on} for one in school.orders])
    job = ledger.begin(connection, "opening", by, on, "what was on the shelves")
    rows: list[dict[str, object]] = []
    for held in school.bottles:
        bottle = held.bottle
        measure = catalogue.measure(bottle.item)
        assert measure is not None
        rows.append(
            {
                "code": bottle.code,
                "item": bottle.item,
                "measure": measure.value,
                "balance": bottle.amount,
                "status": bottle.status,
                "location": bottle.location,
                "received": bottle.received,
                "opened": held.opened,
                "use_by": bottle.use_by,
                "lot": held.lot,
                "strength": strength_text(bottle.strength),
                "made_by": "",
                "note": held.note,
            }
        )
    ledger.load(connection, job, rows, "opening balance")
