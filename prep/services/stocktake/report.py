"""The report of a count: what was found, what is wrong, and what stands where."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, CountStatus
from prep.chemistry.catalogue import Catalogue
from prep.errors import PrepError, Refused
from prep.garbage_collection import collector_paused
from prep.safety.peroxides import DatedBottle
from prep.services.inventory import session
from prep.services.safety import controlled_register, item_facts, peroxides
from prep.services.stock import register
from prep.services.stocktake import notation, signed_document, stocktake
from prep.services.stocktake.finds import CountFind, finds_of
from prep.services.stocktake.signed_document import CountLine, ResidueLine, SignedCount
from prep.stocktake.likely_cause import BottleData, likely_causes
from prep.stocktake.report import CountReport, StandingBottle, report, with_last_used
from prep.stocktake.verdict import BookBalance
from prep.store import bottles, queries, stocktakes, table_rows
from prep.store.audit import seals
from prep.store.jobs import peroxide_tests, term_sums
from prep.store.queries import strength_of
from prep.store.school import waste
from prep.store.school.places import all_places
from prep.wording import AtTerminal

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.chemistry.model import Strength
    from prep.store.stocktakes import Stocktake


@dataclass(frozen=True, slots=True)
class Report:
    """The report of a count: as it was signed, or, while it is open, as the books are now."""

    count: "Stocktake"
    says: CountReport
    signed: SignedCount
    before: "EarlierCount | None" = None
    """The count before it."""
    year_ago: "EarlierCount | None" = None
    controlled: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """By item: what the list of controlled substances says of it."""


@dataclass(frozen=True, slots=True)
class EarlierCount:
    """An earlier count of the same places, to compare with."""

    count: str
    on: date
    says: CountReport


def of_count(db: Path | None, code: str | None, on: date | None, today: date, sign_off: int | None = None) -> Report:
    """Make the report of a count, open or closed, for a day (of the closing, else `today`).

    `sign_off` is the job of one that was taken back: its report is printed again as it was signed.
    Raises PrepError; Refused for a blind count that is open: its report shows the books.
    """
    with session.reading(db) as connection, collector_paused():
        count = stocktake.chosen(connection, code)
        if count.status == CountStatus.DROPPED:
            raise PrepError(f"Count {count.code} was dropped; it has no report.")
        if sign_off is not None:
            count = _as_signed(connection, count, sign_off)
        if count.blind and count.status == CountStatus.OPEN:
            again = "".join(
                AtTerminal(f". What was signed as job {one.job} and taken back: prep count report --signed {one.job}")
                for one in stocktakes.undone(connection, count.code)[-1:]
            )
            raise Refused(
                f"Count {count.code} is blind: a report shows the books; close it first",
                AtTerminal(f": prep count close{again}"),
            )
        day = on or count.closed_on or today
        signed = _stored(connection, count) or gathered(connection, count, day)
        signed = replace(signed, seal=_seal(connection, count), signed_before=_taken_back(connection, count))
        earlier = [c for c in stocktake.closed_before(connection, count) if c.closed_on]
        year = [c for c in earlier if c.closed_on and 300 <= (day - c.closed_on).days <= 430]
        before, year_ago = (_earlier(connection, some[-1]) if some else None for some in (earlier, year))
        said = _controlled(connection, signed.stood) if signed.controlled is None else signed.controlled
        return Report(count, _made(signed, day), signed, before, year_ago, said)


def _made(signed: SignedCount, day: date) -> CountReport:
    return with_last_used(report(signed.stood, day, first_term=signed.first_term), signed.last_used)


def _earlier(connection: "Connection", count: "Stocktake") -> EarlierCount | None:
    signed = _stored(connection, count)
    if signed is None or count.closed_on is None:
        return None
    return EarlierCount(count.code, count.closed_on, _made(signed, count.closed_on))


def _stored(connection: "Connection", count: "Stocktake") -> SignedCount | None:
    """Read what a closed count signed; None while it is open, or where it was closed before reports were stored."""
    text = None if count.job is None else stocktakes.report_of(connection, count.job)
    return None if text is None else signed_document.read(text)


def _seal(connection: "Connection", count: "Stocktake") -> str:
    """Read the seal of the job that closed a count, as it is printed; empty while it is open."""
    return "" if count.job is None else seals.short(seals.of(connection, count.job))


def _as_signed(connection: "Connection", count: "Stocktake", job: int) -> "Stocktake":
    """Put a count back to what it was when a job signed it off. Raises PrepError where none of that number did."""
    signed = stocktakes.undone(connection, count.code)
    found = next((one for one in signed if one.job == job), None)
    if found is not None:
        return replace(count, status=CountStatus.CLOSED, closed_on=found.on, closed_by=found.by, job=job)
    if count.job == job and count.closed_by is not None:
        return count
    known = [str(one.job) for one in signed] + ([str(count.job)] if count.closed_by else [])
    raise PrepError(f"Job {job} signed off no count {count.code}; there are: {', '.join(known) or 'none'}.")


def _taken_back(connection: "Connection", count: "Stocktake") -> tuple[str, ...]:
    return tuple(
        f"The sign-off of {one.on} by {one.by} (job {one.job}) was taken back on {one.undone_on} by {one.undone_by} "
        f"(job {one.undone_job})."
        for one in stocktakes.undone(connection, count.code)
    )


def gathered(connection: "Connection", count: "Stocktake", day: date) -> SignedCount:
    """Gather everything that the report of a count is made of, as the books and the entries are now."""
    stood, catalogue = tuple(_stood(connection, count, day)), queries.catalogue(connection)
    tallies = stocktakes.tallies(connection, count.code)
    latest = {t.bottle: n for n, t in enumerate(tallies)}
    flagged = [one for one in stood if one.verdict and one.verdict.flagged]
    taken = stocktakes.taken_from(connection, [one.books.bottle for one in flagged])
    vessels = {
        one.books.bottle: BottleData(
            one.full,
            stocktakes.tare_of(connection, one.books.bottle),
            taken.get(one.books.bottle, ()),
        )
        for one in flagged
    }
    measures = {one.books.bottle: one.books.measure for one in stood}
    idle = [one.books.bottle for one in stood if one.amount > 0]
    return SignedCount(
        stood,
        term_sums.last_used(connection, idle),
        str(table_rows.settings(connection).get("school", "")),
        not stocktake.closed_before(connection, count),
        tuple(
            CountLine(
                t.bottle,
                notation.said(t, measures.get(t.bottle) or notation.measure_of(t, catalogue)),
                t.by,
                t.at,
                latest[t.bottle] == n or not t.bottle,
            )
            for n, t in enumerate(tallies)
        ),
        likely_causes((one.verdict for one in stood if one.verdict), vessels),
        residues=_residues(connection, count),
        controlled=_controlled(connection, stood),
    )


def _controlled(connection: "Connection", stood: Iterable[StandingBottle]) -> dict[str, tuple[str, ...]]:
    """Tell what the lists of controlled substances say, by item."""
    items = {one.books.item for one in stood if one.books.item}
    marks = controlled_register.marks_in(connection, sorted(items))
    said = {item: tuple(one.said for one in found) for item, found in marks.items()}
    for item in sorted(items & set(register.own_items(connection))):
        said[item] = (*said.get(item, ()), "the school's own list")
    return said


def _residues(connection: "Connection", count: "Stocktake") -> tuple[ResidueLine, ...]:
    """List what went into the waste bottles of the count's places, and was collected, since the count before it."""
    before = stocktake.closed_before(connection, count)
    after = (before[-1].job or 0) if before else 0
    out = []
    for one in waste.all_waste(connection):
        if count.location in ("", one.location):
            lines = (r for r in waste.residues(connection, one.code) if r.job > after)
            out += [ResidueLine(one.stream, one.code, r.what, r.amount, r.on) for r in lines]
    return tuple(sorted(out, key=lambda line: line.stream))


