"""Reads a school's own folder: settings, places, bottles, orders and bookings."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from prep.chemistry import quantities
from prep.chemistry.model import StrengthKind
from prep.planning.model import Booking, Bottle, Calendar, OpenOrder
from prep.services.calendarfile import a_date, calendar_of, read_toml
from prep.services.catalogue import Catalogue, stock_amount
from prep.services.tablefile import Row, iso_date, read_rows, whole

LOCATION_COLUMNS = "code name walk_order note".split()
BOTTLE_COLUMNS = "code item amount use_by location status received opened lot strength note".split()
ORDER_COLUMNS = "code item pack packs placed due".split()
BOOKING_COLUMNS = "code date period room teacher demo showings group".split()

STATUSES = ("in service", "quarantine", "discarded")


@dataclass(frozen=True, slots=True)
class Location:
    """A place where bottles stand, and its place in the walk round the room."""

    code: str
    name: str
    walk_order: int = 0
    note: str = ""


@dataclass(frozen=True, slots=True)
class ShelfBottle:
    """A bottle as a school's list has it: the plan's facts and what only the label says."""

    bottle: Bottle
    opened: date | None = None
    lot: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class ShelfOrder:
    """An order as a school's list has it: so many packs of one size, in ug or nL."""

    code: str
    item: str
    pack: int
    packs: int
    due: date
    placed: date | None = None

    @property
    def open(self) -> OpenOrder:
        """The order as the plan counts on it."""
        return OpenOrder(self.code, self.item, self.pack * self.packs, self.due)


@dataclass(frozen=True, slots=True)
class School:
    """One school's own facts: settings, places, bottles, orders, bookings, closed days."""

    name: str
    today: date | None
    start: date | None
    end: date | None
    calendar: Calendar
    locations: tuple[Location, ...]
    bottles: tuple[ShelfBottle, ...]
    orders: tuple[ShelfOrder, ...]
    bookings: tuple[Booking, ...]
    settings: Mapping[str, Any] = field(default_factory=dict)


def read_school(folder: Path, catalogue: Catalogue) -> School:
    """A school's folder. Raises PrepError naming file, row and column of what is wrong."""
    settings = read_toml(folder / "settings.toml")
    locations: dict[str, Location] = {}
    for row in read_rows(folder / "locations.csv", LOCATION_COLUMNS, ("code", "name")):
        code = row.code("code")
        if code in locations:
            raise row.wrong("code", f'"{code}" stands twice.')
        order = row.read("walk_order", whole) or 0
        locations[code] = Location(code, row.text("name", required=True), order, row.text("note"))
    bottles: dict[str, ShelfBottle] = {}
    for row in read_rows(folder / "bottles.csv", BOTTLE_COLUMNS, ("code", "item", "amount")):
        held = read_bottle(row, catalogue)
        if held.bottle.location not in locations:
            raise row.wrong("location", f'"{held.bottle.location}" is not in locations.csv.')
        if held.bottle.code in bottles:
            raise row.wrong("code", f'"{held.bottle.code}" stands twice.')
        bottles[held.bottle.code] = held
    orders: dict[str, ShelfOrder] = {}
    for row in read_rows(folder / "orders.csv", ORDER_COLUMNS, ("code", "item", "pack", "packs", "due")):
        code, item = row.code("code"), row.code("item")
        if code in orders:
            raise row.wrong("code", f'"{code}" stands twice.')
        if item not in catalogue.substances:
            raise row.wrong("item", f'"{item}" is not a substance; only substances are ordered.')
        pack = row.need("pack", stock_amount)
        measure = catalogue.substances[item].measure
        if pack.measure is not measure:
            raise row.wrong("pack", f"{item} is counted by {measure.value}; write its amount so.")
        count = row.need("packs", lambda text: whole(text, 1, 1000))
        due, placed = row.need("due", iso_date), row.read("placed", iso_date)
        orders[code] = ShelfOrder(code, item, pack.base, count, due, placed)
    return School(
        name=str(settings.get("school", "")),
        today=a_date(settings, "today", "settings.toml"),
        start=a_date(settings, "from", "settings.toml"),
        end=a_date(settings, "to", "settings.toml"),
        calendar=calendar_of(settings, "settings.toml", catalogue.calendar),
        locations=tuple(locations.values()),
        bottles=tuple(bottles.values()),
        orders=tuple(orders.values()),
        bookings=read_bookings(folder / "bookings.csv", catalogue),
        settings=settings,
    )


def read_bottle(row: Row, catalogue: Catalogue) -> ShelfBottle:
    """One row of bottles.csv. Raises PrepError."""
    item = row.code("item")
    measure = catalogue.measure(item)
    if measure is None:
        raise row.wrong("item", f'"{item}" is neither a substance nor a solution.')
    amount = row.need("amount", lambda text: stock_amount(text, zero=True))
    if amount.measure is not measure:
        raise row.wrong("amount", f"{item} is counted by {measure.value}; write its amount so.")
    strength = row.read("strength", quantities.strength)
    if strength and (strength.kind is StrengthKind.SATURATED or item not in catalogue.solutions):
        raise row.wrong("strength", "a found strength belongs to a made solution, as a figure.")
    return ShelfBottle(
        Bottle(
            code=row.code("code"),
            item=item,
            amount=amount.base,
            use_by=row.read("use_by", iso_date),
            location=row.text("location"),
            status=row.one_of("status", STATUSES, "in service"),
            strength=strength,
            received=row.read("received", iso_date),
        ),
        opened=row.read("opened", iso_date),
        lot=row.text("lot"),
        note=row.text("note"),
    )


def booking_groups(path: Path) -> tuple[str, ...]:
    """The age group of each row of a bookings file, in order; empty where none is given. Raises PrepError."""
    return tuple(row.text("group") for row in read_rows(path, BOOKING_COLUMNS, ("date", "demo")))


def read_bookings(path: Path, catalogue: Catalogue) -> tuple[Booking, ...]:
    """Rows of a bookings file; codes may be left empty and are then given by the row. Raises PrepError."""
    out: dict[str, Booking] = {}
    for row in read_rows(path, BOOKING_COLUMNS, ("date", "demo")):
        code = row.code("code") if row.text("code") else ""
        demo = row.code("demo")
        if demo not in catalogue.demos:
            raise row.wrong("demo", f'"{demo}" is not a demo on file.')
        if code and code in out:
            raise row.wrong("code", f'"{code}" stands twice.')
        booking = Booking(
            code=code,
            on=row.need("date", iso_date),
            period=row.text("period"),
            room=row.text("room"),
            teacher=row.text("teacher"),
            demo=demo,
            showings=row.read("showings", lambda text: whole(text, 1, 1000)) or 1,
        )
        out[code or f"row {row.number}"] = booking
    return tuple(out.values())
