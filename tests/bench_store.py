"""The books at scale: 20,000 bottles and 1,000,000 movements, beside the plain SQL that each job needs.

Called by `python -m tests.bench store`. The services run in this process, on a migrated database in a
temporary folder; the floor is plain `sqlite3` on the same file, in the same run, pair by pair.
"""

import csv
import gc
import json
import random
import shutil
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import date, timedelta
from functools import partial
from itertools import count
from pathlib import Path

from prep.services.inventory import backup, export, init
from prep.services.stock import bottle_import, changes, listing
from prep.services.stock import codes as stock_codes
from prep.services.stocktake import adjustments as count_adjustments
from prep.services.stocktake import report, stocktake
from tests.days import act

DAY = date(2027, 1, 11)
BOTTLES = 20_000
FULL = 10**12
BOTTLE = "Z00001"
Timed = Callable[[], object]


def inventory(path: Path, movements: int, bottles: int = BOTTLES, seed: int = 7) -> None:
    """A migrated inventory of the shipped catalogue, filled by plain `executemany`: jobs of ten movements."""
    init.init(path, "Ada", DAY, None, "")
    draw = random.Random(seed)
    with closing(sqlite3.connect(path)) as raw, raw:
        first = raw.execute("SELECT coalesce(max(id), 0) + 1 FROM job").fetchone()[0]
        places = [code for (code,) in raw.execute("SELECT code FROM location")]
        forms = raw.execute("SELECT code, form FROM substance ORDER BY code").fetchall()
        kinds = [(code, "volume" if form in ("liquid", "aqueous") else "mass") for code, form in forms]
        kinds += [(code, "volume") for (code,) in raw.execute("SELECT code FROM solution ORDER BY code")]
        codes = [f"Z{number:05d}" for number in range(bottles)]
        rows = []
        for code in codes:
            item, measure = draw.choice(kinds)
            use_by = (DAY + timedelta(days=draw.randrange(-100, 1000))).isoformat()
            rows.append((code, item, measure, draw.choice(places), use_by))
        raw.executemany(
            "INSERT INTO bottle (code, item, measure, balance, status, location, received, use_by, lot, made_by, note)"
            " VALUES (?, ?, ?, 0, 'in service', ?, '2026-09-01', ?, '', '', '')",
            rows,
        )
        jobs = max(1, movements // 10)
        raw.executemany(
            'INSERT INTO job (id, kind, "by", at, "on", note) VALUES (?, ?, ?, ?, ?, ?)',
            (
                (
                    first + number,
                    "receive" if number < bottles // 10 else "use",
                    "Ada",
                    "2026-09-01T08:00:00+00:00",
                    (DAY - timedelta(days=300 - 300 * number // jobs)).isoformat(),
                    "",
                )
                for number in range(jobs)
            ),
        )
        raw.executemany(
            "INSERT INTO movement (job, bottle, amount, reason) VALUES (?, ?, ?, 'used')",
            (
                (
                    first + number // 10 % jobs,
                    codes[number] if number < bottles else draw.choice(codes),
                    FULL if number < bottles else -draw.randrange(1, 10**9),
                )
                for number in range(movements)
            ),
        )
        raw.execute("UPDATE bottle SET balance = (SELECT coalesce(sum(amount), 0) FROM movement WHERE bottle = code)")
    _sealed(path)


def _sealed(path: Path) -> None:
    """Log the bottles and seal the jobs, as an upgrade does, so that the check has a whole chain to go through."""
    from prep.resources import url_of
    from prep.store.audit import seals
    from prep.store.database import open_engine, writing

    engine = open_engine(url_of(path))
    with writing(engine) as connection:
        seals.baseline(connection, "as found")
    engine.dispose()


def paired(ours: Timed, floor: Timed, runs: int) -> tuple[float, float]:
    """Seconds of both, the medians of alternating runs after one of each to warm up."""
    ours(), floor()
    pairs = [(_seconds(ours), _seconds(floor)) for _ in range(runs)]
    mine, theirs = zip(*pairs, strict=True)
    return statistics.median(mine), statistics.median(theirs)


def _seconds(job: Timed) -> float:
    gc.collect()
    start = time.perf_counter()
    job()
    return time.perf_counter() - start


def _told(name: str, ours: float, floor: float, limit: float, allowance: float = 0.0) -> bool:
    """Print a line; `allowance` is what the same job costs on an almost empty inventory: its start-up."""
    fine = ours - allowance <= limit * floor
    start = f" + {allowance * 1000:.1f} ms start-up" if allowance else ""
    print(
        f"{name:<34} {ours * 1000:9.1f} ms  floor {floor * 1000:8.1f} ms  x{ours / floor:6.2f}  "
        f"limit {limit}{start}  {'ok' if fine else 'OVER'}"
    )
    return fine


def _alone(job: Timed, runs: int = 7) -> float:
    """Seconds of a job on an inventory with next to nothing in it: what it costs to start."""
    job()
    return statistics.median(_seconds(job) for _ in range(runs))


# The plain SQL that each job needs ------------------------------------------------------------------

LIST = (
    "SELECT b.*, coalesce(s.name, m.name) FROM bottle b LEFT JOIN substance s ON s.code = b.item "
    "LEFT JOIN solution m ON m.code = b.item ORDER BY b.item, b.use_by IS NULL, b.use_by, b.code"
)
SHOW = (
    'SELECT j.id, j.kind, j."on", j.at, j."by", j.note, m.amount, m.reason FROM movement m JOIN job j ON j.id = m.job '
    "WHERE m.bottle = ? ORDER BY m.id DESC LIMIT 1000"
)
DIFFERENCES = (
    "SELECT b.code FROM bottle b LEFT JOIN (SELECT bottle, sum(amount) AS total FROM movement GROUP BY bottle) m "
    "ON m.bottle = b.code WHERE b.balance <> coalesce(m.total, 0)"
)
"""Added up once per bottle over the index."""
FLOWS = (
    "SELECT m.bottle, j.kind, count(*), sum(m.amount), sum(CAST(m.amount AS REAL) * m.amount) "
    "FROM movement m JOIN job j ON j.id = m.job "
    "GROUP BY m.bottle, j.kind, CASE WHEN j.kind IN ('receive', 'arrive') THEN m.amount ELSE m.amount > 0 END"
)
"""What came and went by kind, and the squares that say how well it is known."""


def _sql(path: Path) -> sqlite3.Connection:
    raw = sqlite3.connect(path, isolation_level=None)
    raw.execute("PRAGMA synchronous = FULL")
    return raw


def _list(path: Path) -> None:
    with closing(_sql(path)) as raw:
        raw.execute(LIST).fetchall()


def _show(path: Path) -> None:
    with closing(_sql(path)) as raw:
        raw.execute("SELECT * FROM bottle WHERE code = ?", (BOTTLE,)).fetchall()
        raw.execute(SHOW, (BOTTLE,)).fetchall()


def _use(path: Path) -> None:
    with closing(_sql(path)) as raw:
        raw.execute("BEGIN IMMEDIATE")
        raw.execute(
            'INSERT INTO job (kind, "by", at, "on", note) VALUES (?, ?, ?, ?, ?)',
            ("use", "Ada", "2027-01-11T08:00:00+00:00", "2027-01-11", ""),
        )
        job = raw.execute("SELECT max(id) FROM job").fetchone()[0]
        raw.execute("UPDATE bottle SET balance = balance - 1000000 WHERE code = 'Z00002' AND balance >= 1000000")
        raw.execute("INSERT INTO movement (job, bottle, amount, reason) VALUES (?, 'Z00002', -1000000, 'used')", (job,))
        raw.execute("COMMIT")


def _check(path: Path) -> None:
    with closing(_sql(path)) as raw:
        raw.execute("PRAGMA integrity_check").fetchall()
        raw.execute("PRAGMA foreign_key_check").fetchall()
        raw.execute(DIFFERENCES).fetchall()


def _report(path: Path) -> None:
    with closing(_sql(path)) as raw:
        raw.execute(LIST).fetchall()
        raw.execute("SELECT * FROM tally").fetchall()
        raw.execute(FLOWS).fetchall()


def _or(cell: str, empty: str | None) -> str | None:
    return cell or empty


def _import(path: Path, folder: Path, kind: str) -> None:
    """The rows of the files by plain `json` or `csv` and `executemany`, into the same tables."""
    with closing(_sql(path)) as raw:
        raw.execute("BEGIN IMMEDIATE")
        for name in ("location", "substance", "solution", "job", "bottle", "movement", "change"):
            with (folder / f"{name}.{kind}").open(encoding="utf-8-sig", newline="") as file:
                if kind == "csv":
                    empty = ["" if must else None for _, _, _, must, _, _ in raw.execute(f"PRAGMA table_info({name})")]
                    rows = [tuple(map(_or, line, empty)) for line in list(csv.reader(file))[1:]]
                else:
                    rows = [tuple(json.loads(line).values()) for line in file]
            if rows:
                raw.executemany(f"INSERT INTO {name} VALUES ({', '.join('?' * len(rows[0]))})", rows)
        raw.execute("COMMIT")


def _receive(path: Path, sheet: Path, codes: list[str]) -> None:
    """The rows of a sheet by plain `csv` and `executemany`, under codes that were drawn before."""
    with closing(_sql(path)) as raw:
        raw.execute("PRAGMA foreign_keys = ON")
        raw.execute("BEGIN IMMEDIATE")
        done = raw.execute(
            'INSERT INTO job (kind, "by", at, "on", note) VALUES (?, ?, ?, ?, ?)',
            ("import", "Ada", "2027-01-11T08:00:00+00:00", "2027-01-11", ""),
        )
        job, rows = done.lastrowid, []
        with sheet.open(encoding="utf-8", newline="") as file:
            for code, line in zip(codes, list(csv.reader(file))[1:], strict=True):
                item, amount, place, use_by, received, lot, note = line
                figure, unit = amount.split()
                measure = "mass" if unit == "g" else "volume"
                rows.append((code, item, measure, int(float(figure) * 10**6), place, received, use_by, lot, note))
        raw.executemany(
            "INSERT INTO bottle (code, item, measure, balance, status, location, received, use_by, lot, made_by, note)"
            " VALUES (?, ?, ?, ?, 'in service', ?, ?, ?, ?, '', ?)",
            rows,
        )
        raw.executemany(
            "INSERT INTO change (job, kind, code, field, after) VALUES (?, 'bottle', ?, 'status', 'in service')",
            [(job, row[0]) for row in rows],
        )
        raw.executemany(
            "INSERT INTO movement (job, bottle, amount, reason) VALUES (?, ?, ?, 'imported')",
            [(job, row[0], row[3]) for row in rows],
        )
        raw.execute("COMMIT")


def _empty(path: Path) -> None:
    """An inventory with its tables and nothing in them."""
    from prep.resources import url_of
    from prep.store.database import open_engine
    from tests.databases import create_tables

    engine = open_engine(url_of(path))
    create_tables(engine)
    engine.dispose()


def store(movements: int = 1_000_000, few: int = 10_000, imported: int = 100_000) -> bool:
    """Every comparison; True if all are within their limits."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        large, small, bare = folder / "large.db", folder / "small.db", folder / "bare.db"
        inventory(large, movements)
        inventory(small, few, bottles=1000)
        inventory(bare, 4, bottles=2)
        return all(
            [
                *_questions(large, bare),
                _independent(large, small),
                *_bulk(folder, imported),
                _sheet(folder, imported),
                *_counted(large, bare),
                *_on_screen(large),
            ]
        )


def _questions(path: Path, bare: Path) -> list[bool]:
    jobs: list[tuple[str, Callable[[Path], object], Callable[[Path], None], int]] = [
        ("stock list", lambda db: listing.list_stock(db, None, None, False, None), _list, 9),
        ("stock show", lambda db: listing.show(db, BOTTLE), _show, 15),
        ("stock use", _taker(path, bare), _use, 25),
        ("db check", backup.check, _check, 3),
    ]
    return [
        _told(
            name,
            *paired(partial(ours, path), partial(floor, path), runs),
            2.0 if name == "db check" else 1.5,
            _alone(partial(ours, bare)),
        )
        for name, ours, floor, runs in jobs
    ]


def _taker(*paths: Path) -> Callable[[Path], object]:
    """Takes a little from one bottle of any of these inventories."""
    amounts = {
        path: "0.001 mL" if listing.show(path, BOTTLE).bottle.measure.value == "volume" else "0.001 mg"
        for path in paths
    }
    return lambda path: changes.use(path, BOTTLE, amounts[path], "", act("Ada", DAY))


def _independent(large: Path, small: Path) -> bool:
    take = _taker(large, small)
    return _told("stock use, many beside few", *paired(partial(take, large), partial(take, small), 41), 1.5)


def _bulk(folder: Path, movements: int) -> list[bool]:
    source = folder / "source.db"
    inventory(source, movements, bottles=2000)
    return [_carried(source, folder / kind, kind, movements) for kind in export.FORMATS]


def _carried(source: Path, folder: Path, kind: str, movements: int) -> bool:
    folder.mkdir()
    files = folder / "files"
    export.export(source, files, kind)
    runs = 5
    for number in range(runs + 1):
        _empty(folder / f"floor{number}.db")
    floors, news = count(), count()
    return _told(
        f"db import {kind}, {movements} movements",
        *paired(
            lambda: export.import_(folder / f"new{next(news)}.db", files),
            lambda: _import(folder / f"floor{next(floors)}.db", files, kind),
            runs,
        ),
        2.0,
    )


def _sheet(folder: Path, bottles: int) -> bool:
    """A spreadsheet of bottles, each with its first movement and the line of the job that made it."""
    start, sheet, runs = folder / "start.db", folder / "sheet.csv", 5
    init.init(start, "Ada", DAY, None, "")
    draw = random.Random(7)
    with closing(sqlite3.connect(start)) as raw:
        forms = raw.execute("SELECT code, form FROM substance ORDER BY code").fetchall()
    with sheet.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(("item", "amount", "location", "use_by", "received", "lot", "note"))
        for number in range(bottles):
            item, form = draw.choice(forms)
            amount = f"{draw.randrange(1, 5000) / 2} {'mL' if form in ('liquid', 'aqueous') else 'g'}"
            use_by = DAY + timedelta(days=draw.randrange(1000))
            writer.writerow((item, amount, "PREP", use_by, "2026-09-01", f"L{number // 12}", ""))
    for number in range(runs + 1):
        for name in ("ours", "plain"):
            shutil.copy(start, folder / f"{name}{number}.db")
    ours, plain = count(), count()
    codes = stock_codes.new_codes(bottles, set())
    return _told(
        f"stock import, {bottles} bottles",
        *paired(
            lambda: bottle_import.import_stock(
                folder / f"ours{next(ours)}.db", bottle_import.StockFile(sheet), False, act("Ada", DAY)
            ),
            lambda: _receive(folder / f"plain{next(plain)}.db", sheet, codes),
            runs,
        ),
        2.0,
    )


def _counted(path: Path, bare: Path) -> list[bool]:
    """The report of a count of every bottle, while it is open and after it was closed."""
    for db in (path, bare):
        stocktake.open_count(db, None, False, act("Ada", DAY))
        sheet = db.with_suffix(".csv")
        held = listing.list_stock(db, None, None, False, None)
        sheet.write_text("code,count\n" + "".join(f'{h.code},"{h.shown}"\n' for h in held), encoding="utf-8")
        done = stocktake.import_sheet(db, None, stocktake.SheetFile(sheet), act("Ada", DAY))
        taken, wrong = done.entries, done.refused
        assert (len(taken), wrong) == (len(held), ())
    told = []
    for state in ("open", "closed"):
        seconds = paired(lambda: report.of_count(path, "C1", None, DAY), lambda: _report(path), 5)
        start = _alone(lambda: report.of_count(bare, "C1", None, DAY))
        told.append(_told(f"count report, all counted, {state}", *seconds, 1.5, start))
        if state == "open":
            for db in (path, bare):
                count_adjustments.close(db, None, count_adjustments.LeftOpen(False, True), act("Ada", DAY))
    return told


def _on_screen(path: Path) -> list[bool]:
    """What is shown on screen beside its JSON, as commands: processor time, start-up and all."""
    from tests.bench import PREP, against

    told = []
    for words in (("stock", "list"), ("count", "report", "--count", "C1")):
        command = [PREP, *words, "--db", str(path)]
        told.append(against(f"{' '.join(words[:2])}, screen", command, [*command, "--json"], 1.5, 3))
    return told
