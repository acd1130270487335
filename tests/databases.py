"""Databases for the tests: a SQLite file, and a private PostgreSQL server wherever one is installed."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import pytest
from sqlalchemy import Engine

from prep.store import guards
from prep.store.engine import writing
from prep.store.tables import metadata

PLACES = [*sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True), Path("/usr/local/pgsql/bin")]


@cache
def postgres_bin() -> Path | None:
    """The folder of PostgreSQL's own programs; None where it is not installed."""
    found = shutil.which("initdb")
    places = [Path(found).parent, *PLACES] if found else PLACES
    return next((place for place in places if (place / "initdb").exists()), None)


BACKENDS = ["sqlite", "postgresql"] if postgres_bin() else ["sqlite"]


@contextmanager
def private_server(programs: Path) -> Iterator[str]:
    """A server on a socket in a temporary folder, and its URL; it refuses to run as root."""
    folder = Path(tempfile.mkdtemp(prefix="pg"))
    owner = {"user": "postgres", "group": "postgres", "extra_groups": []} if os.geteuid() == 0 else {}
    if owner:
        shutil.chown(folder, "postgres", "postgres")
    data, quiet = folder / "data", {"check": True, "stdout": subprocess.DEVNULL, "cwd": folder, **owner}
    start = ["-w", "-l", str(folder / "log"), "-o", f"-F -c listen_addresses='' -k {folder}", "start"]
    try:
        subprocess.run([programs / "initdb", "-D", data, "-U", "postgres", "-A", "trust", "-N"], **quiet)
        subprocess.run([programs / "pg_ctl", "-D", data, *start], **quiet)
        try:
            yield f"postgresql://postgres@/postgres?host={folder}"
        finally:
            subprocess.run([programs / "pg_ctl", "-D", data, "-m", "immediate", "-w", "stop"], **quiet)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The URL of a server of this test run's own."""
    programs = postgres_bin()
    assert programs is not None
    with private_server(programs) as url:
        yield url


@pytest.fixture(params=BACKENDS)
def url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The URL of an empty database, on each kind of database there is."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'inventory.db'}"
    from sqlalchemy import text

    from prep.store.engine import open_engine

    server: str = request.getfixturevalue("postgres")
    engine = open_engine(server)
    with engine.begin() as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
    engine.dispose()
    return server


def create_throw_away(engine: Engine) -> None:
    """Tables and guards straight from the models, to hold against what the migrations make."""
    with writing(engine) as connection:
        metadata.create_all(connection)
        guards.create(connection)
