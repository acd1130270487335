"""Eight processes with mixed jobs on one inventory: what each was told succeeded is there, and nothing else.

`PREP_TEST_JOBS=500` lets each of them do that many.
"""

import os
import random
from collections import Counter
from datetime import date
from multiprocessing import get_context
from multiprocessing.queues import Queue
from pathlib import Path

from sqlalchemy import text

from prep.errors import PrepError, Refused
from prep.services import keeping, making, session, setting_up, shelves, stock
from prep.services.places import add_place
from prep.store import engine as store
from tests.days import done_on

WRITERS, JOBS = 8, int(os.environ.get("PREP_TEST_JOBS", "6"))  # of each writer
DAY = date(2027, 1, 11)
KINDS = ("receive", "make", "use", "undo", "move")
Told = tuple[list[tuple[int, str]], list[str]]


def writer(path: Path, seed: int, told: "Queue[Told]") -> None:
    """Job after job on bottles that all share; reports each (job, kind) and every surprise."""
    chance, by = random.Random(seed), f"writer {seed}"
    done: list[tuple[int, str]] = []
    problems: list[str] = []
    undone: set[int] = set()
    for number in range(JOBS):
        kind = KINDS[(seed + number) % len(KINDS)]
        try:
            if kind == "undo":
                mine = [job for job, what in done if what != "undo" and job not in undone]
                if mine:
                    job = chance.choice(mine)
                    done.append((stock.undo(path, job, by, done_on(DAY)), "undo"))
                    undone.add(job)
                continue
            do(path, kind, chance, by)
            done.append((newest(path, by), kind))
        except Refused:
            pass  # somebody was first: nothing was written
        except PrepError as problem:
            if " already" not in str(problem):
                problems.append(str(problem))
    told.put((done, problems))


def do(path: Path, kind: str, chance: random.Random, by: str) -> None:
    """One job of the kind."""
    if kind == "receive":
        stock.receive(path, "sodium-chloride", "100 g", chance.randint(1, 3), "A", None, "", "", by, done_on(DAY))
    elif kind == "make":
        making.log(path, "hcl-0.1", "100 mL", None, "A", 1, None, by, done_on(DAY))
    else:
        held = chance.choice(shelves.list_stock(path, "sodium-chloride", None, False, None))
        if kind == "use":
            stock.use(path, held.code, f"{chance.randint(1, 60)} g", "", by, done_on(DAY))
        else:
            stock.move(path, held.code, "B" if held.location == "A" else "A", by, done_on(DAY))


def newest(path: Path, by: str) -> int:
    """The last job of this writer, whose name nobody else uses."""
    with session.reading(path) as connection:
        query = text('SELECT max(id) FROM job WHERE "by" = :by')
        return int(connection.execute(query, {"by": by}).scalar_one())


def test_eight_processes_with_mixed_jobs_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "inventory.db"
    setting_up.init(path, "Ada", DAY, None, "")
    for code in ("A", "B"):
        add_place(path, code, "", 1)
    stock.receive(path, "sodium-chloride", "100 g", 3, "A", None, "", "", "Ada", done_on(DAY))
    stock.receive(path, "hydrochloric-acid", "2.5 L", 1, "A", None, "", "", "Ada", done_on(DAY))
    context = get_context("fork")  # the children need not import everything again
    told: Queue[Told] = context.Queue()
    writers = [context.Process(target=writer, args=(path, seed, told)) for seed in range(WRITERS)]
    for process in writers:
        process.start()
    reports = [told.get(timeout=60 + 4 * JOBS) for _ in writers]
    for process in writers:
        process.join()
    assert [problem for _, problems in reports for problem in problems] == []
    assert keeping.check(path) == []
    said = dict(line for done, _ in reports for line in done)
    engine = store.open_engine(store.url_of(path))
    with store.reading(engine) as connection:
        there = dict(connection.execute(text("SELECT id, kind FROM job WHERE \"by\" LIKE 'writer %'")).all())
        empty = connection.execute(
            text(
                "SELECT count(*) FROM job WHERE id NOT IN (SELECT job FROM movement) "
                "AND id NOT IN (SELECT job FROM change)"
            )
        ).scalar_one()
        makes = connection.execute(
            text(
                "SELECT j.id, min(m.amount), max(m.amount), count(b.bottle) FROM job j JOIN movement m ON m.job = j.id "
                "LEFT JOIN batch b ON b.job = j.id WHERE j.kind = 'make' GROUP BY j.id"
            )
        ).all()
    engine.dispose()
    assert there == said
    assert empty == 0
    assert all(least < 0 < most and filled for _, least, most, filled in makes)  # taken and filled, or neither
    kinds = Counter(there.values())
    assert set(kinds) == set(KINDS)
    assert sum(kinds.values()) > WRITERS * JOBS / 4