def _stood(connection: "Connection", count: "Stocktake", day: date) -> list[StandingBottle]:
    catalogue = queries.catalogue(connection)
    tallies = stocktakes.tallies(connection, count.code)
    entries = stocktake.latest(tallies)
    times = Counter(t.bottle for t in tallies)
    gone = stocktake.written_off(connection, count)
    here = {
        h.code: h
        for h in bottles.held(connection)
        if h.code in entries
        or h.code in gone
        or (h.status != BottleStatus.DISCARDED and count.location in ("", h.location))
    }
    books = stocktake.books_of(connection, count, entries, here)
    verdicts = {v.bottle: v for v in stocktake.judged(connection, entries, books)}
    places = all_places(connection)
    order = {code: n for n, code in enumerate(places)}
    about = _About(catalogue)
    came = term_sums.first_filled(connection, [h.code for h in here.values() if h.cost is not None and not h.full])
    tests = peroxide_tests.last_days(connection)
    out = []
    for code, held in here.items():
        tally = entries.get(code)
        substance = catalogue.substances.get(held.item)
        former = substance.peroxide_class if substance else ""
        dates = DatedBottle(
            code, held.name, received=held.received, opened=held.opened, peroxide_class=former, tested=tests.get(code)
        )
        verdict = verdicts.get(code)
        found_again = held.status == BottleStatus.DISCARDED and tally is not None and tally.amount > 0
        out.append(
            StandingBottle(
                books=books[code],
                name=held.name,
                location=places[held.location],
                walk_order=order[held.location],
                verdict=verdict,
                status=BottleStatus.IN_SERVICE if found_again else held.status,
                label_readable=tally is None or tally.readable,
                use_by=held.use_by,
                test_due=peroxides.to_be_tested_by(dates, day),
                received=held.received,
                hazards=about.hazards(held.item, held.strength),
                stream=about.stream(held.item),
                density_g_ml=about.density(held.item, held.strength),
                cas=substance.cas if substance else "",
                lot=held.lot,
                counted_by=tally.by if tally else "",
                how=notation.said(tally, held.measure) if tally else "",
                times=times[code],
                stands=places.get(tally.location, "") if tally and tally.location else "",
                cost=None if held.cost is None else Decimal(held.cost),
                full=held.full,
                came=came.get(code),
            )
        )
    earlier = stocktakes.earlier_finds(connection, count.code)
    return out + [_found(find, places, order, about) for find in finds_of(tallies, catalogue, earlier)]


