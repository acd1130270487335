"""Bottles from a spreadsheet: every row's fate first, then all of them or none, as one job."""

import re
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from prep.books import BottleStatus, JobKind
from prep.chemistry import quantities
from prep.chemistry.catalogue import Item
from prep.chemistry.model import Measure
from prep.dates import DayOrder, day_of_cell, use_by_of_cell
from prep.errors import PrepError
from prep.garbage_collection import collector_paused
from prep.plurals import plural
from prep.services.catalogue.names import choose_item, choose_with_cas
from prep.services.catalogue.seed import stock_amount
from prep.services.files.csv_file import Row
from prep.services.files.imports import Fate, ImportReport
from prep.services.files.spreadsheet import Columns, Table, read_table
from prep.services.input.act import Act
from prep.services.input.checks import slip_in_cas_number
from prep.services.input.progress import More, Watcher, each, nobody, steps
from prep.services.inventory import session
from prep.services.safety.placement import PlacedItem, beside_in
from prep.services.school.usual import DAY_ORDER
from prep.services.stock import codes, listing
from prep.services.stock.changes import cost_of
from prep.services.stock.places import holds, only, place_named
from prep.services.stock.store_lists import ABOUT, COLUMNS, PART_FULL, SYNONYMS, sized
from prep.services.stock.strength import on_label
from prep.store import ledger, queries, table_rows
from prep.store.queries import strength_text
from prep.store.school.places import all_places
from prep.wording import Flag, Sentence

if TYPE_CHECKING:
    from sqlalchemy import Connection

T = TypeVar("T")
Bottle = dict[str, Any]
_STATUSES = (BottleStatus.IN_SERVICE, BottleStatus.QUARANTINE)  # none comes on the books discarded
_QUANTITIES = ("amount", "tare", "strength")
_WRITTEN = 3  # rows written for a bottle: its own, its first movement, and the change that logs it


@dataclass(frozen=True, slots=True)
class StockFile:
    """A file of bottles: what its columns are called, and where bottles stand whose row does not say."""

    path: Path
    mapped: Mapping[str, str] = field(default_factory=dict)
    location: str | None = None


def import_stock(db: Path | None, file: StockFile, dry_run: bool, act: Act, watcher: Watcher = nobody) -> ImportReport:
    """Put the bottles of a CSV file on the books, all or none. Raises PrepError for a file that is no such table.

    A file with a wrong row changes nothing: its fates say so.
    """
    path = file.path
    with collector_paused():  # thousands of new objects, none of them garbage to collect
        table = _table(path, file.mapped)
        if not table.rows and not table.wrong:
            raise PrepError(f"{path.name}: there is no bottle in it.")
        more = steps(watcher, len(table.rows) * (1 if dry_run else 1 + _WRITTEN))

        def work(connection: "Connection") -> _Worked:
            desk = _BottleReader(connection, file.location)
            read = desk.bottles(table, more)
            read = replace(read, notes=desk.notes(connection, read.rows))
            if read.wrong and not dry_run:
                raise _Wrong(read)
            if not dry_run:
                desk.give_codes([one.bottle for one in read.rows])
            return read

        def post(connection: "Connection", read: _Worked) -> _Worked:
            bottles = [one.bottle for one in read.rows]
            note = f"{plural(len(bottles), 'bottle')} from {path.name}"[:200]
            job = ledger.begin(connection, JobKind.IMPORT, act.by, act.on, note)
            ledger.load(connection, job, bottles, "imported", more)
            return replace(read, job=job)

        try:
            if dry_run:
                with session.reading(db) as connection:
                    read = work(connection)
            else:
                read = session.worked_out(db, work, post)
        except _Wrong as found:
            read = found.read
        return ImportReport(_fates(table.file, read), read.job, table.not_read)


@dataclass(frozen=True, slots=True)
class NumberedBottle:
    """A bottle of a file, and its row's number."""

    row: int
    bottle: Bottle


@dataclass(frozen=True, slots=True)
class _Worked:
    """The bottles of a file, its wrong rows, what is to be said of each row, and the job that wrote them."""

    rows: list[NumberedBottle]
    wrong: list[Fate]
    notes: dict[int, tuple[str, ...]] = field(default_factory=dict)
    job: int | None = None


class _Wrong(Exception):
    """A file with a wrong row, of which nothing is written."""

    def __init__(self, read: _Worked) -> None:
        self.read = read


