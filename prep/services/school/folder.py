"""Reads a school's own folder: settings, places, bottles, orders and bookings."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from datetime import date
from pathlib import Path
from typing import Any

from prep.books import BottleStatus
from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue
from prep.dates import LAST, gone
from prep.errors import PrepError
from prep.planning.age_groups import AgeGroup, clash, folded, group_named
from prep.planning.model import Booking, Bottle, Calendar, OpenOrder
from prep.records import record
from prep.safety.school_rules import SchoolRule
from prep.services.bookings.groups import checked
from prep.services.bookings.requests import BookableNames, WantedBooking, coded, read_bookings
from prep.services.catalogue.names import find_item
from prep.services.catalogue.on_file import OnFile
from prep.services.catalogue.seed import stock_amount
from prep.services.files.csv_file import Row, iso_date, read_rows, whole
from prep.services.files.ical import zone_named
from prep.services.input.checks import printable
from prep.services.safety.rule_subject import rule_about
from prep.services.school.calendar import CALENDAR_KEYS, a_date, calendar_of, read_toml
from prep.services.school.settings import COSTS, policy_of
from prep.services.stock.strength import on_label

FILES = ("settings.toml", "locations.csv", "bottles.csv", "orders.csv", "bookings.csv")
"""What a school's folder may hold."""
LOCATION_COLUMNS = "code name walk_order note".split()
BOTTLE_COLUMNS = "code item amount use_by location status received opened lot strength note".split()
ORDER_COLUMNS = "code item pack packs placed due".split()

SETTINGS = (
    "school",
    "today",
    "from",
    "to",
    "time_zone",
    "make_ahead_days",
    "order_margin_days",
    "groups",
    "allowed",
    "rule",
    *COSTS,
    *CALENDAR_KEYS,
)
RULE_KEYS = "item demo at_most room group from_group why".split()


@record(frozen=True, slots=True)
class Location:
    """A place where bottles stand, and its place in the walk round the room."""

    code: str
    name: str
    walk_order: int = 0
    note: str = ""


PREP_ROOM = Location("PREP", "Prep room", 1)
"""The one place of an inventory that was given none."""


@record(frozen=True, slots=True)
class ShelfBottle:
    """A bottle as a school's list has it: the plan's facts and what only the label says."""

    bottle: Bottle
    opened: date | None = None
    lot: str = ""
    note: str = ""


@record(frozen=True, slots=True)
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


@record(frozen=True, slots=True)
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
    groups: tuple[AgeGroup, ...] = ()
    rules: tuple[SchoolRule, ...] = ()
    settings: Mapping[str, Any] = field(default_factory=dict)


