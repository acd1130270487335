"""The report of a count: what was found, what is wrong, and what stands where."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from prep.chemistry.catalogue import Catalogue
from prep.errors import PrepError, Refused
from prep.garbage_collection import collector_paused
from prep.safety.peroxides import Dated
from prep.services.inventory import session
from prep.services.safety import item_facts, peroxides
from prep.services.stocktake import stocktake
from prep.stocktake.report import CountReport, Stood, report, with_last_used
from prep.stocktake.verdict import Books

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.stocktakes import Stocktake, Tally


def of_count(db: Path | None, code: str | None, on: date | None, today: date) -> "tuple[Stocktake, CountReport, str]":
    """The report of a count, open or closed, for a day (of the closing, else `today`), and the school's name.

    Raises PrepError; Refused for a blind count that is open: its report shows the books.
    """
    with session.reading(db) as connection:
        count = stocktake.chosen(connection, code)
        if count.status == "dropped":
            raise PrepError(f"Count {count.code} was dropped; it has no report.")
        if count.blind and count.status == "open":
            raise Refused(f"Count {count.code} is blind: a report shows the books; close it first: prep count close")
        day = on or count.closed_on or today
        from prep.store import queries
        from prep.store import term_sums as books

        school = str(queries.settings(connection).get("school", ""))
        with collector_paused():
            made = report(_stood(connection, count, day), day)
            idle = [code for one in made.never_used for code in one.bottles]
            return count, with_last_used(made, books.last_used(connection, idle)), school


def _stood(connection: "Connection", count: "Stocktake", day: date) -> list[Stood]:
    from prep.services.stock import listing
    from prep.services.stock.places import all_places
    from prep.store import changes, queries, stocktakes

    catalogue = queries.catalogue(connection)
    tallies = stocktakes.tallies(connection, count.code)
    entries = stocktake.latest(tallies)
    born = {
        line["code"]
        for line in (changes.of(connection, count.job) if count.job is not None else [])
        if changes.is_new(line)
    }
    here = {
        h.code: h
        for h in listing.all_held(connection)
        if h.code not in born
        and (h.code in entries or (h.status != "discarded" and count.location in ("", h.location)))
    }
    books = stocktake.books_of(connection, count, entries, here)
    verdicts = {v.bottle: v for v in stocktake.judged(connection, entries, books)}
    places = dict(all_places(connection))
    order = {code: n for n, code in enumerate(places)}
    about = _About(catalogue)
    tests = peroxides.last_tests(connection)
    out = []
    for code, held in here.items():
        tally = entries.get(code)
        former = catalogue.substances[held.item].peroxide_class if held.item in catalogue.substances else ""
        dates = Dated(
            code, held.name, received=held.received, opened=held.opened, peroxide_class=former, tested=tests.get(code)
        )
        out.append(
            Stood(
                books=books[code],
                name=held.name,
                location=places[held.location],
                walk_order=order[held.location],
                verdict=verdicts.get(code),
                status=held.status if code not in verdicts or held.status != "discarded" else "in service",
                label_readable=tally is None or tally.readable,
                use_by=held.use_by,
                test_due=peroxides.to_be_tested_by(dates, day),
                received=held.received,
                hazards=about.hazards(held.item),
                stream=about.stream(held.item),
                density_g_ml=about.density(held.item),
            )
        )
    out += [
        _found(number, tally, places, order, about)
        for number, tally in enumerate((t for t in tallies if not t.bottle), 1)
    ]
    return out


def _found(
    number: int,
    tally: "Tally",
    places: Mapping[str, str],
    order: Mapping[str, int],
    about: "_About",
) -> Stood:
    item = about.catalogue.item(tally.item)
    name = item.name if item.known else f"not readable: {tally.note}".rstrip(": ")
    return Stood(
        books=Books(f"(found {number})", tally.item, item.measure),
        name=name,
        location=places[tally.location],
        walk_order=order[tally.location],
        on_books=False,
        found_amount=tally.amount,
        label_readable=tally.readable,
        hazards=about.hazards(tally.item),
        stream=about.stream(tally.item),
        density_g_ml=about.density(tally.item),
    )


class _About:
    """Facts of items, each worked out once."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self._hazards: dict[str, tuple[str, ...] | None] = {}
        self._streams: dict[str, str] = {}
        self._densities: dict[str, Decimal | None] = {}

    def hazards(self, item: str) -> tuple[str, ...] | None:
        """Hazard classes; None where no data are on file."""
        if item not in self._hazards:
            self._hazards[item] = item_facts.hazards(item, self.catalogue)
        return self._hazards[item]

    def density(self, item: str) -> Decimal | None:
        """Density [g/mL]; None where it is not known."""
        if item not in self._densities:
            self._densities[item] = item_facts.density(item, self.catalogue)
        return self._densities[item]

    def stream(self, item: str) -> str:
        """How it is disposed of."""
        if item not in self._streams:
            self._streams[item] = item_facts.stream(item, self.catalogue)
        return self._streams[item]
