"""Eight processes write to one database: no update is lost, and no balance goes below zero."""

import os
import random
from datetime import date
from multiprocessing import get_context
from multiprocessing.queues import Queue

from sqlalchemy import Engine, text

from prep.errors import PrepError, Refused
from prep.store import ledger
from prep.store.check import check
from prep.store.database import open_engine, reading, writing

WRITERS, JOBS = 8, int(os.environ.get("PREP_TEST_JOBS", "40"))  # of each writer


def writer(url: str, seed: int, told: "Queue[tuple[dict[str, int], list[int], str]]") -> None:
    """Jobs that take, fill, pour over or undo; reports what it was told succeeded."""
    chance, engine = random.Random(seed), open_engine(url)
    moved, jobs, problem = {"V": 0, "W": 0}, [], ""
    mine: list[tuple[int, dict[str, int]]] = []
    for _ in range(JOBS):
        try:
            if mine and chance.random() < 0.2:
                job, was = mine.pop()
                with writing(engine) as connection:
                    jobs.append(
                        ledger.reverse(connection, ledger.reversal(connection, job), str(seed), date(2027, 1, 4))
                    )
                change = {code: -amount for code, amount in was.items()}
            else:
                change = {"V": chance.randint(-60, 40), "W": chance.randint(-60, 40)}
                with writing(engine) as connection:
                    job = ledger.begin(connection, "use", str(seed), date(2027, 1, 4))
                    ledger.post(connection, job, [ledger.MovementLine(c, a, "used") for c, a in change.items()])
                jobs.append(job)
                mine.append((job, change))
            for code, amount in change.items():
                moved[code] += amount
        except Refused:
            pass
        except PrepError as error:
            problem = str(error)
    told.put((moved, jobs, problem))


def test_no_update_is_lost_among_eight_writers(engine: Engine, url: str) -> None:
    engine.dispose()
    context = get_context("spawn")
    told: Queue[tuple[dict[str, int], list[int], str]] = context.Queue()
    writers = [context.Process(target=writer, args=(url, seed, told)) for seed in range(WRITERS)]
    for process in writers:
        process.start()
    reports = [told.get(timeout=90 + JOBS) for _ in writers]
    for process in writers:
        process.join()
    assert {problem for _, _, problem in reports} == {""}
    with reading(engine) as connection:
        assert check(connection) == []
        rows = connection.execute(text("SELECT code, balance FROM bottle"))
        found = {row.code: row.balance for row in rows}
        there = set(connection.execute(text("SELECT id FROM job WHERE kind <> 'opening'")).scalars())
    start = {"V": 1000, "W": 500}
    assert found == {code: had + sum(moved[code] for moved, _, _ in reports) for code, had in start.items()}
    assert there == {job for _, jobs, _ in reports for job in jobs}
    assert len(there) > WRITERS * JOBS / 4
