"""The desk of a count: turns what was typed of a bottle into an entry, and says what is wrong with it."""

from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Any

from prep.chemistry import quantities
from prep.chemistry.catalogue import Catalogue, Item
from prep.chemistry.model import Instrument, Measure
from prep.chemistry.quantities import from_base
from prep.chemistry.typed_number import point
from prep.errors import NotOnFile, PrepError
from prep.services.catalogue.names import find_item
from prep.services.input.checks import printable
from prep.services.safety import item_facts
from prep.services.stock import listing
from prep.services.stock.places import holds, only, place_named
from prep.services.stocktake import notation
from prep.services.stocktake.notation import CellKind, CountCell
from prep.services.stocktake.results import CountEntry
from prep.stocktake.methods import count_of
from prep.store import queries
from prep.store.queries import strength_of
from prep.store.school.places import all_places
from prep.store.stocktakes import Tally
from prep.wording import AtTerminal, Flag

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.bottles import HeldBottle
    from prep.store.stocktakes import Stocktake


@dataclass(frozen=True, slots=True)
class TypedCount:
    """How a bottle was counted, as typed. Exactly one of amount, gross, level, unopened, not_found."""

    amount: str | None = None
    gross: str | None = None
    tare: str | None = None
    balance: str | None = None
    density: str | None = None
    level: int | None = None
    full: str | None = None
    unopened: bool = False
    not_found: bool = False
    unreadable: bool = False
    place: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class TypedFind:
    """A bottle that is not on the books, as typed; `item` None where its label cannot be read."""

    item: str | None
    amount: str | None
    place: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class EntryOfBottle:
    """One entry of an open count, and the bottle that it is of."""

    count: "Stocktake"
    tally: Tally
    bottle: "HeldBottle"


@dataclass(frozen=True, slots=True)
class FoundEntry:
    """The entry of a bottle that is not on the books, and what it holds; None where its label cannot be read."""

    count: "Stocktake"
    tally: Tally
    item: Item | None

    @property
    def counted(self) -> CountEntry:
        """The entry as it is shown to who counts."""
        name = self.item.name if self.item else "label not readable"
        return CountEntry("", name, self.item.measure if self.item else None, self.tally.amount, None, "found")


def is_amount(text: str) -> bool:
    """Tell whether a text says how much, such as `30 g`, and not of what."""
    try:
        return bool(quantities.amount(point(text.strip())))
    except PrepError:
        return False


def _is_mass(text: str) -> bool:
    try:
        return quantities.amount(text).measure is Measure.MASS
    except PrepError:
        return False