def _table(path: Path, mapped: Mapping[str, str]) -> Table:
    """Read the rows of a bottle file, each with a name or a CAS number."""

    def read(*required: str) -> Table:
        return read_table(path, Columns(COLUMNS, required, SYNONYMS, others=True, quantities=_QUANTITIES), mapped)

    try:
        return read("item", "amount")
    except PrepError as unnamed:
        try:
            table = read("amount")
        except PrepError:
            raise unnamed from None
        if not any(row.text("cas") for row in table.rows):
            raise
        return table


def once(reader: Callable[[str], T]) -> Callable[[str], T]:
    """Wrap a reader so that it reads each text once and keeps what it said, also where it raised PrepError."""
    known: dict[str, T] = {}
    wrong: dict[str, str] = {}

    def read(text: str) -> T:
        if text in known:
            return known[text]
        if text not in wrong:
            try:
                return known.setdefault(text, reader(text))
            except PrepError as problem:
                wrong[text] = problem.sentence
        raise PrepError(wrong[text])

    return read


class _BottleReader:
    """Reads rows into bottles; what is on file, and each text, is read once."""

    def __init__(self, connection: "Connection", location: str | None) -> None:
        catalogue = queries.catalogue(connection)
        self._places = all_places(connection)
        self._at = None if location is None else place_named(self._places, location)
        self._taken: dict[str, int] = {}  # code -> row of the file; 0 for a bottle that is on the books
        self._stands: dict[str, set[str]] = defaultdict(set)
        for held in listing.all_held(connection):
            self._taken[held.code.upper()] = 0
            if holds(held):
                self._stands[held.item].add(held.location)
        self._chosen = once(lambda name: choose_item(name, catalogue, held=self._stands))
        self.read_as: dict[int, list[str]] = defaultdict(list)  # row of the file -> what its cells were taken for
        self._with_cas = cache(lambda name, cas: choose_with_cas(name, cas, catalogue, self._stands))
        self._amount = once(lambda text: stock_amount(text, zero=True))
        self._place = once(lambda said: place_named(self._places, said))
        self._strength = cache(lambda code, text: strength_text(on_label(catalogue.item(code), text, catalogue)))
        said = table_rows.settings(connection).get(DAY_ORDER)
        order = DayOrder(said) if said in set(DayOrder) else None
        self._day = once(lambda text: day_of_cell(text, order).isoformat())
        self._use_by = once(lambda text: use_by_of_cell(text, order).isoformat())
        self._tare = once(lambda text: quantities.to_base(quantities.mass_g(text)))

    def bottles(self, table: Table, more: More) -> _Worked:
        """Read the bottles of a table, and a fate for each row that is wrong."""
        made: list[NumberedBottle] = []
        wrong = [Fate(table.file, one.number, one.says, True) for one in table.wrong]
        for row in each(table.rows, more):
            try:
                bottle = self._bottle(row)
                made += [NumberedBottle(row.number, dict(bottle)) for _ in range(self._how_many(row))]
            except PrepError as problem:
                wrong.append(Fate(table.file, row.number, problem.sentence, True))
        return _Worked(made, wrong)

    def give_codes(self, bottles: Sequence[Bottle]) -> None:
        """Give a new code to each bottle that has none."""
        wanting = [bottle for bottle in bottles if not bottle["code"]]
        for bottle, code in zip(wanting, codes.new_codes(len(wanting), set(self._taken)), strict=True):
            bottle["code"] = code

    def notes(self, connection: "Connection", rows: Sequence[NumberedBottle]) -> dict[int, tuple[str, ...]]:
        """Find what is to be said of rows: how a name was read, and what must not stand beside the bottle."""
        beside = _notes(connection, rows)
        read = {number: tuple(dict.fromkeys(said)) for number, said in self.read_as.items()}
        return {number: read.get(number, ()) + beside.get(number, ()) for number in (*read, *beside)}

    def _bottle(self, row: Row) -> Bottle:
        item = self._named(row)
        if item.solution is not None and item.solution.unstable:
            raise row.wrong("item", f"{item.name} becomes explosive or unstable when kept; it is put on no shelf.")
        amount = self._held(row, item)
        place = row.read("location", self._place) or self._unsaid(row, item)
        strength = row.read("strength", lambda text: self._strength(item.code, text))
        lot, note, supplier = row.text("lot"), row.text("note"), row.text("supplier")
        for column, text in (("lot", lot), ("note", note), ("supplier", supplier)):
            if len(text) > 200:
                raise row.wrong(column, "this is at most 200 characters.")
        return {
            "code": self._code(row),
            "item": item.code,
            "measure": item.measure.value,
            "balance": amount,
            "status": row.one_of("status", _STATUSES, BottleStatus.IN_SERVICE),
            "location": place,
            "received": row.read("received", self._day),
            "opened": row.read("opened", self._day),
            "use_by": row.read("use_by", self._use_by),
            "lot": lot,
            "strength": strength,
            "tare": row.read("tare", self._tare),
            "made_by": "",
            "note": note,
            "full": None,
            "supplier": supplier or None,
            "cost": row.read("cost", cost_of),
        }

    def _named(self, row: Row) -> Item:
        """Find the item that a bottle holds, by name, by CAS number, or by both."""
        if not (cas := row.text("cas")):
            chosen = row.need("item", self._chosen)
        else:
            try:
                chosen = self._with_cas(row.text("item"), cas)
            except PrepError as problem:
                column = "cas" if not row.text("item") or slip_in_cas_number(cas.strip()) else "item"
                raise row.wrong(column, problem.sentence) from None
        if chosen.says:
            self.read_as[row.number].append(chosen.says)
        return chosen.item

    def _unsaid(self, row: Row, item: Item) -> str:
        """Find the place of a bottle whose row names none: that given for the file, or the item's only one."""
        if self._at is not None:
            return self._at
        try:
            return only(
                self._places,
                item.name,
                self._stands[item.code],
                Sentence("a location in the row, or ", Flag("--at"), ","),
            )
        except PrepError as problem:
            raise row.wrong("location", problem.sentence) from None

    def _held(self, row: Row, item: Item) -> int:
        text, unit = row.text("amount", required=True), row.text("unit")
        if unit and re.fullmatch(r"[0-9.]+", text):
            text = f"{text} {unit}"
        elif unit and not text.endswith(unit):
            raise row.wrong("unit", f'"{unit[:20]}" is not the unit of "{text[:40]}"; leave one of them out.')
        try:
            amount = self._amount(sized(text))
        except PrepError as problem:
            raise row.wrong("amount", problem.sentence) from None
        shown = quantities.show(amount.base, amount.measure)
        if ABOUT.match(text):
            self.read_as[row.number].append(
                f'"{text[:40]}" is put on the books as {shown}: measure it when it is counted.'
            )
        elif said := PART_FULL.search(row.text("note")):
            self.read_as[row.number].append(
                f'its note says "{said[0]}", and {shown} are put on the books: write what is in it, or count it.'
            )
        if amount.measure is not item.measure and amount.base:
            raise row.wrong("amount", f"{item.code} is counted by {item.measure.value}; write its amount so.")
        return amount.base

    def _how_many(self, row: Row) -> int:
        """Read how many bottles of it there are; one where that is not said."""
        text = row.text("bottles")
        if not text:
            return 1
        if not re.fullmatch(r"[1-9][0-9]?", text):
            raise row.wrong("bottles", f'"{text[:20]}" is no number of bottles from 1 to 99.')
        if int(text) > 1 and row.text("code"):
            raise row.wrong("bottles", f'{text} bottles cannot have the one code "{row.text("code")[:20]}".')
        return int(text)

    def _code(self, row: Row) -> str:
        if not row.text("code"):
            return ""
        code = row.code("code")
        first = self._taken.setdefault(code.upper(), row.number)
        if first != row.number:
            where = f"row {first} has it" if first else "a bottle on the books has it"
            raise row.wrong("code", f'the code "{code}" is taken already: {where}.')
        return code


