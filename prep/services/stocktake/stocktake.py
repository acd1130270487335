"""The term-end count: open it, write down what is there, see what to look at again, close it."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING

from prep.books import BottleStatus, CountStatus, JobKind
from prep.chemistry.model import Instrument, Measure
from prep.errors import NotOnFile, PrepError
from prep.services.files.spreadsheet import Columns, WrongRow, read_table
from prep.services.input.act import Act
from prep.services.input.checks import printable
from prep.services.input.progress import Watcher, each, nobody, steps
from prep.services.inventory import session
from prep.services.stock import listing
from prep.services.stock.places import place_in
from prep.services.stocktake import notation
from prep.services.stocktake.entry import CountDesk, EntryOfBottle, FoundEntry, TypedCount, TypedFind, how_of
from prep.services.stocktake.results import CountEntry, CountList, Progress, SheetLine, SheetTaken
from prep.stocktake.methods import count_of, expanded
from prep.stocktake.verdict import BookBalance, Verdict, judge, seen, to_recount
from prep.store import change_log, ledger, queries, stocktakes, table_rows
from prep.store.jobs import term_sums as books
from prep.store.school import places
from prep.wording import AtTerminal, Flag, Sentence

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from prep.store.stocktakes import BottleMovement, Stocktake, Tally


def open_count(db: Path | None, location: str | None, blind: bool, act: Act) -> CountList:
    """Open a count of a location, or of all. Raises PrepError where one is open there already."""
    with session.writing(db) as connection:
        act = session.signed(connection, act)
        if location is not None:
            location = place_in(connection, location)
        counts = stocktakes.all_counts(connection)
        for other in counts:
            if other.status == CountStatus.OPEN and (not location or not other.location or other.location == location):
                where = other.location or "all places"
                raise PrepError(
                    f"Count {other.code} of {where} is open; close it first, or drop it",
                    AtTerminal(f" with: prep count drop {other.code}"),
                )
        number = max((int(one.code[1:]) for one in counts), default=0) + 1
        count = stocktakes.Stocktake(f"C{number}", location or "", blind, CountStatus.OPEN, act.on, act.by)
        ledger.begin(
            connection, JobKind.COUNT_OPEN, act.by, act.on, f"count {count.code} of {location or 'all places'}"
        )
        stocktakes.open_count(connection, count)
        lines = _lines(connection, count)
        if not lines:
            raise PrepError(f"There is no bottle to count{' at ' + location if location else ''}.")
        return CountList(count, lines)


def sheet(db: Path | None, code: str | None) -> CountList:
    """List what an open count looks for, in walking order. Raises PrepError."""
    with session.reading(db) as connection:
        count = chosen(connection, code, CountStatus.OPEN)
        return CountList(count, _lines(connection, count), str(table_rows.settings(connection).get("school", "")))


def enter(db: Path | None, code: str | None, bottle: str, how: TypedCount, act: Act) -> CountEntry:
    """Write down one bottle's count. Raises PrepError."""

    def work(connection: "Connection") -> EntryOfBottle:
        count = chosen(connection, code, CountStatus.OPEN)
        desk = CountDesk(connection, count)
        tally = desk.tally(bottle, how)
        return EntryOfBottle(count, tally, desk.held[tally.bottle])

    def post(connection: "Connection", entry: EntryOfBottle) -> CountEntry:
        count, tally, held = entry.count, entry.tally, entry.bottle
        _add(connection, count, [tally], session.signed(connection, act))
        shown = None if count.blind else _judge_all(connection, count, held.code).verdicts[0]
        return CountEntry(tally.bottle, held.name, held.measure, tally.amount, shown, tally.kind)

    return session.worked_out(db, work, post)


def times_counted(db: Path | None, code: str | None) -> Mapping[str, int]:
    """Tell how often each bottle of an open count is written down by now. Raises PrepError."""
    with session.reading(db) as connection:
        count = chosen(connection, code, CountStatus.OPEN)
        return Counter(one.bottle for one in stocktakes.tallies(connection, count.code) if one.bottle)


