"""A group of schools on one PostgreSQL server, eight writers each: the jobs of all together grow with the schools."""

import os
import threading
import time
from datetime import date
from itertools import pairwise
from typing import Any

from sqlalchemy import Engine, event

from prep.store import ledger
from prep.store.database import open_engine, reading, writing
from prep.store.ledger import MovementLine
from prep.store.school import schemas
from tests.databases import create_tables, postgres_bin, private_server
from tests.store.conftest import fill_up

WRITERS, SECONDS, AWAY = 8, 5.0, 0.25
"""Writers of a school, how long they write, and the seconds for which each is away in the middle of a job.

They are long beside the work of a job: what is measured is who waits for whom, not how quick two cores are.
"""
MOST = int(os.environ.get("PREP_BENCH_SCHOOLS", "100"))
SPARE = 20
"""Each writer that waits for its turn is a connection: the server is set to take so many, and some more."""


def schools() -> bool:
    """Print the jobs a second of one school, and of more and more; each must add to them."""
    programs = postgres_bin()
    if programs is None:
        print("there is no PostgreSQL here: nothing was measured")
        return True
    with private_server(programs, MOST * WRITERS + SPARE) as server:
        engines = _schools(server)
        counts = sorted({min(MOST, 2**n) for n in range(8)})
        rates = [_jobs(engines[:count]) / SECONDS for count in counts]
        for engine in engines:
            engine.dispose()
    for count, rate in zip(counts, rates, strict=True):
        print(f"{count:4} school{'' if count == 1 else 's'} of {WRITERS} writers  {rate:8.0f} jobs a second")
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


def _jobs(engines: list[Engine]) -> int:
    """How many jobs the writers of these schools do. Raises whatever one of them ends in."""
    done, wrong, end = [0], list[Exception](), time.monotonic() + SECONDS
    lock = threading.Lock()

    def work(engine: Engine) -> None:
        try:
            while time.monotonic() < end:
                with writing(engine) as connection:
                    job = ledger.begin(connection, "use", "Ada", date(2027, 1, 4))
                    ledger.post(connection, job, [MovementLine("V", -1, "used"), MovementLine("W", 1, "used")])
                    time.sleep(AWAY)
                with lock:
                    done[0] += 1
        except Exception as problem:
            wrong.append(problem)

    threads = [threading.Thread(target=work, args=(engine,)) for engine in engines for _ in range(WRITERS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if wrong:
        raise wrong[0]
    for engine in engines:
        with reading(engine) as connection:
            assert not ledger.differences(connection)
    return done[0]
