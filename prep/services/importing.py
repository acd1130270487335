"""Bottles from a spreadsheet: every row's fate first, then all of them or none, as one job."""

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from prep.chemistry import quantities
from prep.chemistry.model import StrengthKind
from prep.chemistry.quantities import BASE_PER_UNIT
from prep.errors import PrepError
from prep.services import session
from prep.services.catalogue import stock_amount
from prep.services.items import Item, find_item
from prep.services.neighbours import beside_in
from prep.services.places import all_places, holds, only, place_named
from prep.services.school import STATUSES
from prep.services.sheetfile import Table, read_table
from prep.services.tablefile import Row, iso_date

if TYPE_CHECKING:
    from sqlalchemy import Connection

COLUMNS = "code item amount unit use_by location status received opened lot strength tare note".split()
SYNONYMS = {
    "substance": "item",
    "chemical": "item",
    "solution": "item",
    "name": "item",
    "contents": "item",
    "quantity": "amount",
    "size": "amount",
    "units": "unit",
    "expiry": "use_by",
    "expires": "use_by",
    "expiry_date": "use_by",
    "best_before": "use_by",
    "place": "location",
    "cupboard": "location",
    "shelf": "location",
    "lot_number": "lot",
    "barcode": "code",
    "label": "code",
    "date_received": "received",
    "date_opened": "opened",
    "comment": "note",
    "notes": "note",
    "comments": "note",
}


@dataclass(frozen=True, slots=True)
class Fate:
    """What becomes of a row: the bottle it makes, or why it makes none (`wrong`); `notes` are what to mind of it."""

    row: int
    says: str
    wrong: bool
    bottle: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Imported:
    """Every row's fate in order, and the job; None for a dry run or where a row is wrong."""

    fates: tuple[Fate, ...]
    job: int | None

    @property
    def wrong(self) -> tuple[Fate, ...]:
        """The rows that are refused."""
        return tuple(fate for fate in self.fates if fate.wrong)


def import_stock(
    db: Path | None,
    path: Path,
    mapped: Mapping[str, str],
    dry_run: bool,
    by: str,
    on: date,
    location: str | None = None,
) -> Imported:
    """Put the bottles of a CSV file on the books, all or none. Raises PrepError for a file that is no such table.

    `location` is where bottles stand whose row does not say. A file with a wrong row changes nothing: its fates
    say so.
    """
    table = read_table(
        path, COLUMNS, ("item", "amount"), mapped, SYNONYMS, others=True, figures=("amount", "tare", "strength")
    )
    if dry_run:
        with session.reading(db) as connection:
            fates, rows = _fates(connection, table, on, location)
            return Imported(_noted(connection, fates, rows), None)
    with session.writing(db) as connection:
        fates, rows = _fates(connection, table, on, location)
        if any(fate.wrong for fate in fates) or not rows:
            if not fates:
                raise PrepError(f"{path.name}: there is no bottle in it.")
            return Imported(fates, None)
        from prep.store import ledger

        job = ledger.begin(connection, "import", by, on, f"{len(rows)} bottles from {path.name}"[:200])
        ledger.load(connection, job, rows, "imported")
    with session.reading(db) as connection:
        return Imported(_noted(connection, fates, rows), job)


def mapping(pairs: Sequence[str]) -> dict[str, str]:
    """`column=Name in the file` pairs of --map. Raises PrepError."""
    out: dict[str, str] = {}
    for pair in pairs:
        column, sign, called = pair.partition("=")
        if not sign or not column.strip() or not called.strip():
            raise PrepError(f'--map "{pair[:60]}": write it as COLUMN=NAME, such as item=Chemical.')
        if column.strip().lower() in out:
            raise PrepError(f"--map names {column.strip()[:40]} twice.")
        out[column.strip().lower()] = called.strip()
    return out


