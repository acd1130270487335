"""Killed at any moment: what was told to have succeeded is there, the rest is wholly absent, the books are clean.

`PREP_TEST_KILLS=200` kills more often than the ordinary run does.
"""

import os
import random
import time
from collections.abc import Callable
from datetime import date
from multiprocessing import get_context
from pathlib import Path

import pytest
from sqlalchemy import func, select

from prep.errors import PrepError
from prep.services.catalogue.on_file import OnFile
from prep.services.inventory import backup, init, session
from prep.services.stock import bottle_import, changes, codes, listing
from prep.services.stocktake import adjustments, stocktake
from prep.services.stocktake.entry import TypedCount
from prep.store import database as store
from prep.store import ledger, migrate
from prep.store.table_rows import table
from prep.store.tables import JobRow, MovementRow
from tests.databases import empty, kill, snapshot_of
from tests.days import act

KILLS = int(os.environ.get("PREP_TEST_KILLS", "6"))
DAY = date(2027, 1, 11)
SHEET = "item,amount\nurea,1 g\nurea,2 g\nsodium-chloride,3 g\nsodium-chloride,4 g\n"
WHOLE = {"receive": 3, "import": 4, "make": 3, "use": 1, "count": 1}


def last_job() -> int:
    with session.reading(None) as connection:
        return int(connection.execute(select(func.max(table(JobRow).c.id))).scalar_one())


def receive() -> str:
    changes.receive(None, changes.Receipt("sodium-chloride", "100 g", 3, None, None, "", ""), act("Ada", DAY))
    return "receive"


def use() -> str:
    held = next(h for h in listing.list_stock(None, "sodium-chloride", None, False, None) if h.balance > 10**6)
    changes.use(None, held.code, "0.5 g", "", act("Ada", DAY))
    return "use"


def take_in() -> str:
    bottle_import.import_stock(None, bottle_import.StockFile(Path("sheet.csv")), False, act("Ada", DAY))
    return "import"


def make() -> str:
    first, second = listing.list_stock(None, "sodium-chloride", None, False, None)[-2:]
    with session.writing(None) as connection:
        job = ledger.begin(connection, "make", "Ada", DAY)
        row = codes.bottle_row(codes.NewBottle(codes.new_code(connection), "urea", first.measure, first.location, DAY))
        ledger.post(connection, job, [ledger.MovementLine(b.code, -1000, "to make") for b in (first, second)])
        ledger.fill(connection, job, row, 2000, "made")
    return "make"


def count() -> str:
    opened = [c for c in stocktake.counts(None) if c.status == "open"]
    if not opened:
        stocktake.open_count(None, None, False, act("Ada", DAY))
    held = random.choice(listing.list_stock(None, "sodium-chloride", None, False, None))
    half = f"{held.balance / 2e6:.6f} g"
    stocktake.enter(None, None, held.code, TypedCount(amount=half), act("Ada", DAY))
    adjustments.close(None, None, adjustments.LeftOpen(True, True), act("Ada", DAY))
    return "count"


def work(told: Path, seed: int) -> None:
    """Job after job until killed; each success is written down once it is told."""
    random.seed(seed)
    jobs: list[Callable[[], str]] = [receive, use, take_in, make, count]
    with told.open("a", encoding="utf-8") as log:
        while True:
            kind = random.choice(jobs)()
            log.write(f"{last_job()} {kind}\n")
            log.flush()


@pytest.fixture(autouse=True)
def where(url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The inventory and the folder of this process, and of those that it starts."""
    monkeypatch.setenv("PREP_DATABASE_URL", url)
    monkeypatch.chdir(tmp_path)


def test_whatever_was_told_is_there_and_the_rest_is_not(url: str, tmp_path: Path) -> None:
    told = tmp_path / "told"
    init.init(None, "Ada", DAY, None, "")
    (tmp_path / "sheet.csv").write_text(SHEET, encoding="utf-8")
    start = time.monotonic()
    receive()
    pace = time.monotonic() - start  # of one job on this machine as it is
    first = last_job()
    told.write_text("")
    draw = random.Random(20270111)
    context = get_context("fork")  # the child need not import everything again
    for seed in range(KILLS):
        child = context.Process(target=work, args=(told, seed))
        child.start()
        time.sleep(draw.uniform(0.01, max(0.4, 12 * pace)))
        kill(child, url)
        assert backup.check(None) == []
        jobs, moves = table(JobRow), table(MovementRow)
        with session.reading(None) as connection:
            query = (
                select(jobs.c.id, jobs.c.kind, func.count(moves.c.id))
                .select_from(jobs.outerjoin(moves, moves.c.job == jobs.c.id))
                .where(jobs.c.id > first)
                .group_by(jobs.c.id, jobs.c.kind)
            )
            there = {number: (kind, parts) for number, kind, parts in connection.execute(query)}
        lines = [line.split() for line in told.read_text().splitlines() if line.endswith(tuple(WHOLE))]
        missing = {int(number) for number, _ in lines} - there.keys()
        assert not missing
        assert all(there[int(number)][0] == kind for number, kind in lines)
        # a count killed before it closed is closed by the next, with both entries
        # what only writes records (a count opened, an entry) moves nothing
        assert all(parts == WHOLE.get(kind, 0) or (kind == "count" and parts > 1) for kind, parts in there.values())
        moving = [kind for kind, _ in there.values() if kind in WHOLE]
        assert len(moving) - len(lines) <= seed + 1  # at most one a kill was done and not yet told
    assert there


def begin() -> None:
    """Make a new inventory."""
    init.init(None, "Ada", DAY, None, "")


def test_killed_while_it_is_made_an_inventory_is_there_or_can_be_made(url: str, catalogue: OnFile) -> None:
    draw = random.Random(7)
    context = get_context("fork")
    for _ in range(max(4, KILLS // 4)):
        empty(url)
        child = context.Process(target=begin)
        child.start()
        time.sleep(draw.uniform(0.005, 0.6))
        kill(child, url)
        engine = store.open_engine(url)
        with store.reading(engine) as connection:
            there = migrate.revision(connection)
        engine.dispose()
        if there is None:
            begin()
        assert backup.check(None) == []
        assert snapshot_of(None, DAY).demos == dict(catalogue.demos)
        with pytest.raises(PrepError, match="there is an inventory already"):
            begin()
