"""A group of schools on one PostgreSQL server, eight writers each: the jobs of all together grow with the schools."""

import os
import threading
import time
from datetime import date
from itertools import pairwise
from multiprocessing import get_context
from typing import Any

from sqlalchemy import Engine, event

from prep.store import ledger
from prep.store.database import KEPT, open_engine, reading, writing
from prep.store.ledger import MovementLine
from prep.store.school import schemas
from tests.databases import create_tables, postgres_bin, private_server
from tests.store.conftest import fill_up

WRITERS, TURN, AWAY = 8, 16.0, 1.0
"""Writers of a school, two of whom begin together every so many seconds; for how long each is away in its job.

What is measured is who waits for whom, not how quick two cores are: 100 schools do 12 jobs a second, and would do one
if they waited for one another. As a command does, each writer connects, does its job, and goes.
"""
SECONDS = TURN * WRITERS / 2
PROCESSES = 4
"""The writers are threads of so many processes: 800 in one would wait for its interpreter."""
COUNTS = (1, 10, 100)
MOST = int(os.environ.get("PREP_BENCH_SCHOOLS", "100"))
SPARE = 2 * KEPT
"""Connections of a school beyond its writers': its own engine keeps some."""


def schools() -> bool:
    """Print the jobs a second of one school, and of more and more; each must add to them."""
    programs = postgres_bin()
    if programs is None:
        print("there is no PostgreSQL here: nothing was measured")
        return True
    with private_server(programs, MOST * (WRITERS + SPARE)) as server:
        engines = _schools(server)
        rates = []
        for count in sorted({min(MOST, count) for count in COUNTS}):
            rates.append(_jobs(server, engines[:count]) / SECONDS)
            schools = f"{count:4} school{'' if count == 1 else 's'}"
            print(f"{schools} of {WRITERS} writers  {rates[-1]:8.1f} jobs a second", flush=True)
        for engine in engines:
            engine.dispose()
    grows = all(more > less for less, more in pairwise(rates))
    print(f"throughput grows with the schools: {'ok' if grows else 'NO'}")
    return grows


def _schools(server: str) -> list[Engine]:
    """A school as it is made, and others by what was said to the server for it, each in its own schema."""
    engines = [open_engine(schemas.in_schema(server, f"school{n}")) for n in range(MOST)]
    said: list[tuple[str, Any]] = []

    def note(_connection: Any, _cursor: Any, statement: str, words: Any, *_: Any) -> None:
        if not statement.lstrip().startswith(("SELECT", "SET", "SHOW")):
            said.append((statement, words))

    schemas.make(server, "school0")
    event.listen(engines[0], "before_cursor_execute", note)
    create_tables(engines[0])
    fill_up(engines[0])
    event.remove(engines[0], "before_cursor_execute", note)
    for number, engine in enumerate(engines[1:], 1):
        schemas.make(server, f"school{number}")
        raw = engine.raw_connection()
        for statement, words in said:
            lots = words if isinstance(words, list) else [words]
            for lot in lots:
                raw.cursor().execute(statement, lot or None)
        raw.commit()
        raw.close()
    return engines


def _jobs(server: str, schools: list[Engine]) -> int:
    """How many jobs the writers of these schools do in their time. Raises whatever one of them ends in."""
    urls = [schemas.in_schema(server, f"school{n}") for n in range(len(schools))]
    here = get_context("spawn")
    shares = [share for n in range(PROCESSES) if (share := urls[n::PROCESSES])]
    ready, told = here.Barrier(len(shares)), here.Queue()
    writers = [here.Process(target=_write, args=(share, ready, told)) for share in shares]
    for one in writers:
        one.start()
    counts = [told.get() for _ in writers]
    for one in writers:
        one.join()
    if wrong := [count for count in counts if isinstance(count, str)]:
        raise AssertionError(wrong[0])
    for engine in schools:
        with reading(engine) as connection:
            assert not ledger.differences(connection)
    return sum(counts)


def _write(urls: list[str], others: Any, told: Any) -> None:
    """Let the writers of some schools work; put the jobs they did, or what one of them ended in, into the queue."""
    done, wrong = [0] * len(urls) * WRITERS, list[str]()
    others.wait(60)
    start = time.monotonic()

    def work(number: int) -> None:
        school, writer = divmod(number, WRITERS)
        time.sleep(TURN * (writer // 2) + TURN / 2 * school / len(urls))
        engine = open_engine(urls[school])
        try:
            with writing(engine) as connection:
                job = ledger.begin(connection, "use", "Ada", date(2027, 1, 4))
                ledger.post(connection, job, [MovementLine("V", -1, "used"), MovementLine("W", 1, "used")])
                time.sleep(AWAY)
            done[number] = time.monotonic() - start <= SECONDS
        except Exception as problem:
            wrong.append(f"{type(problem).__name__}: {problem}")
        finally:
            engine.dispose()

    threads = [threading.Thread(target=work, args=(number,)) for number in range(len(done))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    told.put(wrong[0] if wrong else sum(done))
