"""What a count found that is not on the books: what each is taken for, and, on closing, put on them as."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from prep.chemistry.catalogue import Catalogue, Item
from prep.services.stock import codes, found, listing
from prep.services.stocktake import notation
from prep.stocktake.verdict import BookBalance, Verdict, judge
from prep.store import ledger, seeding

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.bottles import HeldBottle
    from prep.store.stocktakes import Tally


@dataclass(frozen=True, slots=True)
class CountFind:
    """A bottle that is not on the books: its place among the finds, its entry, and what it is put on them as.

    What nobody could name has an entry of its own; `thing` is None where nobody said how much is in it.
    """

    number: int
    tally: "Tally"
    thing: Item | None

    @property
    def called(self) -> str:
        """What it is called until it has a code."""
        return f"(found {self.number})"


@dataclass(frozen=True, slots=True)
class NewBottles:
    """The bottles that a count found and put on the books, their verdicts, and the code that each find got."""

    bottles: "tuple[HeldBottle, ...]"
    verdicts: tuple[Verdict, ...]
    codes: dict[str, str]


def finds_of(tallies: "Iterable[Tally]", catalogue: Catalogue) -> tuple[CountFind, ...]:
    """Tell of each entry without a bottle on the books what it is."""
    out = []
    for number, tally in enumerate((t for t in tallies if not t.bottle), 1):
        thing = None
        if tally.item:
            thing = catalogue.item(tally.item)
        elif tally.amount:
            said = tally.note or f"found at count {tally.stocktake}"
            thing = found.unknown(said, notation.measure_of(tally, catalogue), catalogue)
            assert thing.substance is not None
            catalogue = replace(catalogue, substances={**catalogue.substances, thing.code: thing.substance})
        out.append(CountFind(number, tally, thing))
    return tuple(out)


def put_on_the_books(connection: "Connection", finds: Iterable[CountFind], job: int, on: date) -> NewBottles:
    """Put finds on the books, as part of a job; what nobody could name stands in quarantine."""
    finds = [one for one in finds if one.thing is not None and one.tally.amount]
    unnamed = (one.thing.substance for one in finds if one.thing and not one.tally.item)
    seeding.put_substances(connection, filter(None, unnamed))
    bottles, verdicts, called = [], [], {}
    for one in finds:
        tally, thing = one.tally, one.thing
        assert thing is not None
        code, reason = codes.new_code(connection), f"count {tally.stocktake}: not on the books"
        note = f"found at count {tally.stocktake}" + (f": {tally.note}" if tally.note else "")
        row = codes.bottle_row(codes.NewBottle(code, thing.code, thing.measure, tally.location, on, note=note[:200]))
        ledger.fill(connection, job, row | {"received": None}, tally.amount, reason)
        if not tally.item:
            found.shelve_unknown(connection, job, code)
        bottles.append(listing.one(connection, code))
        called[one.called] = code
        verdicts.append(judge(BookBalance(code, thing.code, thing.measure), notation.method_of(tally.method, {})))
    return NewBottles(tuple(bottles), tuple(verdicts), called)