class CountDesk:
    """Takes entries of one count: the bottles, instruments and the catalogue, each read once."""

    def __init__(self, connection: "Connection", count: "Stocktake") -> None:
        self.connection, self.count = connection, count
        self.held = {h.code: h for h in listing.all_held(connection)}
        self.places = all_places(connection)
        self.instruments: dict[str, Instrument] = {i.code: i for i in queries.instruments(connection)}
        self.tares = {code: from_base(h.tare) for code, h in self.held.items() if h.tare is not None}
        self._densities: dict[str, Decimal | None] = {}

    @cached_property
    def catalogue(self) -> Catalogue:
        """What is on file: read once, and only where an item is asked for."""
        return queries.catalogue(self.connection)

    @cached_property
    def _stocked(self) -> set[str]:
        """The items of which some bottle holds something."""
        return {held.item for held in self.held.values() if holds(held)}

    def tally(self, bottle: str, how: TypedCount) -> "Tally":
        """Make an entry for a bottle on the books. Raises PrepError."""
        held = self._bottle(bottle)
        place = self._place(held, how.place)
        note = printable(how.note, label="a note")
        if how.not_found:
            return Tally(self.count.code, held.code, "not found", item=held.item, note=note)
        method = self._method(held, how)
        amount = 0
        if method["by"] != "seen":
            counted = notation.method_of(method, self.instruments)
            assert counted is not None
            amount = count_of(counted, held.measure).amount
        return Tally(self.count.code, held.code, "counted", amount, method, not how.unreadable, held.item, place, note)

    def _bottle(self, bottle: str) -> "HeldBottle":
        wanted = bottle.strip()
        held = self.held.get(wanted) or self.held.get(wanted.upper())
        if held is None:
            raise NotOnFile(
                f'There is no bottle "{wanted[:40]}" on the books; write it down', AtTerminal(" with: prep count found")
            )
        return held  # also a discarded one: it may have been found again

    def _place(self, held: "HeldBottle", place: str | None) -> str:
        stands = held.location if place is None else place_named(self.places, place)
        if self.count.location and stands != self.count.location:
            raise PrepError(
                f"Bottle {held.code} is at {stands} on the books, and count {self.count.code} is of "
                f"{self.count.location}; if it stands there, add ",
                Flag("--at"),
                f" {self.count.location}",
            )
        return stands if stands != held.location else ""

    def _method(self, held: "HeldBottle", how: TypedCount) -> dict[str, Any]:
        given = (how.amount, how.gross, how.level, how.unopened or None)
        if sum(one is not None for one in given) != 1:
            if how.unreadable and all(one is None for one in given):
                return {"by": "seen"}
            raise PrepError(
                f"Bottle {held.code}: give one of an amount, ",
                Flag("--gross"),
                ", ",
                Flag("--level"),
                ", ",
                Flag("--unopened"),
                ", ",
                Flag("--not-found"),
                ".",
            )
        if how.amount is not None:
            text = point(how.amount.strip())
            if held.measure is Measure.VOLUME and _is_mass(text):
                density = quantities.density_g_ml(how.density) if how.density else self._density(held)
                assert density is not None
                return notation.of_net_weight(text, density)
            return notation.of_amount("0" if text in ("0", "0.0") else text, held.measure, held.code)
        if how.gross is not None:
            tare = quantities.mass_g(point(how.tare)) if how.tare else self.tares.get(held.code)
            density = quantities.density_g_ml(how.density) if how.density else self._density(held)
            return notation.of_weight(how.gross, tare, held.code, self.instruments.values(), how.balance, density)
        full = self._full(held, how.full)
        if how.unopened:
            return {"by": "full", "amount": full}
        return {"by": "level", "tenths": how.level, "full": full}

    def _full(self, held: "HeldBottle", text: str | None) -> int:
        """Find what a bottle holds when full, as said or as its pack; never what happens to be on its books."""
        if text:
            return int(notation.of_amount(text, held.measure, held.code)["amount"])
        if held.full:
            return held.full
        raise PrepError(f"What bottle {held.code} holds when full is not on file; give it with ", Flag("--full"), ".")

    def _density(self, held: "HeldBottle") -> Decimal | None:
        if held.measure is Measure.MASS:
            return None

        alike = f"{held.item} {held.strength or ''}"
        if alike not in self._densities:
            self._densities[alike] = item_facts.density(held.item, self.catalogue, strength_of(held.strength))
        if (density := self._densities[alike]) is None:
            raise PrepError(
                f"The density of {held.name} is not on file; give it with ", Flag("--density"), ", or judge by level."
            )
        return density

    def found(self, find: TypedFind) -> FoundEntry:
        """Make an entry for a bottle that is not on the books. Raises PrepError."""
        item, amount, place, note = find.item, find.amount, find.place, find.note

        try:
            thing = find_item(item, self.catalogue, held=self._stocked) if item else None
        except NotOnFile as problem:
            raise NotOnFile(
                problem.sentence,
                " What is not on file is written down without a name, with a note of what its label says; a "
                "row of a sheet has ? before the name.",
            ) from None
        code, name = (thing.code, thing.name) if thing else ("", "the bottle without a readable label")
        stands = self._found_at(code, name, place or self.count.location)
        if self.count.location and stands != self.count.location:
            raise PrepError(f"Count {self.count.code} is of {self.count.location}; {stands} is not part of it.")
        method: dict[str, Any] = {"by": "amount", "amount": 0}
        if amount is not None:
            typed = point(amount)
            if thing:
                method["amount"] = thing.amount(typed)
            else:
                of_it = quantities.amount(typed, zero=True)
                method |= {"amount": of_it.base, "measure": of_it.measure.value}
        elif thing:
            raise PrepError(f"Say how much of {thing.name} is in it, or judge it: such as 250 mL.")
        text, base = printable(note, label="a note"), method["amount"]
        tally = Tally(self.count.code, "", "found", base, method, thing is not None, code, stands, text)
        return FoundEntry(self.count, tally, thing)

    def row_found(self, written: CountCell, item: str, place: str) -> FoundEntry:
        """Make an entry as `found`, from a row of a sheet. Raises PrepError."""
        unnamed = item.lstrip().startswith("?")
        said = item.lstrip(" ?")
        if written.kind is CellKind.UNREADABLE:
            return self.found(TypedFind(None, None, place, said))
        if written.kind is CellKind.AMOUNT and unnamed:
            return self.found(TypedFind(None, written.text, place, said))
        if written.kind is not CellKind.AMOUNT:
            raise PrepError("a bottle that is not on the books is written down with its name and an amount.")
        if not item:
            raise PrepError("a row without a code needs a name, or ? as its count.")
        return self.found(TypedFind(item, written.text, place))

    def _found_at(self, item: str, name: str, place: str) -> str:
        if place:
            return place_named(self.places, place)
        stands = (held.location for held in self.held.values() if held.item == item and holds(held))
        return only(self.places, name, stands, Flag("--at"))


def how_of(written: CountCell, tare: str | None, note: str, place: str | None = None) -> TypedCount:
    """Read how a bottle was counted, from a row of a sheet."""
    return replace(_how_of(written, tare, note), place=place)


def _how_of(written: CountCell, tare: str | None, note: str) -> TypedCount:
    match written.kind:
        case CellKind.GROSS:
            return TypedCount(gross=written.text, tare=tare, note=note)
        case CellKind.LEVEL:
            return TypedCount(level=written.tenths, note=note)
        case CellKind.FULL:
            return TypedCount(unopened=True, note=note)
        case CellKind.NOT_FOUND:
            return TypedCount(not_found=True, note=note)
        case CellKind.UNREADABLE:
            return TypedCount(unreadable=True, note=note)
    return TypedCount(amount=written.text, note=note)
