"""`prep init`: a new inventory with the shipped catalogue, a folder of one's own, or the sample school."""

import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import JobKind, OrderStatus
from prep.planning.model import Calendar
from prep.resources import seed_data
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import read_catalogue
from prep.services.input.checks import printable
from prep.services.inventory import session
from prep.services.school.calendar import CALENDAR_KEYS
from prep.services.school.folder import PREP_ROOM, Location, School, read_school
from prep.store import database as store
from prep.store import ledger, seeding
from prep.store.queries import strength_text
from prep.store.school import bookings
from prep.wording import Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection


@dataclass(frozen=True, slots=True)
class NewInventory:
    """What a new inventory holds."""

    where: str
    substances: int
    solutions: int
    demos: int
    bottles: int
    bookings: int


def init(db: Path | None, by: str, today: date, school_folder: Path | None, school_name: str) -> NewInventory:
    """Make a new inventory. Raises PrepError if there is one already, or a file is wrong."""
    catalogue = read_catalogue(seed_data())
    school = read_school(school_folder, catalogue, today) if school_folder else None
    printable(school_name, 80, Flag("--school"))
    with session.new_inventory(db) as connection:
        where = store.name_of(connection.engine)
        note = "what was on the shelves" if school else "the shipped catalogue"
        job = ledger.begin(connection, JobKind.OPENING, by, today, note)
        put_catalogue(connection, catalogue, school.calendar if school else catalogue.calendar)
        if school:
            put_school(connection, school, catalogue, job)
        else:
            _put_places(connection, [PREP_ROOM])
            seeding.put_settings(connection, {"school": school_name})
    return NewInventory(
        where,
        len(catalogue.substances),
        len(catalogue.solutions),
        len(catalogue.demos),
        len(school.bottles) if school else 0,
        len(school.bookings) if school else 0,
    )


@dataclass(frozen=True, slots=True)
class SampleInventory:
    """The invented school's inventory, its day, and the last day of its plan."""

    path: Path
    today: date
    last: date


@contextmanager
def sample_inventory() -> Iterator[SampleInventory]:
    """Make the invented school in a database of its own; it is thrown away afterwards."""
    school = read_school(seed_data() / "school", read_catalogue(seed_data()))
    assert school.today is not None
    assert school.end is not None
    with tempfile.TemporaryDirectory(prefix="prep-sample-", ignore_cleanup_errors=True) as folder:
        path = Path(folder) / "sample.db"
        init(path, "sample", school.today, seed_data() / "school", "")
        yield SampleInventory(path, school.today, school.end)


def put_catalogue(connection: "Connection", catalogue: OnFile, calendar: Calendar) -> None:
    """Write a catalogue and a calendar into an empty inventory."""
    seeding.put_substances(connection, catalogue.substances.values())
    seeding.put_solutions(connection, catalogue.solutions.values())
    seeding.put_demos(connection, catalogue.demos.values())
    seeding.put_instruments(connection, catalogue.instruments)
    seeding.put_rules(connection, catalogue.rules.values())
    seeding.put_calendar(connection, calendar)


def put_school(connection: "Connection", school: School, catalogue: OnFile, job: int) -> None:
    """Write a school's own facts under its opening job, which puts what is in the bottles on the books."""
    seeding.put_settings(
        connection,
        {k: v for k, v in school.settings.items() if k not in (*CALENDAR_KEYS, "groups", "rule")},
    )
    _put_places(connection, school.locations)
    seeding.put_bookings(connection, school.bookings)
    bookings.put_age_groups(connection, school.groups)
    for rule in school.rules:
        bookings.put_school_rule(connection, rule)
    done = ledger.done(connection, job)
    placed = {"status": OrderStatus.PLACED, "by": done.by}
    seeding.put_orders(connection, [asdict(one) | placed | {"placed": one.placed or done.on} for one in school.orders])
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
                "received": _iso(bottle.received),
                "opened": _iso(held.opened),
                "use_by": _iso(bottle.use_by),
                "lot": held.lot,
                "strength": strength_text(bottle.strength),
                "made_by": "",
                "note": held.note,
            }
        )
    ledger.load(connection, job, rows, "opening balance")


def _put_places(connection: "Connection", places: Iterable[Location]) -> None:
    seeding.put_locations(connection, [(p.code, p.name, p.walk_order, p.note) for p in places])


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None