def read_school(folder: Path, catalogue: OnFile, today: date = LAST) -> School:
    """Read a school's folder. Raises PrepError naming file, row and column of what is wrong.

    A list that is not there is empty; bottles then stand in the prep room.
    What its lists say was done was done by the `today` of its settings, else by `today`.
    """
    if not any((folder / name).is_file() for name in FILES):
        raise PrepError(f"{folder}: there is none of {', '.join(FILES)} in it.")
    settings = _settings(folder / FILES[0]) if (folder / FILES[0]).is_file() else {}
    fixed = a_date(settings, "today", "settings.toml")
    day = fixed or today
    locations: dict[str, Location] = {}
    for row in _rows(folder / "locations.csv", LOCATION_COLUMNS, ("code", "name")):
        code = row.code("code")
        if code in locations:
            raise row.wrong("code", f'"{code}" stands twice.')
        order = row.read("walk_order", whole) or 0
        locations[code] = Location(code, row.need("name", lambda text: printable(text, 80)), order, row.line("note"))
    locations = locations or {PREP_ROOM.code: PREP_ROOM}
    bottles: dict[str, ShelfBottle] = {}
    for row in _rows(folder / "bottles.csv", BOTTLE_COLUMNS, ("code", "item", "amount")):
        held = read_bottle(row, catalogue, day)
        if not held.bottle.location and len(locations) == 1:
            held = replace(held, bottle=replace(held.bottle, location=next(iter(locations))))
        if held.bottle.location not in locations:
            raise row.wrong("location", f'"{held.bottle.location}" is not in locations.csv.')
        if held.bottle.code in bottles:
            raise row.wrong("code", f'"{held.bottle.code}" stands twice.')
        bottles[held.bottle.code] = held
    orders: dict[str, ShelfOrder] = {}
    for row in _rows(folder / "orders.csv", ORDER_COLUMNS, ("code", "item", "pack", "packs", "due")):
        code = row.code("code")
        if code in orders:
            raise row.wrong("code", f'"{code}" stands twice.')
        item = row.need("item", lambda name: find_item(name, catalogue)).code
        if item not in catalogue.substances:
            raise row.wrong("item", f'"{item}" is not a substance; only substances are ordered.')
        pack = row.need("pack", stock_amount)
        measure = catalogue.substances[item].measure
        if pack.measure is not measure:
            raise row.wrong("pack", f"{item} is counted by {measure.value}; write its amount so.")
        count = row.need("packs", lambda text: whole(text, 1, 1000))
        due, placed = row.need("due", iso_date), row.read("placed", lambda text: gone(iso_date(text), day))
        if placed is not None and due < placed:
            raise row.wrong("due", f"{due} is before the day it was placed, {placed}.")
        orders[code] = ShelfOrder(code, item, pack.base, count, due, placed)
    groups = _groups(settings)
    names = BookableNames(catalogue, groups, "groups" not in settings)
    bookings = folder / "bookings.csv"
    booked = _allowed(settings, coded(read_bookings(bookings, names) if bookings.is_file() else ()))
    listed = groups or tuple(AgeGroup(name) for name in _unlike(one.booking.group for one in booked))
    return School(
        name=str(settings.get("school", "")),
        today=fixed,
        start=a_date(settings, "from", "settings.toml"),
        end=a_date(settings, "to", "settings.toml"),
        calendar=calendar_of(settings, "settings.toml", catalogue.calendar),
        locations=tuple(locations.values()),
        bottles=tuple(bottles.values()),
        orders=tuple(orders.values()),
        bookings=tuple(one.booking for one in booked),
        groups=listed,
        rules=tuple(_rule(one, catalogue, listed) for one in settings.get("rule", ())),
        settings=settings,
    )


def _rows(path: Path, columns: Iterable[str], required: Iterable[str]) -> Iterator[Row]:
    """Read the rows of a list; none where there is no such file."""
    return read_rows(path, columns, required) if path.is_file() else iter(())


def _settings(path: Path) -> Mapping[str, Any]:
    settings = read_toml(path)
    if unknown := [key for key in settings if key not in SETTINGS]:
        raise PrepError(f'{path.name}: "{unknown[0][:40]}" is no setting; there are {", ".join(SETTINGS)}.')
    try:
        policy_of(settings)
        printable(str(settings.get("school", "")), 80, "school")
        if "time_zone" in settings:
            zone_named(str(settings["time_zone"]))
    except PrepError as problem:
        raise PrepError(f"{path.name}: ", problem.sentence) from None
    return settings


def _groups(settings: Mapping[str, Any]) -> tuple[AgeGroup, ...]:
    """Read settings.toml's age groups: `groups = [["Year 9", "Y9", "9"], ["Year 10", "Y10"]]`. Raises PrepError."""
    found: list[AgeGroup] = []
    for said in settings.get("groups", ()):
        names = [said] if isinstance(said, str) else said
        if not isinstance(names, list) or not names or not all(isinstance(one, str) for one in names):
            raise PrepError('settings.toml: groups are lists of names, such as [["Year 9", "Y9"], ["Year 10", "Y10"]].')
        try:
            group = checked(AgeGroup(names[0], tuple(names[1:])))
        except PrepError as problem:
            raise PrepError("settings.toml: ", problem.sentence) from None
        if taken := clash(group, found):
            raise PrepError(f'settings.toml: "{taken}" stands for two age groups.')
        found.append(group)
    return tuple(found)


