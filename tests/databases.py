"""Databases for the tests: a SQLite file, and a private PostgreSQL server wherever one is installed."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from functools import cache
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import Engine, make_url, select, text

from prep.planning.model import Snapshot
from prep.resources import file_of
from prep.services.inventory import session
from prep.services.plan import snapshot
from prep.store import guards, migrate
from prep.store.database import open_engine, reading, writing
from prep.store.tables import metadata

if TYPE_CHECKING:
    from psycopg import Connection

PLACES = [*sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True), Path("/usr/local/pgsql/bin")]


@cache
def postgres_bin() -> Path | None:
    """The folder of PostgreSQL's own programs; None where it is not installed."""
    found = shutil.which("initdb")
    places = [Path(found).parent, *PLACES] if found else PLACES
    return next((place for place in places if (place / "initdb").exists()), None)


BACKENDS = ["sqlite", "postgresql"] if postgres_bin() else ["sqlite"]


_KEEPER = """
import shutil, subprocess, sys
pg_ctl, folder, *user = sys.argv[1:]
owner = {"user": user[0], "group": user[0], "extra_groups": []} if user else {}
sys.stdin.read()
stop = [pg_ctl, "-D", folder + "/data", "-m", "immediate", "-w", "stop"]
subprocess.run(stop, stdout=subprocess.DEVNULL, cwd=folder, **owner)
shutil.rmtree(folder, ignore_errors=True)
"""
"""Stops the server once this end of a pipe is closed, as it is however the tests end: by Ctrl-C or killed too."""


@contextmanager
def private_server(programs: Path, connections: int = 100) -> Iterator[str]:
    """A server on a socket in a temporary folder, and its URL; it refuses to run as root."""
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    owner = {"user": "postgres", "group": "postgres", "extra_groups": []} if os.geteuid() == 0 else {}
    if owner:
        shutil.chown(folder, "postgres", "postgres")
    data, quiet = folder / "data", {"check": True, "stdout": subprocess.DEVNULL, "cwd": folder, **owner}
    options = f"-F -c listen_addresses='' -c max_connections={connections} -k {folder}"
    start = ["-w", "-l", str(folder / "log"), "-o", options, "start"]
    try:
        subprocess.run(
            [programs / "initdb", "-D", data, "-U", "postgres", "-A", "trust", "-N", "-E", "UTF8", "--locale=C"],
            **quiet,
        )
        keeper = subprocess.Popen(
            [sys.executable, "-c", _KEEPER, programs / "pg_ctl", folder, *(["postgres"] if owner else [])],
            stdin=subprocess.PIPE,
            start_new_session=True,
        )
        try:
            subprocess.run([programs / "pg_ctl", "-D", data, *start], **quiet)
            yield f"postgresql://postgres@/postgres?host={folder}"
        finally:
            keeper.communicate()
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The URL of a server of this test run's own."""
    programs = postgres_bin()
    assert programs is not None
    with private_server(programs) as server:
        with _server(server) as connection:
            connection.execute("CREATE DATABASE inventory")
        yield server


@pytest.fixture(params=BACKENDS)
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The URL of an empty database, on each kind of database there is."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'inventory.db'}"
    return emptied(request.getfixturevalue("postgres"))


def emptied(server: str) -> str:
    """The URL of a server's database for inventories, after everything in it is thrown away."""
    found = make_url(server).set(database="inventory").render_as_string()
    empty(found)
    return found


def empty(url: str) -> None:
    """Throw away all that a database holds."""
    if url.startswith("sqlite"):
        if path := file_of(url):
            for end in ("", "-wal", "-shm"):
                path.with_name(path.name + end).unlink(missing_ok=True)
        return
    engine = open_engine(url)
    with writing(engine) as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
    engine.dispose()


def made_once(url: str, name: str, fill: Callable[[], None]) -> None:
    """Make an empty database what `fill` makes of it: once in a run for each kind of database, and copied then."""
    if path := file_of(url):
        if name not in _FILLED:
            fill()
            _FILLED[name] = path.read_bytes()
        empty(url)
        path.write_bytes(_FILLED[name])
        return
    with _server(url) as server:
        if server.execute("SELECT 1 FROM pg_database WHERE datname = %s", [name]).fetchone():
            server.execute("DROP DATABASE inventory WITH (FORCE)")  # threads of a test before may have left a session
            server.execute(f"CREATE DATABASE inventory TEMPLATE {name}")
        else:
            fill()
            server.execute(f"CREATE DATABASE {name} TEMPLATE inventory")


_FILLED: dict[str, bytes] = {}


def _server(url: str) -> "Connection":
    import psycopg

    place = make_url(url).set(drivername="postgresql", database="postgres").render_as_string()
    return psycopg.connect(place, autocommit=True)


def kill(child: BaseProcess, url: str) -> None:
    """End a process with no warning, and wait until what it was writing is written or undone.

    A server may still be busy for a moment with what a dead client asked for last, and keeps the lock for it; so
    this waits as a second writer does. Only clients are killed: what a server owes to its disk is not tried here,
    and so it may run without fsync.
    """
    assert child.pid is not None
    os.kill(child.pid, signal.SIGKILL)
    child.join()
    engine = open_engine(url)
    with writing(engine):
        pass
    engine.dispose()


def sql(url: str, *statements: str) -> None:
    """Do something behind the program's back."""
    engine = open_engine(url)
    with engine.connect().execution_options(write=True) as connection, connection.begin():
        for statement in statements:
            connection.execute(text(statement))
    engine.dispose()


def sql_alone(url: str, statement: str) -> None:
    """Do something on the server that no transaction may hold."""
    with _server(url) as server:
        server.execute(statement)


def everything(url: str) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table, sorted."""
    engine = open_engine(url)
    with reading(engine) as connection:
        found = {
            table.name: sorted(map(tuple, connection.execute(select(table))), key=repr)
            for table in metadata.sorted_tables
        }
    engine.dispose()
    return found


def create_tables(engine: Engine) -> None:
    """Tables and guards as the migrations make them."""
    with writing(engine) as connection:
        migrate.make(connection)


def create_throw_away(engine: Engine) -> None:
    """Tables and guards straight from the models, to hold against what the migrations make."""
    with writing(engine) as connection:
        metadata.create_all(connection)
        guards.create(connection)


def create_stamped(engine: Engine) -> None:
    """As `create_throw_away`, with the revision that a check of the file asks for."""
    create_throw_away(engine)
    with writing(engine) as connection:
        connection.execute(text("CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL)"))
        connection.execute(text("INSERT INTO alembic_version VALUES (:head)"), {"head": migrate.HEAD})


def snapshot_of(db: Path | None, today: date) -> Snapshot:
    """All that the plan may know of an inventory."""
    with session.reading(db) as connection:
        return snapshot.load(connection, today)