def a_day(text: str) -> date:
    """A date as year-month-day or day.month.year. Raises PrepError."""
    if found := re.fullmatch(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", text):
        return iso_date(f"{found[3]}-{int(found[2]):02d}-{int(found[1]):02d}")
    return iso_date(text)


def _fates(
    connection: "Connection", table: Table, on: date, location: str | None
) -> tuple[tuple[Fate, ...], list[dict[str, object]]]:
    from prep.services import bottling

    desk = _Desk(connection, on, location)
    fates = [Fate(number, says, True) for number, says in table.wrong]
    rows: list[dict[str, object]] = []
    for row in table.rows:
        try:
            made = desk.bottle(row)
        except PrepError as problem:
            says = str(problem)
            where = f"{row.file}, row {row.number}"
            fates.append(Fate(row.number, says if says.startswith(row.file) else f"{where}: {says}", True))
            continue
        rows.append(made)
    wanting = [made for made in rows if not made["code"]]
    for made, code in zip(wanting, bottling.new_codes(len(wanting), desk.taken), strict=True):
        made["code"] = code
    for made, number in zip(rows, desk.numbers, strict=True):
        measure = desk.items[str(made["item"])].measure
        amount = quantities.show(int(str(made["balance"])), measure)
        says = f"new bottle {made['code']}: {amount} of {made['item']} at {made['location']}"
        fates.append(Fate(number, says, False, str(made["code"])))
    return tuple(sorted(fates, key=lambda fate: fate.row)), rows


def _noted(connection: "Connection", fates: Sequence[Fate], rows: Sequence[Mapping[str, object]]) -> tuple[Fate, ...]:
    """The fates with what must not stand beside each new bottle where it is put."""
    placed = {str(made["code"]): (str(made["item"]), str(made["location"])) for made in rows if made["balance"]}
    found = beside_in(connection, placed)
    return tuple(replace(fate, notes=tuple(one.message for one in found.get(fate.bottle, ()))) for fate in fates)


class _Desk:
    """Reads rows into bottles; what is on file is read once."""

    def __init__(self, connection: "Connection", on: date, location: str | None) -> None:
        from prep.services import shelves
        from prep.store import queries

        self.on = on
        self.substances, self.solutions = queries.substances(connection), queries.solutions(connection)
        self.places = dict(all_places(connection))
        self.at = None if location is None else place_named(self.places, location)
        self.stands: dict[str, set[str]] = defaultdict(set)
        self.taken: set[str] = set()
        for held in shelves.all_held(connection):
            self.taken.add(held.code)
            if holds(held):
                self.stands[held.item].add(held.location)
        self.items: dict[str, Item] = {}
        self.numbers: list[int] = []
        self._named: dict[str, Item] = {}

    def bottle(self, row: Row) -> dict[str, object]:
        """A bottle's row. Raises PrepError naming the cell."""
        from prep.store.queries import strength_text

        item = row.need("item", self._item)
        amount = row.need("amount", lambda text: self._amount(text, row.text("unit"), item))
        code = row.code("code") if row.text("code") else ""
        if code and (code in self.taken or code.upper() in self.taken):
            raise row.wrong("code", f'the code "{code}" is taken already.')
        place = row.read("location", lambda text: place_named(self.places, text)) or self._place(row, item)
        strength = row.read("strength", quantities.strength)
        if strength and (strength.kind is StrengthKind.SATURATED or item.solution is None):
            raise row.wrong("strength", "a found strength belongs to a made solution, as a figure.")
        for column in ("lot", "note"):
            if len(row.text(column)) > 200:
                raise row.wrong(column, "this is at most 200 characters.")
        tare = row.read("tare", quantities.mass_g)
        made: dict[str, object] = {
            "code": code,
            "item": item.code,
            "measure": item.measure.value,
            "balance": amount,
            "status": row.one_of("status", STATUSES[:2], "in service"),
            "location": place,
            "received": row.read("received", a_day),
            "opened": row.read("opened", a_day),
            "use_by": row.read("use_by", a_day),
            "lot": row.text("lot"),
            "strength": strength_text(strength),
            "tare": None if tare is None else int(tare * BASE_PER_UNIT),
            "made_by": "",
            "note": row.text("note"),
        }
        if code:
            self.taken.add(code)
        self.items[item.code] = item
        self.numbers.append(row.number)
        return made

    def _place(self, row: Row, item: Item) -> str:
        """Where it stands if the row does not say."""
        if self.at is not None:
            return self.at
        try:
            return only(self.places, item.name, self.stands[item.code], "a location in the row, or --at,")
        except PrepError as problem:
            raise row.wrong("location", str(problem)) from None

    def _item(self, name: str) -> Item:
        if name not in self._named:
            self._named[name] = find_item(name, self.substances, self.solutions)
        return self._named[name]

    def _amount(self, text: str, unit: str, item: Item) -> int:
        typed = f"{text} {unit}" if unit and re.fullmatch(r"[0-9.]+", text) else text
        amount = stock_amount(typed, zero=True)
        if amount.measure is not item.measure and amount.base:
            raise PrepError(f"{item.code} is counted by {item.measure.value}; write its amount so.")
        return amount.base
