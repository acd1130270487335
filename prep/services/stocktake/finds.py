"""What a count found that is not on the books: what each is taken for, and, on closing, put on them as."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from prep.books import BottleStatus
from prep.chemistry.catalogue import Catalogue, Item
from prep.services.stock import codes, found, listing
from prep.services.stocktake import notation
from prep.stocktake.verdict import BookBalance, Verdict, judge
from prep.store import change_log, ledger, seeding, sign_offs

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.bottles import HeldBottle
    from prep.store.stocktakes import EarlierFind, Tally


@dataclass(frozen=True, slots=True)
class CountFind:
    """A bottle that is not on the books: its place among the finds, its entry, and what it is put on them as.

    What nobody could name has an entry of its own; `thing` is None where nobody said how much is in it.
    """

    number: int
    tally: "Tally"
    thing: Item | None
    code: str = ""
    """Its code from a sign-off that was undone: it may be on its label already."""

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


def finds_of(
    tallies: "Iterable[Tally]", catalogue: Catalogue, earlier: "Iterable[EarlierFind]" = ()
) -> tuple[CountFind, ...]:
    """Tell of each entry without a bottle on the books what it is; `earlier` had codes before, which they keep."""
    out, left = [], list(earlier)
    for number, tally in enumerate((t for t in tallies if not t.bottle), 1):
        thing = None
        again = next((one for one in left if _is_same(one, tally, catalogue)), None)
        if again is not None:
            left.remove(again)
            out.append(CountFind(number, tally, catalogue.item(again.item), again.code))
            continue
        if tally.item:
            thing = catalogue.item(tally.item)
        elif tally.amount:
            said = tally.note or f"found at count {tally.stocktake}"
            thing = found.unknown(said, notation.measure_of(tally, catalogue), catalogue)
            assert thing.substance is not None
            catalogue = replace(catalogue, substances={**catalogue.substances, thing.code: thing.substance})
        out.append(CountFind(number, tally, thing))
    return tuple(out)


def _is_same(earlier: "EarlierFind", tally: "Tally", catalogue: Catalogue) -> bool:
    if (earlier.location, earlier.note, earlier.amount) != (tally.location, _note(tally), tally.amount):
        return False
    if tally.item:
        return earlier.item == tally.item
    return earlier.item.startswith(found.UNKNOWN) and earlier.measure == notation.measure_of(tally, catalogue).value


def _note(tally: "Tally") -> str:
    return (f"found at count {tally.stocktake}" + (f": {tally.note}" if tally.note else ""))[:200]


def put_on_the_books(connection: "Connection", finds: Iterable[CountFind], job: int, on: date) -> NewBottles:
    """Put finds on the books, as part of a job; what nobody could name stands in quarantine."""
    finds = [one for one in finds if one.thing is not None and one.tally.amount]
    unnamed = (one.thing.substance for one in finds if one.thing and not (one.tally.item or one.code))
    seeding.put_substances(connection, filter(None, unnamed))
    bottles, verdicts, called = [], [], {}
    for one in finds:
        tally, thing = one.tally, one.thing
        assert thing is not None
        code, reason = one.code or codes.new_code(connection), f"count {tally.stocktake}: not on the books"
        if one.code:
            sign_offs.refuse_late_arrivals(connection, job, [tally.location])
            ledger.post(connection, job, [ledger.MovementLine(code, tally.amount, reason)])
            status = BottleStatus.IN_SERVICE if tally.item else BottleStatus.QUARANTINE
            change_log.change(connection, job, "bottle", code, status=status)
        else:
            new = codes.NewBottle(code, thing.code, thing.measure, tally.location, on, note=_note(tally))
            ledger.fill(connection, job, codes.bottle_row(new) | {"received": None}, tally.amount, reason)
        if not (tally.item or one.code):
            found.shelve_unknown(connection, job, code)
        bottles.append(listing.one(connection, code))
        called[one.called] = code
        verdicts.append(judge(BookBalance(code, thing.code, thing.measure), notation.method_of(tally.method, {})))
    return NewBottles(tuple(bottles), tuple(verdicts), called)
