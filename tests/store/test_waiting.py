"""Two at one database: who waits, what each sees, and what is told when the other does not finish."""

import threading
import time
from collections.abc import Callable

import pytest
from sqlalchemy import Connection, Engine, text

from prep.errors import PrepError
from prep.store import database as store
from prep.store.database import open_engine, reading, writing
from tests.databases import BACKENDS, sql, sql_alone

ADD = text("UPDATE bottle SET balance = balance + 1 WHERE code = 'V'")
HELD = text("SELECT balance FROM bottle WHERE code = 'V'")


def held(connection: Connection) -> int:
    return int(connection.execute(HELD).scalar_one())


def at_once(job: Callable[[], None]) -> threading.Thread:
    thread = threading.Thread(target=job)
    thread.start()
    return thread


@pytest.mark.usefixtures("engine")
def test_a_second_writer_waits_and_then_says_so(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "BUSY_MS", 100)
    first, second = open_engine(url), open_engine(url)
    with writing(first) as connection:
        connection.execute(ADD)
        with pytest.raises(PrepError, match="another process is writing and did not finish"), writing(second):
            pass
        with reading(second) as other:  # who only looks does not wait
            assert held(other) == 1000
    with writing(second) as connection:
        assert held(connection) == 1001


@pytest.mark.usefixtures("engine")
def test_what_a_writer_reads_is_what_the_one_before_it_left(url: str) -> None:
    first, second, seen = open_engine(url), open_engine(url), []

    def follow() -> None:
        with writing(second) as connection:
            seen.append(held(connection))

    with writing(first) as connection:
        thread = at_once(follow)
        time.sleep(0.2)  # it waits now; if it does not yet, the test is only easier
        connection.execute(ADD)
    thread.join()
    assert seen == [1001]


@pytest.mark.usefixtures("engine")
def test_a_reader_sees_one_moment(url: str) -> None:
    first, second = open_engine(url), open_engine(url)
    with reading(first) as connection:
        before = held(connection)
        with writing(second) as other:
            other.execute(ADD)
        assert held(connection) == before
    with reading(first) as connection:
        assert held(connection) == before + 1


def interrupted(engine: Engine, between: Callable[[Connection], None]) -> None:
    """A job of two changes, and what happens between them."""
    with writing(engine) as connection:
        connection.execute(ADD)
        between(connection)
        connection.execute(ADD)


@pytest.mark.parametrize("url", BACKENDS[1:], indirect=True)
def test_a_lost_connection_is_told_and_nothing_is_half_done(engine: Engine, url: str) -> None:
    def cut(connection: Connection) -> None:
        own = connection.execute(text("SELECT pg_backend_pid()")).scalar_one()
        sql_alone(url, f"SELECT pg_terminate_backend({own})")

    with pytest.raises(PrepError, match="the connection was lost; see what was still done"):
        interrupted(engine, cut)
    with reading(engine) as connection:
        assert held(connection) == 1000


@pytest.mark.parametrize("url", BACKENDS[1:], indirect=True)
def test_a_writer_that_fell_silent_keeps_nobody_out(engine: Engine, url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "IDLE_MS", 200)
    with pytest.raises(PrepError, match="the connection was lost"):
        interrupted(engine, lambda _: sql(url, str(ADD)))  # which waits for the silent one, and goes on
    with reading(engine) as connection:
        assert held(connection) == 1001