def _found(find: CountFind, places: Mapping[str, str], order: Mapping[str, int], about: "_About") -> StandingBottle:
    tally, thing = find.tally, find.thing
    item, measure = tally.item, notation.measure_of(tally, about.catalogue)
    if thing is None:
        name = f"not identified: {tally.note}".rstrip(": ")
    else:
        name = thing.name if thing.known else f"not on file: {tally.note}".rstrip(": ")
    return StandingBottle(
        books=BookBalance(find.called, thing.code if thing else item, measure),
        name=name,
        location=places[tally.location],
        walk_order=order[tally.location],
        on_books=False,
        found_amount=tally.amount,
        label_readable=tally.readable,
        hazards=about.hazards(item),
        stream=about.stream(item),
        density_g_ml=about.density(item),
        counted_by=tally.by,
        how=notation.said(tally, measure),
        times=1,
    )


def _strength(text: str | None) -> "Strength | None":
    return strength_of(text)


class _About:
    """Facts of items, each worked out once."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._hazards: dict[tuple[str, str], tuple[str, ...] | None] = {}
        self._streams: dict[str, str] = {}
        self._densities: dict[tuple[str, str], Decimal | None] = {}

    def hazards(self, item: str, strength: str | None = None) -> tuple[str, ...] | None:
        """Find the hazard classes of a bottle at its strength; None where no data are on file."""
        alike = (item, strength or "")
        if alike not in self._hazards:
            self._hazards[alike] = item_facts.hazards(item, self.catalogue, _strength(strength))
        return self._hazards[alike]

    def density(self, item: str, strength: str | None = None) -> Decimal | None:
        """Find the density [g/mL] of a bottle at its strength; None where it is not known."""
        alike = (item, strength or "")
        if alike not in self._densities:
            self._densities[alike] = item_facts.density(item, self.catalogue, _strength(strength))
        return self._densities[alike]

    def stream(self, item: str) -> str:
        """Find how an item is disposed of."""
        if item not in self._streams:
            self._streams[item] = item_facts.stream(item, self.catalogue)
        return self._streams[item]