def _notes(connection: "Connection", rows: Sequence[NumberedBottle]) -> dict[int, tuple[str, ...]]:
    """Find what must not stand beside new bottles where they are put: by the first row of each item and place."""
    first: dict[PlacedItem, int] = {}
    called: dict[str, int] = {}
    for one in rows:
        alike = PlacedItem(one.bottle["item"], one.bottle["location"])
        if one.bottle["balance"] and alike not in first:
            first[alike] = one.row
            called[one.bottle["code"] or f"row {one.row}"] = one.row
    found = beside_in(connection, dict(zip(called, first, strict=True)))
    return {number: tuple(one.message for one in found.get(name, ())) for name, number in called.items()}


def _fates(file: str, read: _Worked) -> tuple[Fate, ...]:
    shown = cache(lambda base, measure: quantities.show(base, Measure(measure)))
    fates, notes = list(read.wrong), dict(read.notes)
    for one in read.rows:
        bottle = one.bottle
        code = str(bottle["code"])
        called = f"new bottle {code}" if code else "new bottle, which will get a code"
        says = f"{called}: {shown(bottle['balance'], bottle['measure'])} of {bottle['item']} at {bottle['location']}"
        fates.append(Fate(file, one.row, says, False, code, notes.pop(one.row, ())))  # once of several bottles
    return tuple(sorted(fates, key=lambda fate: fate.row))