def _allowed(settings: Mapping[str, Any], booked: Sequence[WantedBooking]) -> tuple[WantedBooking, ...]:
    """Add to bookings who allowed them, and when: `[[allowed]]`, `by`, `on`, `bookings`. Raises PrepError."""
    by_code: dict[str, tuple[str, date | None]] = {}
    for one in settings.get("allowed", ()):
        if not isinstance(one, dict) or not isinstance(one.get("bookings"), list) or not one.get("by"):
            raise PrepError('settings.toml: each [[allowed]] says by = "NAME" and bookings = ["B7"].')
        who = printable(str(one["by"]), 80, "settings.toml: by")
        by_code |= {str(code): (who, a_date(one, "on", "settings.toml")) for code in one["bookings"]}
    if unknown := by_code.keys() - {one.booking.code for one in booked}:
        raise PrepError(f'settings.toml: allowed is "{min(unknown)}", which is no booking of bookings.csv.')
    return tuple(
        replace(one, booking=replace(one.booking, allowed_by=by_code[code][0], allowed_on=by_code[code][1]))
        if (code := one.booking.code) in by_code
        else one
        for one in booked
    )


def _rule(said: Any, catalogue: OnFile, groups: Sequence[AgeGroup]) -> SchoolRule:
    """Read one of settings.toml's own limits: `[[rule]]` with the keys of `prep safety rule add`. Raises PrepError."""
    if not isinstance(said, dict) or not all(isinstance(one, str) for one in said.values()):
        raise PrepError(f"settings.toml: each [[rule]] has lines of text: {', '.join(RULE_KEYS)}.")
    if unknown := [key for key in said if key not in RULE_KEYS]:
        raise PrepError(f'settings.toml: [[rule]] has no "{unknown[0][:40]}"; it has {", ".join(RULE_KEYS)}.')
    if bool(said.get("item")) == bool(said.get("demo")):
        raise PrepError("settings.toml: each [[rule]] names an item or a demo: one of the two.")
    for key in ("room", "why"):
        printable(said.get(key, ""), 200 if key == "why" else 80, f"settings.toml: {key}")
    try:
        about = rule_about(said.get("item") or said["demo"], "demo" in said, catalogue, catalogue.demos)
        at_most = quantities.strength(said["at_most"]) if "at_most" in said else None
        group, youngest = (group_named(said.get(key, ""), groups) for key in ("group", "from_group"))
    except PrepError as problem:
        raise PrepError("settings.toml: [[rule]]: ", problem.sentence) from None
    if about.demo and at_most is not None:
        raise PrepError("settings.toml: a demonstration is barred or not; at_most is for a substance or solution.")
    return SchoolRule(about.item, at_most, said.get("room", ""), group, said.get("why", ""), about.demo, youngest)


def _unlike(names: Iterable[str]) -> Iterable[str]:
    """List each name once, in whatever case it is written."""
    return {folded(name): name for name in names if name}.values()


def read_bottle(row: Row, catalogue: OnFile, today: date) -> ShelfBottle:
    """Read one row of bottles.csv, as it stands on `today`. Raises PrepError."""
    item = row.need("item", lambda name: find_item(name, catalogue)).code
    measure = catalogue.measure(item)
    amount = row.need("amount", lambda text: stock_amount(text, zero=True))
    if amount.measure is not measure:
        raise row.wrong("amount", f"{item} is counted by {measure.value}; write its amount so.")
    known = Catalogue(catalogue.substances, catalogue.solutions)
    strength = row.read("strength", lambda text: on_label(known.item(item), text, known, "strength"))
    received = row.read("received", lambda text: gone(iso_date(text), today))
    opened = row.read("opened", lambda text: gone(iso_date(text), today))
    use_by = row.read("use_by", iso_date)
    for column, on in (("opened", opened), ("use_by", use_by)):
        if received is not None and on is not None and on < received:
            raise row.wrong(column, f"{on} is before the day it came, {received}.")
    return ShelfBottle(
        Bottle(
            code=row.code("code"),
            item=item,
            amount=amount.base,
            use_by=use_by,
            location=row.text("location"),
            status=BottleStatus(row.one_of("status", tuple(BottleStatus), BottleStatus.IN_SERVICE)),
            strength=strength,
            received=received,
            opened=opened,
        ),
        opened=opened,
        lot=row.line("lot"),
        note=row.line("note"),
    )