def found(db: Path | None, code: str | None, find: TypedFind, act: Act) -> CountEntry:
    """Write down a bottle that is not on the books."""

    def work(connection: "Connection") -> FoundEntry:
        return CountDesk(connection, chosen(connection, code, CountStatus.OPEN)).found(find)

    def post(connection: "Connection", entry: FoundEntry) -> CountEntry:
        _add(connection, entry.count, [entry.tally], session.signed(connection, act))
        return entry.counted

    return session.worked_out(db, work, post)


@dataclass(frozen=True, slots=True)
class SheetFile:
    """A returned sheet, what its columns are called, and whether it is only looked at."""

    path: Path
    mapped: Mapping[str, str] = field(default_factory=dict)
    dry_run: bool = False


@dataclass(frozen=True, slots=True)
class _SheetRows:
    """The entries that a sheet's rows make in a count, and what is said of them."""

    count: "Stocktake"
    tallies: "list[Tally]"
    taken: SheetTaken


def import_sheet(db: Path | None, code: str | None, file: SheetFile, act: Act, watcher: Watcher = nobody) -> SheetTaken:
    """Take the rows of a returned sheet; each may name who counted it.

    Rows without a count are passed over, and so are rows that say again what the same person wrote down before.
    Raises PrepError for a file that is no such sheet.
    """
    path = file.path
    columns = "location code name measure book tare count counter note".split()
    table = read_table(path, Columns(columns, ("count",), others=True, quantities=("tare", "count")), file.mapped)

    def work(connection: "Connection") -> _SheetRows:
        entries: list[CountEntry] = []
        wrong = list(table.wrong)
        me = session.signed(connection, act).by
        count = chosen(connection, code, CountStatus.OPEN)
        desk = CountDesk(connection, count)
        tallies: list[Tally] = []
        before = Counter(_said_by(one) for one in stocktakes.tallies(connection, count.code))
        repeated = 0
        for row in each(table.rows, steps(watcher, len(table.rows))):
            cell = row.text("count")
            if not cell:
                continue
            try:
                written = notation.read(cell)
                by = printable(row.text("counter"), 80, "counter") or me
                if row.text("code"):
                    tare = row.text("tare") or None
                    tally = desk.tally(
                        row.text("code"), how_of(written, tare, row.text("note"), row.text("location") or None)
                    )
                    held = desk.held[tally.bottle]
                    entry = CountEntry(held.code, held.name, held.measure, tally.amount, None, tally.kind)
                else:
                    find = desk.row_found(written, row.text("name"), row.text("location"))
                    tally, entry = find.tally, find.counted
                said = _said_by(replace(tally, by=by))
                if before[said]:
                    repeated += 1
                    before[said] -= not tally.bottle  # two finds that are alike are two, and each is there but once
                    continue
                entries.append(entry)
                tallies.append(replace(tally, by=by))
            except PrepError as problem:
                wrong.append(WrongRow(row.number, Sentence(f"{path.name}, row {row.number}: ", problem.sentence)))
        says = tuple(one.says for one in sorted(wrong, key=lambda one: one.number))
        return _SheetRows(count, tallies, SheetTaken(tuple(entries), says, repeated, table.not_read))

    def post(connection: "Connection", rows: _SheetRows) -> SheetTaken:
        if rows.tallies:
            _add(connection, rows.count, rows.tallies, session.signed(connection, act), path.name)
        return rows.taken

    if file.dry_run:
        with session.reading(db) as connection:
            return work(connection).taken
    return session.worked_out(db, work, post)


def _said_by(one: "Tally") -> str:
    """Write what an entry says, and who says it, so that entries can be compared."""
    return repr((one.bottle, one.kind, one.amount, one.method, one.readable, one.item, one.location, one.note, one.by))


def progress(db: Path | None, code: str | None) -> Progress:
    """Tell how far an open count is. Raises PrepError."""
    with session.reading(db) as connection:
        return progress_of(connection, chosen(connection, code, CountStatus.OPEN))


def _add(connection: "Connection", count: "Stocktake", tallies: "list[Tally]", act: Act, source: str = "") -> None:
    """Write entries as one job, which can be undone: then they never were."""
    what = f"{len(tallies)} from {source}" if source else tallies[0].bottle or "not on the books"
    job = ledger.begin(connection, JobKind.TALLY, act.by, act.on, f"count {count.code}: {what}"[:200])
    stocktakes.add(connection, job, tallies, act.by)


def drop(db: Path | None, code: str, act: Act) -> "Stocktake":
    """Give up an open count, as a job; its entries stay on file and change nothing. Raises PrepError."""
    with session.writing(db) as connection:
        count = chosen(connection, code, CountStatus.OPEN)
        job = ledger.begin(connection, JobKind.COUNT_DROP, act.by, act.on, f"count {count.code} given up")
        change_log.change(connection, job, "stocktake", count.code, status=CountStatus.DROPPED)
        return replace(count, status=CountStatus.DROPPED)


def counts(db: Path | None) -> "list[Stocktake]":
    """List every count, oldest first."""
    with session.reading(db) as connection:
        return _counts(connection)


# Shared with the report and the closing -----------------------------------------------------------


def chosen(connection: "Connection", code: str | None, status: CountStatus | None = None) -> "Stocktake":
    """Choose the count of that code, or the only one that is open (else the last). Raises PrepError."""
    counts = _counts(connection)
    if code is not None:
        wanted = code.strip().upper()
        one = next((c for c in counts if c.code == wanted), None)
        if one is None:
            raise NotOnFile(f'There is no count "{code[:40]}"', AtTerminal("; see: prep count list --all", "."))
        if status and one.status != status:
            raise PrepError(f"Count {one.code} is {one.status}.")
        return one
    opened = [c for c in counts if c.status == CountStatus.OPEN]
    if len(opened) > 1:
        raise PrepError(
            f"Several counts are open: {', '.join(c.code for c in opened)}; name one with ", Flag("--count"), "."
        )
    if opened:
        return opened[0]
    if status or not counts:
        raise PrepError("No count is open; open one", AtTerminal(" with: prep count open"))
    return counts[-1]


def latest(tallies: "Iterable[Tally]") -> "dict[str, Tally]":
    """Find the entry that stands for each bottle on the books that was looked for, by code."""
    entries = {t.bottle: t for t in tallies if t.bottle}
    return {code: entries[code] for code in sorted(entries)}


def books_of(
    connection: "Connection", count: "Stocktake", entries: "Mapping[str, Tally]", codes: Iterable[str]
) -> dict[str, BookBalance]:
    """Add up the books of bottles as the count knew them: each to the moment at which it was counted."""
    tolerances = {s.code: s.tolerance_pct for s in queries.solutions(connection).values()}
    upto = {code: tally.upto for code, tally in entries.items()}
    return books.books(connection, codes, books.Term(upto, count.job, tolerances))


def closed_before(connection: "Connection", count: "Stocktake") -> "list[Stocktake]":
    """List the closed counts that covered the same places before it, oldest first."""
    return [
        one
        for one in _counts(connection)
        if one.status == CountStatus.CLOSED
        and one.job is not None
        and (count.job is None or one.job < count.job)
        and one.code != count.code
        and one.location in ("", count.location)
    ]


def written_off(connection: "Connection", count: "Stocktake") -> set[str]:
    """Find the bottles of a count's places that were discarded since the count before it and stay so.

    Its own finds that are off the books only because its sign-off was undone are not among them.
    """
    before = closed_before(connection, count)
    gone = stocktakes.discarded_since(connection, (before[-1].job or 0) if before else 0, count.job, count.location)
    return gone - {one.code for one in stocktakes.earlier_finds(connection, count.code)}


def judged(
    connection: "Connection", entries: "Mapping[str, Tally]", books: Mapping[str, BookBalance]
) -> tuple[Verdict, ...]:
    """Decide the verdict of each entry."""
    known = {i.code: i for i in queries.instruments(connection)}
    return tuple(
        seen(books[code])
        if tally.method is not None and tally.method["by"] == "seen"
        else judge(books[code], notation.method_of(tally.method, known))
        for code, tally in entries.items()
    )


def _counts(connection: "Connection") -> "list[Stocktake]":
    return stocktakes.all_counts(connection)


def _lines(connection: "Connection", count: "Stocktake") -> tuple[SheetLine, ...]:
    names = places.all_places(connection)
    order = {code: number for number, code in enumerate(names)}
    held = [
        h
        for h in listing.all_held(connection)
        if h.status != BottleStatus.DISCARDED and h.balance > 0 and count.location in ("", h.location)
    ]
    held.sort(key=lambda h: (order[h.location], h.name, h.code))
    return tuple(
        SheetLine(
            h.location,
            names[h.location],
            h.code,
            h.name + (f" ({h.strength})" if h.strength else ""),
            h.measure,
            h.balance,
            h.tare,
            "" if h.status == BottleStatus.IN_SERVICE else h.status,
        )
        for h in held
    )


def progress_of(connection: "Connection", count: "Stocktake") -> Progress:
    """Tell how far a count is."""
    judged_now = _judge_all(connection, count)
    tallies = judged_now.tallies
    times = Counter(t.bottle for t in tallies if t.bottle)
    differing = _disagreeing(connection, tallies)
    recount = tuple(dict.fromkeys((*to_recount(judged_now.verdicts), *differing)))
    gone = written_off(connection, count) - set(times)
    return Progress(
        count,
        len(tallies),
        judged_now.verdicts,
        tuple(line for line in _lines(connection, count) if line.code not in times),
        recount,
        tuple(code for code in recount if times[code] < 2),
        tuple(t for t in tallies if not t.bottle),
        {h.code: h.name for h in listing.all_held(connection)},
        tuple(books_of(connection, count, {}, gone).values()) if gone else (),
        differing,
    )


def _disagreeing(connection: "Connection", tallies: "list[Tally]") -> dict[str, str]:
    """Say of each bottle whose latest entry none of its other entries agrees with what the last two say."""
    several: dict[str, list[Tally]] = {}
    for tally in tallies:
        if tally.bottle:
            several.setdefault(tally.bottle, []).append(tally)
    several = {code: given for code, given in several.items() if len(given) > 1}
    if not several:
        return {}
    known = {i.code: i for i in queries.instruments(connection)}
    moved = stocktakes.movements_of(connection, several)
    measures = {h.code: h.measure for h in stocktakes.held_of(connection, several)}
    out = {}
    for code, given in several.items():
        *earlier, last = given
        if not any(_agree(one, last, moved.get(code, []), known, measures[code]) for one in earlier):
            out[code] = " and ".join(
                f"{notation.said(one, measures[code])}{f' at {one.location}' if one.location else ''} by {one.by}"
                for one in (earlier[-1], last)
            )
    return out


def _agree(
    one: "Tally", other: "Tally", moved: "Sequence[BottleMovement]", known: "Mapping[str, Instrument]", measure: Measure
) -> bool:
    """Tell whether two entries say the same within measuring, of the same place."""
    if one.kind != other.kind or one.location != other.location:
        return False
    if one.kind != "counted" or "seen" in (one.method or {}).values() or "seen" in (other.method or {}).values():
        return True
    counts = [count_of(method, measure) for t in (one, other) if (method := notation.method_of(t.method, known))]
    if len(counts) < 2:
        return True
    between = sum(line.amount for line in moved if one.upto < line.number <= other.upto)
    return abs(counts[1].amount - counts[0].amount - between) <= expanded(hypot(counts[0].u, counts[1].u))


@dataclass(frozen=True, slots=True)
class _Judged:
    """The entries of a count, and what they come to."""

    tallies: "list[Tally]"
    verdicts: tuple[Verdict, ...]


def _judge_all(connection: "Connection", count: "Stocktake", bottle: str | None = None) -> _Judged:
    """Read the entries of a count (or those of one bottle), and decide what they come to."""
    tallies = stocktakes.tallies(connection, count.code, bottle)
    entries = latest(tallies)
    return _Judged(tallies, judged(connection, entries, books_of(connection, count, entries, entries)))
